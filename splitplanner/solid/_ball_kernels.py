"""Compiled loops that find how thick a wall is at a point; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.solid._tree_kernels import (
    DEEP,
    along,
    box_gap,
    dot,
    is_over,
    minus,
    nearest,
    row,
    way_out,
)

_compiled = njit(nogil=True, cache=True, error_model="numpy")

WALL, TAPER, JUNCTION, EDGE = 0, 1, 2, 3

_SMOOTH = np.sin(np.radians(30.0) / 2.0)
"""Faces that bend away from that of the point by less than 30° are one surface with it."""
_PARALLEL = np.cos(np.radians(5.0))
_OPPOSITE = np.cos(np.radians(45.0))
"""Beyond this angle the face across is no other side of a wall but that of a wedge or a corner."""
_SAME = 0.01
_ROLLING = 0.05
"""A ball that was rolled along may overlap a bent wall by this share of its radius."""
_FURTHEST = 2.0
"""A ball is rolled so many radii at most: off an edge of 53° it need go no further."""
_TURNS = 6
_BENT = np.cos(np.radians(15.0))
_RECEDES = 1.25
_BELOW = 0.2
"""Whether material goes on beside a point is looked for this deep, as share of the radius: the ray
stays in a wall that carries a boss up to ten times as wide."""


def _at_point(p: Any, n: Any, q: Any) -> Any:
    """Return the radius of the ball that touches the surface at p and has q on it."""
    gap = minus(p, q)
    height, size = dot(n, gap), dot(gap, gap)
    if height <= 0.0 or height < _SMOOTH * np.sqrt(size):
        return np.inf
    return size / (2.0 * height)


_at_point = _compiled(_at_point)


def _at_plane(p: Any, n: Any, a: Any, b: Any, c: Any, m: Any) -> Any:
    """Return the radius of the ball that touches a triangle inside of its sides, and where.

    With s from p to the plane, along its normal m, the ball reaches it when s + r n·m = ± r.
    """
    slope, height = dot(n, m), dot(m, minus(a, p))
    side = 1.0 if height >= 0.0 else -1.0
    below = 1.0 - side * slope
    if below < 1e-12 or dot(m, m) == 0.0:
        return np.inf, a
    r = side * height / below
    q = along(along(p, n, -r), m, side * r)
    if not is_over(q, a, b, c, m):
        return np.inf, a
    # Where they touch is turned from p by the angle between n and the plane's normal.
    return (r if below >= 2.0 * _SMOOTH * _SMOOTH else np.inf), q


_at_plane = _compiled(_at_plane)


def _at_side(p: Any, n: Any, a: Any, b: Any) -> Any:
    """Return the radius of the ball that touches a segment, and where.

    With w and v as p - a and n square to the segment, |w - r v|² = r² has one root above 0:
    r = w² / (w·v + √((w·v)² + (n·u)² w²)) for the segment's direction u.
    """
    side = minus(b, a)
    length = np.sqrt(dot(side, side))
    if length > 0.0:
        u = side[0] / length, side[1] / length, side[2] / length
        off = minus(p, a)
        w = along(off, u, -dot(off, u))
        slope, size = dot(n, u), dot(w, w)
        leaning = dot(w, n)
        below = leaning + np.sqrt(leaning * leaning + slope * slope * size)
        if below > 1e-12 * np.sqrt(size):
            r = size / below
            share = dot(minus(along(p, n, -r), a), u)
            if 0.0 <= share <= length:
                q = along(a, u, share)
                # Beside a segment that lies in the tangent plane the root is nothing but rounding.
                if _at_point(p, n, q) < np.inf:
                    return r, q
    one, other = _at_point(p, n, a), _at_point(p, n, b)
    return (one, a) if one <= other else (other, b)


_at_side = _compiled(_at_side)


def _at_triangle(p: Any, n: Any, a: Any, b: Any, c: Any, m: Any) -> Any:
    """Return the radius of the ball that touches the surface at p and a triangle, and where."""
    if dot(n, minus(p, a)) <= 0.0 and dot(n, minus(p, b)) <= 0.0 and dot(n, minus(p, c)) <= 0.0:
        return np.inf, a
    best, found = _at_plane(p, n, a, b, c, m)
    if best < np.inf:
        return best, found
    for start, end in ((a, b), (b, c), (c, a)):
        r, q = _at_side(p, n, start, end)
        if r < best:
            best, found = r, q
    return best, found


_at_triangle = _compiled(_at_triangle)


def _is_aside(boxes: Any, node: Any, p: Any, n: Any) -> Any:
    """Return whether all of a box is no deeper than what is one surface with that at p."""
    deepest = 0.0
    for k in range(3):
        deepest += n[k] * (p[k] - boxes[node, k if n[k] > 0.0 else 3 + k])
    return deepest <= 0.0 or deepest * deepest < _SMOOTH * _SMOOTH * box_gap(boxes, node, p)


_is_aside = _compiled(_is_aside)


def _at_face(tree: Any, p: Any, n: Any, at: Any, middle: Any, best: Any) -> Any:
    """Return what `_at_triangle` does for a face, by its place in the tree's order.

    Infinite where the ball round `middle` of radius `best` does not even reach its plane.
    """
    a, m = row(tree[1][at], 0), row(tree[2], at)
    if abs(dot(m, minus(a, middle))) >= best and dot(m, m) > 0.0:
        return np.inf, a
    return _at_triangle(p, n, a, row(tree[1][at], 1), row(tree[1][at], 2), m)


_at_face = _compiled(_at_face)


def touching_ball(tree: Any, p: Any, n: Any, own: Any, most: Any, guess: Any) -> Any:
    """Return the radius of the largest ball inside that touches the surface at p, and where else.

    Balls that touch at p lie in one another, so what is not in the ball found so far cannot make
    it smaller. The largest that is looked for has the radius `most`, and its far end as second
    point. Third comes the face that is touched, by its place in the tree's order, which is a good
    `guess` for a point nearby; -1 for none.
    """
    order, _, _, boxes, spans = tree
    waiting = np.empty(DEEP, dtype=np.int64)
    waiting[0], used = 0, 1
    best, found, touched = most, along(p, n, -2.0 * most), -1
    if guess >= 0 and order[guess] != own:
        r, q = _at_face(tree, p, n, guess, along(p, n, -best), best)
        if r < best:
            best, found, touched = r, q, guess
    while used > 0:
        used -= 1
        node = waiting[used]
        middle = along(p, n, -best)
        if box_gap(boxes, node, middle) >= best * best or _is_aside(boxes, node, p, n):
            continue
        one = 2 * node + 1
        if one < len(boxes):
            nearer = one
            if box_gap(boxes, one + 1, middle) < box_gap(boxes, one, middle):
                nearer = one + 1
            waiting[used], waiting[used + 1] = 2 * one + 1 - nearer, nearer
            used += 2
            continue
        for at in range(spans[node, 0], spans[node, 1]):
            if order[at] == own:
                continue
            r, q = _at_face(tree, p, n, at, middle, best)
            if r < best:
                best, found, touched, middle = r, q, at, along(p, n, -r)
    return best, found, touched


touching_ball = _compiled(touching_ball)


def _rolls_free(tree: Any, p: Any, n: Any, r: Any, ball: Any, q: Any) -> Any:
    """Return whether a ball of radius r that touches the surface at p has room beside it.

    It is rolled off what is in its way, which is at first the point q where a ball of radius
    `ball` touches. So it finds room near the edge of a wall and beside a step, but not on the rim
    or below a rib.
    """
    c, way, gap = along(p, n, -r), 0.0, ball
    off = minus(along(p, n, -ball), q)
    # So far beyond the tangent plane at q the larger ball reaches.
    short = (r - ball) * (1.0 + dot(off, n) / ball)
    for _ in range(_TURNS):
        aside = along(off, n, -dot(off, n))
        size = np.sqrt(dot(aside, aside))
        if size <= _BELOW * gap:
            return False
        step = short * gap / size
        way += step
        if way > _FURTHEST * r:
            return False
        c = along(c, aside, step / size)
        gap, q = nearest(tree, c, r * (1.0 - _ROLLING))
        if gap == np.inf:
            out, face = way_out(tree, c, n, -1)
            is_side = face >= 0 and dot(row(tree[2], face), n) >= _BENT
            return is_side and abs(out - r) <= _ROLLING * r
        off, short = minus(c, q), r - gap
    return False


_rolls_free = _compiled(_rolls_free)


def _goes_on(tree: Any, p: Any, n: Any, r: Any, q: Any, own: Any) -> Any:
    """Return whether there is material beyond where the ball's two tangent planes would meet."""
    m = minus(q, along(p, n, -r))
    aside = along(m, n, -dot(m, n))
    size = np.sqrt(dot(aside, aside))
    if size == 0.0:
        return True
    u = aside[0] / size, aside[1] / size, aside[2] / size
    start = along(p, n, -_BELOW * r)
    edge = dot(m, minus(q, start)) / dot(m, u)
    out, _ = way_out(tree, start, u, own)
    return out > _RECEDES * edge


_goes_on = _compiled(_goes_on)


def _judged(
    tree: Any, p: Any, n: Any, own: Any, through: Any, face: Any, r: Any, q: Any, most: Any
) -> Any:
    """Return the thickness at a point and its kind, from both measures."""
    ball = 2.0 * r
    if r <= 0.0 or r >= most:
        return ball, WALL
    turn = dot(n, minus(q, along(p, n, -r))) / r
    if turn <= -_PARALLEL:
        return ball, WALL
    facing = -dot(n, row(tree[2], face)) if face >= 0 else -1.0
    if facing >= _OPPOSITE:
        # The ball that touches the plane at p and that of the face across.
        between = min(through * 2.0 * facing / (1.0 + facing), 2.0 * most)
        kind = WALL if facing >= _PARALLEL else TAPER
        if between <= ball * (1.0 + _SAME):
            return max(ball, between), kind
        if _rolls_free(tree, p, n, between / 2.0, r, q):
            return between, kind
    if turn > -_OPPOSITE:
        return ball, (JUNCTION if _goes_on(tree, p, n, r, q, own) else EDGE)
    # As far as a ray goes to the plane that the ball touches.
    plane = ball / (1.0 - (1.0 + turn) / (1.0 - turn))
    return ball, (TAPER if through <= _RECEDES * plane else JUNCTION)


_judged = _compiled(_judged)


def measured(tree: Any, points: Any, normals: Any, owners: Any, most: Any) -> Any:
    """Return thickness, kind, way through and diameter of the ball at points of the surface.

    It goes faster where each point lies near the one before.

    Parameters
    ----------
    points, normals : (n, 3) float array
    owners : (n,) int array
        The faces they lie on.
    most : float
        The largest radius that is looked for.
    """
    count = len(points)
    thickness, ways, balls = np.empty(count), np.empty(count), np.empty(count)
    kinds = np.empty(count, dtype=np.int8)
    guess = -1
    for index in range(count):
        p, n, own = row(points, index), row(normals, index), owners[index]
        through, face = way_out(tree, p, (-n[0], -n[1], -n[2]), own)
        r, q, guess = touching_ball(tree, p, n, own, min(through / 2.0, most), guess)
        thickness[index], kinds[index] = _judged(tree, p, n, own, through, face, r, q, most)
        ways[index], balls[index] = through, 2.0 * r
    return thickness, kinds, ways, balls


measured = _compiled(measured)
