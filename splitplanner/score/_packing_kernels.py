"""The compiled loops behind `splitplanner.score._packing`; imported only when first needed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit

_HALVINGS = 30


def _is_free(u: float, v: float, taken: Any, count: int, least: float) -> bool:
    """Return whether the first `count` of `taken` (n, 2) are at least so far from (u, v)."""
    for index in range(count):
        if math.hypot(taken[index, 0] - u, taken[index, 1] - v) < least:
            return False
    return True


_is_free = njit(nogil=True, cache=True)(_is_free)


def _earliest(before: Any, after: Any, taken: Any, count: int, least: float) -> tuple[float, float]:
    """Return the first place from `before` to `after` that keeps its distance from all `taken`."""
    run_u, run_v = after[0] - before[0], after[1] - before[1]
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _is_free(before[0] + run_u * middle, before[1] + run_v * middle, taken, count, least):
            high = middle
        else:
            low = middle
    return before[0] + run_u * high, before[1] + run_v * high


_earliest = njit(nogil=True, cache=True)(_earliest)


def _walked(ring: Any, gap: Any, taken: Any, spacing: float, tolerance: float) -> Any:
    """Set points along a closed `ring` (n, 2), as early as the `taken` (k, 2) before them allow.

    Parameters
    ----------
    ring : (n, 2) float array
        Places along the outline, close together.
    gap : (n,) float array
        Their distances from the nearest of `taken`; brought up to date.
    taken : (k, 2) float array
    spacing : float
    tolerance : float
        Of the spacing, as a share of it.

    Returns
    -------
    (k + m, 2) float array
        `taken` and the points set.
    """
    count = len(taken)
    every = np.empty((count + len(ring), 2))
    # Slices take the compiler seconds.
    for index in range(count):
        every[index, 0], every[index, 1] = taken[index, 0], taken[index, 1]
    for at in range(len(ring)):
        if not gap[at] >= spacing * (1 - tolerance):
            continue
        u, v = ring[at, 0], ring[at, 1]
        if at and count:
            u, v = _earliest(ring[at - 1], ring[at], every, count, spacing * (1 - tolerance / 2))
        every[count, 0], every[count, 1] = u, v
        count += 1
        for index in range(at, len(ring)):
            gap[index] = min(gap[index], math.hypot(ring[index, 0] - u, ring[index, 1] - v))
    return every[:count]


walked = njit(nogil=True, cache=True)(_walked)
