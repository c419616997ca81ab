"""A sheet of stock from above, with the braces that are cut from it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.arrays import Floats
from splitplanner.window.look import look_of

_EDGE = 4


class SheetSketch(QWidget):
    """The sheet, dashed what its margin leaves, and outlines as they lie on it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._size = (1.0, 1.0)
        self._margin = 0.0
        self._outlines: tuple[Floats, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(60)
        self.setAccessibleName("Sheet from above")

    def show_sheet(
        self, size: tuple[float, float], margin: float, outlines: Sequence[Floats]
    ) -> None:
        """Show a sheet.

        Parameters
        ----------
        size : (width, depth)
            mm.
        margin : float
            Kept free all round, mm.
        outlines : sequence of (n, 2) float arrays
            As they lie on it, mm.
        """
        self._size, self._margin, self._outlines = size, margin, tuple(outlines)
        self.setAccessibleDescription(f"{len(outlines)} outlines lie on it.")
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a size at which braces can be told apart."""
        return QSize(300, 140)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the sheet, then what is cut from it."""
        look, painter = look_of(self.palette()), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        width, depth = self._size
        scale = min((self.width() - 2 * _EDGE) / width, (self.height() - 2 * _EDGE) / depth)
        to_pixels = QTransform(scale, 0.0, 0.0, -scale, _EDGE, _EDGE + scale * depth)
        painter.setPen(QPen(look.colour("ink"), 1.2))
        painter.setBrush(look.colour("raised"))
        painter.drawRect(to_pixels.mapRect(QRectF(0.0, 0.0, width, depth)))
        if self._margin > 0.0:
            side = self._margin
            inside = QRectF(side, side, width - 2 * side, depth - 2 * side)
            painter.setPen(QPen(look.colour("faint"), 1.0, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(to_pixels.mapRect(inside))
        painter.setPen(QPen(look.colour("ink"), 1.0))
        painter.setBrush(look.colour("accent"))
        for outline in self._outlines:
            corners = [to_pixels.map(QPointF(x, y)) for x, y in outline.tolist()]
            painter.drawPolygon(QPolygonF(corners))
