"""How much wall there is of each thickness, as bars, with whole numbers of lines marked."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.arrays import Floats
from splitplanner.score import WallFigures
from splitplanner.window.look import look_of
from splitplanner.window.quantities import MM_PER_INCH, Quantities
from splitplanner.window.view.wall_words import lines_words, thickness_words

_WIDTH, _HEIGHT, _FOOT = 200, 44, 13
"""Of all, and of the numbers below the bars, logical pixels."""


class WallBars(QWidget):
    """Bars of wall area by thickness; thin lines stand where walls are a whole number of lines.

    The last bar is all that is thicker.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._walls: WallFigures | None = None
        self._quantities = Quantities()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Wall area by thickness")
        self.hide()

    def show_walls(self, walls: WallFigures | None, quantities: Quantities) -> None:
        """Show the walls of a part, or nothing."""
        self._walls, self._quantities = walls, quantities
        self.setVisible(walls is not None)
        if walls is not None:
            words = f"{thickness_words(walls, quantities)} {lines_words(walls, quantities)}"
            self.setAccessibleDescription(words)
            width = quantities.length(walls.line_width, 2)
            self.setToolTip(
                "<p><b>Wall area by thickness.</b> Walls at a thin line are a whole number of "
                f"lines of {width}; the bar at the right end is all that is thicker.</p>"
                f"<p>{words}</p>"
            )
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return the size that it always has."""
        return QSize(_WIDTH, _HEIGHT)

    @property
    def bars(self) -> Floats:
        """Share of all walls that each bar stands for, (k + 1,), the last for what is thicker."""
        walls = self._walls
        if walls is None or walls.area <= 0.0:
            return np.zeros(1)
        shares = walls.histogram / walls.area
        return np.append(shares, max(0.0, 1.0 - float(shares.sum())))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the bars, the marks of whole lines and the numbers."""
        walls, bars = self._walls, self.bars
        if walls is None:
            return
        painter, look = QPainter(self), look_of(self.palette())
        step = (self.width() - 8) / (len(bars) + 1)
        base = self.height() - _FOOT
        bar = float(walls.edges[-1] - walls.edges[-2])

        def across(mm: float) -> float:
            # Bars stand round their thickness.
            return 4 + step * (mm / bar + 0.5)

        painter.setPen(QPen(look.colour("faint"), 1.0))
        for count in range(1, math.floor(float(walls.edges[-1]) / walls.line_width) + 1):
            x = across(count * walls.line_width)
            painter.drawLine(QLineF(x, 0, x, base))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("accent"))
        tall = (base - 2) / max(float(bars.max()), 1e-9)
        for index, share in enumerate(bars):
            # A gap before what is thicker.
            x = 4 + step * (index + (index == len(bars) - 1))
            if share > 0.0:
                height = max(1.0, share * tall)
                painter.drawRect(QRectF(x + 0.5, base - height, max(1.0, step - 1), height))
        painter.setPen(look.colour("ink"))
        painter.drawLine(QLineF(4, base, self.width() - 4, base))
        self._paint_numbers(painter, across, float(walls.edges[-1]))

    def _paint_numbers(self, painter: QPainter, across: object, end: float) -> None:
        """Paint the thickness at round places."""
        assert callable(across)
        font = self.font()
        font.setPixelSize(_FOOT - 3)
        painter.setFont(font)
        is_inch = self._quantities.unit == "inch"
        unit, digits = (MM_PER_INCH * 0.05, 2) if is_inch else (1.0, 0)
        every = max(1, math.ceil(end / unit / 5))
        for count in range(0, math.floor(end / unit) + 1, every):
            text = self._quantities.number(self._quantities.shown(count * unit), digits)
            x = across(count * unit)
            box = QRectF(x - 20, self.height() - _FOOT, 40, _FOOT)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        right = QRectF(self.width() - 60, self.height() - _FOOT, 58, _FOOT)
        flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(right, flags, f"{self._quantities.suffix}  >")
