"""Paints pins and screws into the plan of a seam, in true size as far as that can be seen.

A pin is a disc with its number and a dashed ring at its edge distance. A screw is a disc, its
through hole, with its letter; its ring is dotted, and it has the circle that its head needs, in
dashes and dots, and the hexagon of its nut or the circle of the hole for its thread.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from splitplanner.window.look import Look
from splitplanner.window.seams.flat import FlatFastener, mark_of
from splitplanner.window.seams.ground import SeamGround, Standing, standing
from splitplanner.window.seams.picture import (
    FAULT_COLOUR,
    LEAST_RADIUS,
    WARNING_COLOUR,
    SeamPicture,
    bold,
    label,
    on_paper,
)

_INSIDE = 11.0
"""From this radius on a number or letter is written into its disc."""
_DIAMOND = ((0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0))
_SQUARE = ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9))


def paint_fasteners(
    painter: QPainter, ground: SeamGround, picture: SeamPicture, look: Look
) -> None:
    """Paint all pins and screws, the chosen one on top."""
    fasteners = picture.fasteners
    stances = [standing(ground, fasteners, index) for index in range(len(fasteners))]
    order = sorted(range(len(stances)), key=lambda index: index == picture.chosen)
    for index in order:
        _paint(painter, picture, index, stances[index], look)


def _paint(
    painter: QPainter, picture: SeamPicture, index: int, stands: Standing, look: Look
) -> None:
    """Draw a pin or screw with its ring; a fixed mark where its disc would be too small."""
    fastener, scale = picture.fasteners[index], picture.scale
    centre = scale.to_screen(fastener.u, fastener.v)
    is_chosen = index == picture.chosen
    colour, mark = look.colour("ink"), ""
    if not stands.is_clear:
        colour, mark = on_paper(FAULT_COLOUR, look), "✕"
    elif stands.too_near:
        colour, mark = on_paper(WARNING_COLOUR, look), "!"
    ring, radius = fastener.edge_distance * scale.per_mm, fastener.diameter / 2 * scale.per_mm
    if ring > LEAST_RADIUS + 2:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        style = Qt.PenStyle.DashLine if fastener.screw is None else Qt.PenStyle.DotLine
        painter.setPen(QPen(colour, 1.6 if mark else 1.1, style))
        painter.drawEllipse(centre, ring, ring)
    if fastener.screw is not None:
        paint_room_of_screw(painter, centre, fastener, scale.per_mm, look)
    painter.setBrush(look.colour("accent" if is_chosen else "raised"))
    painter.setPen(QPen(colour, 2.0 if is_chosen or mark else 1.4))
    size = max(radius, LEAST_RADIUS)
    if radius < LEAST_RADIUS:
        # Corners are no circle: they do not look like a pin or a hole of that size.
        corners = _DIAMOND if fastener.screw is None else _SQUARE
        painter.drawPolygon(_polygon(corners, centre, size))
    else:
        painter.drawEllipse(centre, size, size)
    text = f"{mark_of(picture.fasteners, index)}{mark}"
    if radius >= _INSIDE:
        font = painter.font()
        painter.setFont(bold(font))
        dark = QColor("#101010") if look.is_dark else QColor("#FFFFFF")
        painter.setPen(dark if is_chosen else look.colour("ink"))
        painter.drawText(
            QRectF(centre.x() - 30, centre.y() - 12, 60, 24), Qt.AlignmentFlag.AlignCenter, text
        )
        painter.setFont(font)
    else:
        label(painter, centre, text, size + 2, _away(picture, index), look)


def paint_room_of_screw(
    painter: QPainter, centre: QPointF, fastener: FlatFastener, per_mm: float, look: Look
) -> None:
    """Draw what a screw needs away from the seam: for its head, and for its nut or thread."""
    screw = fastener.screw
    assert screw is not None
    head = screw.head_room / 2 * per_mm
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if head > LEAST_RADIUS:
        painter.setPen(head_pen(look))
        painter.drawEllipse(centre, head, head)
    painter.setPen(QPen(look.colour("ink"), 1.0))
    if screw.nut_room * per_mm > 2 * LEAST_RADIUS:
        painter.drawPolygon(_polygon(hexagon(screw.nut_room), centre, per_mm))
    if screw.hole > fastener.diameter and screw.hole * per_mm > 2 * LEAST_RADIUS:
        painter.drawEllipse(centre, screw.hole / 2 * per_mm, screw.hole / 2 * per_mm)


def head_pen(look: Look) -> QPen:
    """Return the pen of the circle that is kept clear for a head: long and short dashes."""
    return QPen(look.colour("ink"), 1.2, Qt.PenStyle.DashDotLine)


def hexagon(across_flats: float) -> tuple[tuple[float, float], ...]:
    """Return the corners of a regular hexagon about (0, 0): at s / √3 from its middle."""
    reach = across_flats / math.sqrt(3.0)
    turns = [math.radians(60.0 * step) for step in range(6)]
    return tuple((reach * math.cos(turn), reach * math.sin(turn)) for turn in turns)


def _polygon(
    corners: tuple[tuple[float, float], ...], centre: QPointF, per_unit: float
) -> QPolygonF:
    return QPolygonF([centre + QPointF(x, y) * per_unit for x, y in corners])


def _away(picture: SeamPicture, index: int) -> QPointF:
    """Return the direction on the screen away from the others, or up to the right."""
    mine = picture.fasteners[index]
    others = [each for at, each in enumerate(picture.fasteners) if at != index]
    if not others:
        return QPointF(1.0, -1.0)
    near = min(others, key=lambda each: math.hypot(each.u - mine.u, each.v - mine.v))
    u, v = mine.u - near.u, mine.v - near.v
    length = math.hypot(u, v)
    return QPointF(u / length, -v / length) if length > 0 else QPointF(1.0, -1.0)
