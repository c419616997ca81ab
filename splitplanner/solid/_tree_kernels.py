"""Compiled loops that look for faces near a point or along a ray; imported only when first needed.

Faces lie in a tree of boxes: node k has the nodes 2 k + 1 and 2 k + 2 below it, and all leaves are
equally deep. A tree is a tuple of arrays, so that compiled loops take it as it is. What other files
compile with these loops numba keeps until those files change, so touch them when this one does.

- order (m,): the faces, those of each leaf side by side
- corners (m, 3, 3), normals (m, 3): of the faces in that order
- boxes (k, 6): low and high corner of each node
- spans (k, 2): from where to where in the order each node reaches

Points are tuples of three numbers: small arrays would be allocated anew for each difference.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

compiled = njit(nogil=True, cache=True, error_model="numpy")

LEAF = 4
"""A leaf has no more faces than this."""
DEEP = 64
"""Nodes that wait to be looked at: more than there are levels in any tree."""
_BESIDE = 1e-9
"""A ray meets a triangle up to so far beside it, as share of its size: none slips between two."""


def minus(p: Any, q: Any) -> Any:
    """Return p - q."""
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


minus = compiled(minus)


def dot(p: Any, q: Any) -> Any:
    """Return the scalar product."""
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


dot = compiled(dot)


def across(p: Any, q: Any) -> Any:
    """Return the vector product."""
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


across = compiled(across)


def along(p: Any, way: Any, share: Any) -> Any:
    """Return p + share * way."""
    return p[0] + way[0] * share, p[1] + way[1] * share, p[2] + way[2] * share


along = compiled(along)


def row(array: Any, index: Any) -> Any:
    """Return a row of an (n, 3) array as a tuple."""
    return array[index, 0], array[index, 1], array[index, 2]


row = compiled(row)


def grown(vertices: Any, faces: Any, normals: Any) -> Any:
    """Return the tree of a mesh: order, corners, normals, boxes, spans.

    Each node is divided in two halves of as many faces, across its longest side.
    """
    count, depth = len(faces), 0
    while count > LEAF << depth:
        depth += 1
    order = np.arange(count)
    middles = np.empty((count, 3))
    for face in range(count):
        for k in range(3):
            middles[face, k] = (
                vertices[faces[face, 0], k]
                + vertices[faces[face, 1], k]
                + vertices[faces[face, 2], k]
            )
    nodes = (2 << depth) - 1
    spans = np.zeros((nodes, 2), dtype=np.int64)
    spans[0, 1] = count
    for node in range((1 << depth) - 1):
        start, stop = spans[node]
        middle = (start + stop) // 2
        _halve(order, middles, start, middle, stop)
        spans[2 * node + 1] = start, middle
        spans[2 * node + 2] = middle, stop
    corners = np.empty((count, 3, 3))
    for at in range(count):
        for k in range(3):
            corners[at, k] = vertices[faces[order[at], k]]
    return order, corners, normals[order], _boxes(corners, spans, depth), spans


def _halve(order: Any, middles: Any, start: Any, middle: Any, stop: Any) -> None:
    """Bring what lies lower along the longest side of a stretch before its middle.

    C. A. R. Hoare, "Algorithm 65: find", Comm. ACM 4 (1961) 321.
    """
    widest, best = 0, -1.0
    for k in range(3):
        low, high = np.inf, -np.inf
        for at in range(start, stop):
            low, high = min(low, middles[order[at], k]), max(high, middles[order[at], k])
        if high - low > best:
            widest, best = k, high - low
    first, last = start, stop - 1
    while first < last:
        pivot = middles[order[(first + last) // 2], widest]
        one, other = first, last
        while one <= other:
            while middles[order[one], widest] < pivot:
                one += 1
            while middles[order[other], widest] > pivot:
                other -= 1
            if one <= other:
                order[one], order[other] = order[other], order[one]
                one += 1
                other -= 1
        if middle <= other:
            last = other
        elif middle >= one:
            first = one
        else:
            break


_halve = compiled(_halve)


def _boxes(corners: Any, spans: Any, depth: Any) -> Any:
    """Return the boxes of the nodes, (k, 6), from the leaves up."""
    boxes = np.empty((len(spans), 6))
    boxes[:, :3], boxes[:, 3:] = np.inf, -np.inf
    for node in range(len(spans) - 1, -1, -1):
        for k in range(3):
            if node >= (1 << depth) - 1:
                for at in range(spans[node, 0], spans[node, 1]):
                    for corner in range(3):
                        boxes[node, k] = min(boxes[node, k], corners[at, corner, k])
                        boxes[node, 3 + k] = max(boxes[node, 3 + k], corners[at, corner, k])
            else:
                one, other = 2 * node + 1, 2 * node + 2
                boxes[node, k] = min(boxes[one, k], boxes[other, k])
                boxes[node, 3 + k] = max(boxes[one, 3 + k], boxes[other, 3 + k])
    return boxes


_boxes = compiled(_boxes)
grown = compiled(grown)


def box_gap(boxes: Any, node: Any, p: Any) -> Any:
    """Return the squared distance of a point from the box of a node."""
    total = 0.0
    for k in range(3):
        gap = max(boxes[node, k] - p[k], p[k] - boxes[node, 3 + k], 0.0)
        total += gap * gap
    return total


box_gap = compiled(box_gap)


def _on_segment(p: Any, a: Any, b: Any) -> Any:
    side = minus(b, a)
    size = dot(side, side)
    share = dot(minus(p, a), side) / size if size > 0.0 else 0.0
    return along(a, side, min(max(share, 0.0), 1.0))


_on_segment = compiled(_on_segment)


def is_over(p: Any, a: Any, b: Any, c: Any, normal: Any) -> Any:
    """Return whether a point lies over a triangle, within the prism of its sides."""
    return (
        dot(across(minus(b, a), minus(p, a)), normal) >= 0.0
        and dot(across(minus(c, b), minus(p, b)), normal) >= 0.0
        and dot(across(minus(a, c), minus(p, c)), normal) >= 0.0
    )


is_over = compiled(is_over)


def _on_triangle(p: Any, a: Any, b: Any, c: Any, normal: Any) -> Any:
    """Return the point of a triangle that is nearest to p."""
    if dot(normal, normal) > 0.0 and is_over(p, a, b, c, normal):
        return along(p, normal, dot(normal, minus(a, p)))
    best, found = np.inf, a
    for start, end in ((a, b), (b, c), (c, a)):
        q = _on_segment(p, start, end)
        gap = minus(q, p)
        if dot(gap, gap) < best:
            best, found = dot(gap, gap), q
    return found


_on_triangle = compiled(_on_triangle)


def nearest(tree: Any, p: Any, reach: Any) -> Any:
    """Return the distance of the nearest point of the surface, and that point.

    Infinite, and p itself, where nothing is nearer than `reach`.
    """
    _, corners, normals, boxes, spans = tree
    waiting = np.empty(DEEP, dtype=np.int64)
    waiting[0], used = 0, 1
    best, found, is_found = reach * reach, p, False
    while used > 0:
        used -= 1
        node = waiting[used]
        if box_gap(boxes, node, p) >= best:
            continue
        one = 2 * node + 1
        if one < len(boxes):
            nearer = one if box_gap(boxes, one, p) <= box_gap(boxes, one + 1, p) else one + 1
            waiting[used], waiting[used + 1] = 2 * one + 1 - nearer, nearer
            used += 2
            continue
        for at in range(spans[node, 0], spans[node, 1]):
            a, m = row(corners[at], 0), row(normals, at)
            height = dot(m, minus(a, p))
            if height * height >= best:
                continue
            q = _on_triangle(p, a, row(corners[at], 1), row(corners[at], 2), m)
            gap = minus(q, p)
            if dot(gap, gap) < best:
                best, found, is_found = dot(gap, gap), q, True
    return (np.sqrt(best) if is_found else np.inf), found


nearest = compiled(nearest)


def _enters(boxes: Any, node: Any, p: Any, way: Any) -> Any:
    """Return how far a ray goes until it is in the box of a node; infinite if it misses it."""
    start, stop = 0.0, np.inf
    for k in range(3):
        low, high = boxes[node, k] - p[k], boxes[node, 3 + k] - p[k]
        if way[k] == 0.0:
            if low > 0.0 or high < 0.0:
                return np.inf
        else:
            one, other = low / way[k], high / way[k]
            start, stop = max(start, min(one, other)), min(stop, max(one, other))
    # What lies in a plane has no thickness: rounding must not close its box.
    return start if start <= stop + 1e-9 * (1.0 + abs(start)) else np.inf


_enters = compiled(_enters)


def _meets(p: Any, way: Any, a: Any, b: Any, c: Any) -> Any:
    """Return how far a ray goes to a triangle; infinite if it misses it.

    T. Möller & B. Trumbore, J. Graphics Tools 2 (1997) 21.
    """
    one, other = minus(b, a), minus(c, a)
    turned = across(way, other)
    size = dot(one, turned)
    if size == 0.0:
        return np.inf
    off = minus(p, a)
    u = dot(off, turned) / size
    crossed = across(off, one)
    v = dot(way, crossed) / size
    if u < -_BESIDE or v < -_BESIDE or u + v > 1.0 + _BESIDE:
        return np.inf
    return dot(other, crossed) / size


_meets = compiled(_meets)


def way_out(tree: Any, p: Any, way: Any, own: Any) -> Any:
    """Return how far it is from a point in or on the solid to where a ray leaves it, and the face.

    Faces that look against the ray, and the face `own`, are passed; infinite and -1 where none is
    met. The face is told by its place in the tree's order.
    """
    order, corners, normals, boxes, spans = tree
    waiting = np.empty(DEEP, dtype=np.int64)
    waiting[0], used = 0, 1
    best, found = np.inf, -1
    while used > 0:
        used -= 1
        node = waiting[used]
        if _enters(boxes, node, p, way) >= best:
            continue
        one = 2 * node + 1
        if one < len(boxes):
            first, second = _enters(boxes, one, p, way), _enters(boxes, one + 1, p, way)
            nearer = one if first <= second else one + 1
            waiting[used], waiting[used + 1] = 2 * one + 1 - nearer, nearer
            used += 2
            continue
        for at in range(spans[node, 0], spans[node, 1]):
            if order[at] == own or dot(row(normals, at), way) <= 0.0:
                continue
            far = _meets(p, way, row(corners[at], 0), row(corners[at], 1), row(corners[at], 2))
            if 0.0 <= far < best:
                best, found = far, at
    return best, found


way_out = compiled(way_out)
