"""A part as a slender beam of varying section: forces, moments, deflection, stress by station.

Beam statics and the beam theory of Euler and Bernoulli, bending in both directions at once, with
de Saint-Venant's twist (Timoshenko, Strength of Materials). Supports may be more than statics
needs. Sections lie across one straight axis; their centroids may lie in any line.

What it cannot say: a blow or a support presses walls in where it acts (on a flat panel that can be
a hundred times as much as bending); thin walls buckle; sections keep their outline here, which open
ones with thin walls do not; bulkheads that keep sections from warping are not seen; a thin rib
across the axis counts as if the whole of its section bore, so that stress seems to dip there; and
stress at screw holes, feet of ribs and the like is higher. It is global bending only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, to_vector
from splitplanner.plan import Vector
from splitplanner.plan.load_cases import LoadCase
from splitplanner.strength.placing import AT, both_ends, placed_loads
from splitplanner.strength.statics import Softness, held
from splitplanner.strength.stations import SectionChain

POISSON = 0.35
"""Poisson's ratio of plastics where nothing is known (common practice, no source)."""
_HARDLY = 0.01
"""Sections whose warping constant is less than this share of the largest are carried along by their
neighbours; how fast their twist grows there comes from stretches tied together, and is no stress
(the program's own choice)."""

_ALONG = ("positions", "axial", "torque", "stretch", "twist")


@dataclass(frozen=True)
class Reaction:
    """What a support does to the part.

    Attributes
    ----------
    station : float
        mm along the axis.
    force : (x, y, z)
        In the part's frame, N, in the centroid of the section.
    moment : (x, y, z)
        N·mm.
    """

    station: float
    force: Vector
    moment: Vector


@dataclass(frozen=True, eq=False)
class Diagrams:
    """Forces, moments and deflection of a load case along the axis.

    Between stations, supports and ends of loads lie stretches; every stretch has two entries, its
    start and its end, so that what jumps has both values. Two components go along u and v of the
    chain's frame.

    Attributes
    ----------
    chain : SectionChain
    case : LoadCase
    positions : (k,) float array
        mm along the axis, not falling.
    shear : (k, 2) float array
        Sum of the forces across the axis at lower stations, N.
    moment : (k, 2) float array
        Sum of these times their distances: a moment that bends towards u and v, N·mm; see
        `SectionProperties.bending_stress`.
    axial : (k,) float array
        Pull along the axis, N.
    torque : (k,) float array
        Of what lies at higher stations on what lies at lower ones, about the shear centre, N·mm.
    deflection : (k, 2) float array
        Of the centroids, mm.
    stretch : (k,) float array
        How far sections move along the axis, mm.
    twist : (k,) float array
        How far they turn about it, degrees.
    reactions : tuple of Reaction
        In the order of the supports.
    energy : float
        Elastic energy, N·mm.
    free_torque : (k,) float array
        The share of the torque that is carried as if sections could warp, N·mm; the rest is
        carried by walls that bend, since clamps and neighbours keep sections from warping.
    warping_stress : (k,) float array
        Largest stress along the axis by that, MPa, somewhere in the section; 0 where it is not
        felt, and in sections that hardly warp beside others of the part, such as tips and
        bulkheads. To be added to `normal_stress`, either way.
    twists : bool
        False: how sections twist was left out.
    """

    chain: SectionChain
    case: LoadCase
    positions: Floats
    shear: Floats
    moment: Floats
    axial: Floats
    torque: Floats
    deflection: Floats
    stretch: Floats
    twist: Floats
    reactions: tuple[Reaction, ...]
    energy: float
    free_torque: Floats
    warping_stress: Floats
    twists: bool

    def __post_init__(self) -> None:
        for name in (*_ALONG, "free_torque", "warping_stress"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), (-1,)))
        for name in ("shear", "moment", "deflection"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), (-1, 2)))

    @cached_property
    def stations(self) -> Ints:
        """The station whose section each entry is reckoned with: the nearest, (k,)."""
        return self.chain.nearest(self.positions)

    @cached_property
    def normal_stress(self) -> Floats:
        """Least and largest stress along the axis in each section, (k, 2) MPa, tension above 0."""
        rows = []
        for station, moment, pull in zip(self.stations, self.moment, self.axial, strict=True):
            figures = self.chain.properties[station]
            stress = pull / figures.area + figures.bending_stress(moment)
            rows.append((stress.min(), stress.max()))
        return frozen_floats(rows)

    @cached_property
    def twist_stress(self) -> Floats:
        """Shear stress from twisting, (k,) MPa; see `Torsion.modulus`.

        0 where twist was left out.
        """
        if not self.twists:
            return frozen_floats(np.zeros(len(self.torque)))
        moduli = np.array([found.modulus for found in self.chain.torsions])
        return frozen_floats(np.abs(self.free_torque) / moduli[self.stations])

    @cached_property
    def mean_shear(self) -> Floats:
        """Shear force over area, (k,) MPa.

        The largest is 1.5 times that in a rectangle, and about the force over the area of the webs
        in a thin-walled section; see `shear_stress`.
        """
        return frozen_floats(np.linalg.norm(self.shear, axis=1) / self.chain.area[self.stations])

    @cached_property
    def deflection_in_space(self) -> Floats:
        """How far the centroids move, in the part's frame, (k, 3) mm."""
        frame = self.chain.frame
        return frozen_floats(self.deflection @ frame[:2] + self.stretch[:, None] * frame[2])

    @property
    def largest_stress(self) -> float:
        """Of all sections, by its size, MPa."""
        return float(np.abs(self.normal_stress).max())

    @property
    def weakest_station(self) -> float:
        """Where that is, mm along the axis."""
        return float(self.positions[int(np.abs(self.normal_stress).max(axis=1).argmax())])


def diagrams(
    chain: SectionChain,
    case: LoadCase,
    stiffness: ArrayLike,
    shear_stiffness: ArrayLike | None = None,
    *,
    twist: bool = True,
) -> Diagrams:
    """Return what a load case does to a part along its axis.

    Exact where flexibilities and centroids go in straight lines between stations; beyond the first
    and the last station sections are as there.

    Parameters
    ----------
    chain : SectionChain
    case : LoadCase
    stiffness : float or (n,) array
        Modulus of elasticity along the axis, at all stations or at each, MPa.
    shear_stiffness : float or (n,) array, optional
        Modulus of rigidity, MPa; ``E / (2 (1 + ν))`` with `POISSON` where left out.
    twist : bool
        Whether sections are asked how they twist and where their shear centres lie, which takes
        seconds for a part and is remembered by the chain. False is right where all loads lie in a
        plane of symmetry, and bending matters: forces, moments and stress along the axis are the
        same. What shear adds to deflections is then left out too.

    Raises
    ------
    LoadError
        If a load or support lies beside the part, or the part can slide or turn.
    ValueError
        If a modulus is not above 0.
    """
    modulus, rigid = _moduli(len(chain.positions), stiffness, shear_stiffness)
    placed = placed_loads(chain, case)
    softness = _softness(chain, modulus, rigid, twist=twist)
    found = held(placed, softness)
    force, moment = np.split(found.resultants.reshape(-1, 6), 2, axis=1)
    motion, frame = both_ends(found.motion), chain.frame
    positions = both_ends(placed.knots)
    away = chain.between(softness.centres, positions)
    rate = np.array([np.polyval(np.polyfit(AT, row, 1), (0.0, 1.0)) for row in found.twist_rate])
    bent = np.repeat(np.diff(rate, axis=1)[:, 0] / placed.steps, 2)
    return Diagrams(
        chain=chain,
        case=case,
        positions=positions,
        shear=force[:, :2],
        # A moment about u bends towards v, and one about v towards -u.
        moment=np.stack([-moment[:, 1], moment[:, 0]], axis=1),
        axial=-force[:, 2],
        torque=away[:, 0] * force[:, 1] - away[:, 1] * force[:, 0] - moment[:, 2],
        deflection=motion[:, :2],
        stretch=motion[:, 2],
        twist=np.degrees(motion[:, 5]),
        reactions=tuple(
            Reaction(support.station, to_vector(row[:3] @ frame), to_vector(row[3:] @ frame))
            for support, row in zip(case.supports, found.reactions, strict=True)
        ),
        energy=found.energy,
        free_torque=rate.ravel() * chain.between(softness.twisting, positions),
        warping_stress=np.abs(bent) * _warped(chain, modulus, positions, twist=twist),
        twists=twist,
    )


def _moduli(
    count: int, stiffness: ArrayLike, shear_stiffness: ArrayLike | None
) -> tuple[Floats, Floats]:
    """Return both moduli at every station, (count,) MPa."""
    modulus: Floats = np.broadcast_to(np.asarray(stiffness, float), (count,))
    rigid = modulus / (2.0 * (1.0 + POISSON))
    if shear_stiffness is not None:
        rigid = np.broadcast_to(np.asarray(shear_stiffness, float), (count,))
    if not (modulus > 0.0).all() or not (rigid > 0.0).all():
        raise ValueError("moduli must be above 0")
    return modulus, rigid


def _softness(chain: SectionChain, modulus: Floats, rigid: Floats, *, twist: bool) -> Softness:
    """Return how sections give way."""
    count = len(modulus)
    pulling = 1.0 / (modulus * chain.area)
    bending = np.asarray(np.linalg.inv(modulus[:, None, None] * chain.tensors), np.float64)
    if not twist:
        # The polar moment is that of a section that cannot warp, and quickly known.
        polar = rigid * np.trace(chain.tensors, axis1=1, axis2=2)
        none = np.zeros((count, 2, 2))
        return Softness(pulling, bending, none, polar, np.zeros(count), np.zeros((count, 2)))
    sliding = chain.shear_flexibilities / rigid[:, None, None]
    warping = modulus * np.array([found.warping_constant for found in chain.torsions])
    twisting = rigid * chain.torsion_constants
    return Softness(pulling, bending, sliding, twisting, warping, chain.shear_centres)


def _warped(chain: SectionChain, modulus: Floats, positions: Floats, *, twist: bool) -> Floats:
    """Return stress over the twist rate's growth at positions, (k,) N."""
    if not twist:
        return np.zeros(len(positions))
    constant = np.array([found.warping_constant for found in chain.torsions])
    most = np.array([found.most_warping for found in chain.torsions])
    most = np.where(constant >= _HARDLY * constant.max(), most, 0.0)
    return chain.between(modulus * most, positions)
