"""The compiled loops behind `splitplanner.strength.cells`; imported only when first needed.

Corners are in units of cells from the low corner of the grid: cell (i, j, k) reaches from i to
i + 1 along the first axis, and so on.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

_ROUNDING = 1e-9
"""How far a triangle may stand into a cell without being cut for it."""
_INWARD = 1e-6
"""How far inside the surface it is looked for which cell a piece belongs to."""
_MOST = 12
"""Corners of a triangle cut by the six planes of a cell, at most 9."""


def _clip(shape: Any, count: int, axis: int, at: float, side: float, out: Any) -> int:
    """Keep what lies on one side of a plane (Sutherland and Hodgman 1974); return its corners."""
    kept = 0
    for index in range(count):
        one, two = shape[index], shape[(index + 1) % count]
        a, b = side * (one[axis] - at), side * (two[axis] - at)
        if a >= 0.0:
            out[kept] = one
            kept += 1
        if (a > 0.0 and b < 0.0) or (a < 0.0 and b > 0.0):
            out[kept] = one + a / (a - b) * (two - one)
            out[kept, axis] = at
            kept += 1
    return kept


_clip = njit(nogil=True, cache=True)(_clip)


def _slab(shape: Any, count: int, axis: int) -> tuple[int, int]:
    """Return the first and the last layer of cells along an axis that a polygon is in."""
    low, high = shape[0, axis], shape[0, axis]
    for index in range(1, count):
        low, high = min(low, shape[index, axis]), max(high, shape[index, axis])
    first = int(np.floor(low + _ROUNDING))
    return first, max(first, int(np.ceil(high - _ROUNDING)) - 1)


_slab = njit(nogil=True, cache=True)(_slab)


def _between(shape: Any, count: int, axis: int, layer: int, spans: Any, work: Any, out: Any) -> int:
    """Keep what of a polygon lies in one layer of cells, of those from `spans`."""
    if layer > spans[0]:
        count = _clip(shape, count, axis, float(layer), 1.0, work)
    else:
        work[:count] = shape[:count]
    if layer < spans[1]:
        return _clip(work, count, axis, layer + 1.0, -1.0, out)
    out[:count] = work[:count]
    return count


_between = njit(nogil=True, cache=True)(_between)


def _pieces(triangles: Any, shape: Any, cut: Any, cells: Any, source: Any) -> int:
    """Cut triangles (n, 3, 3) along the planes of a grid of `shape` cells.

    Pieces are written to `cut` (m, 3, 3), `cells` (m, 3) and `source` (m,) as far as these reach.

    Returns
    -------
    int
        How many there are.
    """
    found = 0
    flat, bar, bit = np.empty((_MOST, 3)), np.empty((_MOST, 3)), np.empty((_MOST, 3))
    work = np.empty((_MOST, 3))
    for face in range(len(triangles)):
        whole = triangles[face]
        normal = np.cross(whole[1] - whole[0], whole[2] - whole[0])
        length = np.sqrt((normal * normal).sum())
        if length == 0.0:
            continue
        inward = -_INWARD / length * normal
        xs = _slab(whole, 3, 0)
        for x in range(xs[0], xs[1] + 1):
            in_x = _between(whole, 3, 0, x, xs, work, flat)
            if in_x < 3:
                continue
            ys = _slab(flat, in_x, 1)
            for y in range(ys[0], ys[1] + 1):
                in_y = _between(flat, in_x, 1, y, ys, work, bar)
                if in_y < 3:
                    continue
                zs = _slab(bar, in_y, 2)
                for z in range(zs[0], zs[1] + 1):
                    count = _between(bar, in_y, 2, z, zs, work, bit)
                    for turn in range(1, count - 1):
                        if found < len(cut):
                            cut[found, 0], cut[found, 1] = bit[0], bit[turn]
                            cut[found, 2] = bit[turn + 1]
                            source[found] = face
                            for axis in range(3):
                                middle = cut[found, :, axis].sum() / 3.0 + inward[axis]
                                cell = int(np.floor(middle))
                                cells[found, axis] = min(max(cell, 0), shape[axis] - 1)
                        found += 1
    return found


pieces = njit(nogil=True, cache=True)(_pieces)


def _moments(cut: Any, cells: Any, rules: Any, starts: Any, cover: Any, moments: Any) -> None:
    """Add what lies below each piece of the surface to the moments of its own cell.

    Parameters
    ----------
    cut, cells
        As `pieces` wrote them.
    rules, starts
        Points (u, v) and weights of rules on a triangle, one after the other; `starts` says where.
    cover : (nx, ny, nz, 5, 5) float array
        Gets the moments in plan of the pieces of each cell: what lies in the cells below.
    moments : (nx, ny, nz, 5, 5, 5) float array
        Get the moments, in coordinates from -1 to 1.
    """
    local, reach = np.empty((3, 3)), np.empty(5)
    in_x, in_y = np.empty(5), np.empty(5)
    for index in range(len(cut)):
        i, j, k = cells[index, 0], cells[index, 1], cells[index, 2]
        for corner in range(3):
            for axis in range(3):
                local[corner, axis] = 2.0 * (cut[index, corner, axis] - cells[index, axis]) - 1.0
        p, q = local[1] - local[0], local[2] - local[0]
        twice = p[0] * q[1] - p[1] * q[0]
        if twice == 0.0:
            continue
        size = max(np.abs(p).max(), np.abs(q).max())
        rule = 0 if size < 0.15 else 1 if size < 0.6 else 2
        for point in range(starts[rule], starts[rule + 1]):
            u, v, weight = rules[point, 0], rules[point, 1], rules[point, 2] * twice
            x, y = local[0, 0] + u * p[0] + v * q[0], local[0, 1] + u * p[1] + v * q[1]
            z = min(max(local[0, 2] + u * p[2] + v * q[2], -1.0), 1.0)
            power, sign = z, -1.0
            for c in range(5):
                reach[c] = (power - sign) / (c + 1)
                power, sign = power * z, -sign
            in_x[0], in_y[0] = weight, 1.0
            for c in range(1, 5):
                in_x[c], in_y[c] = in_x[c - 1] * x, in_y[c - 1] * y
            for a in range(5):
                for b in range(5):
                    flat = in_x[a] * in_y[b]
                    cover[i, j, k, a, b] += flat
                    for c in range(5):
                        moments[i, j, k, a, b, c] += flat * reach[c]


moments_below = njit(nogil=True, cache=True, error_model="numpy")(_moments)


def _solve(starts: Any, rows: Any, values: Any, pivots: Any, found: Any) -> None:
    """Solve L D Lᵀ x = f in place of f (f,).

    Parameters
    ----------
    starts, rows, values
        L by columns, with ones on its diagonal.
    pivots : (f,) float array
        D.
    """
    for column in range(len(pivots)):
        own = found[column]
        if own != 0.0:
            for index in range(starts[column], starts[column + 1]):
                if rows[index] > column:
                    found[rows[index]] -= values[index] * own
    for column in range(len(pivots) - 1, -1, -1):
        own = found[column] / pivots[column]
        for index in range(starts[column], starts[column + 1]):
            if rows[index] > column:
                own -= values[index] * found[rows[index]]
        found[column] = own


solve_in_place = njit(nogil=True, cache=True, error_model="numpy")(_solve)


def _eliminate(starts: Any, rows: Any, values: Any, held: Any, acting: Any) -> None:
    """Eliminate columns of L that are not held from several right sides (f, k) at once, in place.

    What is left in the others is what they feel.
    """
    count = acting.shape[1]
    for column in range(len(held)):
        idle = held[column]
        if not idle:
            idle = True
            for side in range(count):
                if acting[column, side] != 0.0:
                    idle = False
        if idle:
            continue
        for index in range(starts[column], starts[column + 1]):
            row = rows[index]
            if row > column:
                value = values[index]
                for side in range(count):
                    acting[row, side] -= value * acting[column, side]


eliminate_in_place = njit(nogil=True, cache=True, error_model="numpy")(_eliminate)
