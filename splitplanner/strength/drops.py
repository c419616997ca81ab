"""A part that falls, or that something falls on: how many times its weight it has to stand.

As many times as its static load as leaves all the energy of the fall in the part as a spring: no
waves, no mass of what is hit, nothing lost in dents and sound, and no wall that gives way where it
strikes. So it is on the safe side of those, for a stiff part by far (factors of hundreds): a known
way of stopping tells more. And it is linear elastic, though a blow may break what a slow load would
not (Roark's Formulas for Stress and Strain, chapter on dynamic stress; Shigley's Mechanical
Engineering Design, shock and impact; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.errors import LoadError
from splitplanner.plan.load_cases import LoadCase
from splitplanner.strength.beams import Diagrams, diagrams
from splitplanner.strength.stations import SectionChain

GRAVITY = 9.80665
"""m/s² (ISO 80000-3)."""


@dataclass(frozen=True)
class Drop:
    """A fall.

    Attributes
    ----------
    mass : float
        Of what falls, g.
    height : float
        mm; 0 is a load that is let go at once.
    stopping : float or None
        Way on which it comes to rest if that is known, as on foam or turf, the part's own give
        included, mm; the resistance rises evenly from 0. None: only the part gives way.

    Raises
    ------
    LoadError
        If one of them makes no sense.
    """

    mass: float
    height: float
    stopping: float | None = None

    def __post_init__(self) -> None:
        if not (0.0 < self.mass < math.inf and 0.0 <= self.height < math.inf):
            raise LoadError(
                f"A drop needs a mass above 0 g and a height of 0 mm or more, got {self.mass:g} g "
                f"and {self.height:g} mm."
            )
        if self.stopping is not None and not 0.0 < self.stopping < math.inf:
            raise LoadError(
                f"The way on which a drop stops must be above 0 mm, got {self.stopping:g} mm; "
                "leave it out if only the part gives way."
            )

    @property
    def weight(self) -> float:
        """Of what falls, N."""
        return self.mass / 1000.0 * GRAVITY


@dataclass(frozen=True, eq=False)
class Impact:
    """What a drop comes to.

    Attributes
    ----------
    drop : Drop
    static : Diagrams
        Of the weight at rest.
    sag : float
        How far the weight goes down with it at rest, mm: twice the elastic energy over the weight,
        which under a single force is the deflection there.
    factor : float
        How many times the static load it has to stand.
    """

    drop: Drop
    static: Diagrams
    sag: float
    factor: float

    @property
    def case(self) -> LoadCase:
        """The static load case that stands for the drop."""
        return self.static.case.times(self.factor)

    @property
    def largest_stress(self) -> float:
        """Of all sections, by its size, MPa."""
        return self.factor * self.static.largest_stress

    @property
    def fallen(self) -> float:
        """Energy that the fall and the way down give, N·mm."""
        stopped = self.factor * self.sag if self.drop.stopping is None else self.drop.stopping
        return self.drop.weight * (self.drop.height + stopped)


def drop_factor(height: float, sag: float) -> float:
    """Return how many times its static load a spring stands when a weight drops on it.

    ``n = 1 + √(1 + 2 h / δ)``: the weight's energy ``W (h + n δ)`` equals the spring's,
    ``n² W δ / 2`` (Roark; Shigley). 2 for a load that is let go at once.

    Parameters
    ----------
    height : float
        mm, 0 or more.
    sag : float
        Deflection under the load at rest, mm, above 0.
    """
    return 1.0 + math.sqrt(1.0 + 2.0 * height / sag)


def stopping_factor(height: float, stopping: float) -> float:
    """Return how many times its weight a thing feels that stops on a known way.

    ``n = 2 (h + s) / s``, if the resistance rises evenly to its peak: ``n W s / 2 = W (h + s)``.
    The same as `drop_factor` for a spring that gives way by s. On average it is half.

    Parameters
    ----------
    height, stopping : float
        mm; the second above 0.
    """
    return 2.0 * (height + stopping) / stopping


def dropped(
    chain: SectionChain,
    case: LoadCase,
    drop: Drop,
    stiffness: ArrayLike,
    shear_stiffness: ArrayLike | None = None,
    *,
    twist: bool = True,
) -> Impact:
    """Return what a drop does to a part.

    Parameters
    ----------
    chain : SectionChain
    case : LoadCase
        Where the weight acts and what holds it up: a `PointLoad` where something falls on the part,
        a `WeightLoad` where it falls itself and lands on its supports. Only the shares and
        directions of the loads count; together they are made the drop's weight.
    drop : Drop
    stiffness, shear_stiffness, twist
        As for `diagrams`.

    Raises
    ------
    LoadError
        If the loads come to nothing together, or as for `diagrams`.
    """
    total = float(np.linalg.norm(case.total))
    if total == 0.0:
        raise LoadError(
            f"Load case “{case.name}”: a drop needs a force that says where and which way it "
            "strikes; add one."
        )
    case = case.times(drop.weight / total)
    static = diagrams(chain, case, stiffness, shear_stiffness, twist=twist)
    sag = 2.0 * static.energy / drop.weight
    if drop.stopping is None:
        factor = drop_factor(drop.height, sag)
    else:
        factor = stopping_factor(drop.height, drop.stopping)
    return Impact(drop, static, sag, factor)
