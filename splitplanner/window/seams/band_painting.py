"""Paints the register and the tape of a seam into its plan."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen

from splitplanner.window.look import Look
from splitplanner.window.seams.picture import on_paper

REGISTER_COLOUR, TAPE_COLOUR = "#CC79A7", "#F0E442"
"""Okabe & Ito, "Color Universal Design" (2008): reddish purple and yellow."""
_TAPE, _EDGE = 9.0, 1.5
"""Width of the band of a tape and of its edge, logical pixels. Half of it lies below the seam: a
tape is some tenths thick, and could not be seen in its true size."""


def paint_register(painter: QPainter, path: QPainterPath, look: Look) -> None:
    """Fill the foot of a register: cross hatch in an outline, both of its colour."""
    painter.setBrush(register_brush(look))
    painter.setPen(register_pen(look))
    painter.drawPath(path)


def register_brush(look: Look) -> QBrush:
    """Return what a register is filled with."""
    return QBrush(on_paper(REGISTER_COLOUR, look), Qt.BrushStyle.Dense4Pattern)


def register_pen(look: Look) -> QPen:
    """Return the pen of the outline of a register."""
    return QPen(on_paper(REGISTER_COLOUR, look), 1.6)


def paint_tape(painter: QPainter, path: QPainterPath, look: Look) -> None:
    """Draw a band along the outlines that are taped; the seam is painted over its inner half."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for colour, width in ((look.colour("ink"), _TAPE + 2 * _EDGE), (TAPE_COLOUR, _TAPE)):
        pen = QPen(QColor(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPath(path)
