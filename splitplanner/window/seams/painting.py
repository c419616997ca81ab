"""Paints one seam in its plane: its polygons, the room, its pins, scale and axes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPainterPath, QPen, QPolygonF
from shapely.geometry import MultiLineString, MultiPolygon

from splitplanner.window.look import Look
from splitplanner.window.quantities import MM_PER_INCH, Quantities
from splitplanner.window.seams.ground import FlatPin, SeamGround, Standing, standing
from splitplanner.window.seams.scale import SeamScale

ROOM_COLOUR = "#009E73"
WARNING_COLOUR, FAULT_COLOUR = "#E69F00", "#D55E00"
"""Okabe & Ito, "Color Universal Design" (2008): bluish green, orange and vermilion."""
TINT = 0.3
"""Share of a piece's colour in what is drawn of it."""
LEAST_RADIUS = 5.0
"""Pins that would be smaller on the screen are drawn so large, logical pixels."""
_INSIDE = 11.0
"""From this radius on a pin's number is written into it."""
_BEYOND = 40.0
"""What is so far outside of the drawing is not painted, logical pixels."""
_LEADER = 26.0
"""Length of the line from a mark to its words, logical pixels."""
_BAR = 90.0
"""The scale bar is about so long, logical pixels."""


@dataclass(frozen=True)
class SeamPicture:
    """What is painted.

    Attributes
    ----------
    ground : SeamGround or None
        None while no seam is chosen.
    pins : tuple of FlatPin
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
    pins: tuple[FlatPin, ...]
    chosen: int | None
    room_distance: float
    scale: SeamScale
    colour: str
    quantities: Quantities
    has_focus: bool


def paint(painter: QPainter, area: QRectF, picture: SeamPicture, look: Look) -> None:
    """Paint a picture of a seam into an area."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(area, look.colour("raised"))
    if picture.ground is None:
        painter.setPen(look.colour("faint"))
        painter.drawText(area, Qt.AlignmentFlag.AlignCenter, "No seam is shown.")
    else:
        _paint_seam(painter, picture.ground, picture, look)
        _paint_pins(painter, picture.ground, picture, look)
        _paint_axes(painter, area, look)
        _paint_bar(painter, area, picture, look)
    edge = look.colour("accent" if picture.has_focus else "rule")
    width = 2.0 if picture.has_focus else 1.0
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(edge, width))
    inset = width / 2
    painter.drawRect(area.adjusted(inset, inset, -inset, -inset))


def tinted(look: Look, colour: str, share: float) -> QColor:
    """Return the paper of a drawing with a share of a colour in it."""
    paper, ink = look.colour("raised"), QColor(colour)
    mixed = [
        round(a + share * (b - a))
        for a, b in zip(paper.getRgb()[:3], ink.getRgb()[:3], strict=True)  # type: ignore[index]
    ]
    return QColor(*mixed)


def _on_paper(colour: str, look: Look) -> QColor:
    """Return a colour as it is told from the seam's own, lighter in the dark."""
    return QColor(colour).lighter(135) if look.is_dark else QColor(colour)


def room_brush(look: Look, *, is_deep: bool) -> QBrush:
    """Return what the room is filled with; a hatch where material behind it may be missing."""
    colour = _on_paper(ROOM_COLOUR, look)
    if is_deep:
        colour.setAlphaF(0.55)
        return QBrush(colour)
    return QBrush(colour, Qt.BrushStyle.BDiagPattern)


# -- the seam -------------------------------------------------------------------------------
def _paint_seam(painter: QPainter, ground: SeamGround, picture: SeamPicture, look: Look) -> None:
    scale = picture.scale
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
    colour = _on_paper(FAULT_COLOUR, look)
    centre = picture.scale.to_screen(*place)
    radius = max(diameter / 2 * picture.scale.per_mm, LEAST_RADIUS)
    painter.setPen(QPen(colour, 1.6))
    painter.drawEllipse(centre, radius, radius)
    text = f"✕ widest: {picture.quantities.length(diameter, 2)}"
    # Away from the wall, which is thin: words must not cover what they are about.
    along = QPointF(0.7, -0.7)
    tip = centre + along * (radius + _LEADER)
    painter.drawLine(centre + along * radius, tip)
    _label(painter, tip, text, 0.0, QPointF(1.0, -1.0), look)


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


# -- pins -----------------------------------------------------------------------------------
def _paint_pins(painter: QPainter, ground: SeamGround, picture: SeamPicture, look: Look) -> None:
    stances = [standing(ground, picture.pins, index) for index in range(len(picture.pins))]
    order = sorted(range(len(stances)), key=lambda index: index == picture.chosen)
    for index in order:
        _paint_pin(painter, picture, index, stances[index], look)


def _paint_pin(
    painter: QPainter, picture: SeamPicture, index: int, stands: Standing, look: Look
) -> None:
    """Draw a pin in true size with its ring; a fixed mark where that would be too small."""
    pin, scale = picture.pins[index], picture.scale
    centre = scale.to_screen(pin.u, pin.v)
    is_chosen = index == picture.chosen
    colour, mark = look.colour("ink"), ""
    if not stands.is_clear:
        colour, mark = _on_paper(FAULT_COLOUR, look), "✕"
    elif stands.too_near:
        colour, mark = _on_paper(WARNING_COLOUR, look), "!"
    ring, radius = pin.edge_distance * scale.per_mm, pin.diameter / 2 * scale.per_mm
    if ring > LEAST_RADIUS + 2:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, 1.6 if mark else 1.1, Qt.PenStyle.DashLine))
        painter.drawEllipse(centre, ring, ring)
    fill = look.colour("accent") if is_chosen else look.colour("raised")
    painter.setBrush(fill)
    painter.setPen(QPen(colour, 2.0 if is_chosen or mark else 1.4))
    size = max(radius, LEAST_RADIUS)
    if radius < LEAST_RADIUS:
        # A diamond is no circle: it does not look like a pin of that size.
        corners = [(0.0, -size), (size, 0.0), (0.0, size), (-size, 0.0)]
        painter.drawPolygon(QPolygonF([centre + QPointF(x, y) for x, y in corners]))
    else:
        painter.drawEllipse(centre, size, size)
    text = f"{index + 1}{mark}"
    if radius >= _INSIDE:
        font = painter.font()
        painter.setFont(_bold(font))
        dark = QColor("#101010") if look.is_dark else QColor("#FFFFFF")
        painter.setPen(dark if is_chosen else look.colour("ink"))
        painter.drawText(
            QRectF(centre.x() - 30, centre.y() - 12, 60, 24), Qt.AlignmentFlag.AlignCenter, text
        )
        painter.setFont(font)
    else:
        _label(painter, centre, text, size + 2, _away(picture, index), look)


def _away(picture: SeamPicture, index: int) -> QPointF:
    """Return the direction on the screen away from the other pins, or up to the right."""
    pin = picture.pins[index]
    others = [each for at, each in enumerate(picture.pins) if at != index]
    if not others:
        return QPointF(1.0, -1.0)
    near = min(others, key=lambda each: math.hypot(each.u - pin.u, each.v - pin.v))
    u, v = pin.u - near.u, pin.v - near.v
    length = math.hypot(u, v)
    return QPointF(u / length, -v / length) if length > 0 else QPointF(1.0, -1.0)


def _bold(font: QFont) -> QFont:
    made = QFont(font)
    made.setBold(True)
    return made


def _label(
    painter: QPainter, at: QPointF, text: str, away: float, side: QPointF, look: Look
) -> None:
    """Write a text beside a mark, to the side that `side` points to, on paper of its own."""
    before = painter.font()
    painter.setFont(_bold(before))
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
