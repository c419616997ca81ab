"""Whether a seam is its own mirror image, and the line about which it is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.plan import Seam
from splitplanner.solid import Plane

_OFF = 0.03
"""Seam and image may differ by this share of the seam's area: facets need not be symmetric."""
_SQUARE = 1e-6
"""A mirror plane is square to a seam when the cosine between their normals is no more."""


@dataclass(frozen=True)
class MirrorLine:
    """A line in a seam's plane about which the seam is symmetric.

    Attributes
    ----------
    point : (u, v)
        On the line, mm.
    direction : (u, v)
        Along it, of length 1.

    Raises
    ------
    ValueError
        If the direction has no length.
    """

    point: tuple[float, float]
    direction: tuple[float, float]

    def __post_init__(self) -> None:
        u, v = self.direction
        length = math.hypot(u, v)
        if not (math.isfinite(length) and length > 0):
            raise ValueError(f"a mirror line needs a direction, got {self.direction}")
        object.__setattr__(self, "direction", (u / length, v / length))

    def side(self, places: ArrayLike) -> Floats:
        """Return the distance of `places` (n, 2) from the line, above 0 on its left, (n,) mm."""
        along = np.array(self.direction)
        across = np.array([-along[1], along[0]])
        result: Floats = (np.asarray(places, float) - self.point) @ across
        return result

    def image(self, places: ArrayLike) -> Floats:
        """Return the mirror images of `places` (n, 2), mm."""
        given = np.asarray(places, float)
        across = np.array([-self.direction[1], self.direction[0]])
        result: Floats = given - 2 * self.side(given)[:, None] * across
        return result

    def onto(self, places: ArrayLike) -> Floats:
        """Return the points of the line nearest to `places` (n, 2), mm."""
        given = np.asarray(places, float)
        result: Floats = (given + self.image(given)) / 2
        return result


def unlikeness(shape: MultiPolygon, line: MirrorLine) -> float:
    """Return the share of the area that only a shape or only its mirror image covers.

    Half the area of the symmetric difference over that of the shape: 0 for a symmetric one, 1 for
    one that its image does not touch.
    """
    u, v = line.direction
    p = np.array(line.point)
    turn = np.array([[u * u - v * v, 2 * u * v], [2 * u * v, v * v - u * u]])
    shift = p - turn @ p
    image = shapely.affinity.affine_transform(
        shape, [turn[0, 0], turn[0, 1], turn[1, 0], turn[1, 1], shift[0], shift[1]]
    )
    return float(shapely.symmetric_difference(shape, image).area) / (2 * float(shape.area))


def mirror_line(seam: Seam, mirror: Plane) -> MirrorLine | None:
    """Return the line in which a mirror plane of the part meets a seam that it mirrors.

    Parameters
    ----------
    seam : Seam
    mirror : Plane
        A plane of symmetry of the part.

    Returns
    -------
    MirrorLine or None
        None when the plane is not square to the seam, or the seam's polygons and their image
        differ by more than 3 % of their area.
    """
    frame = seam.plane.frame
    if abs(float(frame[2] @ mirror.normal)) > _SQUARE or seam.section.is_empty:
        return None
    across = frame[:2] @ np.array(mirror.normal)
    origin = seam.plane.origin
    away = mirror.offset - float(np.array(mirror.normal) @ origin)
    point = across * away / float(across @ across)
    line = MirrorLine((float(point[0]), float(point[1])), (float(across[1]), -float(across[0])))
    return line if unlikeness(seam.section.shape, line) <= _OFF else None
