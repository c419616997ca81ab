"""A bed from above, with what lies on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.joint.spots import roomiest_spot
from splitplanner.score import BedLoad
from splitplanner.score.outline_fit import free_area
from splitplanner.window.lists.lines import ink_on
from splitplanner.window.look import look_of
from splitplanner.workshop import Bed

_EDGE = 8
"""Round the bed, logical pixels."""
_ROUND = 8
"""Wider than what is written, logical pixels."""


class BedSketch(QWidget):
    """The outline of a bed, dashed what its margin and blocked areas leave, and pieces on it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bed: Bed | None = None
        self._load: BedLoad | None = None
        self._labels: Mapping[str, tuple[str, str]] = {}
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(120, 120)
        self.setAccessibleName("Bed from above")

    def show_bed(
        self, bed: Bed | None, load: BedLoad | None, labels: Mapping[str, tuple[str, str]]
    ) -> None:
        """Show a bed with what lies on it, or nothing.

        Parameters
        ----------
        bed : Bed or None
        load : BedLoad or None
        labels : mapping of name to (number, colour)
            Of pieces; of braces what they are called in place of a number.
        """
        self._bed, self._load, self._labels = bed, load, labels
        names = () if load is None else load.names
        told = [labels[name][0] for name in names if name in labels]
        on_it = "Pieces on it" if all(each.isdigit() for each in told) else "On it"
        self.setAccessibleDescription(f"{on_it}: {', '.join(told)}" if told else "")
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a size at which numbers can be read."""
        return QSize(320, 320)

    @property
    def to_pixels(self) -> QTransform:
        """From mm on the bed to logical pixels of the widget; y of the bed goes up."""
        bed = self._bed
        if bed is None:
            return QTransform()
        room = self.width() - 2 * _EDGE, self.height() - 2 * _EDGE
        scale = max(min(room[0] / bed.width, room[1] / bed.depth), 1e-6)
        left = (self.width() - scale * bed.width) / 2
        bottom = (self.height() + scale * bed.depth) / 2
        return QTransform(scale, 0.0, 0.0, -scale, left, bottom)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the bed, then its pieces with their numbers."""
        bed = self._bed
        if bed is None:
            return
        painter, look, to_pixels = QPainter(self), look_of(self.palette()), self.to_pixels
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(look.colour("ink"), 1.5))
        painter.setBrush(look.colour("raised"))
        painter.drawPath(to_pixels.map(_outline(bed)))
        if bed.margin or bed.blocked:
            painter.setPen(QPen(look.colour("faint"), 1.0, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPath(to_pixels.map(_path(free_area(bed).shape)))
        for piece in () if self._load is None else self._load.pieces:
            number, colour = self._labels.get(piece.name, ("", "#B8BDC6"))
            painter.setPen(QPen(look.colour("ink"), 1.0))
            painter.setBrush(QColor(colour))
            painter.drawPath(to_pixels.map(_path(piece.outline)))
            painter.setPen(ink_on(QColor(colour)))
            self._write(painter, piece.outline, number)

    def _write(self, painter: QPainter, outline: Any, label: str) -> None:
        """Write a number where a piece has most room, and a name along it where it has room."""
        to_pixels, metrics = self.to_pixels, painter.fontMetrics()
        wide, high = metrics.horizontalAdvance(label) + _ROUND, metrics.height()
        spot = None
        if not label.isdigit():
            spot = roomiest_spot(outline, (wide / to_pixels.m11(), high / to_pixels.m11()))
        (x, y), turn = (_inside(outline), 0.0) if spot is None else spot
        painter.save()
        painter.translate(to_pixels.map(QPointF(x, y)))
        # The widget's y goes down.
        painter.rotate(-turn)
        box = QRectF(-wide / 2, -high / 2, wide, high)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, label)
        painter.restore()


def _outline(bed: Bed) -> QPainterPath:
    path = QPainterPath()
    if bed.kind == "circle":
        path.addEllipse(QRectF(0.0, 0.0, bed.width, bed.depth))
    elif bed.kind == "outline":
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in bed.outline]))
        path.closeSubpath()
    else:
        path.addRect(QRectF(0.0, 0.0, bed.width, bed.depth))
    return path


def _path(shape: Any) -> QPainterPath:
    """Return polygons as a path; holes stay open."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for ring in _rings(shape):
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in ring.tolist()]))
        path.closeSubpath()
    return path


def _rings(shape: Any) -> Iterator[np.ndarray]:
    for ring in shapely.get_rings(shapely.get_parts(shape)):
        yield shapely.get_coordinates(ring)


def _inside(shape: Any) -> tuple[float, float]:
    """Return the place in a shape that is farthest from its outline: there a number has room."""
    largest = max(shape.geoms, key=lambda polygon: polygon.area)
    tolerance = max(0.02 * float(np.sqrt(largest.area)), 1e-3)
    x, y = shapely.get_coordinates(shapely.maximum_inscribed_circle(largest, tolerance))[0].tolist()
    return x, y
