"""The strip of pieces below the chart: rows of spans, and how they are drawn."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from splitplanner.score.lying import Fit
from splitplanner.window.chart.scale import ChartScale
from splitplanner.window.chart.values import Span
from splitplanner.window.look import FIT_COLOURS, FIT_MARKS, Look

MOST_ROWS = 3
_APART = 1e-3
"""Spans that overlap by no more than this lie one after the other, mm."""
_TINT = 0.34
_STRIPE = 3.0
"""Height of the stripe in the colour of the fit, pixels."""
_ON_FIT = QColor("#101010")
"""Read well on all three colours of a fit."""


def rows_of(spans: Sequence[Span]) -> list[int]:
    """Return the row of each span, from 0: those that overlap lie below each other.

    Of more than three side by side the rest lies in the last row.
    """
    rows, ends = [0] * len(spans), [-float("inf")] * MOST_ROWS
    for index in sorted(range(len(spans)), key=lambda i: (spans[i].start, spans[i].stop)):
        free = [row for row in range(MOST_ROWS) if ends[row] <= spans[index].start + _APART]
        row = free[0] if free else MOST_ROWS - 1
        rows[index] = row
        ends[row] = max(ends[row], spans[index].stop)
    return rows


def row_count(spans: Sequence[Span]) -> int:
    """Return how many rows the spans take, at least one."""
    return max(rows_of(spans), default=0) + 1


def span_boxes(spans: Sequence[Span], scale: ChartScale, strip: QRectF) -> list[QRectF]:
    """Return where each span is drawn, cut off at the ends of the view."""
    rows = rows_of(spans)
    height = strip.height() / (max(rows, default=0) + 1)
    boxes = []
    for span, row in zip(spans, rows, strict=True):
        left = max(scale.pixel(span.start), scale.left)
        right = min(scale.pixel(span.stop), scale.right)
        top = strip.top() + row * height
        boxes.append(QRectF(left + 1, top + 1, max(right - left - 2, 0.0), height - 2))
    return boxes


def paint_spans(
    painter: QPainter, spans: Sequence[Span], scale: ChartScale, strip: QRectF, look: Look
) -> None:
    """Draw the pieces: their colour and number, and how they fit by colour, mark and words."""
    font = painter.font()
    for span, box in zip(spans, span_boxes(spans, scale, strip), strict=True):
        if box.width() < 1.0:
            continue
        tint = QColor(span.colour)
        tint.setAlphaF(_TINT)
        painter.fillRect(box, look.colour("paper"))
        painter.fillRect(box, tint)
        painter.setPen(QPen(QColor(span.colour), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
        start = box.left()
        if span.fit is not None:
            stripe = QRectF(box.left(), box.bottom() - _STRIPE, box.width(), _STRIPE)
            painter.fillRect(stripe, QColor(FIT_COLOURS[span.fit]))
            start += _paint_mark(painter, span.fit, box)
        _paint_words(painter, span, box.adjusted(start - box.left() + 4, 0, -3, -1), look, font)
    painter.setFont(font)


def _paint_mark(painter: QPainter, fit: Fit, box: QRectF) -> float:
    """Draw the mark of a fit at the start of a box, and return how much of it that took."""
    width = min(box.height(), box.width())
    badge = QRectF(box.left(), box.top(), width, box.height())
    painter.fillRect(badge, QColor(FIT_COLOURS[fit]))
    if width >= 8.0:
        painter.setPen(_ON_FIT)
        painter.drawText(badge, Qt.AlignmentFlag.AlignCenter, FIT_MARKS[fit])
    return width


def _paint_words(painter: QPainter, span: Span, box: QRectF, look: Look, font: QFont) -> None:
    """Draw the number in bold and, as far as there is place, what is said of the piece."""
    bold = QFont(font)
    bold.setBold(True)
    width = QFontMetricsF(bold).horizontalAdvance(span.label)
    if width > box.width():
        return
    metrics = QFontMetricsF(font)
    base = box.center().y() + (metrics.ascent() - metrics.descent()) / 2
    painter.setPen(look.colour("ink"))
    painter.setFont(bold)
    painter.drawText(QPointF(box.left(), base), span.label)
    words = span.text if span.fit is None else f"{span.fit}  {span.text}".rstrip()
    left = box.left() + width + 8
    shown = metrics.elidedText(words, Qt.TextElideMode.ElideRight, box.right() - left)
    if len(shown) > 2:
        painter.setFont(font)
        painter.drawText(QPointF(left, base), shown)
