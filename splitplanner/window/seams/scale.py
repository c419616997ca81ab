"""From a seam's plane in mm to the screen and back, zoomed and moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QTransform

Bounds = tuple[float, float, float, float]
"""Low u, low v, high u, high v, mm."""
_FINEST = 150.0
"""Logical pixels a mm when zoomed in as far as it goes."""
_COARSEST = 0.02
_SMALLEST = 1.0
"""What is fitted is taken to be at least so large, mm."""


@dataclass(frozen=True)
class SeamScale:
    """How the plane of a seam lies on the screen: u to the right, v up.

    Attributes
    ----------
    width, height : float
        Of the drawing, logical pixels.
    u, v : float
        The place in the middle of the drawing, mm.
    per_mm : float
        Logical pixels.
    """

    width: float
    height: float
    u: float = 0.0
    v: float = 0.0
    per_mm: float = 1.0

    @property
    def transform(self) -> QTransform:
        """What takes mm to the screen."""
        s = self.per_mm
        return QTransform(s, 0, 0, -s, self.width / 2 - s * self.u, self.height / 2 + s * self.v)

    def to_screen(self, u: float, v: float) -> QPointF:
        """Return where a place is on the screen."""
        return self.transform.map(QPointF(u, v))

    def to_plane(self, point: QPointF) -> tuple[float, float]:
        """Return the place that is seen at a point of the screen, mm."""
        return (
            self.u + (point.x() - self.width / 2) / self.per_mm,
            self.v - (point.y() - self.height / 2) / self.per_mm,
        )

    def seen(self, beyond: float = 0.0) -> Bounds:
        """Return what of the plane is seen, and so many pixels beyond, mm."""
        low = self.to_plane(QPointF(-beyond, self.height + beyond))
        high = self.to_plane(QPointF(self.width + beyond, -beyond))
        return (*low, *high)

    def fitted(self, bounds: Bounds, room: QRectF) -> SeamScale:
        """Return the scale at which `bounds` fill the rectangle `room` of the screen."""
        low_u, low_v, high_u, high_v = bounds
        across, up = max(high_u - low_u, _SMALLEST), max(high_v - low_v, _SMALLEST)
        scale = _limited(min(max(room.width(), 1) / across, max(room.height(), 1) / up))
        aside = (room.center().x() - self.width / 2) / scale
        above = (room.center().y() - self.height / 2) / scale
        return replace(
            self,
            u=(low_u + high_u) / 2 - aside,
            v=(low_v + high_v) / 2 + above,
            per_mm=scale,
        )

    def zoomed(self, factor: float, at: QPointF) -> SeamScale:
        """Return the scale `factor` times as large; what is seen at a point stays there."""
        u, v = self.to_plane(at)
        scale = _limited(self.per_mm * factor)
        return replace(
            self,
            u=u - (at.x() - self.width / 2) / scale,
            v=v + (at.y() - self.height / 2) / scale,
            per_mm=scale,
        )

    def panned(self, right: float, down: float) -> SeamScale:
        """Return the scale with what is seen moved by pixels."""
        return replace(self, u=self.u - right / self.per_mm, v=self.v + down / self.per_mm)

    def resized(self, width: float, height: float) -> SeamScale:
        """Return the scale in a drawing of another size, with the same place in the middle."""
        return replace(self, width=max(width, 1.0), height=max(height, 1.0))


def _limited(scale: float) -> float:
    return min(max(scale, _COARSEST), _FINEST)
