"""What is painted of one seam, and what all of its painting shares."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter

from splitplanner.window.look import Look
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import FlatFastener
from splitplanner.window.seams.ground import SeamGround
from splitplanner.window.seams.scale import SeamScale

WARNING_COLOUR, FAULT_COLOUR = "#E69F00", "#D55E00"
"""Okabe & Ito, "Color Universal Design" (2008): orange and vermilion."""
LEAST_RADIUS = 5.0
"""Pins that would be smaller on the screen are drawn so large, logical pixels."""


@dataclass(frozen=True)
class SeamPicture:
    """What is painted.

    Attributes
    ----------
    ground : SeamGround or None
        None while no seam is chosen.
    fasteners : tuple of FlatFastener
        Pins, and screws after them.
    chosen : int or None
    room_distance : float
        The edge distance for which the room is shown, mm.
    scale : SeamScale
    colour : str
        Of the piece below, on which the seam is seen.
    quantities : Quantities
    has_focus : bool
    """

    ground: SeamGround | None
    fasteners: tuple[FlatFastener, ...]
    chosen: int | None
    room_distance: float
    scale: SeamScale
    colour: str
    quantities: Quantities
    has_focus: bool


def on_paper(colour: str, look: Look) -> QColor:
    """Return a colour as it is told from the seam's own, lighter in the dark."""
    return QColor(colour).lighter(135) if look.is_dark else QColor(colour)


def tinted(look: Look, colour: str, share: float) -> QColor:
    """Return the paper of a drawing with a share of a colour in it."""
    paper, ink = look.colour("raised"), QColor(colour)
    mixed = [
        round(a + share * (b - a))
        for a, b in zip(paper.getRgb()[:3], ink.getRgb()[:3], strict=True)  # type: ignore[index]
    ]
    return QColor(*mixed)


def bold(font: QFont) -> QFont:
    """Return a font in bold."""
    made = QFont(font)
    made.setBold(True)
    return made


def label(
    painter: QPainter, at: QPointF, text: str, away: float, side: QPointF, look: Look
) -> None:
    """Write a text beside a mark, to the side that `side` points to, on paper of its own."""
    before = painter.font()
    painter.setFont(bold(before))
    metrics = painter.fontMetrics()
    width, height = metrics.horizontalAdvance(text) + 6.0, metrics.height() + 0.0
    x = at.x() + (away if side.x() >= 0 else -away - width)
    y = at.y() - height / 2 + side.y() * height * 0.5
    port = painter.viewport()
    x = min(max(x, 3.0), port.width() - width - 3.0)
    y = min(max(y, 3.0), port.height() - height - 3.0)
    box = QRectF(x, y, width, height)
    paper = look.colour("raised")
    paper.setAlphaF(0.8)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(paper)
    painter.drawRoundedRect(box, 3, 3)
    painter.setPen(look.colour("ink"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.setFont(before)
