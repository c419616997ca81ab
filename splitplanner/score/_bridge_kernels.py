"""The compiled loops behind `splitplanner.score.bridges`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.solid.joining_kernels import root

_SCANS = 128
"""Outlines with very many corners are looked at in so many places, evenly chosen."""


def _patches(normals: Any, flat: Any, beyond: Any, slack: float) -> Any:
    """Return the patch of each of the `flat` faces: the place in it of one of them, (f,)."""
    place = np.full(len(normals), -1, dtype=np.int64)
    for index in range(len(flat)):
        place[flat[index]] = index
    parents = np.arange(len(flat))
    for index in range(len(flat)):
        face = flat[index]
        for side in range(3):
            other = beyond[face, side]
            if place[other] < 0:
                continue
            x = normals[face, 0] - normals[other, 0]
            y = normals[face, 1] - normals[other, 1]
            z = normals[face, 2] - normals[other, 2]
            if np.sqrt(x * x + y * y + z * z) <= slack:
                one, two = root(parents, index), root(parents, place[other])
                parents[max(one, two)] = min(one, two)
    for index in range(len(flat)):
        parents[index] = root(parents, index)
    return parents


_patches = njit(nogil=True, cache=True)(_patches)


def _goes_down(faces: Any, height: Any, other: int, start: int, end: int) -> bool:
    """Return whether the corner of the face `other` that is off an edge lies below the edge."""
    third = faces[other, 0]
    for corner in range(3):
        vertex = faces[other, corner]
        if vertex != start and vertex != end:
            third = vertex
            break
    return height[third] < min(height[start], height[end])  # type: ignore[no-any-return]


_goes_down = njit(nogil=True, cache=True)(_goes_down)


def _outlines(
    faces: Any, normals: Any, flat: Any, beyond: Any, height: Any, slack: float
) -> tuple[Any, Any, Any, Any]:
    """Return the patches of the `flat` faces and their directed outline edges.

    Returns
    -------
    patch : (f,) int array
        Of each flat face, see `_patches`.
    edges : (e, 2) int array
        Start and end of each edge; those of one patch stand together.
    anchored : (e,) bool array
        Whether the face beyond the edge goes down from it.
    starts : (p + 1,) int array
        The edges of the n-th patch are ``starts[n]:starts[n + 1]``; patches are in rising order.
    """
    patch = _patches(normals, flat, beyond, slack)
    at = np.full(len(faces), -1, dtype=np.int64)
    for index in range(len(flat)):
        at[flat[index]] = index
    counts = np.zeros(len(flat) + 1, dtype=np.int64)
    for index in range(len(flat)):
        for side in range(3):
            other = at[beyond[flat[index], side]]
            if other < 0 or patch[other] != patch[index]:
                counts[patch[index] + 1] += 1
    ends = counts.copy()
    for index in range(len(flat)):
        ends[index + 1] += ends[index]
    edges = np.empty((ends[-1], 2), dtype=np.int64)
    anchored = np.empty(ends[-1], dtype=np.bool_)
    free = ends[:-1].copy()
    for index in range(len(flat)):
        face = flat[index]
        for side in range(3):
            across = beyond[face, side]
            other = at[across]
            if other < 0 or patch[other] != patch[index]:
                slot = free[patch[index]]
                free[patch[index]] = slot + 1
                start, end = faces[face, side], faces[face, (side + 1) % 3]
                edges[slot, 0], edges[slot, 1] = start, end
                anchored[slot] = _goes_down(faces, height, across, start, end)
    return patch, edges, anchored, ends


outlines = njit(nogil=True, cache=True)(_outlines)


def _sort(values: Any, count: int) -> None:
    """Sort the first `count` values in place (Shell's way; numpy's takes the compiler seconds)."""
    gap = 1
    while gap < count // 3:
        gap = 3 * gap + 1
    while gap > 0:
        for place in range(gap, count):
            value, hole = values[place], place
            while hole >= gap and values[hole - gap] > value:
                values[hole] = values[hole - gap]
                hole -= gap
            values[hole] = value
        gap //= 3


_sort = njit(nogil=True, cache=True)(_sort)


def _scan_heights(y: Any) -> Any:
    """Return where chords are looked at: close to both ends of each strip between corners."""
    heights = np.empty(2 * len(y))
    for edge in range(len(y)):
        heights[2 * edge], heights[2 * edge + 1] = y[edge, 0], y[edge, 1]
    _sort(heights, len(heights))
    dust = 1e-6 * max(heights[-1] - heights[0], 1.0)
    scans = np.empty(2 * len(heights))
    count = 0
    for place in range(len(heights) - 1):
        low, high = heights[place], heights[place + 1]
        # Equal heights are left out with the dust.
        if high - low > dust:
            scans[count] = low + 1e-3 * (high - low)
            scans[count + 1] = high - 1e-3 * (high - low)
            count += 2
    if count <= _SCANS:
        return scans[:count]
    chosen = np.empty(_SCANS)
    for place in range(_SCANS):
        chosen[place] = scans[int(np.rint(place * ((count - 1) / (_SCANS - 1))))]
    return chosen


_scan_heights = njit(nogil=True, cache=True)(_scan_heights)


def _chords_hold(x: Any, y: Any, anchored: Any, span: float) -> bool:
    """Return whether every chord along x, of outline edges (e, 2), is anchored and short enough.

    Between two neighbouring corner heights a chord's length is linear in y, so looking close to
    both ends of each such strip finds the longest. Outlines with very many corners are looked at
    in `_SCANS` of these places, evenly chosen.
    """
    longest = span * (1.0 + 1e-3) + 1e-6
    scans = _scan_heights(y)
    at = np.empty(len(x))
    for scan in scans:
        count = 0
        for edge in range(len(x)):
            y0, y1 = y[edge, 0], y[edge, 1]
            if (y0 <= scan) == (y1 <= scan):
                continue
            if not anchored[edge]:
                return False
            at[count] = x[edge, 0] + (scan - y0) / (y1 - y0) * (x[edge, 1] - x[edge, 0])
            count += 1
        if count % 2:
            return False
        _sort(at, count)
        for place in range(0, count, 2):
            if at[place + 1] - at[place] > longest:
                return False
    return len(scans) > 0


_chords_hold = njit(nogil=True, cache=True)(_chords_hold)


def _bridged(ends: Any, anchored: Any, cosines: Any, sines: Any, span: float) -> bool:
    """Return whether the outline `ends` (e, 2, 2) mm is bridged in one of the directions."""
    x, y = np.empty((len(ends), 2)), np.empty((len(ends), 2))
    for way in range(len(cosines)):
        c, s = cosines[way], sines[way]
        for edge in range(len(ends)):
            for end in range(2):
                u, v = ends[edge, end, 0], ends[edge, end, 1]
                x[edge, end], y[edge, end] = u * c + v * s, v * c - u * s
        if _chords_hold(x, y, anchored, span):
            return True
    return False


bridged = njit(nogil=True, cache=True)(_bridged)
