"""A drawing of the bed seen from above: its outline, its margin, what is blocked on it."""

from __future__ import annotations

import math

import shapely
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
    QTransform,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.findings import counted
from splitplanner.window.look import look_of
from splitplanner.window.quantities import MM_PER_INCH, Quantities
from splitplanner.workshop import Bed

_BLOCKED = "#D55E00"
"""Okabe & Ito's vermilion."""
_ROUND = 128
"""Corners that a circle is drawn with."""


class BedPlan(QWidget):
    """Draws a bed to scale, with its sizes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bed: Bed | None = None
        self._quantities = Quantities()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The bed seen from above")

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for a square."""
        return QSize(280, 280)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Stay legible."""
        return QSize(220, 220)

    def set_bed(self, bed: Bed | None) -> None:
        """Draw another bed; None while what was entered is none."""
        self._bed = bed
        self._describe()
        self.update()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write sizes in another unit."""
        self._quantities = quantities
        self._describe()
        self.update()

    def _describe(self) -> None:
        bed, q = self._bed, self._quantities
        if bed is None:
            self.setAccessibleDescription("")
            return
        kind = {"rectangle": "Rectangle", "circle": "Round", "outline": "Outline"}[bed.kind]
        text = f"{kind}, {q.size((bed.width, bed.depth, bed.height))}"
        if bed.margin:
            text += f", {q.length(bed.margin)} along the edge kept free"
        if bed.blocked:
            text += f", {counted(len(bed.blocked), 'blocked area')}"
        self.setAccessibleDescription(text)
        self.setToolTip(text)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the bed, as large as there is room for it and its sizes."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._bed is None:
            painter.setPen(look.colour("faint"))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, "no bed")
            return
        text = self.fontMetrics().height() + 6
        room = QRectF(self.rect()).adjusted(text, 4, -4, -text)
        shift = self._placed(self._bed, room)
        self._draw_bed(painter, self._bed, shift)
        painter.setPen(look.colour("ink"))
        place = shift.mapRect(QRectF(0, 0, self._bed.width, self._bed.depth))
        q = self._quantities
        below = QRectF(0, place.bottom(), self.width(), text)
        middle = Qt.AlignmentFlag.AlignCenter
        high = f"{q.length(self._bed.width, 0)}   ({q.length(self._bed.height, 0)} high)"
        painter.drawText(below, middle, high)
        painter.translate(place.left(), place.center().y())
        painter.rotate(-90)
        beside = QRectF(-self.height() / 2, -text, self.height(), text)
        painter.drawText(beside, middle, q.length(self._bed.depth, 0))

    def _placed(self, bed: Bed, room: QRectF) -> QTransform:
        """Return what takes mm on the bed to the screen, where y runs down."""
        scale = min(max(room.width(), 1) / bed.width, max(room.height(), 1) / bed.depth)
        left = room.center().x() - scale * bed.width / 2
        low = room.center().y() + scale * bed.depth / 2
        return QTransform(scale, 0, 0, -scale, left, low)

    def _draw_bed(self, painter: QPainter, bed: Bed, shift: QTransform) -> None:
        look = look_of(self.palette())
        outline = shapely.Polygon(_corners(bed))
        blocked = [shapely.Polygon(area) for area in bed.blocked]
        # What a piece may cover: as the fit is judged, less the margin all round.
        free = outline.buffer(-bed.margin, join_style="mitre")
        for area in blocked:
            free = free.difference(area.buffer(bed.margin, join_style="mitre"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("rule"))
        _draw(painter, outline, shift)
        painter.setBrush(look.colour("raised"))
        for each in getattr(free, "geoms", [free]):
            _draw(painter, each, shift)
        self._draw_grid(painter, bed, outline, shift)
        painter.setPen(QPen(QColor(_BLOCKED), 1.5))
        painter.setBrush(QBrush(QColor(_BLOCKED), Qt.BrushStyle.BDiagPattern))
        for area in blocked:
            _draw(painter, area, shift)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(look.colour("ink"), 1.5))
        _draw(painter, outline, shift)

    def _draw_grid(
        self, painter: QPainter, bed: Bed, outline: shapely.Polygon, shift: QTransform
    ) -> None:
        """Draw lines every 50 mm or 2 inches; more apart on beds as large as a table."""
        step = 2 * MM_PER_INCH if self._quantities.unit == "inch" else 50.0
        step *= max(1, math.ceil(max(bed.width, bed.depth) / step / 12))
        painter.setPen(QPen(look_of(self.palette()).colour("rule"), 1))
        lines = [shapely.LineString([(x, 0), (x, bed.depth)]) for x in _steps(step, bed.width)] + [
            shapely.LineString([(0, y), (bed.width, y)]) for y in _steps(step, bed.depth)
        ]
        for line in lines:
            inside = line.intersection(outline)
            for each in getattr(inside, "geoms", [inside]):
                if each.geom_type == "LineString" and not each.is_empty:
                    ends = [shift.map(QPointF(*point)) for point in each.coords]
                    painter.drawLine(ends[0], ends[-1])


def _steps(step: float, end: float) -> list[float]:
    return [step * number for number in range(1, math.ceil(end / step))]


def _corners(bed: Bed) -> list[tuple[float, float]]:
    if bed.kind == "outline":
        return list(bed.outline)
    if bed.kind == "rectangle":
        return [(0, 0), (bed.width, 0), (bed.width, bed.depth), (0, bed.depth)]
    radius = bed.width / 2
    angles = (2 * math.pi * number / _ROUND for number in range(_ROUND))
    return [(radius + radius * math.cos(a), radius + radius * math.sin(a)) for a in angles]


def _draw(painter: QPainter, shape: shapely.Polygon, shift: QTransform) -> None:
    if shape.is_empty or shape.geom_type != "Polygon":
        return
    path = QPainterPath()
    for ring in (shape.exterior, *shape.interiors):
        path.addPolygon(QPolygonF([shift.map(QPointF(*point)) for point in ring.coords]))
        path.closeSubpath()
    painter.drawPath(path)
