"""The compiled loops behind `splitplanner.solid.columns`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _edge_at(corners: Any, a: int, b: int, v: float) -> float:
    """Return u where the edge between corners a and b crosses the row `v`.

    It is always reckoned from the lower end, so that the two faces at an edge get the same bits.
    """
    if corners[a, 1] > corners[b, 1]:
        a, b = b, a
    rise = (v - corners[a, 1]) / (corners[b, 1] - corners[a, 1])
    return corners[a, 0] + rise * (corners[b, 0] - corners[a, 0])  # type: ignore[no-any-return]


_edge_at = njit(nogil=True, cache=True)(_edge_at)


def _height_at(corners: Any, face: Any, u: float, v: float) -> float:
    """Return the height of a face's plane at (u, v), kept between its lowest and highest corner."""
    a, b, c = face[0], face[1], face[2]
    bu, bv = corners[b, 0] - corners[a, 0], corners[b, 1] - corners[a, 1]
    cu, cv = corners[c, 0] - corners[a, 0], corners[c, 1] - corners[a, 1]
    bz, cz = corners[b, 2] - corners[a, 2], corners[c, 2] - corners[a, 2]
    twice = bu * cv - bv * cu
    low = min(corners[a, 2], corners[b, 2], corners[c, 2])
    high = max(corners[a, 2], corners[b, 2], corners[c, 2])
    if twice == 0.0:
        return 0.5 * (low + high)  # type: ignore[no-any-return]
    du, dv = u - corners[a, 0], v - corners[a, 1]
    z = corners[a, 2] + ((du * cv - dv * cu) * bz + (dv * bu - du * bv) * cz) / twice
    return min(max(z, low), high)  # type: ignore[no-any-return]


_height_at = njit(nogil=True, cache=True)(_height_at)


def _reach(corners: Any, face: Any, v: float) -> tuple[float, float]:
    """Return from where to where along u a face covers the row `v`, which must pass through it."""
    a, b, c = face[0], face[1], face[2]
    below_a, below_b, below_c = corners[a, 1] <= v, corners[b, 1] <= v, corners[c, 1] <= v
    if below_a == below_b:
        one, other = _edge_at(corners, b, c, v), _edge_at(corners, c, a, v)
    elif below_b == below_c:
        one, other = _edge_at(corners, a, b, v), _edge_at(corners, c, a, v)
    else:
        one, other = _edge_at(corners, a, b, v), _edge_at(corners, b, c, v)
    return min(one, other), max(one, other)


_reach = njit(nogil=True, cache=True)(_reach)


def _rasterise(
    corners: Any, faces: Any, step: float, across: int, rows: int, next_free: Any, z: Any, at: Any
) -> None:
    """Walk every face over the cell centres below it.

    `next_free` (cells,) counts the crossings of each column. When `z` has room, each crossing is
    also written to z[next_free[cell]] and its face to `at`. Rows and cells are half-open
    (low end in, high end out), so a centre on a shared edge belongs to exactly one face.
    """
    fill = len(z) > 0
    for index in range(len(faces)):
        face = faces[index]
        v0, v1, v2 = corners[face[0], 1], corners[face[1], 1], corners[face[2], 1]
        first = max(int(np.floor(min(v0, v1, v2) / step - 0.5)), 0)
        last = min(int(np.ceil(max(v0, v1, v2) / step - 0.5)), rows - 1)
        for row in range(first, last + 1):
            v = (row + 0.5) * step
            if (v0 <= v) == (v1 <= v) and (v1 <= v) == (v2 <= v):
                continue
            left, right = _reach(corners, face, v)
            start = max(int(np.ceil(left / step - 0.5)), 0)
            stop = min(int(np.ceil(right / step - 0.5)), across)
            for column in range(start, stop):
                cell = row * across + column
                slot = next_free[cell]
                next_free[cell] = slot + 1
                if fill:
                    z[slot] = _height_at(corners, face, (column + 0.5) * step, v)
                    at[slot] = index


rasterise = njit(nogil=True, cache=True)(_rasterise)


def _sort_columns(starts: Any, z: Any, at: Any) -> None:
    """Sort the crossings of each column by height, in place (insertion: columns are short)."""
    for cell in range(len(starts) - 1):
        for place in range(starts[cell] + 1, starts[cell + 1]):
            height, face = z[place], at[place]
            hole = place
            while hole > starts[cell] and z[hole - 1] > height:
                z[hole], at[hole] = z[hole - 1], at[hole - 1]
                hole -= 1
            z[hole], at[hole] = height, face


sort_columns = njit(nogil=True, cache=True)(_sort_columns)


def _raise_floors(
    corners: Any, faces: Any, points: Any, strip: float, strips: Any, floors: Any
) -> None:
    """Raise each floor to the highest of the `faces` straight below its point.

    `points` (n, 3) are sorted by strips of v, `strip` mm wide from v = 0 on, and by u within each;
    those of strip s are ``strips[s]:strips[s + 1]``. The same half-open rule as in `_rasterise`.
    """
    along = points[:, 0].copy()
    for index in range(len(faces)):
        face = faces[index]
        u0, u1, u2 = corners[face[0], 0], corners[face[1], 0], corners[face[2], 0]
        v0, v1, v2 = corners[face[0], 1], corners[face[1], 1], corners[face[2], 1]
        low, high = min(u0, u1, u2), max(u0, u1, u2)
        top = min(int(max(v0, v1, v2) / strip), len(strips) - 2)
        for row in range(max(int(min(v0, v1, v2) / strip), 0), top + 1):
            end = strips[row + 1]
            place = strips[row] + np.searchsorted(along[strips[row] : end], low)
            while place < end and along[place] <= high:
                u, v = points[place, 0], points[place, 1]
                if (v0 <= v) != (v1 <= v) or (v1 <= v) != (v2 <= v):
                    left, right = _reach(corners, face, v)
                    if left <= u < right:
                        height = _height_at(corners, face, u, v)
                        if floors[place] < height < points[place, 2]:
                            floors[place] = height
                place += 1


raise_floors = njit(nogil=True, cache=True)(_raise_floors)
