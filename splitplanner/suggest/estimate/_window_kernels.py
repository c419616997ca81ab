"""The compiled loops that clip outlines in a plane to the window between walls."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.suggest.estimate._kernels import narrowed

_INWARD = 1e-6
"""Windows are made smaller by this (mm): an outline along a wall then counts once."""
_ALONG = 3e-6
"""What lies this near to a side of a window runs along it, mm."""


def _window(walls: Any, axes: Any, origin: Any, reach: float, inset: float, ring: Any) -> int:
    """Write into `ring` the corners of the part of a plane within walls; return how many.

    Of a square that goes `reach` to all sides one part after another is cut off (Sutherland &
    Hodgman, CACM 17 (1974) 32). What is left lies `inset` or more, in the plane, within every wall.
    """
    other = np.empty_like(ring)
    ring[0, 0], ring[0, 1], ring[1, 0], ring[1, 1] = -reach, -reach, reach, -reach
    ring[2, 0], ring[2, 1], ring[3, 0], ring[3, 1] = reach, reach, -reach, reach
    count = 4
    for wall in range(len(walls)):
        a = b = 0.0
        rest = -walls[wall, 3]
        for axis in range(3):
            a += walls[wall, axis] * axes[0, axis]
            b += walls[wall, axis] * axes[1, axis]
            rest += walls[wall, axis] * origin[axis]
        rest -= (inset + _INWARD) * np.hypot(a, b)
        kept = 0
        for at in range(count):
            before = at - 1 if at else count - 1
            here = a * ring[at, 0] + b * ring[at, 1] + rest
            there = a * ring[before, 0] + b * ring[before, 1] + rest
            if (here >= 0.0) != (there >= 0.0):
                share = there / (there - here)
                for axis in range(2):
                    start = ring[before, axis]
                    other[kept, axis] = start + share * (ring[at, axis] - start)
                kept += 1
            if here >= 0.0:
                other[kept, 0], other[kept, 1] = ring[at, 0], ring[at, 1]
                kept += 1
        if kept < 3:
            return 0
        count = kept
        ring[:count] = other[:count]
    return count


_window = njit(nogil=True, cache=True)(_window)


def _sides(ring: Any, count: int) -> Any:
    """Return the sides of a window as rows (a, b, c): ``a u + b v + c`` is how far in one is."""
    sides = np.empty((count, 3))
    for at in range(count):
        after = at + 1 if at + 1 < count else 0
        du, dv = ring[after, 0] - ring[at, 0], ring[after, 1] - ring[at, 1]
        long = max(np.hypot(du, dv), 1e-12)
        sides[at, 0], sides[at, 1] = -dv / long, du / long
        sides[at, 2] = (dv * ring[at, 0] - du * ring[at, 1]) / long
    return sides


_sides = njit(nogil=True, cache=True)(_sides)


def _span_within(segment: Any, sides: Any, touching: bool) -> tuple[float, float]:
    """Return from what share to what share a segment (4,) lies within a window.

    One that runs along a side counts if `touching`, and the material on its left is on the side of
    the window.
    """
    low, high = 0.0, 1.0
    for at in range(len(sides)):
        first = sides[at, 0] * segment[0] + sides[at, 1] * segment[1] + sides[at, 2]
        last = sides[at, 0] * segment[2] + sides[at, 1] * segment[3] + sides[at, 2]
        if touching and abs(first) < _ALONG and abs(last) < _ALONG:
            du, dv = segment[2] - segment[0], segment[3] - segment[1]
            if du * sides[at, 1] < dv * sides[at, 0]:
                return 1.0, 0.0
        elif first < 0.0 and last < 0.0:
            return 1.0, 0.0
        else:
            low, high = narrowed(low, high, first, last)
    return low, high


_span_within = njit(nogil=True, cache=True)(_span_within)


def _length_within(segments: Any, sides: Any, chosen: Any) -> tuple[float, float]:
    """Return how long segments (k, 4) are within a window, all and the `chosen` ones (k,)."""
    total = mine = 0.0
    for at in range(len(segments)):
        low, high = _span_within(segments[at], sides, True)
        if high > low:
            du, dv = segments[at, 2] - segments[at, 0], segments[at, 3] - segments[at, 1]
            length = (high - low) * np.hypot(du, dv)
            total += length
            if chosen[at]:
                mine += length
    return total, mine


_length_within = njit(nogil=True, cache=True)(_length_within)


def _crossed(outline: Any, start: Any, end: Any, shares: Any) -> int:
    """Write where the line from `start` to `end` crosses an outline, in order; return how often.

    As shares of the way. An outline that lies in the line counts as on its left.
    """
    du, dv = end[0] - start[0], end[1] - start[1]
    square = du * du + dv * dv
    count = 0
    for at in range(len(outline)):
        pu, pv = outline[at, 0] - start[0], outline[at, 1] - start[1]
        qu, qv = outline[at, 2] - start[0], outline[at, 3] - start[1]
        first, last = du * pv - dv * pu, du * qv - dv * qu
        if (first >= 0.0) != (last >= 0.0):
            share = first / (first - last)
            u, v = pu + share * (qu - pu), pv + share * (qv - pv)
            shares[count] = (u * du + v * dv) / square
            count += 1
    shares[:count].sort()
    return count


_crossed = njit(nogil=True, cache=True)(_crossed)


def _shared(
    outline: Any, ring: Any, count: int, sides: Any, spots: Any
) -> tuple[float, float, int]:
    """Return area and outline of what an outline (n, 4) has in common with a window.

    By Green's theorem along what is left of the outline, material on its left, and along the
    stretches of the window's sides within it. The ends of all these are written into `spots`; how
    many they are is returned too.
    """
    area = length = 0.0
    spot = 0
    for at in range(len(outline)):
        low, high = _span_within(outline[at], sides, False)
        if high > low:
            du, dv = outline[at, 2] - outline[at, 0], outline[at, 3] - outline[at, 1]
            u, v = outline[at, 0] + low * du, outline[at, 1] + low * dv
            span = high - low
            area += 0.5 * span * (u * dv - v * du)
            length += span * np.hypot(du, dv)
            spots[spot, 0], spots[spot, 1] = u, v
            spots[spot + 1, 0], spots[spot + 1, 1] = u + span * du, v + span * dv
            spot += 2
    shares = np.empty(len(outline))
    for at in range(count):
        start, end = ring[at], ring[at + 1 if at + 1 < count else 0]
        du, dv = end[0] - start[0], end[1] - start[1]
        for pair in range(_crossed(outline, start, end, shares) // 2):
            low, high = max(shares[2 * pair], 0.0), min(shares[2 * pair + 1], 1.0)
            if high > low:
                u, v, span = start[0] + low * du, start[1] + low * dv, high - low
                area += 0.5 * span * (u * dv - v * du)
                length += span * np.hypot(du, dv)
                spots[spot, 0], spots[spot, 1] = u, v
                spots[spot + 1, 0], spots[spot + 1, 1] = u + span * du, v + span * dv
                spot += 2
    return area, length, spot


_shared = njit(nogil=True, cache=True)(_shared)


def _contact(
    outline: Any, crossings: Any, seen: Any, walls: Any, axes: Any, origin: Any, reach: float
) -> tuple[float, float, float, float]:
    """Return area and outline of a contact within walls, and of that what lies on the surface.

    The last two are the lengths of `crossings` (k, 4) within the walls, all and `seen` (k,).
    """
    ring = np.empty((len(walls) + 6, 2))
    count = _window(walls, axes, origin, reach, 0.0, ring)
    if count == 0:
        return 0.0, 0.0, 0.0, 0.0
    sides = _sides(ring, count)
    spots = np.empty((len(outline) * (count + 2), 2))
    area, length, _ = _shared(outline, ring, count, sides, spots)
    crossed, shown = _length_within(crossings, sides, seen)
    return area, length, crossed, shown


contact = njit(nogil=True, cache=True)(_contact)


def _places(
    outline: Any, walls: Any, axes: Any, origin: Any, reach: float, inset: float, apart: float
) -> int:
    """Return 0, 1 or 2: how many places at least `apart` an outline has `inset` within walls."""
    ring = np.empty((len(walls) + 6, 2))
    count = _window(walls, axes, origin, reach, inset, ring)
    if count == 0:
        return 0
    spots = np.empty((len(outline) * (count + 2), 2))
    _, _, spot = _shared(outline, ring, count, _sides(ring, count), spots)
    for one in range(spot):
        for other in range(one):
            du, dv = spots[one, 0] - spots[other, 0], spots[one, 1] - spots[other, 1]
            if du * du + dv * dv >= apart * apart:
                return 2
    return min(spot, 1)


places = njit(nogil=True, cache=True)(_places)
