"""A drawing of the fit coupon seen from above, with the holes that were found to fit best."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget
from shapely.geometry import Polygon

from splitplanner.findings import counted
from splitplanner.window.look import look_of

if TYPE_CHECKING:
    from splitplanner.joint.coupon import Coupon

_RING = 1.0
"""Between a hole and the ring round the best one, mm."""


@dataclass(frozen=True, eq=False)
class Drawn:
    """A coupon in the plane.

    Attributes
    ----------
    coupon : Coupon
    plate, texts : tuple of Polygon
        The plate with its holes, at half its height, and the numbers that stand out; mm.
    size : (x, y)
        mm.
    """

    coupon: Coupon
    plate: tuple[Polygon, ...]
    texts: tuple[Polygon, ...]
    size: tuple[float, float]


def drawn(coupon: Coupon) -> Drawn:
    """Return what is drawn of a coupon: sections of the very solid that is printed."""
    from splitplanner.solid import Plane

    _, (x, y, top) = coupon.solid.bounds.tolist()
    heights = [coupon.thickness / 2, (coupon.thickness + top) / 2]
    plate, texts = coupon.solid.sections(Plane((0.0, 0.0, 1.0), 0.0), heights)
    return Drawn(coupon, plate.polygons, texts.polygons, (x, y))


class CouponPlan(QWidget):
    """Draws a fit coupon, as large as there is room for it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drawn: Drawn | None = None
        self._instead = ""
        self._best: Mapping[int, int] = {}
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The fit coupon seen from above")

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for room in which the numbers can be read."""
        return QSize(460, 420)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Stay legible."""
        return QSize(300, 260)

    def set_drawn(self, found: Drawn | None, instead: str = "") -> None:
        """Draw another coupon; without one, say a few words instead."""
        self._drawn, self._instead = found, instead
        self._describe()
        self.update()

    def set_best(self, best: Mapping[int, int]) -> None:
        """Ring the best holes: for each row of the coupon, counted from 0, the hole in it."""
        self._best = dict(best)
        self._describe()
        self.update()

    def _describe(self) -> None:
        if self._drawn is None:
            self.setAccessibleDescription(self._instead)
            return
        rows = self._drawn.coupon.rows
        x, y = self._drawn.size
        text = f"{counted(len(rows), 'row')} on {x:.1f} × {y:.1f} mm: "
        text += ", ".join(row.label for row in rows)
        for row, hole in sorted(self._best.items()):
            text += f"; best in {rows[row].label}: {round(rows[row].allowances[hole] * 100)}"
        self.setAccessibleDescription(text)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw plate, holes, numbers, and rings round the best holes."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._drawn is None:
            painter.setPen(look.colour("faint"))
            middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(self.rect(), middle, self._instead)
            return
        shift = self._placed(self._drawn.size)
        painter.setPen(QPen(look.colour("ink"), 1))
        painter.setBrush(look.colour("raised"))
        for shape in self._drawn.plate:
            painter.drawPath(_path(shape, shift))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("ink"))
        for shape in self._drawn.texts:
            painter.drawPath(_path(shape, shift))
        painter.setPen(QPen(look.colour("accent"), 2.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for number, hole in self._best.items():
            row = self._drawn.coupon.rows[number]
            radius = (row.nominal + row.allowances[hole]) / 2 + _RING
            x, y = row.centres[hole]
            square = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
            painter.drawEllipse(shift.mapRect(square))

    def _placed(self, size: tuple[float, float]) -> QTransform:
        """Return what takes mm on the plate to the screen, where y runs down."""
        room = QRectF(self.rect()).adjusted(4, 4, -4, -4)
        scale = min(max(room.width(), 1) / size[0], max(room.height(), 1) / size[1])
        left = room.center().x() - scale * size[0] / 2
        low = room.center().y() + scale * size[1] / 2
        return QTransform(scale, 0, 0, -scale, left, low)


def _path(shape: Polygon, shift: QTransform) -> QPainterPath:
    path = QPainterPath()
    for ring in (shape.exterior, *shape.interiors):
        path.addPolygon(QPolygonF([shift.map(QPointF(*point)) for point in ring.coords]))
        path.closeSubpath()
    return path
