"""Paints the register and the tape of a seam into its plan."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from splitplanner.window.look import Look
from splitplanner.window.seams.picture import on_paper, tinted

REGISTER_COLOUR, TAPE_COLOUR = "#CC79A7", "#F0E442"
"""Okabe & Ito, "Color Universal Design" (2008): reddish purple and yellow."""
_SHARE = 0.5
"""Of its colour in what a register is filled with."""
_TAPE, _EDGE = 7.0, 1.0
"""Width of the band of a tape and of its edge, logical pixels. Half of it lies below the seam: a
tape is some tenths thick, and could not be seen in its true size."""


def paint_register(painter: QPainter, path: QPainterPath, look: Look) -> None:
    """Fill the foot of a register, in an outline of its colour."""
    painter.setBrush(tinted(look, REGISTER_COLOUR, _SHARE))
    painter.setPen(QPen(on_paper(REGISTER_COLOUR, look), 1.8))
    painter.drawPath(path)


def paint_tape(painter: QPainter, path: QPainterPath, look: Look) -> None:
    """Draw a band along the outlines that are taped; the seam is painted over its inner half."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    # Yellow is hardly told from white, but stands out on dark paper.
    edge = look.colour("rule" if look.is_dark else "ink")
    for colour, width in ((edge, _TAPE + 2 * _EDGE), (TAPE_COLOUR, _TAPE)):
        pen = QPen(QColor(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPath(path)
