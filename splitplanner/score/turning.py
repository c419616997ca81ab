"""What the turns of a convex plan view within a window of yaws have in common."""

from __future__ import annotations

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.score.outline_fit import clipped


def shared_by_turns(plan: Floats, half: float) -> Floats:
    """Return a convex polygon that lies in every turn of `plan` by up to `half` degrees, mm.

    `plan` (n, 2) is convex, counter-clockwise and has the origin inside. Turned both ways, each of
    its sides sweeps an arc round the origin at its distance d; the chord of that arc,
    ``n · p <= d cos(half)``, cuts off a little more than the arc does. Empty (0, 2) where what is
    left is too slim to be told.
    """
    turn = np.radians(half)
    both = [plan @ _turn(angle) for angle in (turn, -turn)]
    shared = shapely.intersection(*shapely.polygons(both))
    if shared.geom_type != "Polygon" or shared.is_empty:  # Too slim for the arithmetic.
        return np.empty((0, 2))
    ring: Floats = shapely.get_coordinates(shapely.orient_polygons(shared).exterior)[:-1]
    for corner, edge in zip(plan, np.roll(plan, -1, axis=0) - plan, strict=True):
        normal = np.array([edge[1], -edge[0]])
        over = ring @ normal - float(normal @ corner) * np.cos(turn)
        outside = over > 0.0
        if outside.any():
            ring = clipped(ring, over, outside)
    return ring


def _turn(angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    matrix: Floats = np.array([[c, s], [-s, c]])
    return matrix


def is_point_symmetric(plan: Floats) -> bool:
    """Return whether half a turn about the origin maps the corners `plan` (n, 2) to themselves."""
    count = len(plan)
    if count % 2:
        return False
    opposite = np.roll(plan, count // 2, axis=0)
    return bool(np.abs(plan + opposite).max() < 1e-9 * float(np.abs(plan).max()))
