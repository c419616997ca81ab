"""The ways in which a seam fails, each as a use of it that grows with the load."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.strength.bolt_group import SeamLoad
from splitplanner.strength.fastener_capacity import Resistance
from splitplanner.strength.neutral_axis import Bed, Opening
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_ground import TapeStretches
from splitplanner.strength.section_properties import SectionProperties

Use = Callable[[float], float]
"""How much of what it stands a way to fail is used at a factor of the load: 1 is all of it."""

_LEAST, _MOST = 1e-9, 1e9
"""Factors of the load beyond these are nothing, and without end."""
_HALVINGS = 60
PEAK_SHEAR = 1.5
"""Greatest shear stress by the mean one: a full rectangle; thin webs have less, flanges more."""

ADHESIVE = "adhesive"
"""Mode of glue, and what a stage is held by that has some."""
RESIN_STIFFNESS = 1000.0 / 0.2
"""Shear modulus of epoxy by the thickness of its layer below a tape, MPa over mm; from memory."""
_LONG_LAP = 500.0


@dataclass(frozen=True)
class Mode:
    """One way in which a seam fails.

    Attributes
    ----------
    name : str
        Stable, such as ``screw.thread``, ``contact`` or ``adhesive``.
    factor : float
        Of the load at which it is reached; inf where the load has nothing to do with it.
    number : int
        Of the screw or pin that fails first, from 1; 0 where there is none.
    measured, allowed : float
        What it takes under the load itself, and what it stands, in `unit`.
    unit : str
        ``N``, ``MPa``, or ``1`` where several act together.
    note : str
        How it was found, for people.
    """

    name: str
    factor: float
    number: int
    measured: float
    allowed: float
    unit: str
    note: str


def load_factor(use: Use) -> float:
    """Return the factor of a load at which a use reaches 1.

    By doubling and halving, for any use that does not fall when the load grows.

    Parameters
    ----------
    use : callable

    Returns
    -------
    float
        inf where it never does, 0 where it does under next to no load.
    """
    if use(_LEAST) >= 1.0:
        return 0.0
    high = 1.0
    while use(high) < 1.0:
        high *= 2.0
        if high > _MOST:
            return math.inf
    low = high / 2 if high > 1.0 else _LEAST
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high)
        if use(middle) >= 1.0:
            high = middle
        else:
            low = middle
    return low


def simple_mode(
    name: str, measured: float, allowed: float, unit: str, note: str, number: int = 0
) -> Mode:
    """Return a mode whose force or stress grows in proportion to the load."""
    if allowed <= 0:
        factor = math.inf if measured <= 0 else 0.0
    else:
        factor = load_factor(lambda times: times * max(measured, 0.0) / allowed)
    return Mode(name, factor, number, measured, allowed, unit, note)


def fastener_modes(
    resistances: Sequence[Iterable[Resistance]], pulls: Floats, pushes: Floats
) -> list[Mode]:
    """Return the modes of all fasteners of one kind: each by the one that fails first.

    Parameters
    ----------
    resistances : sequence of the resistances of each fastener
    pulls, pushes : (n,) float array
        What each takes along its axis and across it, N.

    Notes
    -----
    Steel that is pulled and sheared at once fails on the ellipse ``(N/N_c)² + (V/V_c)² = 1``
    (Shigley; common practice for screws). Ways to fail in plastic are taken one by one.
    """
    worst: dict[str, Mode] = {}
    for number, (ways, pull, push) in enumerate(zip(resistances, pulls, pushes, strict=True), 1):
        by_name: dict[str, list[Resistance]] = {}
        for one in ways:
            by_name.setdefault(one.mode, []).append(one)
        for name, ones in by_name.items():
            mode = _of_fastener(name, ones, float(pull), float(push), number)
            if name not in worst or mode.factor < worst[name].factor:
                worst[name] = mode
    return list(worst.values())


def _of_fastener(name: str, ones: list[Resistance], pull: float, push: float, number: int) -> Mode:
    forces = [pull if one.way == "pulled" else push for one in ones]
    if len(ones) == 1:
        return simple_mode(name, forces[0], ones[0].force, "N", ones[0].note, number)
    shares = np.array([force / one.force for force, one in zip(forces, ones, strict=True)])
    used = float(np.linalg.norm(shares))
    factor = load_factor(lambda times: float(np.linalg.norm(times * shares)))
    note = "; ".join(one.note for one in ones)
    return Mode(name, factor, number, used, 1.0, "1", note)


def contact_mode(opening: Opening, sides: tuple[Plastic, Plastic]) -> Mode:
    """Return how the pressed edge of the contact fails."""
    allowed = min(side.bearing for side in sides)
    note = "pressure at the edge on which the seam turns"
    return simple_mode("contact", opening.pressure, allowed, "MPa", note)


def adhesive_mode(
    bed: Bed, opening: Opening, load: SeamLoad, lap_shear: float, peel: float
) -> Mode:
    """Return how glue fails: tension and shear at the worst corner, ``(s/peel)² + (t/lap)² = 1``.

    Shear is ``V/A`` and what a twist adds, ``T r / I_p``, as in the elastic method for welds and
    glued joints; the ellipse is common practice, no source.

    Parameters
    ----------
    bed : Bed
    opening : Opening
        With the bed glued.
    load : SeamLoad
    lap_shear, peel : float
        What the glue stands, MPa.
    """
    pulled = np.maximum(opening.plane[0] + bed.corners @ opening.plane[1:], 0.0)
    sheared = np.linalg.norm(glue_shear(bed, load), axis=1)
    used = float(np.hypot(pulled / peel, sheared / lap_shear).max(initial=0.0))
    factor = load_factor(lambda times: times * used)
    note = "tension and shear together at the worst corner of the glue"
    return Mode(ADHESIVE, factor, 0, used, 1.0, "1", note)


def glue_shear(bed: Bed, load: SeamLoad) -> Floats:
    """Return the shear stress at each corner of a glued bed, (m, 2) MPa."""
    area, u, v, uu, _, vv = bed.edges.moments
    middle = np.array([u, v]) / area
    polar = uu + vv - area * float(middle @ middle)
    arms = bed.corners - middle
    turned = np.column_stack([-arms[:, 1], arms[:, 0]])
    result: Floats = load.force[:2] / area + turned * (load.about(middle)[2] / polar)
    return result


def tape_modes(
    tape: TapeStretches, pulls: Floats, wall: float, resin_shear: float | None
) -> list[Mode]:
    """Return how tape fails: its fibres, and its bond where the user gave a value for it.

    Parameters
    ----------
    tape : TapeStretches
    pulls : (n,) float array
        What each stretch takes, N.
    wall : float
        Stiffness of the wall below, thickness times modulus, N/mm.
    resin_shear : float or None
        Lap shear strength of its resin on the plastic, MPa.
    """
    held = tape.areas > 0
    stress = float((pulls[held] / tape.areas[held]).max(initial=0.0))
    note = "tension of the fibres that run across the seam"
    modes = [simple_mode("tape", stress, tape.fibre.strength, "MPa", note)]
    if resin_shear is not None and held.any():
        flow = float((pulls[held] / tape.widths[held]).max(initial=0.0))
        own = tape.fibre.stiffness * float(tape.areas.sum() / tape.widths.sum())
        allowed = resin_shear * tape.overlap / lap_peak(tape.overlap, own, wall)
        note = "shear of the resin at the seam (Volkersen)"
        modes.append(simple_mode("tape.bond", flow, allowed, "N/mm", note))
    return modes


def lap_peak(
    length: float, first: float, second: float, stiffness: float = RESIN_STIFFNESS
) -> float:
    """Return the greatest shear stress of a lap joint by the mean one.

    Volkersen's theory of layers that stretch and glue that shears (1938): ``tau(0) = P k (w1 cosh
    kL + w2) / sinh kL`` with ``k² = G/t (1/a + 1/b)`` and ``w1 = (1/a) / (1/a + 1/b)`` at the end
    where the first layer comes with all of the load, and likewise at the other. For equal layers it
    is ``x coth x`` with ``x = kL/2``.

    Parameters
    ----------
    length : float
        Overlap, mm.
    first, second : float
        Thickness times modulus of both layers, a and b, N/mm.
    stiffness : float
        Shear modulus by thickness of the glue, G/t, N/mm³.
    """
    soft = 1 / first + 1 / second
    steep = length * math.sqrt(stiffness * soft)
    share = max(1 / first, 1 / second) / soft
    # By tanh, which does not overflow for long laps; 1 / sinh is nothing there.
    rest = (1 - share) / math.sinh(steep) if steep < _LONG_LAP else 0.0
    return steep * (share / math.tanh(steep) + rest)


def section_stresses(
    section: SectionProperties, load: SeamLoad, twist_modulus: float
) -> tuple[Floats, float]:
    """Return the stresses of a whole section under a load, MPa.

    Parameters
    ----------
    section : SectionProperties
        In coordinates of the seam's plane.
    load : SeamLoad
    twist_modulus : float
        Torque over shear stress, mm³.

    Returns
    -------
    normal : (k,) float array
        ``N/A`` and unsymmetric bending at the corners of its hull, tension above 0.
    shear : float
        ``1.5 V/A + T/W``.
    """
    moment = load.about(section.centroid)
    slopes = np.linalg.solve(section.tensor, np.array([-moment[1], moment[0]]))
    normal = load.force[2] / section.area + section.hull @ slopes
    shear = PEAK_SHEAR * float(np.linalg.norm(load.force[:2])) / section.area
    if moment[2] != 0.0:
        shear += abs(float(moment[2])) / twist_modulus
    return normal, shear


def section_mode(
    name: str, normal: Floats, shear: float, strength: float, plastic: Plastic, note: str
) -> Mode:
    """Return how a whole section fails: Tsai and Hill's ``(s/S)² + (t/T)² = 1``.

    Their criterion for one normal stress and one shear stress; pressed fibres are held against the
    bearing strength. The greatest of both are taken to be at one place, which is on the safe side.

    Parameters
    ----------
    normal, shear
        See `section_stresses`.
    strength : float
        Tensile strength square to the section, MPa.
    plastic : Plastic
    """
    stands = np.where(normal > 0, strength, plastic.bearing)
    used = float(np.hypot(normal / stands, shear / plastic.shear).max(initial=0.0))
    return Mode(name, load_factor(lambda times: times * used), 0, used, 1.0, "1", note)
