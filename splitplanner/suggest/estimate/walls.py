"""The walls of a block: cut planes, and on which side of them it lies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely.geometry import Polygon

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.solid import Plane


@dataclass(frozen=True)
class Wall:
    """A plane on one side of a block; `side` is 1 where the block is above it, else -1."""

    plane: Plane
    side: int

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # Walls are looked up far more often than they are made.
        return hash((self.plane, self.side))

    @cached_property
    def row(self) -> tuple[float, float, float, float]:
        """Normal n and distance d that keep n · p >= d."""
        a, b, c = self.plane.normal
        s = float(self.side)
        return s * a, s * b, s * c, s * self.plane.offset


Walls = tuple[Wall, ...]


def tightest(walls: Walls) -> Walls:
    """Return `walls` without those that another of the same normal makes needless, sorted."""
    best: dict[tuple[Vector, int], Wall] = {}
    for wall in walls:
        key = (wall.plane.normal, wall.side)
        other = best.get(key)
        if other is None or wall.side * (wall.plane.offset - other.plane.offset) > 0:
            best[key] = wall
    return tuple(best[key] for key in sorted(best))


def rows_of(walls: Walls) -> Floats:
    """Return walls as numbers, (w, 4); see `Wall.row`."""
    return np.array([wall.row for wall in walls]).reshape(-1, 4)


def window_between(plane: Plane, walls: Walls, size: float) -> Polygon | None:
    """Return the region of a plane between walls, in plane coordinates; None if there is none.

    Walls in the plane itself do not count. A large square, clipped by one wall after another
    (Sutherland & Hodgman, CACM 17 (1974) 32).
    """
    reach = 4.0 * (size + abs(plane.offset))
    ring = reach * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    for wall in walls:
        if wall.plane == plane:
            continue
        row = np.array(wall.row)
        slope = plane.frame[:2] @ row[:3]
        height = ring @ slope + (float(plane.origin @ row[:3]) - row[3])
        ring = _half(ring, height)
        if len(ring) < 3:
            return None
    return Polygon(ring)


def _half(ring: Floats, height: Floats) -> Floats:
    """Return the part of a convex ring (k, 2) where `height` (k,) is 0 or more."""
    kept: list[Floats] = []
    for index in range(len(ring)):
        before = index - 1
        if (height[index] >= 0) != (height[before] >= 0):
            at = height[before] / (height[before] - height[index])
            kept.append(ring[before] + at * (ring[index] - ring[before]))
        if height[index] >= 0:
            kept.append(ring[index])
    return np.array(kept).reshape(-1, 2)
