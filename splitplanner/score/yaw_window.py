"""Whether a convex plan view fits a bed of any outline at some yaw: a yes or a no.

Windows of yaws are dropped or halved. What all turns of the plan view within a window have in
common is itself convex, and wherever one of the turns lies on the bed it does too: where it does
not fit, no yaw of the window does. Unlike the search for the largest scale this proves the no, for
slim plan views as well.
"""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.score.outline_fit import FreeArea, fits_at
from splitplanner.score.plan_fit import TOLERANCE, widths
from splitplanner.score.turning import is_point_symmetric, shared_by_turns
from splitplanner.score.yaw_search import parallel_yaws

_WINDOW = 12.0
_LEAST_WINDOW = 0.1
_MOST_TESTS = 500


def fits_at_some_yaw(free: FreeArea, outline: Floats) -> bool:
    """Return whether `outline` fits `free` at a yaw that was tried.

    Parameters
    ----------
    free : FreeArea
    outline : (n, 2) float array, mm
        Convex, counter-clockwise, with an area.

    Yaws at which it is parallel to the bed come first, then the middles of windows down to 0.1°,
    no more than 500 in all: a yes is exact, a no may be wrong only for what fits in a window
    smaller than that.
    """
    if not len(free.corners):
        return False
    # Shrunk by the tolerance, so that an exact fit is one.
    middle = outline.mean(axis=0)
    plan = (outline - middle) * (1.0 - TOLERANCE / max(*np.ptp(outline, axis=0), 2.0 * TOLERANCE))
    turn = 180.0 if is_point_symmetric(plan) else 360.0
    exact = np.unique(np.mod(parallel_yaws(free, outline), turn))
    if any(fits_at(free, plan, yaw, 1.0) for yaw in exact[_narrow_enough(free, plan, exact, 0.0)]):
        return True
    window, tests = _WINDOW, 0
    yaws = np.arange(window / 2.0, turn, window)
    while len(yaws) and window > _LEAST_WINDOW and tests < _MOST_TESTS:
        kept = []
        shared = shared_by_turns(plan, window / 2.0)
        for yaw in yaws[_narrow_enough(free, plan, yaws, window / 2.0)]:
            tests += 1
            if len(shared) > 2 and not fits_at(free, shared, yaw, 1.0):
                continue
            tests += 1
            if fits_at(free, plan, yaw, 1.0):
                return True
            kept.append(yaw)
        window /= 2.0
        yaws = np.concatenate([np.array(kept) - window / 2.0, np.array(kept) + window / 2.0])
    return False


def _narrow_enough(free: FreeArea, plan: Floats, yaws: Floats, half: float) -> Bools:
    """Return for each yaw (m,) whether widths across the bed's hull allow a fit within `half`.

    By a turn of t the width along a direction falls to no less than ``w cos t - v sin t``, with
    the widths w along it and v across it.
    """
    normals = free.normals[:: max(1, len(free.normals) // 32)]
    across = np.ptp(free.corners @ normals.T, axis=0)
    angles = np.arctan2(normals[:, 1], normals[:, 0])[:, None] - np.radians(yaws)[None, :]
    own = widths(plan, angles.ravel()).reshape(angles.shape)
    beside = widths(plan, angles.ravel() + np.pi / 2.0).reshape(angles.shape)
    turn = np.radians(half)
    least = own * np.cos(turn) - beside * np.sin(turn)
    allowed: Bools = (least <= across[:, None] + TOLERANCE).all(axis=0)
    return allowed
