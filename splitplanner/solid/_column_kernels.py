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


_height_at = njit(nogil=True, cache=True, error_model="numpy")(_height_at)


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


def _look_up(corners: Any, face: Any) -> bool:
    """Return whether a face's outward side looks up: its corners go counter-clockwise in plan."""
    a, b, c = face[0], face[1], face[2]
    bu, bv = corners[b, 0] - corners[a, 0], corners[b, 1] - corners[a, 1]
    cu, cv = corners[c, 0] - corners[a, 0], corners[c, 1] - corners[a, 1]
    return bu * cv - bv * cu > 0.0  # type: ignore[no-any-return]


_look_up = njit(nogil=True, cache=True)(_look_up)


def _looking_up(corners: Any, faces: Any) -> Any:
    """Return which of the faces look up, (m,) bool."""
    up = np.empty(len(faces), dtype=np.bool_)
    for index in range(len(faces)):
        up[index] = _look_up(corners, faces[index])
    return up


looking_up = njit(nogil=True, cache=True)(_looking_up)


def _crossings(
    corners: Any, faces: Any, chosen: Any, step: float, across: int, rows: int, within: Any
) -> tuple[Any, Any, Any]:
    """Walk the `chosen` faces over the cell centres below them.

    Rows and cells are half-open (low end in, high end out), so a centre on a shared edge belongs
    to exactly one face. Where `within` (cells,) has entries, cells that are False in it are left
    out.

    Returns
    -------
    cells : (k,) int32 array
        In the order of faces, and rising for each face.
    heights : (k,) float array
    at : (k,) int32 array
        The faces.
    """
    everywhere = len(within) == 0
    used, capacity = 0, 2 * len(chosen) + 2 * across * rows + across
    cells, at = np.empty(capacity, dtype=np.int32), np.empty(capacity, dtype=np.int32)
    heights = np.empty(capacity)
    for index in chosen:
        low, middle, high = _by_row(corners, faces, index)
        bottom, bend, top = corners[low, 1], corners[middle, 1], corners[high, 1]
        first = max(int(np.floor(bottom / step - 0.5)), 0)
        last = min(int(np.ceil(top / step - 0.5)), rows - 1)
        for row in range(first, last + 1):
            v = (row + 0.5) * step
            if v < bottom or top <= v:
                continue
            one = _along(corners, low, high, v)
            other = (
                _along(corners, middle, high, v) if bend <= v else _along(corners, low, middle, v)
            )
            start = max(int(np.ceil(min(one, other) / step - 0.5)), 0)
            stop = min(int(np.ceil(max(one, other) / step - 0.5)), across)
            if used + stop - start > capacity:
                capacity = 2 * (used + stop - start)
                cells, at = _longer(cells, used, capacity), _longer(at, used, capacity)
                heights = _longer(heights, used, capacity)
            for column in range(start, stop):
                cell = row * across + column
                if everywhere or within[cell]:
                    cells[used], at[used] = cell, index
                    heights[used] = _height_at(corners, faces[index], (column + 0.5) * step, v)
                    used += 1
    return cells[:used], heights[:used], at[:used]


def _by_row(corners: Any, faces: Any, index: int) -> tuple[int, int, int]:
    """Return the corners of a face from low to high along v."""
    a, b, c = faces[index, 0], faces[index, 1], faces[index, 2]
    if corners[b, 1] < corners[a, 1]:
        a, b = b, a
    if corners[c, 1] < corners[b, 1]:
        b, c = c, b
        if corners[b, 1] < corners[a, 1]:
            a, b = b, a
    return a, b, c


def _along(corners: Any, low: int, high: int, v: float) -> float:
    """Return u where the edge from its `low` end to its `high` end crosses the row `v`.

    It is always reckoned from the lower end, so that the two faces at an edge get the same bits.
    """
    rise = (v - corners[low, 1]) / (corners[high, 1] - corners[low, 1])
    return corners[low, 0] + rise * (corners[high, 0] - corners[low, 0])  # type: ignore[no-any-return]


_by_row = njit(nogil=True, cache=True)(_by_row)
_along = njit(nogil=True, cache=True, error_model="numpy")(_along)


def _longer(values: Any, used: int, capacity: int) -> Any:
    result = np.empty(capacity, dtype=values.dtype)
    # Slices take the compiler seconds.
    for index in range(used):
        result[index] = values[index]
    return result


_longer = njit(nogil=True, cache=True)(_longer)
crossings = njit(nogil=True, cache=True, error_model="numpy")(_crossings)


def _stacked(cells: Any, heights: Any, at: Any, count: int) -> tuple[Any, Any, Any]:
    """Sort crossings by their cells, of which there are `count`, and by height in each.

    Of equal heights the first stays first (insertion: columns are short).

    Returns
    -------
    starts : (count + 1,) int array
        The crossings of cell c are ``starts[c]:starts[c + 1]``.
    z, faces : (k,) arrays
    """
    starts = np.zeros(count + 1, dtype=np.int64)
    for cell in cells:
        starts[cell + 1] += 1
    for cell in range(count):
        starts[cell + 1] += starts[cell]
    ends = starts[:-1].copy()
    z, faces = np.empty(len(cells)), np.empty(len(cells), dtype=np.int64)
    for index in range(len(cells)):
        cell, height = cells[index], heights[index]
        hole = ends[cell]
        ends[cell] = hole + 1
        while hole > starts[cell] and z[hole - 1] > height:
            z[hole], faces[hole] = z[hole - 1], faces[hole - 1]
            hole -= 1
        z[hole], faces[hole] = height, at[index]
    return starts, z, faces


stacked = njit(nogil=True, cache=True)(_stacked)


def _stand(
    cells: Any,
    heights: Any,
    at: Any,
    owners: Any,
    starts: Any,
    z: Any,
    crossed: Any,
    sums: Any,
    bed: float,
) -> None:
    """Stand a column under each crossing of hanging faces, and add up what they stand on.

    The floor of a column is the crossing before it in its cell among those of faces that look up,
    where equal heights are in the order of faces.

    Parameters
    ----------
    cells, heights, at : (k,) arrays
        The crossings of hanging faces; see `_crossings`.
    owners : (k,) int array
        The row of `sums` of each.
    starts, z, crossed
        Those of faces that look up; see `_stacked`.
    sums : (c, 4) float array
        In each row: how many columns, how many on the solid, the sum of their feet, the longest.
    bed : float
        What is below everything.
    """
    for index in range(len(cells)):
        cell, height, face = cells[index], heights[index], at[index]
        floor = starts[cell + 1] - 1
        while floor >= starts[cell] and (
            z[floor] > height or (z[floor] == height and crossed[floor] > face)
        ):
            floor -= 1
        owner = owners[index]
        foot = bed
        if floor >= starts[cell]:
            foot = z[floor]
            sums[owner, 1] += 1.0
        sums[owner, 0] += 1.0
        sums[owner, 2] += foot
        sums[owner, 3] = max(sums[owner, 3], height - foot)


stand = njit(nogil=True, cache=True)(_stand)


def _raise_floors(
    corners: Any, faces: Any, points: Any, strip: float, strips: Any, floors: Any
) -> None:
    """Raise each floor to the highest of the `faces` that look up straight below its point.

    `points` (n, 3) are sorted by strips of v, `strip` mm wide from v = 0 on, and by u within each;
    those of strip s are ``strips[s]:strips[s + 1]``. The same half-open rule as in `_crossings`.
    """
    along = points[:, 0].copy()
    for index in range(len(faces)):
        face = faces[index]
        if not _look_up(corners, face):
            continue
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
