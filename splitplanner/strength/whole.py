"""The uncut part under its load cases: how much stress there is where seams may come to lie.

It depends on the part, the load cases and the material alone, so it is worked out once and serves
every plan. Beside each other, stresses of one load case do not depend on the material.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.findings import Finding, Severity
from splitplanner.plan import Loading, PointLoad, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid import Solid
from splitplanner.strength.beams import Diagrams, diagrams
from splitplanner.strength.drops import Drop, Impact, dropped
from splitplanner.strength.stations import SectionChain, chain_torsions, section_chain
from splitplanner.workshop import Material, known_material

ChainOf = Callable[[Solid, Vector, Report], SectionChain]

_SHEAR = 3.0
"""Square of how much more shear counts than pulling: the stress of von Mises."""
BESIDE = 10.0
"""A joint takes its load over from the walls this far on either side of the seam, mm: a rib right
at it, where the stress of the whole section dips, does not relieve them (the program's own
choice)."""
_TWISTS = 1e-6
"""A couple whose component along the axis is less than this share of it does not twist."""
_FELT = 0.05
"""Where a piece has less than this share of a load case's largest stress it need not care how its
layers lie (the program's own choice)."""


@dataclass(frozen=True, eq=False)
class WholeUnderLoad:
    """The uncut part under one load case: its largest stress by station.

    Small enough to be kept beside the figures of every plan, and sent to other processes.

    Attributes
    ----------
    loading : Loading
    positions : (k,) float array
        Offsets along the loading's axis, mm, not falling; where stress jumps both values are
        there.
    normal : (k,) float array
        Largest stress along the axis in each section by its size, that from warping added, MPa.
    twist : (k,) float array
        Largest shear stress from twisting, MPa; 0 where no load twists.
    factor : float
        How many times its static load a fall counts; in the stresses already. 1 without a fall.
    """

    loading: Loading
    positions: Floats
    normal: Floats
    twist: Floats
    factor: float = 1.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "positions", frozen_floats(self.positions, (-1,)))
        for name in ("normal", "twist"):
            values = frozen_floats(getattr(self, name), (len(self.positions),))
            object.__setattr__(self, name, values)

    @cached_property
    def largest(self) -> float:
        """The largest stress of the whole part, by von Mises, MPa."""
        return float(np.sqrt(self.normal**2 + _SHEAR * self.twist**2).max())

    @cached_property
    def twists(self) -> bool:
        """Whether the part is twisted."""
        return bool(self.twist.any())

    def at(self, low: float, high: float) -> tuple[Floats, Floats]:
        """Return `normal` and `twist` at all stations of a stretch of the axis, ends included.

        Beyond the part's ends they are as there.

        Parameters
        ----------
        low, high : float
            Offsets along the axis, mm; the same for one station.
        """
        first = np.searchsorted(self.positions, low, "left")
        last = np.searchsorted(self.positions, high, "right")
        ends = np.interp([low, high], self.positions, self.normal)
        turned = np.interp([low, high], self.positions, self.twist)
        inside = slice(first, last)
        return (
            np.concatenate([ends, self.normal[inside]]),
            np.concatenate([turned, self.twist[inside]]),
        )

    def stress_at(self, normal: Vector, low: float, high: float) -> float:
        """Return the largest stress that a seam has to hand on if the part is cut there, MPa.

        Of the uncut part at the seam and for `BESIDE` on either side of it.

        Of a pull s along the axis, ``s cos² t`` acts square to a plane whose normal lies at the
        angle t to the axis (stress on an inclined section: Gere, Mechanics of Materials, section
        2.6): a seam along the axis is pulled apart by nothing. Twisting slides the faces of any
        plane on each other by up to its whole shear stress τ, whichever way the plane lies (shear
        stresses on planes square to each other are equal: Gere, section 3.3). Both together by
        von Mises, ``√((s cos² t)² + 3 τ²)``.

        Parameters
        ----------
        normal : (x, y, z)
            Of the seam's plane, a unit vector.
        low, high : float
            From where to where the seam reaches along the axis, mm; the same for a seam square to
            it.
        """
        share = square_share(normal, self.loading.axis)
        pull, shear = self.at(low - BESIDE, high + BESIDE)
        return float(np.sqrt((share * pull) ** 2 + _SHEAR * shear**2).max())


@dataclass(frozen=True, eq=False)
class UnderLoads:
    """The uncut part under all of its load cases.

    Attributes
    ----------
    found : tuple of WholeUnderLoad
        In the order of the load cases.
    findings : tuple of Finding
        One for each load case that cannot be worked out.
    """

    found: tuple[WholeUnderLoad, ...] = ()
    findings: tuple[Finding, ...] = ()


def square_share(normal: Vector, axis: Vector) -> float:
    """Return which share of a pull along a unit `axis` acts square to a plane, ``cos² t``."""
    (a, b, c), (d, e, f) = normal, axis
    return (a * d + b * e + c * f) ** 2


def loaded_diagrams(
    chain: SectionChain,
    loading: Loading,
    material: Material | None = None,
    report: Report = silent,
) -> tuple[Diagrams, Impact | None]:
    """Return what one load case does to a part in one piece, a fall with its factor.

    Twist is left out where no load twists; see `twists`.

    Parameters
    ----------
    chain : SectionChain
        Of the part along the loading's axis.
    loading : Loading
    material : Material, optional
        For the modulus (along the layers) and the mass; see `known_material` for what it does not
        tell.
    report : progress callback

    Returns
    -------
    found : Diagrams
        Of the whole load.
    impact : Impact or None
        What the fall comes to; None where nothing falls.

    Raises
    ------
    LoadError
        If the load case does not suit the part; see `diagrams` and `dropped`.
    """
    known, _ = known_material(material)
    modulus = known.stiffness_xy
    assert modulus is not None
    twist = twists(loading)
    if twist and "torsions" not in vars(chain):
        # Where the chain keeps them; this way it can be stopped.
        vars(chain)["torsions"] = chain_torsions(chain, report=report)
    if loading.fall is None:
        return diagrams(chain, loading.case, modulus, twist=twist), None
    mass = loading.fall.mass
    if mass is None:
        mass = known.mass(float(np.trapezoid(chain.area, chain.positions)))
    drop = Drop(mass, loading.fall.height, loading.fall.stopping)
    impact = dropped(chain, loading.case, drop, modulus, twist=twist)
    return diagrams(chain, impact.case, modulus, twist=twist), impact


def twists(loading: Loading) -> bool:
    """Return whether a load twists: a couple about the axis, or a force across it beside it.

    A force at the sections' centroids is taken not to, though it does in sections whose shear
    centre lies elsewhere: to find those takes seconds.
    """
    axis = np.array(loading.axis)
    for load in loading.case.loads:
        if not isinstance(load, PointLoad):
            continue
        couple, force = np.array(load.moment), np.array(load.force)
        if abs(couple @ axis) > _TWISTS * np.linalg.norm(couple):
            return True
        across = force - (force @ axis) * axis
        if load.at is not None and np.linalg.norm(across) > _TWISTS * np.linalg.norm(force):
            return True
    return False


def stress_along(loading: Loading, found: Diagrams, impact: Impact | None = None) -> WholeUnderLoad:
    """Return the stresses of what `loaded_diagrams` has found."""
    along = np.abs(found.normal_stress).max(axis=1) + found.warping_stress
    factor = 1.0 if impact is None else impact.factor
    return WholeUnderLoad(loading, found.positions, along, found.twist_stress, factor)


def under_loads(
    part: Solid,
    loadings: Sequence[Loading],
    material: Material | None = None,
    report: Report = silent,
    chain_of: ChainOf | None = None,
) -> UnderLoads:
    """Work out the stresses of the uncut part under load cases.

    Parameters
    ----------
    part : Solid
        The part itself.
    loadings : sequence of Loading
    material : Material, optional
        See `loaded_diagrams`.
    report : progress callback
    chain_of : function of part, axis and report, optional
        Gives the sections of a part along an axis, where somebody remembers them.

    Returns
    -------
    UnderLoads
        Load cases that cannot be worked out, or that load the part with nothing, are left out.
    """
    sections = chain_of or _sections
    chains: dict[Vector, SectionChain] = {}
    found, findings = [], []
    for index, loading in enumerate(loadings):
        here = part_of(report, index / len(loadings), (index + 1) / len(loadings))
        try:
            if loading.axis not in chains:
                chains[loading.axis] = sections(part, loading.axis, part_of(here, 0.0, 0.5))
            chain = chains[loading.axis]
            figures, impact = loaded_diagrams(chain, loading, material, part_of(here, 0.5, 1.0))
        except LoadError as fault:
            findings.append(
                Finding("strength.load", Severity.WARNING, str(fault), subject=loading.name)
            )
            continue
        whole = stress_along(loading, figures, impact)
        if whole.largest > 0.0:
            found.append(whole)
    return UnderLoads(tuple(found), tuple(findings))


def _sections(part: Solid, axis: Vector, report: Report) -> SectionChain:
    return section_chain(part, axis, report=report)


def main_stress_direction(whole: Sequence[WholeUnderLoad], piece: Solid) -> Vector | None:
    """Return along which direction a piece is pulled most, for choosing how it prints.

    Of the load case that takes the piece nearest to that case's own largest stress: its axis,
    since bending stress runs along the beam (Gere, Mechanics of Materials, section 5.5).

    Parameters
    ----------
    whole : sequence of WholeUnderLoad
    piece : Solid
        In the part's frame.

    Returns
    -------
    (x, y, z) or None
        None where no load is felt in the piece, or twisting governs there, which has no one
        direction.
    """
    best, direction = _FELT, None
    for each in whole:
        heights = piece.vertices @ np.array(each.loading.axis)
        pull, shear = each.at(float(heights.min()), float(heights.max()))
        stress = np.sqrt(pull**2 + _SHEAR * shear**2)
        worst = int(stress.argmax())
        share = float(stress[worst]) / each.largest
        # Of equal ones the first.
        if share > best * (1.0 + 1e-9):
            bends = pull[worst] ** 2 >= _SHEAR * shear[worst] ** 2
            best, direction = share, each.loading.axis if bends else None
    return direction
