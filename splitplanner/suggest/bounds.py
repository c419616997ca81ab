"""How few pieces a part can possibly be cut into: figures that no plan can beat."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.errors import WorkshopError
from splitplanner.score.outline_fit import free_area
from splitplanner.score.plan_fit import TOLERANCE
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

_SLACK = 10 * TOLERANCE
"""Points this much (mm) further apart than the bed's diagonal may still be in one piece: a piece
that is larger than the bed by rounding only fits."""
_MOST_PAIRS = 2000
"""Of up to this many hull corners every two are compared for the greatest distance."""
_STARTS = 12


@dataclass(frozen=True)
class LowerBound:
    """The least number of pieces that could do, and why.

    Attributes
    ----------
    pieces : int
    reason : str
        Half a sentence for the user.
    """

    pieces: int
    reason: str


def bed_diagonal(bed: Bed) -> float:
    """Return a length that no straight line inside the bed's free volume exceeds, mm.

    A piece's plan view has its convex hull free of margin and blocked areas, so it lies in one
    connected free area; that of a round bed without blocked areas is a disc. Exact for these, for
    rectangles and for convex outlines.
    """
    plan = max((_diameter(area) for area in _free_parts(bed)), default=0.0)
    if bed.kind == "circle":
        plan = min(plan, bed.width - 2 * bed.margin)
    return math.hypot(plan, bed.height)


def bed_volume(bed: Bed) -> float:
    """Return a volume that no piece on the bed exceeds, mm³.

    The bed's largest connected free area (margin and blocked areas off) times its height.
    """
    plan = max((float(area.area) for area in _free_parts(bed)), default=0.0)
    if bed.kind == "circle":
        plan = min(plan, math.pi / 4 * (bed.width - 2 * bed.margin) ** 2)
    return plan * bed.height


def _free_parts(bed: Bed) -> list[shapely.Polygon]:
    return list(shapely.get_parts(free_area(bed).shape))


def _diameter(area: shapely.Polygon) -> float:
    corners = shapely.get_coordinates(area.convex_hull)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial.distance import cdist

    return float(cdist(corners, corners).max())


def lower_bound(solid: Solid, bed: Bed) -> LowerBound:
    """Return a number of pieces that no plan can go below.

    The sum over the part's bodies of the largest of three bounds. Volume: a piece is no larger
    than the bed. Distance: no piece holds two points further apart than the bed's space diagonal,
    so points of the body that are pairwise further apart than that lie in as many different
    pieces (pigeonhole). Length: a chain of touching pieces that joins two points of a body at
    distance d has at least d / diagonal members.

    Raises
    ------
    WorkshopError
        If margin and blocked areas leave nothing of the bed free.
    """
    if bed_volume(bed) <= 0:
        raise WorkshopError(
            f"Nothing of the bed ({bed}) is left free; make its margin or blocked areas smaller."
        )
    bodies = solid.bodies()
    bounds = [_bound_of(body, bed) for body in bodies]
    if len(bodies) == 1:
        return bounds[0]
    reason = f"it is {len(bodies)} bodies that do not touch"
    for index, bound in enumerate(bounds, 1):
        if bound.pieces > 1:
            reason += f"; of body {index}, {bound.reason}"
    return LowerBound(sum(bound.pieces for bound in bounds), reason)


def _bound_of(body: Solid, bed: Bed) -> LowerBound:
    diagonal, room = bed_diagonal(bed), bed_volume(bed)
    points = body.hull.vertices
    longest = _longest(points)
    apart = _points_apart(points, diagonal + _SLACK)
    by_length = math.ceil((longest - _SLACK) / (diagonal + _SLACK))
    by_volume = math.ceil(body.volume / room * (1 - 1e-6))
    best = max(by_volume, apart, by_length, 1)
    if best == 1:
        return LowerBound(1, "nothing rules out one piece")
    if best == by_length and best == 2:
        reason = f"it is {longest:.0f} mm long and the bed's diagonal is {diagonal:.0f} mm"
    elif best == apart:
        reason = (
            f"{apart} of its points lie pairwise over {diagonal:.0f} mm apart, the bed's diagonal"
        )
    elif best == by_length:
        reason = f"it is {longest:.0f} mm long and the bed's diagonal is {diagonal:.0f} mm"
    else:
        reason = f"its volume is {body.volume / room:.1f} times the bed's"
    return LowerBound(best, reason)


def _longest(points: Floats) -> float:
    """Return a distance between two of `points` (n, 3): the greatest, or near it if there are many.

    Of many points, the furthest from a point on the rim is looked for, then the furthest from
    that, until it grows no more; from several starts.
    """
    if len(points) <= _MOST_PAIRS:
        # Imported late: loading scipy would hold up the start of the window.
        from scipy.spatial.distance import cdist

        return float(cdist(points, points).max())
    best = 0.0
    for start in _outermost(points):
        at, here = int(start), 0.0
        while True:
            gaps = np.linalg.norm(points - points[at], axis=1)
            at = int(gaps.argmax())
            if gaps[at] <= here:
                break
            here = float(gaps[at])
        best = max(best, here)
    return best


def _outermost(points: Floats) -> list[int]:
    """Return the indices of the points furthest from the middle of all, furthest first."""
    away = np.linalg.norm(points - points.mean(axis=0), axis=1)
    return [int(index) for index in np.argsort(-np.round(away, 6), kind="stable")[:_STARTS]]


def _points_apart(points: Floats, distance: float) -> int:
    """Return how many of `points` a greedy choice finds pairwise more than `distance` apart."""
    best = 1
    for first in _outermost(points):
        free = np.linalg.norm(points - points[first], axis=1) > distance
        chosen = [points[first]]
        while free.any():
            # Taking the nearest allowed point leaves the most room for others.
            gaps = np.where(free, np.linalg.norm(points - chosen[-1], axis=1), np.inf)
            pick = int(np.argmin(gaps))
            chosen.append(points[pick])
            free &= np.linalg.norm(points - points[pick], axis=1) > distance
        best = max(best, len(chosen))
    return best
