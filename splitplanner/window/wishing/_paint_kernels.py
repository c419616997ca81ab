"""The compiled loops behind the brush; imported only when first needed.

Points are tuples of three numbers: small arrays would be allocated anew for each difference.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

_compiled = njit(nogil=True, cache=True)

ASIDE = 1e-3
"""A face looks the same way up to this cosine: rounding makes no wall at 90° one that does."""
_SHORT = 1e-6
"""More than what a number loses when it is made a short one, relatively."""


def _minus(p: Any, q: Any) -> Any:
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


_minus = _compiled(_minus)


def _dot(p: Any, q: Any) -> Any:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


_dot = _compiled(_dot)


def _along(p: Any, way: Any, share: Any) -> Any:
    return p[0] + way[0] * share, p[1] + way[1] * share, p[2] + way[2] * share


_along = _compiled(_along)


def _across(p: Any, q: Any) -> Any:
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


_across = _compiled(_across)


def _between_segments(p: Any, q: Any, a: Any, b: Any) -> Any:
    """Return the squared distance of two segments.

    Ericson, Real-Time Collision Detection (2005), section 5.1.9.
    """
    d1, d2, r = _minus(q, p), _minus(b, a), _minus(p, a)
    e1, e2, f = _dot(d1, d1), _dot(d2, d2), _dot(d2, r)
    if e1 == 0.0 and e2 == 0.0:
        return _dot(r, r)
    if e1 == 0.0:
        s, t = 0.0, min(max(f / e2, 0.0), 1.0)
    else:
        c = _dot(d1, r)
        if e2 == 0.0:
            s, t = min(max(-c / e1, 0.0), 1.0), 0.0
        else:
            mixed = _dot(d1, d2)
            below = e1 * e2 - mixed * mixed
            s = min(max((mixed * f - c * e2) / below, 0.0), 1.0) if below > 0.0 else 0.0
            t = (mixed * s + f) / e2
            if t < 0.0:
                s, t = min(max(-c / e1, 0.0), 1.0), 0.0
            elif t > 1.0:
                s, t = min(max((mixed - c) / e1, 0.0), 1.0), 1.0
    gap = _minus(_along(p, d1, s), _along(a, d2, t))
    return _dot(gap, gap)


_between_segments = _compiled(_between_segments)


def _to_triangle(p: Any, a: Any, b: Any, c: Any) -> Any:
    """Return the squared distance of a point from a triangle.

    Over the triangle it is that from its plane, and else that from the nearest side.
    """
    normal = _across(_minus(b, a), _minus(c, a))
    size = _dot(normal, normal)
    if size > 0.0:
        over = (
            _dot(_across(_minus(b, a), _minus(p, a)), normal) >= 0.0
            and _dot(_across(_minus(c, b), _minus(p, b)), normal) >= 0.0
            and _dot(_across(_minus(a, c), _minus(p, c)), normal) >= 0.0
        )
        if over:
            height = _dot(normal, _minus(p, a))
            return height * height / size
    return min(
        _between_segments(p, p, a, b), _between_segments(p, p, b, c), _between_segments(p, p, c, a)
    )


_to_triangle = _compiled(_to_triangle)


def _segment_to_triangle(p: Any, q: Any, a: Any, b: Any, c: Any) -> Any:
    """Return the squared distance of a segment from a triangle; 0 where it goes through."""
    nearest = min(_to_triangle(p, a, b, c), _to_triangle(q, a, b, c))
    if p == q:
        return nearest
    normal = _across(_minus(b, a), _minus(c, a))
    above, below = _dot(normal, _minus(p, a)), _dot(normal, _minus(q, a))
    if above * below < 0.0:
        through = _along(p, _minus(q, p), above / (above - below))
        nearest = min(nearest, _to_triangle(through, a, b, c))
    for start, end in ((a, b), (b, c), (c, a)):
        nearest = min(nearest, _between_segments(p, q, start, end))
    return nearest


_segment_to_triangle = _compiled(_segment_to_triangle)


def _corner(vertices: Any, index: Any) -> Any:
    return vertices[index, 0], vertices[index, 1], vertices[index, 2]


_corner = _compiled(_corner)


def _looks_along(a: Any, b: Any, c: Any, way: Any) -> Any:
    """Return whether a triangle looks the way given; one without area looks every way."""
    normal = _across(_minus(b, a), _minus(c, a))
    return _dot(normal, way) >= ASIDE * np.sqrt(_dot(normal, normal))


_looks_along = _compiled(_looks_along)


def _box_gap(p: Any, q: Any, a: Any, b: Any, c: Any) -> Any:
    """Return the squared distance of the boxes around a segment and a triangle."""
    total = 0.0
    for k in range(3):
        low, high = min(p[k], q[k]), max(p[k], q[k])
        gap = max(min(a[k], b[k], c[k]) - high, low - max(a[k], b[k], c[k]), 0.0)
        total += gap * gap
    return total


_box_gap = _compiled(_box_gap)


def boxes_around(vertices: Any, faces: Any) -> Any:
    """Return the box around each face, low and high corner, (m, 6); short numbers, rounded outward.

    What is looked at for every face lies side by side, and is half as much.
    """
    found = np.empty((len(faces), 6), dtype=np.float32)
    for face in range(len(faces)):
        for k in range(3):
            p, q, r = (
                vertices[faces[face, 0], k],
                vertices[faces[face, 1], k],
                vertices[faces[face, 2], k],
            )
            low, high = min(p, q, r), max(p, q, r)
            found[face, k] = low - abs(low) * _SHORT
            found[face, 3 + k] = high + abs(high) * _SHORT
    return found


boxes_around = _compiled(boxes_around)


def _to_face(vertices: Any, faces: Any, face: Any, point: Any, way: Any) -> Any:
    """Return the squared distance of a face; infinite for one that does not look along `way`."""
    a = _corner(vertices, faces[face, 0])
    b = _corner(vertices, faces[face, 1])
    c = _corner(vertices, faces[face, 2])
    if not _looks_along(a, b, c, way):
        return np.inf
    return _to_triangle(point, a, b, c)


_to_face = _compiled(_to_face)


def nearest(vertices: Any, faces: Any, boxes: Any, point: Any, way: Any, guess: Any) -> Any:
    """Return the face nearest to a point among those that look along `way`; -1 if none does.

    `boxes` are those of `boxes_around`; a `guess` nearby saves looking at most faces twice.
    """
    found, best = -1, np.inf
    if guess >= 0:
        best = _to_face(vertices, faces, guess, point, way)
        found = guess if best < np.inf else -1
    x, y, z = point
    for face in range(len(faces)):
        gap_x = max(boxes[face, 0] - x, x - boxes[face, 3], 0.0)
        gap = gap_x * gap_x
        if gap >= best:
            continue
        gap_y = max(boxes[face, 1] - y, y - boxes[face, 4], 0.0)
        gap += gap_y * gap_y
        if gap >= best:
            continue
        gap_z = max(boxes[face, 2] - z, z - boxes[face, 5], 0.0)
        gap += gap_z * gap_z
        if gap >= best:
            continue
        gap = _to_face(vertices, faces, face, point, way)
        if gap < best:
            found, best = face, gap
    return found


nearest = _compiled(nearest)


def flood(
    vertices: Any, faces: Any, beyond: Any, start: Any, end: Any, ways: Any, first: Any, radius: Any
) -> Any:
    """Return the faces that a brush covers on its way from `start` to `end`.

    Parameters
    ----------
    vertices : (n, 3) float array, mm
    faces, beyond : (m, 3) int array
        Corners, and the face beyond each side.
    start, end : tuples of 3 float, mm
    ways : two tuples of 3 float
        A face has to look along one of them.
    first : two ints
        The faces on which `start` and `end` lie; they are always covered.
    radius : float, mm

    Returns
    -------
    (k,) int array
        Each once: those that hang together with one of `first`.
    """
    reached = np.zeros(len(faces), dtype=np.bool_)
    found = np.empty(len(faces), dtype=np.int64)
    count = 0
    for face in first:
        if not reached[face]:
            reached[face] = True
            found[count] = face
            count += 1
    at = 0
    while at < count:
        for side in range(3):
            face = beyond[found[at], side]
            if reached[face]:
                continue
            reached[face] = True
            a = _corner(vertices, faces[face, 0])
            b = _corner(vertices, faces[face, 1])
            c = _corner(vertices, faces[face, 2])
            if _box_gap(start, end, a, b, c) > radius * radius:
                continue
            if not (_looks_along(a, b, c, ways[0]) or _looks_along(a, b, c, ways[1])):
                continue
            if _segment_to_triangle(start, end, a, b, c) <= radius * radius:
                found[count] = face
                count += 1
        at += 1
    return found[:count].copy()


flood = _compiled(flood)
