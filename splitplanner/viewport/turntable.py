"""Where one looks from: round about a point, with the z axis upright, as on a turntable."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, to_vector
from splitplanner.output.camera import Camera
from splitplanner.plan import Vector

_ANGLE = 30.0
"""How much of the view the height of the picture takes in, degrees."""
_EDGE = 1.12
"""What is fitted into the picture leaves some room around it."""
_NEAREST, _FARTHEST = 0.5, 1e5
"""Limits of the distance, mm."""


@dataclass(frozen=True)
class Turntable:
    """A point that is looked at, and from where.

    Attributes
    ----------
    focus : (x, y, z)
        In the middle of the picture, mm.
    azimuth, elevation : float
        Of the direction from the focus to the eye: from +x towards +y, and above the xy plane,
        degrees.
    distance : float
        From the focus to the eye, mm. A parallel view takes in as much as the other does there.
    is_parallel : bool
    """

    focus: Vector = (0.0, 0.0, 0.0)
    azimuth: float = -117.0
    elevation: float = 28.0
    distance: float = 1000.0
    is_parallel: bool = False

    @property
    def axes(self) -> Floats:
        """Unit vectors to the right, upward in the picture, and towards the eye, (3, 3)."""
        turn, rise = np.radians([self.azimuth, self.elevation])
        level = np.array([np.cos(turn), np.sin(turn), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        return np.array(
            [
                [-level[1], level[0], 0.0],
                np.cos(rise) * up - np.sin(rise) * level,
                np.cos(rise) * level + np.sin(rise) * up,
            ]
        )

    def camera(self, size: tuple[int, int]) -> Camera:
        """Return the camera for a picture of (width, height) pixels."""
        _, up, towards = self.axes
        span = 2.0 * self.distance * float(np.tan(np.radians(_ANGLE / 2)))
        return Camera(
            to_vector(self.focus + self.distance * towards),
            self.focus,
            to_vector(up),
            size,
            _ANGLE,
            span if self.is_parallel else None,
        )

    def orbited(self, right: float, up: float) -> Turntable:
        """Return the view with the eye gone to the right and up, degrees."""
        azimuth = (self.azimuth + right + 180.0) % 360.0 - 180.0
        return replace(
            self, azimuth=azimuth, elevation=float(np.clip(self.elevation + up, -90, 90))
        )

    def panned(self, right: float, down: float, height: int) -> Turntable:
        """Return the view with the scene gone to the right and down by pixels.

        The picture is `height` pixels high; what is as far as the focus goes with the pointer.
        """
        step = self._pixel(height)
        axes = self.axes
        moved = np.array(self.focus) - step * right * axes[0] + step * down * axes[1]
        return replace(self, focus=to_vector(moved))

    def zoomed(self, factor: float, x: float, y: float, size: tuple[int, int]) -> Turntable:
        """Return the view with everything so many times as large.

        What is seen at (`x`, `y`) pixels as far away as the focus stays there.
        """
        distance = float(np.clip(self.distance / factor, _NEAREST, _FARTHEST))
        share = 1.0 - distance / self.distance
        right, up, _ = self.axes
        step = self._pixel(size[1])
        aside = (x - size[0] / 2) * step * right - (y - size[1] / 2) * step * up
        return replace(self, focus=to_vector(self.focus + share * aside), distance=distance)

    def centred(self, point: ArrayLike) -> Turntable:
        """Return the view with a point (3,) in the middle."""
        return replace(self, focus=to_vector(np.asarray(point, dtype=np.float64)))

    def seen_from(self, direction: ArrayLike) -> Turntable:
        """Return the view from a direction (3,); straight from above, +y is up in the picture."""
        x, y, z = np.asarray(direction, dtype=np.float64)
        level = float(np.hypot(x, y))
        is_upright = level < 1e-9 * abs(z)
        azimuth = -90.0 if is_upright else float(np.degrees(np.arctan2(y, x)))
        return replace(self, azimuth=azimuth, elevation=float(np.degrees(np.arctan2(z, level))))

    def fitted(self, points: ArrayLike, size: tuple[int, int]) -> Turntable:
        """Return the view from the same direction with all `points` (n, 3) in the picture."""
        places = np.reshape(np.asarray(points, dtype=np.float64), (-1, 3))
        if not len(places):
            return self
        middle = (places.min(axis=0) + places.max(axis=0)) / 2
        right, up, ahead = ((places - middle) @ self.axes.T * [1, 1, -1]).T
        steep = float(np.tan(np.radians(_ANGLE / 2)))
        wide = steep * size[0] / size[1]
        needed = _EDGE * np.maximum(np.abs(right) / wide, np.abs(up) / steep)
        far = float(np.max(needed if self.is_parallel else needed - ahead))
        distance = float(np.clip(far, _NEAREST, _FARTHEST))
        return replace(self, focus=to_vector(middle), distance=distance)

    def _pixel(self, height: int) -> float:
        """Return how large a pixel is as far away as the focus, mm."""
        return 2.0 * self.distance * float(np.tan(np.radians(_ANGLE / 2))) / height
