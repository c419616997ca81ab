"""Paints one seam in its plane: its polygons, flange and room, what holds it, scale and axes."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen, QPolygonF
from shapely.geometry import MultiLineString, MultiPolygon

from splitplanner.window.look import Look
from splitplanner.window.quantities import MM_PER_INCH, Quantities
from splitplanner.window.seams.band_painting import paint_register, paint_tape
from splitplanner.window.seams.fastener_painting import paint_fasteners
from splitplanner.window.seams.ground import SeamGround
from splitplanner.window.seams.picture import (
    FAULT_COLOUR,
    LEAST_RADIUS,
    SeamPicture,
    label,
    on_paper,
    tinted,
)
from splitplanner.window.seams.scale import SeamScale

ROOM_COLOUR = "#009E73"
"""Okabe & Ito, "Color Universal Design" (2008): bluish green."""
TINT = 0.3
"""Share of a piece's colour in what is drawn of it."""
_RIM_TINT = 0.14
"""The same in what is drawn of a flange."""
_BEYOND = 40.0
"""What is so far outside of the drawing is not painted, logical pixels."""
_LEADER = 26.0
"""Length of the line from a mark to its words, logical pixels."""
_BAR = 90.0
"""The scale bar is about so long, logical pixels."""


def paint(painter: QPainter, area: QRectF, picture: SeamPicture, look: Look) -> None:
    """Paint a picture of a seam into an area."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(area, look.colour("raised"))
    if picture.ground is None:
        painter.setPen(look.colour("faint"))
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(area, flags, "Choose a seam in the list: its plan is shown here.")
    else:
        _paint_seam(painter, picture.ground, picture, look)
        paint_fasteners(painter, picture.ground, picture, look)
        _paint_axes(painter, area, look)
        _paint_bar(painter, area, picture, look)
    edge = look.colour("accent" if picture.has_focus else "rule")
    width = 2.0 if picture.has_focus else 1.0
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(edge, width))
    inset = width / 2
    painter.drawRect(area.adjusted(inset, inset, -inset, -inset))


def room_brush(look: Look, *, is_deep: bool) -> QBrush:
    """Return what the room is filled with; a hatch where material behind it may be missing."""
    colour = on_paper(ROOM_COLOUR, look)
    if is_deep:
        colour.setAlphaF(0.55)
        return QBrush(colour)
    return QBrush(colour, Qt.BrushStyle.BDiagPattern)


# -- the seam -------------------------------------------------------------------------------
def _paint_seam(painter: QPainter, ground: SeamGround, picture: SeamPicture, look: Look) -> None:
    scale = picture.scale
    if not ground.tape_lines.is_empty:
        paint_tape(painter, _line_path(ground.tape_lines, scale), look)
    if not ground.rim.is_empty:
        if not ground.tape_lines.is_empty:
            painter.fillPath(_path(ground.whole, scale), look.colour("raised"))
        painter.setBrush(tinted(look, picture.colour, _RIM_TINT))
        painter.setPen(rim_pen(look))
        painter.drawPath(_path(ground.rim, scale))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(tinted(look, picture.colour, TINT))
    painter.drawPath(_path(ground.shape, scale))
    room = ground.room(picture.room_distance)
    painter.setBrush(room_brush(look, is_deep=False))
    painter.setPen(QPen(room_brush(look, is_deep=False).color(), 1.0))
    painter.drawPath(_path(room, scale))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(room_brush(look, is_deep=True))
    painter.drawPath(_path(ground.deep, scale))
    if not ground.register_shape.is_empty:
        foot = _path(ground.register_shape, scale)
        paint_register(painter, foot, look)
        # Pins may stand there all the same: the register gives way to them.
        painter.fillPath(foot.intersected(_path(room, scale)), room_brush(look, is_deep=False))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("ink"), 1.3))
    painter.drawPath(_path(ground.shape, scale))
    painter.setPen(shown_pen(look))
    painter.drawPath(_line_path(ground.shown, scale))
    if room.is_empty:
        _paint_widest(painter, ground, picture, look)
    centre = scale.to_screen(*ground.middle)
    painter.setPen(QPen(look.colour("ink"), 1.3))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    paint_middle(painter, centre)


def shown_pen(look: Look) -> QPen:
    """Return the pen of outlines on the good side: wider than the others."""
    pen = QPen(look.colour("ink"), 3.2)
    # Each stretch is a line of its own, and there are many: no gaps between them.
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


def rim_pen(look: Look) -> QPen:
    """Return the pen of the outline of a flange: long dashes."""
    pen = QPen(look.colour("ink"), 1.2)
    pen.setDashPattern([7.0, 3.0])
    return pen


def paint_middle(painter: QPainter, centre: QPointF) -> None:
    """Draw the mark of the middle of a seam, a cross in a ring, with the painter's pen."""
    painter.drawEllipse(centre, 4.0, 4.0)
    for x, y in ((7.0, 0.0), (0.0, 7.0)):
        painter.drawLine(centre - QPointF(x, y), centre + QPointF(x, y))


def _paint_widest(painter: QPainter, ground: SeamGround, picture: SeamPicture, look: Look) -> None:
    """Draw the largest circle in the seam, with its diameter and a pointer to it."""
    diameter, place = ground.widest
    if not diameter:
        return
    colour = on_paper(FAULT_COLOUR, look)
    centre = picture.scale.to_screen(*place)
    radius = max(diameter / 2 * picture.scale.per_mm, LEAST_RADIUS)
    painter.setPen(QPen(colour, 1.6))
    painter.drawEllipse(centre, radius, radius)
    text = f"✕ widest: {picture.quantities.length(diameter, 2)}"
    # Away from the wall, which is thin: words must not cover what they are about.
    along = QPointF(0.7, -0.7)
    tip = centre + along * (radius + _LEADER)
    painter.drawLine(centre + along * radius, tip)
    label(painter, tip, text, 0.0, QPointF(1.0, -1.0), look)


def _path(shape: MultiPolygon, scale: SeamScale) -> QPainterPath:
    """Return what of polygons is near the drawing, on the screen."""
    path = QPainterPath()
    for polygon in _near(shape, scale):
        if isinstance(polygon, shapely.Polygon) and not polygon.is_empty:
            for ring in (polygon.exterior, *polygon.interiors):
                path.addPolygon(_corners(ring))
                path.closeSubpath()
    return scale.transform.map(path)


def _line_path(lines: MultiLineString, scale: SeamScale) -> QPainterPath:
    """Return what of lines is near the drawing, on the screen."""
    path = QPainterPath()
    for line in _near(lines, scale):
        if isinstance(line, shapely.LineString) and not line.is_empty:
            path.addPolygon(_corners(line))
    return scale.transform.map(path)


def _corners(line: shapely.LineString) -> QPolygonF:
    return QPolygonF([QPointF(*point) for point in line.coords])


def _near(shape: shapely.Geometry, scale: SeamScale) -> Iterable[shapely.Geometry]:
    """Return the parts of a shape, cut off a little outside of the drawing."""
    low_u, low_v, high_u, high_v = scale.seen(_BEYOND)
    b = shape.bounds
    # Long outlines far outside of the drawing would cost time and lose digits.
    if b[0] < low_u or b[1] < low_v or b[2] > high_u or b[3] > high_v:
        shape = shapely.clip_by_rect(shape, low_u, low_v, high_u, high_v)
    parts: Iterable[shapely.Geometry] = shapely.get_parts(shape)
    return parts


# -- axes and scale -------------------------------------------------------------------------
def _paint_axes(painter: QPainter, area: QRectF, look: Look) -> None:
    """Draw in the corner which way u and v run."""
    root, reach = area.bottomLeft() + QPointF(12, -12), 20.0
    painter.setPen(QPen(look.colour("faint"), 1.4))
    painter.setBrush(look.colour("faint"))
    tips = {"u": root + QPointF(reach, 0), "v": root - QPointF(0, reach)}
    for name, tip in tips.items():
        painter.drawLine(root, tip)
        along = QPointF(4, 0) if name == "u" else QPointF(0, -4)
        across = QPointF(along.y() * 0.7, along.x() * 0.7)
        painter.drawPolygon(QPolygonF([tip + along, tip + across, tip - across]))
    painter.setPen(look.colour("ink"))
    height = painter.fontMetrics().height()
    painter.drawText(tips["u"] + QPointF(7, height / 4), "u")
    painter.drawText(tips["v"] + QPointF(7, height / 4), "v")


def bar_length(per_mm: float, quantities: Quantities) -> float:
    """Return a round length for a scale bar, mm: 1, 2 or 5 times a power of ten of the unit."""
    unit = MM_PER_INCH if quantities.unit == "inch" else 1.0
    wanted = _BAR / per_mm / unit
    power = 10.0 ** math.floor(math.log10(wanted))
    return unit * power * max(step for step in (1, 2, 5) if step * power <= wanted * (1 + 1e-9))


def _paint_bar(painter: QPainter, area: QRectF, picture: SeamPicture, look: Look) -> None:
    length = bar_length(picture.scale.per_mm, picture.quantities)
    shown = picture.quantities.shown(length)
    digits = max(0, -math.floor(math.log10(shown) + 1e-9))
    text = f"{picture.quantities.number(shown, digits)} {picture.quantities.suffix}"
    left, low = area.left() + 58.0, area.bottom() - 12.0
    right = left + length * picture.scale.per_mm
    painter.setPen(QPen(look.colour("ink"), 1.6))
    painter.drawLine(QPointF(left, low), QPointF(right, low))
    for end in (left, right):
        painter.drawLine(QPointF(end, low - 4), QPointF(end, low + 4))
    painter.drawText(QPointF(right + 7, low + painter.fontMetrics().height() / 4), text)
