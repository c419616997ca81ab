"""Whether a piece fits the bed at all in one of many print directions: a yes or a no, quickly.

The searches ask this thousands of times and mostly need no measure. What most directions at once
rule out or settle comes first: heights, and the widths of the plan view at steps of the yaw.
Between two steps a width cannot fall by more than a closed form allows, so what is ruled out does
not fit at any yaw. Only what is left is measured by the exact fit of `bed_fit` and `yaw_search`.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats
from splitplanner.score.bed_fit import bed_fit, hull_corners, with_area
from splitplanner.score.outline_fit import FreeArea, free_area, free_rectangles
from splitplanner.score.plan_fit import TOLERANCE, convex_area, convex_outline, rectangle_fit
from splitplanner.score.yaw_window import fits_at_some_yaw
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

_STEPS = 36
"""Directions in half a turn along which widths are taken."""
_SAME_UP = 1.0 - 1e-12


def fits_any(points: Solid | ArrayLike, directions: ArrayLike, bed: Bed) -> bool:
    """Return whether a piece fits `bed` in one of the print directions (m, 3).

    The same answer as ``best_fit(points, directions, bed).fits``, found many times quicker. On a
    rectangle or a circle upside down makes no difference; elsewhere it mirrors the plan view, so
    both ways up must be given to be tried.

    Parameters
    ----------
    points : Solid or (n, 3) array, mm
        Any points whose hull is that of the piece.
    directions : (m, 3) array
        Of any length but zero; none gives False.
    bed : Bed

    Raises
    ------
    ValueError
        If there are no points, some are not finite, or a direction has no length.
    """
    ups = np.reshape(np.asarray(directions, dtype=np.float64), (-1, 3))
    if not len(ups):
        return False
    corners = hull_corners(points)
    ups = ups[_low_enough(corners, ups, bed)]
    odd = _is_odd(bed)
    ups = _distinct(ups, mirrored=not odd)
    if not len(ups):
        return False
    frames = _frames(ups)
    need = _needs(_widths(corners, frames), bed)
    possible = np.flatnonzero(need <= 1.0)
    order = possible[np.argsort(np.round(need[possible], 9), kind="stable")]
    if not odd:
        return any(bed_fit(corners, ups[index], bed).fits for index in order)
    plans = [convex_outline(corners @ frames[index, :2].T) for index in order]
    return _any_on_outline(plans, free_area(bed))


def may_fit(points: Solid | ArrayLike, directions: ArrayLike, bed: Bed) -> Bools:
    """Return in which of the print directions (m, 3) it is not plain that a piece is too large.

    In microseconds for each, by the widths of its plan view at a few yaws; (m,).
    """
    ups = np.reshape(np.asarray(directions, dtype=np.float64), (-1, 3))
    possible = np.zeros(len(ups), dtype=np.bool_)
    if len(ups):
        corners = hull_corners(points)
        possible = _low_enough(corners, ups, bed)
        units = ups[possible] / np.linalg.norm(ups[possible], axis=1)[:, None]
        possible[possible] = _needs(_widths(corners, _frames(units)), bed) <= 1.0
    return possible


def _is_odd(bed: Bed) -> bool:
    return bed.kind == "outline" or bool(bed.blocked)


def _any_on_outline(plans: list[Floats], free: FreeArea) -> bool:
    """Return whether one of the convex `plans` fits `free`: simple reasons for a yes first."""
    room = max((float(part.area) for part in shapely.get_parts(free.shape)), default=0.0)
    slack = 1.0 + 1e-6
    plans = [plan for plan in plans if len(plan) < 3 or convex_area(plan) <= room * slack]
    for plan in plans:
        for low, high in free_rectangles(free):
            if rectangle_fit(plan, *(high - low)).spare >= 1.0:
                return True
    distinct = {_shape_key(plan): plan for plan in reversed(plans)}
    return any(fits_at_some_yaw(free, with_area(plan)) for plan in distinct.values())


def _shape_key(plan: Floats) -> tuple[tuple[float, float], ...]:
    """Return the same key for plans that a turn and a shift bring together, to 1e-5 mm."""
    edges = np.roll(plan, -1, axis=0) - plan
    back = np.roll(edges, 1, axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    turns = back[:, 0] * edges[:, 1] - back[:, 1] * edges[:, 0]
    turns = turns / np.maximum(np.hypot(back[:, 0], back[:, 1]), 1e-9)
    sides = [
        (round(x, 5), round(y, 5)) for x, y in zip(lengths.tolist(), turns.tolist(), strict=True)
    ]
    return min((*sides[k:], *sides[:k]) for k in range(len(sides)))


def _low_enough(corners: Floats, ups: Floats, bed: Bed) -> Bools:
    lengths = np.linalg.norm(ups, axis=1)
    if not (np.isfinite(lengths).all() and (lengths > 0.0).all()):
        raise ValueError("every print direction needs a finite length above 0")
    heights = np.ptp(corners @ ups.T, axis=0) / lengths
    low: Bools = heights <= bed.height + TOLERANCE
    return low


def _distinct(ups: Floats, mirrored: bool) -> Floats:
    """Return unit vectors without repeats; of opposites one where `mirrored` plans count as one."""
    units = ups / np.linalg.norm(ups, axis=1)[:, None]
    cosines = units @ units.T
    alike = (np.abs(cosines) if mirrored else cosines) > _SAME_UP
    kept: Floats = units[~np.tril(alike, -1).any(axis=1)]
    return kept


def _frames(ups: Floats) -> Floats:
    """Return right-handed frames (m, 3, 3) whose third axes are the unit vectors `ups` (m, 3)."""
    least = np.eye(3)[np.abs(ups).argmin(axis=1)]
    first = np.cross(least, ups)
    first /= np.linalg.norm(first, axis=1)[:, None]
    frames: Floats = np.stack([first, np.cross(ups, first), ups], axis=1)
    return frames


def _widths(corners: Floats, frames: Floats) -> Floats:
    """Return the widths (m, `_STEPS`) of the plan view of each frame along steps of half a turn."""
    angles = np.pi * np.arange(_STEPS) / _STEPS
    spokes = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    along = (spokes @ frames[:, :2]).reshape(-1, 3)
    widths: Floats = np.ptp(corners @ along.T, axis=0).reshape(len(frames), _STEPS)
    return widths


def _needs(widths: Floats, bed: Bed) -> Floats:
    """Return for each row of `widths` (m, k) how much of the bed it takes up at least, (m,).

    Over 1 it cannot fit. The width along a direction turned by t is at least ``w cos t - v sin t``
    with the widths w along it and v across it: two points that span w still lie so far apart.
    """
    if bed.kind == "circle":
        across = bed.width - 2.0 * bed.margin
        longest: Floats = widths.max(axis=1)
        return longest / (across + 2.0 * TOLERANCE)
    room = free_area(bed).size
    if min(room) <= 0.0:
        return np.full(len(widths), np.inf)
    half = np.pi / (2.0 * _STEPS)
    beside = np.roll(widths, _STEPS // 2, axis=1)
    least = widths * np.cos(half) - beside * np.sin(half)
    least_beside = np.roll(least, _STEPS // 2, axis=1)
    need = np.maximum(least / (room[0] + TOLERANCE), least_beside / (room[1] + TOLERANCE))
    needs: Floats = need.min(axis=1) * (1.0 - 1e-9)
    return needs
