"""The compiled loops behind `splitplanner.score.layering`; imported only when first needed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit

MOST_IN_TURN = 60
"""Of more islands than this the way from one to the next is estimated."""

_NEAR = 1e-6
"""Points of an outline this near to each other are one, mm."""


def _reach(low: float, high: float, levels: Any) -> tuple[int, int]:
    """Return the first of the rising `levels` above `low`, and the first above `high`."""
    count = len(levels)
    pace = (levels[count - 1] - levels[0]) / max(count - 1, 1)
    ends = (low, high)
    first = last = 0
    for which in range(2):
        at = 0
        if pace > 0.0:
            at = int(min(max((ends[which] - levels[0]) / pace, 0.0), count - 1.0))
        while at > 0 and levels[at - 1] > ends[which]:
            at -= 1
        while at < count and levels[at] <= ends[which]:
            at += 1
        if which == 0:
            first = at
        else:
            last = at
    return first, last


_reach = njit(nogil=True, cache=True)(_reach)


def _spans(heights: Any, faces: Any, levels: Any) -> Any:
    """Return the first level that crosses each face and the first that no longer does, (m, 2).

    A corner counts as above a level that it lies in.
    """
    spans = np.empty((len(faces), 2), dtype=np.int64)
    for face in range(len(faces)):
        a, b, c = heights[faces[face, 0]], heights[faces[face, 1]], heights[faces[face, 2]]
        first, last = _reach(min(a, b, c), max(a, b, c), levels)
        spans[face, 0] = first
        spans[face, 1] = last
    return spans


spans = njit(nogil=True, cache=True)(_spans)


def _by_level(spans: Any, count: int) -> tuple[Any, Any]:
    """Return the faces that each of `count` levels crosses, end to end, and where each begins."""
    begins = np.zeros(count + 1, dtype=np.int64)
    for face in range(len(spans)):
        for level in range(spans[face, 0], spans[face, 1]):
            begins[level + 1] += 1
    for level in range(count):
        begins[level + 1] += begins[level]
    crossed = np.empty(begins[count], dtype=np.int32)
    filled = begins[:count].copy()
    for face in range(len(spans)):
        for level in range(spans[face, 0], spans[face, 1]):
            crossed[filled[level]] = face
            filled[level] += 1
    return crossed, begins


by_level = njit(nogil=True, cache=True)(_by_level)


def _step(flat: Any, heights: Any, faces: Any, face: int, level: float) -> tuple[int, Any, Any]:
    """Return by which side an outline leaves a face, and where: material is on its left.

    The corners of a face are anticlockwise as seen from outside, so that it is left by the side
    that rises through the level.
    """
    for side in range(3):
        one, other = faces[face, side], faces[face, (side + 1) % 3]
        low, high = heights[one], heights[other]
        if low < level <= high:
            share = (level - low) / (high - low)
            x = flat[one, 0] + share * (flat[other, 0] - flat[one, 0])
            y = flat[one, 1] + share * (flat[other, 1] - flat[one, 1])
            return side, x, y
    return -1, 0.0, 0.0


_step = njit(nogil=True, cache=True)(_step)


def _outlines(
    flat: Any, heights: Any, faces: Any, beyond: Any, crossed: Any, begins: Any, levels: Any,
    followed: Any, is_kept: bool, least: float,
) -> tuple[Any, Any, Any, Any, Any, Any, Any]:  # fmt: skip
    """Follow all outlines in which levels cut a closed mesh.

    Parameters
    ----------
    flat : (n, 2) float array, mm
        Corners seen from above, as an x and y that make a right-handed frame with up.
    heights : (n,) float array, mm
    faces, beyond : (m, 3) int array
        Corners, and the face beyond each side.
    crossed, begins
        See `by_level`.
    levels : (k,) float array, mm
    followed : (k,) bool array
        The levels that are looked at.
    is_kept : bool
        Whether the points of the outlines are wanted too.
    least : float
        Outlines round less than this (mm²) are no islands.

    Returns
    -------
    areas, lengths, travels : (k,) float arrays, mm² and mm
    islands : (k,) int array
    points : (p, 2) float array, mm
        Of the outlines, end to end.
    ends : (r,) int array
        Where each ends.
    owners : (r,) int array
        Its level.
    """
    count = len(levels)
    areas, lengths, travels = np.zeros(count), np.zeros(count), np.zeros(count)
    islands = np.zeros(count, dtype=np.int64)
    room = 0
    for level in range(count):
        if is_kept and followed[level]:
            room += begins[level + 1] - begins[level]
    points = np.empty((room, 2))
    ends, owners = np.empty(room, dtype=np.int64), np.empty(room, dtype=np.int64)
    used = rings = 0
    seen = np.full(len(faces), -1, dtype=np.int64)
    for level in range(count):
        if not followed[level]:
            continue
        z = levels[level]
        places = np.empty((64, 2))
        found = 0
        for start in crossed[begins[level] : begins[level + 1]]:
            if seen[start] == level:
                continue
            side, x0, y0 = _step(flat, heights, faces, start, z)
            first = used
            x, y = x0, y0
            twice = length = mx = my = 0.0
            face = start
            while True:
                seen[face] = level
                # Edges that meet right in the level end a rounding apart, in any order.
                last = used - 1 if used > first else used
                if is_kept and (
                    used == first or abs(x - points[last, 0]) + abs(y - points[last, 1]) > _NEAR
                ):
                    points[used, 0] = x
                    points[used, 1] = y
                    used += 1
                face = beyond[face, side]
                side, nx, ny = _step(flat, heights, faces, face, z)
                cross = (x - x0) * (ny - y0) - (nx - x0) * (y - y0)
                twice += cross
                mx += cross * (x + nx - 2.0 * x0)
                my += cross * (y + ny - 2.0 * y0)
                length += math.sqrt((nx - x) ** 2 + (ny - y) ** 2)
                x, y = nx, ny
                if face == start:
                    break
            areas[level] += 0.5 * twice
            lengths[level] += length
            if is_kept:
                ends[rings] = used
                owners[rings] = level
                rings += 1
            if 0.5 * twice >= least:
                if found == len(places):
                    places = _twice_as_long(places)
                places[found, 0] = x0 + mx / (3.0 * twice)
                places[found, 1] = y0 + my / (3.0 * twice)
                found += 1
        islands[level] = found
        travels[level] = _travel(places, found)
    return areas, lengths, travels, islands, points[:used], ends[:rings], owners[:rings]


def _twice_as_long(places: Any) -> Any:
    longer = np.empty((2 * len(places), 2))
    for at in range(len(places)):
        longer[at, 0] = places[at, 0]
        longer[at, 1] = places[at, 1]
    return longer


_twice_as_long = njit(nogil=True, cache=True)(_twice_as_long)


def _travel(places: Any, count: int) -> float:
    """Return the way from island to island, each time to the nearest that is left, mm.

    Of more than `MOST_IN_TURN`, 0.7124 times the root of their number and the area they are spread
    over, which is the shortest way through random points (Beardwood, Halton & Hammersley, Proc.
    Cambridge Phil. Soc. 55 (1959) 299; the constant as computed since, from memory), and a quarter
    more, since the nearest each time makes a longer way (from memory).
    """
    if count < 2:
        return 0.0
    if count > MOST_IN_TURN:
        low = np.array([places[0, 0], places[0, 1]])
        high = low.copy()
        for at in range(count):
            for axis in range(2):
                low[axis] = min(low[axis], places[at, axis])
                high[axis] = max(high[axis], places[at, axis])
        return 1.25 * 0.7124 * math.sqrt(count * (high[0] - low[0]) * (high[1] - low[1]))
    left = np.ones(count, dtype=np.bool_)
    at, way = 0, 0.0
    for _ in range(count - 1):
        left[at] = False
        nearest, best = math.inf, 0
        for other in range(count):
            if left[other]:
                dx, dy = places[other, 0] - places[at, 0], places[other, 1] - places[at, 1]
                if dx * dx + dy * dy < nearest:
                    nearest, best = dx * dx + dy * dy, other
        at = best
        way += math.sqrt(nearest)
    return way


_travel = njit(nogil=True, cache=True)(_travel)
outlines = njit(nogil=True, cache=True)(_outlines)


def _below(z: float, a: float, b: float, c: float) -> float:
    """Return the share of a face below `z`; its corners lie at ``a <= b <= c``."""
    if z <= a:
        return 0.0
    if z >= c:
        return 1.0
    if z < b:
        return (z - a) ** 2 / ((b - a) * (c - a))
    return 1.0 - (c - z) ** 2 / ((c - b) * (c - a))


_below = njit(nogil=True, cache=True)(_below)


def _open_areas(
    flat: Any, heights: Any, faces: Any, spans: Any, levels: Any, reaches: Any, width: float
) -> tuple[Any, Any]:
    """Add up, between each two levels, how much of the surface looks up and how much down.

    Band 0 lies below the first level, band k above the last. What lies in a level is taken to be
    above it, as corners are.

    Parameters
    ----------
    flat, heights, faces, spans, levels
        As above.
    reaches : (2,) float array, mm
        Height of the solid layers below what looks up, and above what looks down.
    width : float
        Of the walls, mm.

    Returns
    -------
    every : (2, k + 1) float array, mm²
        As seen from above; first what looks up.
    inside : (2, k + 1) float array, mm²
        What is left of it for solid layers: a strip of a slope that is as wide as the slope runs
        within the reach, without the width of the walls.
    """
    count = len(levels)
    every, inside = np.zeros((2, count + 1)), np.zeros((2, count + 1))
    for face in range(len(faces)):
        i, j, k = faces[face, 0], faces[face, 1], faces[face, 2]
        ux, uy, uz = flat[j, 0] - flat[i, 0], flat[j, 1] - flat[i, 1], heights[j] - heights[i]
        vx, vy, vz = flat[k, 0] - flat[i, 0], flat[k, 1] - flat[i, 1], heights[k] - heights[i]
        nz = ux * vy - uy * vx
        if nz == 0.0:
            continue
        which = 0 if nz > 0.0 else 1
        area = 0.5 * abs(nz)
        run = math.sqrt((uy * vz - uz * vy) ** 2 + (uz * vx - ux * vz) ** 2) / abs(nz)
        # How far it runs within the reach is reach / run.
        share = max(0.0, 1.0 - run * width / reaches[which]) if reaches[which] > 0.0 else 0.0
        a, b, c = heights[i], heights[j], heights[k]
        a, b, c = min(a, b, c), max(min(a, b), min(max(a, b), c)), max(a, b, c)
        first, last = spans[face, 0], spans[face, 1]
        done = 0.0
        for band in range(first, last + 1):
            upto = 1.0 if band == last else _below(levels[band], a, b, c)
            part = area * (upto - done)
            done = upto
            every[which, band] += part
            inside[which, band] += share * part
    return every, inside


open_areas = njit(nogil=True, cache=True)(_open_areas)
