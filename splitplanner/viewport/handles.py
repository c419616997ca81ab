"""The handle of a cut plane, grabbed and dragged by lines of sight alone.

An arrow along the normal shifts the plane; two rings round axes in the plane tilt it. Nothing here
draws, and nothing asks what has been drawn: a pick takes microseconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.output.camera import Camera, Ray
from splitplanner.plan import Vector
from splitplanner.solid import Plane

Part = Literal["arrow", "first ring", "second ring"]
"""The rings turn the plane about its first and its second axis."""
PARTS: tuple[Part, ...] = ("arrow", "first ring", "second ring")

NEAR = 9.0
"""A handle is grabbed from this far away, pixels."""
_ALONG = 0.98
"""Cosine between a line of sight and an axis from which on the axis is seen end on."""
_EDGEWISE = 0.12
"""Sine between a line of sight and a ring from which on the ring is seen from the edge."""
_CORNERS = 64


@dataclass(frozen=True)
class Handle:
    """The handle of one plane.

    Attributes
    ----------
    plane : Plane
    centre : (x, y, z)
        A point of the plane, mm, where the handle is drawn; tilts are about it.
    length : float
        Of the arrow, and radius of the rings, mm.
    """

    plane: Plane
    centre: Vector
    length: float

    @property
    def axes(self) -> Floats:
        """The two axes in the plane that it is tilted about, and its normal, (3, 3)."""
        return self.plane.frame

    def outline(self, part: Part) -> Floats:
        """Return the corners of the line that a part is drawn as, (n, 3) mm."""
        first, second, normal = self.axes
        if part == "arrow":
            return np.array([self.centre, self.centre + self.length * normal])
        across = second if part == "first ring" else -first
        turn = np.linspace(0.0, 2 * np.pi, _CORNERS + 1)[:, None]
        spokes: Floats = np.cos(turn) * across + np.sin(turn) * normal
        return np.array(self.centre) + self.length * spokes

    def part_at(
        self, camera: Camera, x: float, y: float, parts: Sequence[Part] = PARTS
    ) -> Part | None:
        """Return which of `parts` is seen nearest to a place in the picture; None if none is near.

        Of parts that are about equally near the first comes first.
        """
        away = [gap_to_line(camera.pixels(self.outline(part)), x, y) for part in parts]
        best = int(np.argmin(np.round(away)))
        return parts[best] if away[best] <= NEAR else None

    def grip(self, part: Part, camera: Camera, x: float, y: float) -> Grip:
        """Return a part as grabbed at a place in the picture."""
        return Grip(self, part, camera, x, y)


@dataclass(frozen=True)
class Grip:
    """A part of a handle that is being dragged, from where it was grabbed.

    Attributes
    ----------
    handle : Handle
        As it was when it was grabbed.
    part : Part
    camera : Camera
        Stays the same during the drag.
    x, y : float
        Where it was grabbed, pixels.
    """

    handle: Handle
    part: Part
    camera: Camera
    x: float
    y: float

    def plane(self, x: float, y: float, *, fine: float = 1.0) -> Plane:
        """Return the plane as dragged to a place in the picture.

        Parameters
        ----------
        x, y : float
            Pixels.
        fine : float
            So much of the way of the pointer is gone.
        """
        if self.part == "arrow":
            return self.handle.plane.shifted(fine * self.shift(x, y))
        # Imported late: loading scipy would hold up the start of the window.
        from scipy.spatial.transform import Rotation

        turn = Rotation.from_rotvec(fine * self.turn(x, y) * self._axis)
        return Plane.through(
            self.handle.centre, to_vector(turn.apply(np.array(self.handle.axes[2])))
        )

    def shift(self, x: float, y: float) -> float:
        """Return how far along the normal the pointer has gone, mm."""
        normal = self.handle.axes[2]
        before, now = self.camera.ray(self.x, self.y), self.camera.ray(x, y)
        if abs(float(normal @ before.direction)) > _ALONG:
            # Seen end on: upward in the picture is along the normal.
            size = float(self.camera.pixel_size(self.handle.centre)[0])
            return (self.y - y) * size * -float(np.sign(normal @ before.direction))
        return self._along(now) - self._along(before)

    def turn(self, x: float, y: float) -> float:
        """Return by how much the pointer has gone round the axis of the ring, radians."""
        before, now = self.camera.ray(self.x, self.y), self.camera.ray(x, y)
        if abs(float(self._axis @ before.direction)) < _EDGEWISE:
            return self._rolled(x, y)
        angle = self._round(now) - self._round(before)
        return float((angle + np.pi) % (2 * np.pi) - np.pi)

    @property
    def _axis(self) -> Floats:
        axis: Floats = self.handle.axes[0 if self.part == "first ring" else 1]
        return axis

    def _along(self, ray: Ray) -> float:
        """Return where on the line along the normal a line of sight passes nearest, mm."""
        normal, away = self.handle.axes[2], np.array(self.handle.centre) - ray.start
        cosine = float(normal @ ray.direction)
        return float(cosine * (away @ ray.direction) - away @ normal) / (1.0 - cosine**2)

    def _round(self, ray: Ray) -> float:
        """Return the angle at which a line of sight meets the plane of the ring, radians."""
        axis, centre = self._axis, np.array(self.handle.centre)
        far = float(axis @ (centre - ray.start)) / float(axis @ ray.direction)
        spoke = ray.start + far * ray.direction - centre
        normal = self.handle.axes[2]
        return float(np.arctan2(spoke @ np.cross(axis, normal), spoke @ normal))

    def _rolled(self, x: float, y: float) -> float:
        """Return the turn of a ring seen from its edge, that rolls with the pointer, radians."""
        towards = -self.camera.ray(self.x, self.y).direction
        axis = self._axis
        # Where the ring is nearest to the eye it moves across the line of sight and the axis.
        way = np.cross(axis, towards)
        centre = np.array(self.handle.centre)
        ends = self.camera.pixels([centre, centre + self.handle.length * way])
        step = ends[1] - ends[0]
        return float(np.array([x - self.x, y - self.y]) @ step / (step @ step))


def gap_to_line(line: Floats, x: float, y: float) -> float:
    """Return how far a place is from a line through corners (n, 2), all in pixels."""
    start, way = line[:-1], np.diff(line, axis=0)
    away = np.array([x, y]) - start
    lengths = np.maximum((way**2).sum(axis=1), 1e-12)
    share = np.clip((away * way).sum(axis=1) / lengths, 0.0, 1.0)
    gaps = np.linalg.norm(away - share[:, None] * way, axis=1)
    return float(np.nanmin(gaps)) if np.isfinite(gaps).any() else float("inf")
