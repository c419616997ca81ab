"""Regions that no seam may cross, and where one does."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Annotated, Literal, TypeAlias

import numpy as np
import shapely
from pydantic import Field

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.errors import WishesError
from splitplanner.plan import Vector
from splitplanner.solid import Plane, Section, Solid

TOUCH = 1e-3
"""A seam that is in a region by less than this (mm, mm²) touches it and does not cross it."""


@dataclass(frozen=True, eq=False)
class Crossing:
    """How far a seam is in a region.

    Attributes
    ----------
    measured : float
        In `unit`.
    unit : str
    where : (n, 3) float array, mm
        Places of the seam in the region.
    """

    measured: float
    unit: str
    where: Floats


@dataclass(frozen=True)
class KeepOutBox:
    """An axis-parallel box that no seam may cross; a seam may lie on its sides.

    Attributes
    ----------
    low, high : tuple of 3 float
        Corners, mm in the part's frame.
    """

    low: Vector
    high: Vector
    kind: Literal["box"] = "box"

    def __post_init__(self) -> None:
        low, high = np.asarray(self.low, float), np.asarray(self.high, float)
        if not (np.isfinite([low, high]).all() and (low < high).all()):
            raise WishesError(
                f"A keep-out box needs a low and a high corner, got {self.low} and {self.high}; "
                "every coordinate of the high one must be above the low one's."
            )

    def _corners(self) -> Floats:
        """Return its corners, (8, 3) mm; bit k of the index says which side of axis k."""
        bits = (np.arange(8)[:, None] >> np.arange(3)) & 1
        return np.where(bits == 1, np.asarray(self.high, float), np.asarray(self.low, float))

    def is_met(self, plane: Plane, part: Solid) -> bool:
        """Return whether `plane` passes through the box."""
        height = plane.height(self._corners())
        return bool(height.min() < -TOUCH and height.max() > TOUCH)

    def crossing(self, section: Section, part: Solid, near: float = TOUCH) -> Crossing | None:
        """Return the area of the seam in the box, mm², or None: box and plane meet in a polygon."""
        if not self.is_met(section.plane, part):
            return None
        corners = self._corners()
        height = section.plane.height(corners)
        ends = [
            corners[a] + (corners[b] - corners[a]) * height[a] / (height[a] - height[b])
            for a, b in combinations(range(8), 2)
            if (a ^ b) in (1, 2, 4) and (height[a] < 0.0) != (height[b] < 0.0)
        ]
        window = shapely.MultiPoint(section.plane.to_plane(ends)).convex_hull
        shared = shapely.intersection(section.shape, window)
        if shared.area <= TOUCH:
            return None
        place = shared.representative_point()
        return Crossing(float(shared.area), "mm2", section.plane.to_space([[place.x, place.y]]))


@dataclass(frozen=True)
class KeepOutSphere:
    """A ball that no seam may cross.

    Attributes
    ----------
    centre : tuple of 3 float
        mm in the part's frame.
    radius : float
        mm.
    """

    centre: Vector
    radius: float
    kind: Literal["sphere"] = "sphere"

    def __post_init__(self) -> None:
        if not (np.isfinite(self.centre).all() and 0 < self.radius < np.inf):
            raise WishesError(
                f"A keep-out sphere needs a centre and a radius above 0 mm, got {self.centre} and "
                f"{self.radius:g}."
            )

    def is_met(self, plane: Plane, part: Solid) -> bool:
        """Return whether `plane` passes through the ball."""
        return abs(float(plane.height([self.centre])[0])) < self.radius - TOUCH

    def crossing(self, section: Section, part: Solid, near: float = TOUCH) -> Crossing | None:
        """Return how deep in the ball the seam's nearest point is, mm, or None."""
        if not self.is_met(section.plane, part) or section.is_empty:
            return None
        centre = shapely.Point(section.plane.to_plane([self.centre])[0])
        nearest = shapely.get_coordinates(shapely.shortest_line(section.shape, centre))[0]
        place = section.plane.to_space([nearest])
        depth = self.radius - float(np.linalg.norm(place[0] - np.asarray(self.centre)))
        return Crossing(depth, "mm", place) if depth > TOUCH else None


@dataclass(frozen=True)
class KeepOutFaces:
    """Faces of the part over which no seam may run; it may run along their rim.

    Attributes
    ----------
    faces : tuple of int
        Numbers of faces of the part, counted from 0 as the program reads the file.
    """

    faces: tuple[int, ...]
    kind: Literal["faces"] = "faces"

    def _corners(self, plane: Plane, part: Solid) -> tuple[Floats, Floats]:
        """Return corners (k, 3, 3) and heights (k, 3) of the faces that reach through `plane`."""
        corners = part.vertices[part.faces[_existing(part, self.faces)]]
        height = plane.height(corners.reshape(-1, 3)).reshape(-1, 3)
        through = (height.min(axis=1) < -TOUCH) & (height.max(axis=1) > TOUCH)
        return corners[through], height[through]

    def is_met(self, plane: Plane, part: Solid) -> bool:
        """Return whether `plane` passes through one of the faces."""
        return len(self._corners(plane, part)[0]) > 0

    def crossing(self, section: Section, part: Solid, near: float = TOUCH) -> Crossing | None:
        """Return the length of seam on the faces, mm, or None.

        Their lines count where they lie within `near` (mm) of the seam's polygons; give more for
        the section of a light stand-in of the part.
        """
        corners, height = self._corners(section.plane, part)
        if not len(corners) or section.is_empty:
            return None
        flat = section.plane.to_plane(_cut_lines(corners, height).reshape(-1, 3)).reshape(-1, 2, 2)
        around = shapely.buffer(section.shape, near)
        lines = shapely.linestrings(flat)
        on_seam = shapely.intersection(lines, around)
        length = shapely.length(on_seam)
        # Of the line of a face that a seam only ends at, the rim round the seam holds a little.
        on_seam = on_seam[length > np.minimum(3 * near, 0.9 * shapely.length(lines))]
        total = float(shapely.length(on_seam).sum())
        if total <= 3 * near:
            return None
        middles = shapely.line_interpolate_point(on_seam, 0.5, normalized=True)
        where = section.plane.to_space(shapely.get_coordinates(middles))
        return Crossing(total, "mm", where)


Region: TypeAlias = Annotated[
    KeepOutBox | KeepOutSphere | KeepOutFaces, Field(discriminator="kind")
]
"""Any region that no seam may cross; its kind tells which in a file."""


def face_mask(part: Solid, faces: tuple[int, ...]) -> Bools:
    """Return which faces of `part` are among `faces`, (m,).

    Raises
    ------
    WishesError
        If the part has no face of a number.
    """
    mask = np.zeros(len(part.faces), dtype=np.bool_)
    mask[_existing(part, faces)] = True
    return mask


def _existing(part: Solid, faces: tuple[int, ...]) -> Ints:
    chosen = np.asarray(faces, dtype=np.int64)
    wrong = chosen[(chosen < 0) | (chosen >= len(part.faces))]
    if len(wrong):
        raise WishesError(
            f"The part has faces 0 to {len(part.faces) - 1}, but a wish names face {wrong[0]}; "
            "choose the faces again on this part."
        )
    return chosen


def _cut_lines(corners: Floats, height: Floats) -> Floats:
    """Return the line (k, 2, 3) in which each face (k, 3, 3) meets height 0."""
    above = height >= 0.0
    # The corner that is alone on its side: both edges from it cross.
    lone = np.argmax(above == (above.sum(axis=1) == 1)[:, None], axis=1)
    turn = (lone[:, None] + np.arange(3)) % 3
    h = np.take_along_axis(height, turn, axis=1)
    points = np.take_along_axis(corners, turn[:, :, None], axis=1)
    ends = [
        points[:, 0] + (h[:, 0] / (h[:, 0] - h[:, k]))[:, None] * (points[:, k] - points[:, 0])
        for k in (1, 2)
    ]
    return np.stack(ends, axis=1)
