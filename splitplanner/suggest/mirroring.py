"""Planes of symmetry of a part."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Division, Vector
from splitplanner.suggest.estimate import Sketch
from splitplanner.suggest.estimate.blocks import Block

_OFF = 0.03
"""Volumes may differ by this share: coarse facets need not be symmetric."""
_SAME = 1.0
"""Walls and ends that lie this near to each other (mm) are the same."""
_SAME_WAY = 1e-3
_TOUCHING = 1e-3
"""Blocks reach to within this of a wall that they touch, mm."""


@dataclass(frozen=True)
class Mirror:
    """A plane of symmetry of a part: points p with n · p == offset, mm."""

    normal: Vector
    offset: float

    def image(self, normal: Vector, distance: float) -> tuple[Vector, float]:
        """Return the mirror image of the plane with `normal` at `distance`."""
        n, m = np.array(normal), np.array(self.normal)
        along = float(n @ m)
        return to_vector(n - 2 * along * m), distance - 2 * along * self.offset


def is_mirrored(sketch: Sketch, mirror: Mirror) -> bool:
    """Return whether the mirror image of every block is a block of the sketch.

    Blocks are told by the walls that they touch and by how far they reach along the mirror's
    normal, to a millimetre.
    """
    shapes = [_shape(block, mirror) for block in sketch.blocks.values()]
    left = list(range(len(shapes)))
    for shape in shapes:
        image = _image(shape, mirror)
        match = next((at for at in left if _alike(image, shapes[at])), None)
        if match is None:
            return False
        left.remove(match)
    return True


def is_own_image(division: Division, mirror: Mirror) -> bool:
    """Return whether the mirror image of every piece of a plan that was cut is one of its pieces.

    Pieces are told by their volumes and centroids.
    """
    normal = np.array(mirror.normal)
    left = [(piece.solid.volume, piece.solid.centroid) for piece in division.pieces]
    for volume, middle in list(left):
        image = middle - 2 * (float(normal @ middle) - mirror.offset) * normal
        match = next(
            (
                at
                for at, (other, there) in enumerate(left)
                if abs(other - volume) <= _OFF * volume and math.dist(there, image) < _SAME
            ),
            None,
        )
        if match is None:
            return False
        del left[match]
    return True


def is_own_image_in_any(division: Division, mirrors: Iterable[Mirror]) -> bool:
    """Return whether a plan that was cut is its own image in one of several planes."""
    return any(is_own_image(division, mirror) for mirror in mirrors)


Shape = tuple[Floats, Floats]
"""Rows (k, 4) of walls, and the reach (2,) along the normal of a mirror, mm."""


def _shape(block: Block, mirror: Mirror) -> Shape:
    rows = np.array([wall.row for wall in (*block.walls, *block.before)]).reshape(-1, 4)
    away = np.abs(block.points @ rows[:, :3].T - rows[:, 3]).min(axis=0)
    along = block.points @ np.array(mirror.normal)
    return rows[away < _TOUCHING], np.array([along.min(), along.max()])


def _image(shape: Shape, mirror: Mirror) -> Shape:
    rows, (low, high) = shape
    images = [mirror.image((a, b, c), d) for a, b, c, d in rows.tolist()]
    turned = np.array([(*normal, distance) for normal, distance in images]).reshape(-1, 4)
    return turned, 2 * mirror.offset - np.array([high, low])


def _alike(one: Shape, other: Shape) -> bool:
    if len(one[0]) != len(other[0]) or (np.abs(one[1] - other[1]) > _SAME).any():
        return False
    apart = np.abs(one[0][:, None] - other[0])
    alike = (apart[..., :3] < _SAME_WAY).all(axis=2) & (apart[..., 3] < _SAME)
    return bool(alike.any(axis=1).all() and alike.any(axis=0).all())
