"""Markers of cuts in the station chart: where they stand, which is under the pointer, drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from splitplanner.window.chart.scale import ChartScale
from splitplanner.window.chart.values import CutMark
from splitplanner.window.look import Look

NEAR = 5.0
"""A marker's line is grabbed from this far away, pixels."""
_GAP = 3.0
_PADDING = 6.0
_CROWDED = 0.7
"""Handles that would take more than this share of their lane are shortened."""
_STEEPEST = 1.2
"""A leaning cut is drawn no further off its station than this share of half the plot's height, so
that it does not cross the whole chart."""


@dataclass(frozen=True)
class Mark:
    """A marker as drawn.

    Attributes
    ----------
    cut : CutMark
    name : str
        What its handle says.
    grip : QRectF
        The handle with its name.
    line : QLineF or None
        Across the plot from top to bottom; None for a cut along the axis, which is only listed.
    """

    cut: CutMark
    name: str
    grip: QRectF
    line: QLineF | None


def placed_marks(
    cuts: Sequence[CutMark], scale: ChartScale, lane: QRectF, plot: QRectF, fonts: QFontMetricsF
) -> list[Mark]:
    """Return the markers of all cuts that cross the part of the axis that is shown.

    Handles that would overlap are pushed apart along their lane.
    """
    shown = [cut for cut in cuts if not cut.is_along and scale.start <= cut.station <= scale.stop]
    shown.sort(key=lambda cut: (cut.station, cut.index))
    lines = [_line(cut, scale.pixel(cut.station), plot) for cut in shown]
    names = [cut.name for cut in shown]
    widths = _widths(names, fonts)
    if sum(widths) > _CROWDED * lane.width():
        # Mostly a number, by which it is told from others as well.
        names = [name.split()[-1] if name.strip() else name for name in names]
        widths = _widths(names, fonts)
    wanted = [line.x1() - width / 2 for line, width in zip(lines, widths, strict=True)]
    lefts = _apart(wanted, widths, lane.left(), lane.right())
    return [
        Mark(cut, name, QRectF(left, lane.top() + 1, width, lane.height() - 5), line)
        for cut, name, line, left, width in zip(shown, names, lines, lefts, widths, strict=True)
    ]


def _widths(names: list[str], fonts: QFontMetricsF) -> list[float]:
    return [max(fonts.horizontalAdvance(name) + 2 * _PADDING, 18.0) for name in names]


def _apart(wanted: list[float], widths: list[float], low: float, high: float) -> list[float]:
    """Return where boxes begin that stand side by side as near to where they are wanted as can be.

    Less what stands before each, their places only have to rise: a regression by pooling adjacent
    violators (Barlow et al., Statistical Inference under Order Restrictions, 1972).
    """
    before = [0.0]
    for width in widths:
        before.append(before[-1] + width + _GAP)
    pools: list[tuple[float, int]] = []
    for place, offset in zip(wanted, before[:-1], strict=True):
        total, count = place - offset, 1
        while pools and pools[-1][0] / pools[-1][1] > total / count:
            total, count = total + pools[-1][0], count + pools[-1][1]
            pools.pop()
        pools.append((total, count))
    rising = [total / count for total, count in pools for _ in range(count)]
    last = max(high - before[-1] + _GAP, low)
    return [
        min(max(place, low), last) + offset
        for place, offset in zip(rising, before[:-1], strict=True)
    ]


def listed_marks(cuts: Sequence[CutMark], margin: QRectF, fonts: QFontMetricsF) -> list[Mark]:
    """Return the markers of cuts along the axis, below each other in the margin."""
    height = fonts.height() + 2
    marks = []
    for row, cut in enumerate(cut for cut in cuts if cut.is_along):
        box = QRectF(margin.left(), margin.top() + row * (height + 2), margin.width(), height)
        if box.bottom() <= margin.bottom():
            marks.append(Mark(cut, f"∥ {cut.name}", box, None))
    return marks


def _line(cut: CutMark, x: float, plot: QRectF) -> QLineF:
    """Return the line of a cut: it leans as the plane does, and crosses its station half way up."""
    half = plot.height() / 2
    tangent = cut.slope / math.sqrt(max(1.0 - cut.slope**2, 1e-9))
    aside = min(half * tangent, half * _STEEPEST)
    return QLineF(x + aside, plot.top(), x - aside, plot.bottom())


def mark_at(marks: Sequence[Mark], place: QPointF, lowest: float) -> Mark | None:
    """Return the marker under a place: of handles first, then of lines, the nearest.

    Parameters
    ----------
    marks : sequence of Mark
    place : QPointF
    lowest : float
        Lines are grabbed down to here, pixels.
    """
    for mark in reversed(marks):
        if mark.grip.adjusted(-1, -1, 1, 4).contains(place):
            return mark
    nearest = min(marks, key=lambda mark: _away(mark.line, place, lowest), default=None)
    is_near = nearest is not None and _away(nearest.line, place, lowest) <= NEAR
    return nearest if is_near else None


def _away(line: QLineF | None, place: QPointF, lowest: float) -> float:
    if line is None or not line.y1() - 6 <= place.y() <= lowest:
        return math.inf
    if place.y() > line.y2():
        # On the ruler it is its station that counts.
        return abs(place.x() - (line.x1() + line.x2()) / 2)
    share = min(max((place.y() - line.y1()) / max(line.dy(), 1.0), 0.0), 1.0)
    return abs(place.x() - (line.x1() + share * line.dx())) * math.cos(
        math.atan2(abs(line.dx()), line.dy())
    )


def paint_mark(
    painter: QPainter, mark: Mark, look: Look, *, is_chosen: bool, is_hot: bool, ruler: QRectF
) -> None:
    """Draw a marker: a line with a handle that has its name; a wide one for the chosen."""
    ink = look.colour("accent" if is_chosen else "ink")
    if mark.line is None:
        _paint_listed(painter, mark, look, is_chosen, is_hot)
        return
    x = (mark.line.x1() + mark.line.x2()) / 2
    width = 2.5 if is_chosen else 2.0 if is_hot else 1.5
    style = Qt.PenStyle.SolidLine if mark.cut.is_movable else Qt.PenStyle.DashLine
    foot = QLineF(x, ruler.top(), x, ruler.top() + 7)
    head = QLineF(mark.grip.center().x(), mark.grip.bottom(), mark.line.x1(), mark.line.y1())
    # Told from the curve by a seam of paper.
    painter.setPen(QPen(look.colour("raised"), width + 2.5))
    painter.drawLine(mark.line)
    painter.setPen(QPen(ink, width, style, Qt.PenCapStyle.FlatCap))
    painter.drawLines([head, mark.line, foot])
    painter.setPen(QPen(ink, 2.0 if is_hot else 1.2, style))
    painter.setBrush(ink if is_chosen else look.colour("raised"))
    painter.drawRoundedRect(mark.grip, 5.0, 5.0)
    painter.setPen(look.colour("paper" if is_chosen else "ink"))
    painter.drawText(mark.grip, Qt.AlignmentFlag.AlignCenter, mark.name)


def _paint_listed(painter: QPainter, mark: Mark, look: Look, is_chosen: bool, is_hot: bool) -> None:
    """Draw a cut along the axis in the margin."""
    if is_hot or is_chosen:
        painter.setPen(QPen(look.colour("accent" if is_chosen else "rule"), 1.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(mark.grip, 4.0, 4.0)
    painter.setPen(look.colour("accent" if is_chosen else "faint"))
    fonts = QFontMetricsF(painter.font())
    words = fonts.elidedText(mark.name, Qt.TextElideMode.ElideRight, mark.grip.width() - 8)
    painter.drawText(
        mark.grip.adjusted(4, 0, -4, 0),
        Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft,
        words,
    )
