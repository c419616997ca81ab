"""Planes of symmetry of a part."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate import Sketch

_PAIRS = 12
"""Pairs of sections that are compared."""
_OFF = 0.03
"""Sections may differ by this share of their area: coarse facets need not be symmetric."""


def mirror_offset(solid: Solid, normal: Floats) -> float | None:
    """Return the offset of a plane of symmetry with `normal` (3,), mm; None if there is none.

    The plane must halve the extent. Sections at equal distances on both sides are laid over each
    other; what only one of them covers may be no more than 3 % of both, as facets may be.
    """
    base = Plane.through((0, 0, 0), normal)
    heights = base.height(solid.vertices)
    low, high = float(heights.min()), float(heights.max())
    middle, half = (low + high) / 2, (high - low) / 2
    if abs(float(base.height(solid.centroid[None])[0]) - middle) > 0.02 * half:
        return None
    steps = half * (np.arange(_PAIRS) + 0.5) / _PAIRS
    near = solid.sections(base, middle - steps)
    far = solid.sections(base, middle + steps)
    apart = whole = 0.0
    for one, other in zip(near, far, strict=True):
        apart += float(one.shape.symmetric_difference(other.shape).area)
        whole += one.area + other.area
    return middle if apart <= _OFF * whole else None


@dataclass(frozen=True)
class Mirror:
    """A plane of symmetry of a part: points p with n · p == offset, mm."""

    normal: Vector
    offset: float

    def image(self, normal: Vector, distance: float) -> tuple[Vector, float]:
        """Return the mirror image of the plane with `normal` at `distance`."""
        n, m = np.array(normal), np.array(self.normal)
        along = float(n @ m)
        x, y, z = n - 2 * along * m
        return (float(x), float(y), float(z)), distance - 2 * along * self.offset


def is_mirrored(sketch: Sketch, mirror: Mirror) -> bool:
    """Return whether the mirror image of every block is a block of the sketch.

    Blocks are told by the walls round them, to a millimetre.
    """
    blocks, images = [], []
    for block in sketch.blocks.values():
        walls = (*block.walls, *block.before)
        blocks.append(_shape(wall.row for wall in walls))
        images.append(_shape(_image(wall.row, mirror) for wall in walls))
    return sorted(blocks) == sorted(images)


Row = tuple[float, float, float, float]


def _image(row: Row, mirror: Mirror) -> Row:
    (a, b, c), distance = mirror.image(row[:3], row[3])
    return a, b, c, distance


def _shape(rows: Iterable[Row]) -> tuple[Row, ...]:
    rounded = ((*(round(value, 3) + 0.0 for value in row[:3]), round(row[3]) + 0.0) for row in rows)
    return tuple(sorted((a, b, c, d) for a, b, c, d in rounded))
