"""How few pieces a part can possibly be cut into: figures that no plan can beat."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.solid import Solid
from splitplanner.workshop import Bed


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
    """Return the longest straight line inside the bed's printable volume, mm."""
    margin = 2 * bed.margin
    if bed.kind == "circle":
        plan = bed.width - margin
    elif bed.kind == "rectangle":
        plan = math.hypot(bed.width - margin, bed.depth - margin)
    else:
        corners = np.asarray(bed.outline)
        plan = float(np.linalg.norm(corners[:, None] - corners[None, :], axis=2).max())
    return math.hypot(plan, bed.height)


def bed_volume(bed: Bed) -> float:
    """Return the largest volume that the bed can hold, mm³ (margin off, blocked areas left in)."""
    margin = 2 * bed.margin
    if bed.kind == "circle":
        return math.pi / 4 * (bed.width - margin) ** 2 * bed.height
    return (bed.width - margin) * (bed.depth - margin) * bed.height


def lower_bound(solid: Solid, bed: Bed) -> LowerBound:
    """Return a number of pieces that no plan can go below.

    Two bounds, the larger wins. Volume: a piece is no larger than the bed. Distance: no piece
    holds two points further apart than the bed's space diagonal, so points of the part that are
    pairwise further apart than that lie in as many different pieces (pigeonhole); and a chain of
    touching pieces that joins two points at distance d has at least d / diagonal members.
    """
    diagonal = bed_diagonal(bed)
    by_volume = math.ceil(solid.volume / bed_volume(bed) * (1 - 1e-9))
    points = solid.hull.vertices
    apart = _points_apart(points, diagonal)
    spread = points[:, None, :] if len(points) < 2000 else points[:: len(points) // 1000, None, :]
    longest = float(np.linalg.norm(spread - points[None, :, :], axis=2).max())
    by_length = math.ceil(longest / diagonal * (1 - 1e-9))
    best = max(by_volume, apart, by_length, 1)
    if best == 1:
        return LowerBound(1, "nothing rules out one piece")
    if best == apart:
        reason = (
            f"{apart} of its points lie pairwise over {diagonal:.0f} mm apart, the bed's diagonal"
        )
    elif best == by_length:
        reason = f"it is {longest:.0f} mm long and the bed's diagonal is {diagonal:.0f} mm"
    else:
        reason = f"its volume is {solid.volume / bed_volume(bed):.1f} times the bed's"
    return LowerBound(best, reason)


def _points_apart(points: Floats, distance: float) -> int:
    """Return how many of `points` a greedy choice finds pairwise more than `distance` apart."""
    best = 1
    centre = points.mean(axis=0)
    order = np.argsort(-np.linalg.norm(points - centre, axis=1), kind="stable")
    for first in order[: min(len(order), 12)]:
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
