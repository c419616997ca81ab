"""Supports and loads drawn along the axis of the station chart, and what seams hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from splitplanner.window.chart.ground import BESIDE, Frame
from splitplanner.window.chart.load_marks import LoadMark
from splitplanner.window.chart.scale import ChartScale
from splitplanner.window.look import Look

NEAR = 9.0
"""A marker is grabbed from this far away, pixels."""
LOAD_COLOUR = "#D55E00"
SUPPORT_COLOUR = "#009E73"
"""Okabe & Ito, "Color Universal Design" (2008): vermilion and bluish green; shapes tell too."""
_HALF = 6.0
"""Half the width of a triangle and of an arrow's head, pixels."""
_EVERY = 26.0
"""Arrows of a spread load stand this far apart, pixels."""
_WEIGHTS = 40.0
"""Heads of a load that is spread as the mass is stand this far apart, pixels."""
_TOP = 7.0
"""It is taken from this far below the top of its room, pixels."""
_FEWEST = 8.0
_PADDING = 4.0


@dataclass(frozen=True)
class SeamHold:
    """What a seam holds.

    Attributes
    ----------
    name : str
    station : float
        Offset along the axis, mm.
    ratio : float
        Of what the uncut part holds, as planned.
    text : str
        The ratio in words.
    meaning : str
        What is told of it in full.
    """

    name: str
    station: float
    ratio: float
    text: str
    meaning: str


def mark_at(
    marks: Sequence[LoadMark], place: QPointF, scale: ChartScale, frame: Frame
) -> LoadMark | None:
    """Return the marker under a place; the ends of a spread load before all of it."""
    best: tuple[float, LoadMark] | None = None
    for mark in marks:
        room = frame.below if mark.is_support else frame.above
        if not room.adjusted(-NEAR, 0.0, NEAR, 0.0).contains(place):
            continue
        away = abs(scale.pixel(mark.station) - place.x())
        if mark.kind == "weight" and place.y() > room.top() + _TOP:
            continue
        if mark.kind in ("spread", "weight") and mark.reach is not None:
            start, end = (scale.pixel(at) for at in mark.reach)
            # Where nothing else is near.
            away = NEAR - 0.5 if start - 1.0 <= place.x() <= end + 1.0 else math.inf
        if mark.kind == "weight":
            away += 0.25
        if away <= NEAR and (best is None or away < best[0]):
            best = away, mark
    return None if best is None else best[1]


def paint_loads(
    painter: QPainter,
    marks: Sequence[LoadMark],
    scale: ChartScale,
    frame: Frame,
    look: Look,
    selected: int | None,
    hot: int | None,
) -> None:
    """Draw supports under the plot and loads over it; the chosen one bold."""
    painter.save()
    wide = frame.above.united(frame.below).adjusted(-_HALF - 2, -1, _HALF + 2, 1)
    painter.setClipRect(wide)
    for mark in sorted(marks, key=lambda each: each.index == selected):
        colour = QColor(SUPPORT_COLOUR if mark.is_support else LOAD_COLOUR)
        is_chosen = mark.index == selected
        if is_chosen:
            colour = look.colour("accent")
        width = 2.6 if is_chosen or mark.index == hot else 1.7
        painter.setPen(QPen(colour, width))
        painter.setBrush(colour if is_chosen else look.colour("raised"))
        if mark.is_support:
            _paint_support(painter, mark, scale.pixel(mark.station), frame.below)
        else:
            _paint_load(painter, mark, scale, frame.above, colour)
    _paint_labels(painter, marks, scale, frame, look, selected)
    painter.restore()


def _paint_support(painter: QPainter, mark: LoadMark, x: float, room: QRectF) -> None:
    """Draw a triangle that the part rests on with its tip, or a hatched bar that holds it."""
    top, low = room.top() + 2.0, room.bottom() - 3.0
    if mark.kind == "support":
        corners = [QPointF(x, top), QPointF(x + _HALF, low), QPointF(x - _HALF, low)]
        painter.drawPolygon(QPolygonF(corners))
        return
    painter.drawRect(QRectF(x - 3.0, top, 6.0, low - top))
    for step in range(3):
        y = top + (step + 0.5) * (low - top) / 3.0
        painter.drawLine(QLineF(x + 3.0, y, x + 8.0, y + 4.0))


def _paint_load(
    painter: QPainter, mark: LoadMark, scale: ChartScale, room: QRectF, colour: QColor
) -> None:
    """Draw an arrow for a force, several for what is spread, and a bow for a couple."""
    x, low, top = scale.pixel(mark.station), room.bottom() - 2.0, room.bottom() - 17.0
    if mark.kind == "couple":
        painter.setBrush(Qt.BrushStyle.NoBrush)
        box = QRectF(x - 7.0, top + 1.0, 14.0, 14.0)
        painter.drawArc(box, 30 * 16, 270 * 16)
        _paint_head(painter, QPointF(x + 6.0, top + 4.5), 0.6, -0.8, colour, 4.5)
    elif mark.kind in ("start", "end"):
        painter.drawRect(QRectF(x - 2.0, top - 1.0, 4.0, 6.0))
    elif mark.reach is None:
        _paint_arrow(painter, x, top, low, mark.way, colour)
    elif mark.kind == "weight":
        _paint_weight(painter, mark, scale, room, colour)
    else:
        start, end = (scale.pixel(at) for at in mark.reach)
        painter.drawLine(QLineF(start, top, end, top))
        count = max(int((end - start) / _EVERY), 1) + 1
        for step in range(count):
            at = start + (end - start) * step / (count - 1)
            if room.left() - _FEWEST <= at <= room.right() + _FEWEST:
                _paint_arrow(painter, at, top, low, mark.way, colour, 4.0)


def _paint_weight(
    painter: QPainter, mark: LoadMark, scale: ChartScale, room: QRectF, colour: QColor
) -> None:
    """Draw what is spread over the whole part as a fine line with small heads, out of the way."""
    assert mark.reach is not None
    start, end = (scale.pixel(at) for at in mark.reach)
    y = room.top() + 1.0
    painter.drawLine(QLineF(start, y, end, y))
    along, up = mark.way
    for step in range(int((end - start) / _WEIGHTS) + 1):
        tip = QPointF(start + (step + 0.5) * _WEIGHTS + 4.0 * along, y + (0.0 if along else 4.0))
        if tip.x() < end:
            _paint_head(painter, tip, along, -up, colour, 3.0)


def _paint_arrow(
    painter: QPainter,
    x: float,
    top: float,
    low: float,
    way: tuple[int, int],
    colour: QColor,
    head: float = _HALF,
) -> None:
    along, up = way
    if along:
        middle = (top + low) / 2
        painter.drawLine(QLineF(x - 11.0 * along, middle, x + 8.0 * along, middle))
        _paint_head(painter, QPointF(x + 11.0 * along, middle), along, 0.0, colour, head)
    else:
        tip = top if up > 0 else low
        painter.drawLine(QLineF(x, top + 1.0, x, low - 1.0))
        _paint_head(painter, QPointF(x, tip), 0.0, -1.0 if up > 0 else 1.0, colour, head)


def _paint_head(
    painter: QPainter, tip: QPointF, across: float, down: float, colour: QColor, size: float
) -> None:
    back = QPointF(tip.x() - across * size * 1.3, tip.y() - down * size * 1.3)
    aside = QPointF(-down * size * 0.7, across * size * 0.7)
    before = painter.brush()
    painter.setBrush(colour)
    painter.drawPolygon(QPolygonF([tip, back + aside, back - aside]))
    painter.setBrush(before)


def _paint_labels(
    painter: QPainter,
    marks: Sequence[LoadMark],
    scale: ChartScale,
    frame: Frame,
    look: Look,
    selected: int | None,
) -> None:
    """Write how large loads are, the chosen one first, each where no other stands."""
    fonts, taken = QFontMetricsF(painter.font()), [
        QRectF(scale.pixel(mark.station) - 7.0, frame.above.top(), 14.0, frame.above.height())
        for mark in marks
        if mark.kind in ("force", "couple", "start", "end")
    ]  # fmt: skip
    for mark in sorted(marks, key=lambda each: each.index != selected):
        if not mark.label or not scale.start <= mark.station <= scale.stop:
            continue
        width, x = fonts.horizontalAdvance(mark.label) + 2 * _PADDING, scale.pixel(mark.station)
        if mark.kind in ("force", "couple"):
            aside = 13.0 if mark.way[0] else 8.0
            places = [x + aside, x - aside - width]
        else:
            places = [x - width / 2]
        for left in places:
            box = QRectF(left, frame.above.top() + 2.0, width, fonts.height())
            is_free = not any(box.intersects(other) for other in taken)
            if is_free and frame.above.left() <= left and box.right() <= frame.above.right():
                taken.append(box)
                if mark.reach is not None:
                    painter.fillRect(box, look.colour("paper"))
                painter.setPen(look.colour("accent" if mark.index == selected else "ink"))
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, mark.label)
                break


def hold_boxes(
    holds: Sequence[SeamHold], scale: ChartScale, frame: Frame, fonts: QFontMetricsF
) -> list[tuple[SeamHold, QRectF]]:
    """Return where it is written what seams hold: below each other where they would overlap."""
    plot, placed = frame.plot, []
    taken: list[QRectF] = []
    height = fonts.height() + 2.0
    rows = max(int((plot.height() - 8.0) / (height + 2.0)), 1)
    for hold in sorted(holds, key=lambda each: each.ratio):
        if not scale.start <= hold.station <= scale.stop:
            continue
        width = fonts.horizontalAdvance(hold.text) + 2 * _PADDING
        x = scale.pixel(hold.station)
        left = min(max(x - width / 2, plot.left()), plot.right() - width)
        for row in range(rows):
            box = QRectF(left, plot.top() + 3.0 + row * (height + 2.0), width, height)
            if not any(box.adjusted(-2, 0, 2, 0).intersects(other) for other in taken):
                taken.append(box)
                placed.append((hold, box))
                break
    return placed


def paint_holds(
    painter: QPainter,
    holds: Sequence[SeamHold],
    scale: ChartScale,
    frame: Frame,
    look: Look,
) -> None:
    """Write at each seam what it holds; those that hold least first where there is no room."""
    fonts = QFontMetricsF(painter.font())
    for hold, box in hold_boxes(holds, scale, frame, fonts):
        x = scale.pixel(hold.station)
        painter.setPen(QPen(QColor(BESIDE), 1.2, Qt.PenStyle.DotLine))
        painter.drawLine(QLineF(x, box.bottom(), x, frame.plot.bottom()))
        painter.setPen(QPen(QColor(BESIDE), 1.2))
        painter.setBrush(look.colour("raised"))
        painter.drawRoundedRect(box, 3.0, 3.0)
        painter.setPen(look.colour("ink"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, hold.text)


def paint_key(painter: QPainter, frame: Frame, look: Look) -> None:
    """Write which line is the uncut part, and which the plan."""
    fonts = QFontMetricsF(painter.font())
    words = (("uncut", look.colour("accent"), Qt.PenStyle.SolidLine),
             ("as planned", QColor(BESIDE), Qt.PenStyle.DashLine))  # fmt: skip
    width = sum(fonts.horizontalAdvance(text) + 34.0 for text, _, _ in words)
    x, y = frame.plot.right() - width, frame.plot.bottom() - fonts.height() - 3.0
    painter.setPen(Qt.PenStyle.NoPen)
    paper = look.colour("raised")
    paper.setAlphaF(0.85)
    painter.fillRect(QRectF(x - 4.0, y, width + 2.0, fonts.height() + 1.0), paper)
    for text, colour, style in words:
        middle = y + fonts.height() / 2
        painter.setPen(QPen(colour, 1.8, style))
        painter.drawLine(QLineF(x, middle, x + 20.0, middle))
        painter.setPen(look.colour("ink"))
        painter.drawText(QPointF(x + 24.0, y + fonts.ascent()), text)
        x += fonts.horizontalAdvance(text) + 34.0
