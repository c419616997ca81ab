"""The user's wishes in the search: what a sketch would have to pay for every wish it breaks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.score import Numbers, Wishes
from splitplanner.score.keep_out import Region
from splitplanner.score.wishes import EQUAL, LEAST_SUPPORT
from splitplanner.solid import Plane, Section, Solid

if TYPE_CHECKING:
    from splitplanner.suggest.estimate.seams import SeamEstimate

BROKEN = 100.0
"""What a broken wish costs: far more than any plan."""
_SUPPORT = 1e-4
"""Of a support-free wish, for every mm³ of support besides, so that less is better."""
_SAFE = 0.5
"""Share of `EQUAL` that estimated volumes may differ by: estimates are a little off."""


@dataclass(eq=False)
class Wishing:
    """Tells what broken wishes cost.

    Attributes
    ----------
    part : Solid
        The uncut part.
    wishes : Wishes
    near : float
        How far a stand-in's surface may be off the part's, mm.
    """

    part: Solid
    wishes: Wishes
    near: float
    _met: dict[Plane, tuple[Region, ...]] = field(default_factory=dict)

    def of_seam(self, seam: SeamEstimate) -> float:
        """Return the cost of the wishes that a seam breaks."""
        wishes = self.wishes
        cost = 0.0
        if wishes.longest_seam is not None and seam.figures.length > wishes.longest_seam:
            cost += BROKEN + seam.figures.length / self.part.size
        regions = self._regions(seam.plane)
        if regions:
            section = Section(seam.plane, seam.polygons)
            cost += BROKEN * sum(
                region.crossing(section, self.part, self.near) is not None for region in regions
            )
        return cost

    def _regions(self, plane: Plane) -> tuple[Region, ...]:
        if plane not in self._met:
            met = (region for region in self.wishes.keep_out if region.is_met(plane, self.part))
            self._met[plane] = tuple(met)
        return self._met[plane]

    def of_block(self, points: Floats, normals: list[Vector], support: float) -> float:
        """Return the cost of the wishes that a piece breaks.

        Parameters
        ----------
        points : (n, 3) float array, mm
            Any with the same convex hull.
        normals : list of (x, y, z)
            Of the cut planes round it.
        support : float
            Its support volume, mm³.
        """
        cost = 0.0
        least = self.wishes.smallest_piece
        if least is not None and normals:
            across = np.ptp(points @ np.array(normals).T, axis=0)
            cost += BROKEN * float((across < least).sum())
        if self.wishes.support_free and support > LEAST_SUPPORT:
            cost += BROKEN / 10 + _SUPPORT * support
        return cost

    def of_whole(self, plan: Numbers) -> float:
        """Return the cost of the wishes that a plan as a whole breaks."""
        if not self.wishes.equal_pieces:
            return 0.0
        volumes = np.array([row.volume for row in plan.pieces])
        off = float(np.abs(volumes / volumes.mean() - 1.0).max())
        return BROKEN / 10 * max(0.0, off - _SAFE * EQUAL)


def wishing_for(part: Solid, wishes: Wishes, near: float) -> Wishing | None:
    """Return what tells the cost of broken wishes; None if there are no wishes."""
    return None if wishes == Wishes() else Wishing(part, wishes, near)
