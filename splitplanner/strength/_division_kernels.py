"""The compiled loops that divide triangles; imported only when first needed.

Triangles run to the left round; to each belong three neighbours, each across the edge opposite to
a corner, -1 where there is none.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

_ROUND = 1e-12
"""By so much, in share of sizes, a corner lies in the circle round another triangle."""
_MOST_TURNS = 60
"""Edges are turned so many times the number of triangles at most: rounding cannot hold it up."""


def _neighbours(triangles: Any, edges: Any, uses: Any) -> Any:
    """Return neighbours (m, 3) of triangles whose edges have numbers (m, 3)."""
    found = np.full(triangles.shape, -1)
    one = np.full(len(uses), -1)
    for t in range(len(triangles)):
        for k in range(3):
            edge = edges[t, k]
            if one[edge] < 0:
                one[edge] = 3 * t + k
            elif uses[edge] == 2:
                found[t, k] = one[edge] // 3
                found[one[edge] // 3, one[edge] % 3] = t
    return found


_neighbours = njit(nogil=True, cache=True)(_neighbours)


def _doubled(p: Any, q: Any, r: Any) -> Any:
    """Return twice the area of a triangle, above 0 if it runs to the left."""
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])


_doubled = njit(nogil=True, cache=True)(_doubled)


def _within(a: Any, b: Any, c: Any, d: Any) -> Any:
    """Return whether d lies in the circle round a, b and c, which run to the left."""
    ax, ay, bx, by = a[0] - d[0], a[1] - d[1], b[0] - d[0], b[1] - d[1]
    cx, cy = c[0] - d[0], c[1] - d[1]
    aa, bb, cc = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    inside = aa * (bx * cy - by * cx) + bb * (cx * ay - cy * ax) + cc * (ax * by - ay * bx)
    return inside > _ROUND * (aa + bb + cc) ** 2


_within = njit(nogil=True, cache=True)(_within)


def _turned(points: Any, triangles: Any, beside: Any, t: int, k: int) -> bool:
    """Turn the edge opposite to corner k of t within both its triangles if it should be."""
    u = beside[t, k]
    if u < 0:
        return False
    j = 0
    while beside[u, j] != t:
        j += 1
    a, b, c = triangles[t, k], triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
    d = triangles[u, j]
    if not _within(points[a], points[b], points[c], points[d]):
        return False
    above = _doubled(points[a], points[b], points[d])
    if min(above, _doubled(points[a], points[d], points[c])) <= 0.0:
        return False
    # b, c becomes a, d: triangles a, b, d and a, d, c.
    over_b, over_c = beside[t, (k + 1) % 3], beside[t, (k + 2) % 3]
    under_b, under_c = beside[u, (j + 2) % 3], beside[u, (j + 1) % 3]
    triangles[t, 0], triangles[t, 1], triangles[t, 2] = a, b, d
    triangles[u, 0], triangles[u, 1], triangles[u, 2] = a, d, c
    beside[t, 0], beside[t, 1], beside[t, 2] = under_c, u, over_c
    beside[u, 0], beside[u, 1], beside[u, 2] = under_b, over_b, t
    for other, old, new in ((under_c, u, t), (over_b, t, u)):
        if other >= 0:
            for i in range(3):
                if beside[other, i] == old:
                    beside[other, i] = new
    return True


_turned = njit(nogil=True, cache=True)(_turned)


def _delaunay(points: Any, triangles: Any, beside: Any) -> None:
    """Turn edges until no corner lies in the circle round another triangle (Lawson, 1977)."""
    count = len(triangles)
    # Round and round: what waits longest comes first, which takes fewer turns.
    waiting, waits = np.arange(count), np.ones(count, np.bool_)
    head, length, left = 0, count, _MOST_TURNS * count
    while length and left:
        t = waiting[head]
        waits[t] = False
        head, length = (head + 1) % count, length - 1
        k = 0
        while k < 3 and left:
            u = beside[t, k]
            if not _turned(points, triangles, beside, t, k):
                k += 1
                continue
            left -= 1
            k = 0
            if not waits[u]:
                waits[u] = True
                waiting[(head + length) % count] = u
                length += 1


_delaunay = njit(nogil=True, cache=True)(_delaunay)


def _pieces(way: Any, step: float) -> int:
    """Return how many even pieces of no more than about a step there are."""
    return max(int(np.ceil(np.hypot(way[0], way[1]) / step - 0.01)), 1)


_pieces = njit(nogil=True, cache=True)(_pieces)


def _divided(points: Any, triangles: Any, edges: Any, uses: Any, step: float) -> Any:
    """Return points and triangles with edges of outlines in even pieces of no more than `step`."""
    beside = _neighbours(triangles, edges, uses)
    more = 0
    for t in range(len(triangles)):
        for k in range(3):
            if beside[t, k] < 0:
                way = points[triangles[t, (k + 2) % 3]] - points[triangles[t, (k + 1) % 3]]
                more += _pieces(way, step) - 1
    count, faces = len(points), len(triangles)
    points = np.concatenate((points, np.empty((more, 2))))
    triangles = np.concatenate((triangles, np.empty((more, 3), np.int64)))
    beside = np.concatenate((beside, np.empty((more, 3), np.int64)))
    t = 0
    while t < faces:
        k = 0
        while k < 3 and beside[t, k] != -1:
            k += 1
        if k == 3:
            t += 1
            continue
        # Pieces become a fan round the corner opposite; -2 is an outline that is done.
        a, b, c = triangles[t, k], triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
        way = points[c] - points[b]
        pieces = _pieces(way, step)
        at, start, before, after = t, b, beside[t, (k + 2) % 3], beside[t, (k + 1) % 3]
        for piece in range(1, pieces):
            points[count] = points[b] + way * (piece / pieces)
            triangles[at, 0], triangles[at, 1], triangles[at, 2] = a, start, count
            beside[at, 0], beside[at, 1], beside[at, 2] = -2, faces, before
            before, start, at = at, count, faces
            count += 1
            faces += 1
        triangles[at, 0], triangles[at, 1], triangles[at, 2] = a, start, c
        beside[at, 0], beside[at, 1], beside[at, 2] = -2, after, before
        if at != t and after >= 0:
            for i in range(3):
                if beside[after, i] == t:
                    beside[after, i] = at
    _delaunay(points, triangles, beside)
    return points, triangles


divided = njit(nogil=True, cache=True)(_divided)


def _refined(nodes: Any, number: Any) -> Any:
    """Return triangles with some of their edges halved: those whose middles have a `number`."""
    count = 0
    for t in range(len(nodes)):
        count += 1
        for k in range(3):
            count += number[nodes[t, 3 + k]] >= 0
    found = np.empty((count, 3), np.int64)
    count = 0
    for t in range(len(nodes)):
        # The corner from which on edges are halved without a gap: a first, b and c after it.
        k = 0
        while k < 2 and (number[nodes[t, 3 + k]] < 0 or number[nodes[t, 3 + (k + 2) % 3]] >= 0):
            k += 1
        a, b, c = nodes[t, k], nodes[t, (k + 1) % 3], nodes[t, (k + 2) % 3]
        over_a, over_b = number[nodes[t, 3 + k]], number[nodes[t, 3 + (k + 1) % 3]]
        over_c = number[nodes[t, 3 + (k + 2) % 3]]
        if over_a >= 0 and over_b >= 0 and over_c >= 0:
            parts = ((a, over_c, over_b), (over_c, b, over_a), (over_b, over_a, c))
            for part in parts:
                found[count] = part
                count += 1
            found[count] = (over_a, over_b, over_c)
            count += 1
        elif over_a >= 0 and over_b >= 0:
            for part in ((a, b, over_a), (a, over_a, over_b), (over_b, over_a, c)):
                found[count] = part
                count += 1
        elif over_a >= 0:
            for part in ((a, b, over_a), (a, over_a, c)):
                found[count] = part
                count += 1
        else:
            found[count] = (a, b, c)
            count += 1
    return found


refined = njit(nogil=True, cache=True)(_refined)


def _evened(points: Any, triangles: Any, edges: Any, uses: Any) -> None:
    """Turn edges of triangles until no corner lies in the circle round another one."""
    _delaunay(points, triangles, _neighbours(triangles, edges, uses))


evened = njit(nogil=True, cache=True)(_evened)
