"""Whether a group of pieces can be moved out of another along a straight line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.screws.sight import Past
from splitplanner.plan import Vector
from splitplanner.solid import Solid

_STEPS = 20
"""Places on the way out at which volumes are compared, close together at first."""
_FIRST = 0.5
"""The first of them, mm."""
_RAYS = 4000
"""Corners that are followed along the way, on each side."""
_SUSPECTS = 5
_ROUNDING = 1e-9
"""Overlap along a normal that is none, in sizes of the solids."""


def overlap_on_the_way(
    stays: Sequence[Solid],
    leaves: Sequence[Solid],
    way: Floats,
    normals: Sequence[Vector],
    allowed: float,
) -> float:
    """Return the largest volume that a group shares with another while it leaves it, mm³.

    A plane between the groups settles it. Without one their volumes are compared at 20 places, up
    to where their boxes are apart, and beyond wherever a corner of one would run into a face of
    the other.

    Parameters
    ----------
    stays, leaves : sequences of Solid
        Both in their places in the part, mm.
    way : (3,) float array
        Unit vector in which `leaves` goes.
    normals : sequence of (x, y, z)
        Directions in which the groups may lie apart: the normals of their seams.
    allowed : float
        Volume that is rounding, mm³: the search ends with the first that is larger.
    """
    if _lie_apart(stays, leaves, way, normals):
        return 0.0
    far = max(_run(one, other, way) for one in stays for other in leaves)
    if far <= 0:
        return 0.0
    places = np.geomspace(min(_FIRST, far), far, _STEPS)
    suspects = _met(stays, leaves, way, far) + _met(leaves, stays, -way, far)
    most = 0.0
    for distance in (*sorted(suspects)[:_SUSPECTS], *places.tolist()):
        most = max(most, _shared(stays, leaves, distance * way))
        if most > allowed:
            break
    return most


def _lie_apart(
    stays: Sequence[Solid], leaves: Sequence[Solid], way: Floats, normals: Sequence[Vector]
) -> bool:
    """Return whether a plane has the groups on its two sides, and the way leads off it."""
    for normal in (np.array(normal) for normal in normals):
        slope = float(normal @ way)
        for sign in (1.0, -1.0):
            if sign * slope < -_ROUNDING:
                continue
            top = max(float((sign * solid.vertices @ normal).max()) for solid in stays)
            foot = min(float((sign * solid.vertices @ normal).min()) for solid in leaves)
            if foot >= top - _ROUNDING * max(solid.size for solid in (*stays, *leaves)) * 10:
                return True
    return False


def _run(one: Solid, other: Solid, way: Floats) -> float:
    """Return how far `other` goes until its box is clear of that of `one`, mm; 0 if it is."""
    ends = []
    for axis in range(3):
        speed = float(way[axis])
        (low, high), (start, end) = one.bounds[:, axis], other.bounds[:, axis]
        if start < high and low < end:
            if abs(speed) > 1e-9:
                ends.append(((high - start) if speed > 0 else (end - low)) / abs(speed))
        elif speed == 0 or (speed > 0) == (start >= high):
            return 0.0
        else:
            # It comes by: until it has passed.
            ends.append(((high - start) if speed > 0 else (end - low)) / abs(speed))
    return min(ends, default=0.0)


def _met(
    obstacles: Sequence[Solid], moving: Sequence[Solid], way: Floats, far: float
) -> list[float]:
    """Return distances a little beyond those at which corners run into faces, mm.

    The distances alone prove nothing, since corners also slide along faces.
    """
    corners = np.vstack([solid.vertices for solid in moving])
    corners = corners[:: len(corners) // _RAYS + 1]
    past = Past(obstacles)
    towards = np.tile(way, (len(corners), 1))
    run, leaves, _ = past.first(corners + 4 * past.off * way, towards)
    hits = np.sort(run[~leaves & (run < far)])
    found: list[float] = []
    for hit in hits.tolist():
        if not found or hit + _FIRST > found[-1] + 1.0:
            found.append(hit + _FIRST)
        if len(found) == _SUSPECTS:
            break
    return found


def _shared(stays: Sequence[Solid], leaves: Sequence[Solid], shift: Floats) -> float:
    """Return the volume that two groups share when the second has moved by `shift` (3,), mm³."""
    matrix = np.hstack([np.eye(3), shift[:, None]])
    total = 0.0
    for other in leaves:
        low, high = other.bounds + shift
        near = [s for s in stays if (s.bounds[0] < high).all() and (low < s.bounds[1]).all()]
        if near:
            moved = other.transformed(matrix)
            total += sum(max(solid.intersection(moved).volume, 0.0) for solid in near)
    return total
