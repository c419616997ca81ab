"""The compiled loops that cut meshes by planes; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _levels(heights: Any, offsets: Any, rounding: Any) -> Any:
    """Return how many planes at rising `offsets` (k,) each corner is above, (n,)."""
    found = np.empty(len(heights), np.int32)
    for corner in range(len(heights)):
        low, high = 0, len(offsets)
        while low < high:
            middle = (low + high) // 2
            if heights[corner] - offsets[middle] > rounding[middle]:
                low = middle + 1
            else:
                high = middle
        found[corner] = low
    return found


_levels = njit(nogil=True, cache=True)(_levels)


def _crossed_by_each(faces: Any, heights: Any, offsets: Any, rounding: Any) -> Any:
    """Return which faces each of many parallel planes crosses.

    Parameters
    ----------
    faces : (m, 3) int array
    heights : (n,) float array
        Of the corners, mm.
    offsets, rounding : (k,) float array
        Heights of the planes, rising, and how near to each corners lie in it, mm: they count as
        below it.

    Returns
    -------
    owners : (c,) int array
        Faces by planes, rising for each.
    begins : (k + 1,) int array
        Where those of each plane begin in `owners`.
    levels : (n,) int array
        How many planes each corner is above.
    """
    levels = _levels(heights, offsets, rounding)
    begins = np.zeros(len(offsets) + 2, np.int64)
    for face in range(len(faces)):
        a, b, c = levels[faces[face, 0]], levels[faces[face, 1]], levels[faces[face, 2]]
        for plane in range(min(a, b, c), max(a, b, c)):
            begins[plane + 2] += 1
    begins = np.cumsum(begins)
    owners = np.empty(begins[-1], np.int64)
    for face in range(len(faces)):
        a, b, c = levels[faces[face, 0]], levels[faces[face, 1]], levels[faces[face, 2]]
        for plane in range(min(a, b, c), max(a, b, c)):
            owners[begins[plane + 1]] = face
            begins[plane + 1] += 1
    return owners, begins[:-1], levels


crossed_by_each = njit(nogil=True, cache=True)(_crossed_by_each)


def _lone_first(faces: Any, above: Any) -> Any:
    """Turn crossed faces (c, 3) so that the corner that is alone on its side comes first.

    Also return whether it is above, (c,); `above` (c, 3) says so of all corners.
    """
    turned, is_above = np.empty_like(faces), np.empty(len(faces), np.bool_)
    for face in range(len(faces)):
        lone = 2
        if above[face, 1] == above[face, 2]:
            lone = 0
        elif above[face, 0] == above[face, 2]:
            lone = 1
        is_above[face] = above[face, lone]
        for side in range(3):
            turned[face, side] = faces[face, (lone + side) % 3]
    return turned, is_above


lone_first = njit(nogil=True, cache=True)(_lone_first)


def _edge_keys(count: int, turned: Any, heights: Any, offset: float, rounding: float) -> Any:
    """Return a number (2c,) for each edge from first to second, then to third corners (c, 3).

    Equal for the same edge among `count` corners, and for all edges to a corner in the plane.
    """
    faces = len(turned)
    keys = np.empty(2 * faces, np.int64)
    for at in range(2 * faces):
        lone, other = turned[at % faces, 0], turned[at % faces, 1 + at // faces]
        low, high = min(lone, other), max(lone, other)
        if abs(heights[high] - offset) <= rounding:
            low = high
        if abs(heights[low] - offset) <= rounding:
            high = low
        keys[at] = low * count + high
    return keys


edge_keys = njit(nogil=True, cache=True)(_edge_keys)


def _crossings(vertices: Any, heights: Any, offset: float, keys: Any, order: Any) -> Any:
    """Return the points (k, 3) in which edges cross the plane, and the number of that of each.

    `order` is that of the keys of the edges, both (2c,); numbers are (2, c).
    """
    count = len(vertices)
    ends = np.empty(len(keys), np.int64)
    points = np.empty((len(keys), 3))
    found = 0
    last = -1
    for at in order:
        if keys[at] != last:
            last = keys[at]
            low, high = last // count, last % count
            above = heights[low] - offset
            share = 0.0 if low == high else above / (above - (heights[high] - offset))
            for axis in range(3):
                way = vertices[high, axis] - vertices[low, axis]
                points[found, axis] = vertices[low, axis] + share * way
            found += 1
        ends[at] = found - 1
    return ends.reshape(2, len(keys) // 2), points[:found].copy()


crossings = njit(nogil=True, cache=True)(_crossings)


def _rounds(count: int, starts: Any, stops: Any) -> Any:
    """Return whether steps among `count` points go round without meeting, and where.

    Returns
    -------
    apart : bool
        Whether one step at most begins and ends at each point, and all go round.
    order : (k,) int array
        The points of each way round, laid end to end.
    begins : (r,) int array
        Where each way round begins in `order`.
    """
    follower, entered = np.full(count, -1), np.zeros(count, np.bool_)
    order, begins = np.empty(len(starts), np.int64), np.empty(len(starts), np.int64)
    apart = True
    for step in range(len(starts)):
        apart = apart and follower[starts[step]] < 0 and not entered[stops[step]]
        follower[starts[step]], entered[stops[step]] = stops[step], True
    for point in range(count):
        apart = apart and (follower[point] >= 0) == entered[point]
    filled = found = 0
    if apart:
        for first in range(count):
            at = first
            if follower[at] >= 0:
                begins[found] = filled
                found += 1
            while follower[at] >= 0:
                order[filled] = at
                filled += 1
                following = follower[at]
                follower[at] = -1
                at = following
    return apart, order[:filled], begins[:found]


rounds = njit(nogil=True, cache=True)(_rounds)
