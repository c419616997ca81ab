"""A camera as numbers: from points to pixels and from pixels to rays, without asking VTK."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.plan import Vector


@dataclass(frozen=True)
class Ray:
    """A line of sight.

    Attributes
    ----------
    start : (3,) float array, mm
    direction : (3,) float array
        Unit vector, away from the eye.
    """

    start: Floats
    direction: Floats


@dataclass(frozen=True)
class Camera:
    """Where the scene is seen from, as VTK has it.

    Attributes
    ----------
    position, focus : (x, y, z)
        Of the eye and of what it looks at, mm.
    upward : (x, y, z)
        What is up in the picture; not along the line of sight.
    size : (width, height)
        Of the picture, pixels.
    angle : float
        How much of the view the height takes in, degrees.
    span : float or None
        For a parallel view the height of the picture in the scene, mm; else None.
    """

    position: Vector
    focus: Vector
    upward: Vector
    size: tuple[int, int]
    angle: float = 30.0
    span: float | None = None

    @cached_property
    def axes(self) -> Floats:
        """Unit vectors to the right, upward in the picture, and away from the eye, (3, 3)."""
        ahead = np.subtract(self.focus, self.position)
        ahead = ahead / np.linalg.norm(ahead)
        right = np.cross(ahead, self.upward)
        right /= np.linalg.norm(right)
        return frozen_floats(np.array([right, np.cross(right, ahead), ahead]))

    def pixel_size(self, points: ArrayLike) -> Floats:
        """Return how large a pixel is at each of `points` (n, 3), (n,) mm."""
        return np.asarray(self._height(self._seen(points)[:, 2])) / self.size[1]

    def pixels(self, points: ArrayLike) -> Floats:
        """Return where `points` (n, 3) mm are seen, (n, 2), from the upper left of the picture.

        nan for points that are not before the eye.
        """
        seen = self._seen(points)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = self.size[1] / self._height(seen[:, 2])
        scale = np.where((seen[:, 2] > 0.0) | (self.span is not None), scale, np.nan)
        width, height = self.size
        return np.stack([width / 2 + seen[:, 0] * scale, height / 2 - seen[:, 1] * scale], axis=1)

    def depths(self, points: ArrayLike) -> Floats:
        """Return how far ahead of the eye `points` (n, 3) are, (n,) mm."""
        depths: Floats = self._seen(points)[:, 2]
        return depths

    def ahead_of_eye(self, corners: ArrayLike, least: float = 1.0) -> Floats:
        """Return what is left of a convex polygon (k, 3) mm at least so far (mm) ahead of the eye.

        In a parallel view that is all of it.
        """
        points = np.reshape(np.asarray(corners, dtype=np.float64), (-1, 3))
        depths = self.depths(points)
        if self.span is not None or (depths >= least).all():
            return points
        kept = []
        for at, (here, there) in enumerate(zip(depths, np.roll(depths, -1), strict=True)):
            if here >= least:
                kept.append(points[at])
            if (here >= least) != (there >= least):
                share = (least - here) / (there - here)
                kept.append(points[at] + share * (points[(at + 1) % len(points)] - points[at]))
        return np.reshape(np.array(kept), (-1, 3))

    def ray(self, x: float, y: float) -> Ray:
        """Return the line of sight through a place in the picture, in pixels from its upper left.

        In a parallel view it starts level with the eye.
        """
        right, up, ahead = self.axes
        width, height = self.size
        aside, above = x - width / 2, height / 2 - y
        if self.span is not None:
            step = self.span / height
            start = np.array(self.position) + step * (aside * right + above * up)
            return Ray(frozen_floats(start), frozen_floats(ahead))
        step = 2.0 * np.tan(np.radians(self.angle / 2)) / height
        direction = ahead + step * (aside * right + above * up)
        return Ray(
            frozen_floats(np.array(self.position)),
            frozen_floats(direction / np.linalg.norm(direction)),
        )

    def _seen(self, points: ArrayLike) -> Floats:
        away: Floats = np.reshape(np.asarray(points, dtype=np.float64), (-1, 3)) - self.position
        seen: Floats = away @ self.axes.T
        return seen

    def _height(self, depths: Floats) -> Floats:
        """Return how much of the scene the picture's height takes in at some depths, mm."""
        if self.span is not None:
            return np.full(len(depths), self.span)
        heights: Floats = 2.0 * np.tan(np.radians(self.angle / 2)) * depths
        return heights
