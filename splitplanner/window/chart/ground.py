"""The ground of the station chart: axes, curve, ruler and places, drawn once and kept."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from splitplanner.arrays import Floats
from splitplanner.score import Stations
from splitplanner.window.chart.scale import ChartScale, decimals_of, round_step, ticks_between
from splitplanner.window.chart.values import Curve, LoadCurve
from splitplanner.window.look import Look
from splitplanner.window.quantities import Quantities

Snap = tuple[float, str]
"""A sensible place for a cut, mm along the axis, and why it is one."""

BESIDE = "#D55E00"
"""Of the second line, which is dashed too: vermilion of Okabe & Ito (2008)."""
_HEADROOM = 1.08
_FOR_SEAMS = 1.3
"""Over the figures of a load case there is room to write what seams hold."""
_FILL = 0.16
_TICK_GAP = 19.0
"""Least distance between lines of the value axis, pixels."""


@dataclass(frozen=True)
class Frame:
    """Where the parts of the chart lie, logical pixels.

    Attributes
    ----------
    lane : QRectF
        Of the handles.
    plot : QRectF
        Of the curve.
    ruler : QRectF
    strip : QRectF
        Of the pieces.
    listed : QRectF
        Right of the plot, of cuts along the axis; without width if there is none.
    above, below : QRectF
        Over and under the plot, of loads and of supports; without height if none are shown.
    """

    lane: QRectF
    plot: QRectF
    ruler: QRectF
    strip: QRectF
    listed: QRectF
    above: QRectF
    below: QRectF

    @staticmethod
    def of(
        width: float,
        height: float,
        rows: int,
        has_list: bool,
        fonts: QFontMetricsF,
        has_loads: bool = False,
    ) -> Frame:
        """Return the frame of a chart of some size with so many rows of pieces."""
        line = fonts.height()
        left = fonts.horizontalAdvance("0,000.0") + 12
        right = width - (fonts.horizontalAdvance("∥ a cut 00") + 14 if has_list else 30.0)
        bar, lane, ruler = rows * (line + 5), line + 8, line + 9
        low = math.floor(height - 2 - bar)
        across = max(right - left, 1.0)
        above, below = (line + 9, line + 3) if has_loads else (0.0, 0.0)
        plot = QRectF(left, lane + above, across, max(low - ruler - lane - above - below, 1.0))
        return Frame(
            QRectF(left, 0, across, lane),
            plot,
            QRectF(left, plot.bottom() + below, across, ruler),
            QRectF(left, low, across, bar),
            QRectF(
                right + 6, lane, max(width - right - 8, 0.0) if has_list else 0.0, height - lane
            ),
            QRectF(left, lane, across, above),
            QRectF(left, plot.bottom(), across, below),
        )


@dataclass(frozen=True, eq=False)
class Shown:
    """All that the ground is drawn from."""

    stations: Stations
    curve: Curve
    snaps: Sequence[Snap]
    quantities: Quantities
    look: Look

    @property
    def values(self) -> Floats:
        """The figure at each station as it is shown, (n,)."""
        return self.curve.values(self.stations) * self.curve.factor(self.quantities)

    @property
    def beside(self) -> tuple[Floats, Floats] | None:
        """The second line: positions and values as they are shown; None without one."""
        curve = self.curve
        if not isinstance(curve, LoadCurve) or curve.beside is None:
            return None
        at, numbers = curve.beside
        return at, numbers * curve.factor(self.quantities)

    @cached_property
    def span(self) -> tuple[float, float]:
        """The values at the lower and the upper edge of the plot; 0 is always between them."""
        beside = self.beside
        values = self.values if beside is None else np.concatenate([self.values, beside[1]])
        values = values[np.isfinite(values)]
        greatest = max(float(values.max()), 0.0) if len(values) else 0.0
        least = min(float(values.min()), 0.0) if len(values) else 0.0
        if self.curve.is_upward:
            least = 0.0
        # What is zero but for rounding has no side.
        least = least if -least > 1e-6 * greatest else 0.0
        greatest = greatest if greatest > -1e-6 * least else 0.0
        if greatest == least:
            return 0.0, 1.0
        over = _FOR_SEAMS if isinstance(self.curve, LoadCurve) else _HEADROOM
        return _HEADROOM * least, over * greatest

    @property
    def top(self) -> float:
        """The value at the upper edge of the plot."""
        return self.span[1]

    def height(self, value: float, plot: QRectF) -> float:
        """Return where a value as it is shown is drawn, pixels."""
        low, high = self.span
        return plot.bottom() - (value - low) / (high - low) * plot.height()


def paint_ground(painter: QPainter, shown: Shown, scale: ChartScale, frame: Frame) -> None:
    """Draw everything that stays while cuts are dragged."""
    look, plot = shown.look, frame.plot
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    part = QRectF(plot)
    part.setLeft(max(scale.pixel(scale.low), plot.left()))
    part.setRight(min(scale.pixel(scale.high), plot.right()))
    painter.fillRect(part, look.colour("raised"))
    _paint_values(painter, shown, frame)
    painter.save()
    painter.setClipRect(plot)
    _paint_curve(painter, shown, scale, plot)
    painter.restore()
    _paint_snaps(painter, shown, scale, plot)
    _paint_ruler(painter, shown, scale, frame)


def _paint_values(painter: QPainter, shown: Shown, frame: Frame) -> None:
    """Draw the value axis: lines across, their values, and the unit above."""
    plot, look = frame.plot, shown.look
    low, high = shown.span
    step = round_step((high - low) * _TICK_GAP / plot.height())
    if shown.curve.dimension == "count":
        step = max(step, 1.0)
    right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    for value in ticks_between(low, high, step):
        y = round(shown.height(value, plot)) + 0.5
        painter.setPen(QPen(look.colour("rule"), 1.0))
        painter.drawLine(QLineF(plot.left(), y, plot.right(), y))
        painter.setPen(look.colour("faint"))
        text = shown.quantities.number(value, decimals_of(step))
        painter.drawText(QRectF(0, y - 10, plot.left() - 6, 20), right, text)
    painter.setPen(look.colour("faint"))
    unit = QRectF(0, 0, plot.left() - 6, frame.lane.height() - 4)
    painter.drawText(unit, right, shown.curve.unit(shown.quantities))


def _paint_curve(painter: QPainter, shown: Shown, scale: ChartScale, plot: QRectF) -> None:
    """Draw the curve, filled to zero; where there is no value it has a gap."""
    colour = shown.look.colour("accent")
    fill = QColor(colour)
    fill.setAlphaF(_FILL)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    zero = shown.height(0.0, plot)
    for line in curve_lines(shown, scale, plot):
        area = QPolygonF([QPointF(line[0].x(), zero), *line])
        area.append(QPointF(line[-1].x(), zero))
        path = QPainterPath()
        path.addPolygon(area)
        painter.fillPath(path, fill)
        painter.setPen(QPen(colour, 1.6))
        painter.drawPolyline(QPolygonF(line))
    if shown.beside is not None:
        at, values = shown.beside
        places = zip(at.tolist(), values.tolist(), strict=True)
        line = [QPointF(scale.pixel(x), shown.height(y, plot)) for x, y in places]
        painter.setPen(QPen(QColor(BESIDE), 1.8, Qt.PenStyle.DashLine))
        painter.drawPolyline(QPolygonF(line))


def curve_lines(shown: Shown, scale: ChartScale, plot: QRectF) -> list[list[QPointF]]:
    """Return the curve as lines of pixels, one for each stretch that has values.

    It goes on level from the outermost stations to the ends of the part.
    """
    positions, values = shown.curve.positions(shown.stations), shown.values
    if not len(values):
        return []
    low, high = shown.stations.ends
    if shown.curve.is_stepped:
        middles = (positions[1:] + positions[:-1]) / 2
        positions = np.repeat(np.concatenate([[low], middles, [high]]), 2)[1:-1]
        values = np.repeat(values, 2)
    else:
        positions = np.concatenate([[low], positions, [high]])
        values = np.concatenate([values[:1], values, values[-1:]])
    x = scale.pixel(0.0) + positions / scale.mm_per_pixel
    least, most = shown.span
    y = plot.bottom() - (values - least) / (most - least) * plot.height()
    is_known = np.isfinite(values)
    breaks = np.flatnonzero(np.diff(is_known.astype(np.int8))) + 1
    lines = []
    for piece in np.split(np.arange(len(x)), breaks):
        if is_known[piece[0]] and len(piece) > 1:
            lines.append([QPointF(*place) for place in zip(x[piece], y[piece], strict=True)])
    return lines


def _paint_snaps(painter: QPainter, shown: Shown, scale: ChartScale, plot: QRectF) -> None:
    """Draw short ticks upward from the ruler at sensible places."""
    painter.setPen(QPen(shown.look.colour("faint"), 1.4))
    for station, _ in shown.snaps:
        x = scale.pixel(station)
        if plot.left() <= x <= plot.right():
            painter.drawLine(QLineF(x, plot.bottom() - 7, x, plot.bottom()))


def _paint_ruler(painter: QPainter, shown: Shown, scale: ChartScale, frame: Frame) -> None:
    """Draw the axis with round ticks, counted from the low end of the part."""
    ruler, look, quantities = frame.ruler, shown.look, shown.quantities
    in_inches = quantities.unit == "inch"
    per_pixel = quantities.shown(scale.mm_per_pixel)
    start, stop = (quantities.shown(end - scale.low) for end in (scale.start, scale.stop))
    fonts = QFontMetricsF(painter.font())
    # Far enough apart for the widest label and some space.
    widest = fonts.horizontalAdvance(quantities.number(stop, 2)) + 22
    step = round_step(widest * per_pixel, halves=in_inches)
    minor = round_step(max(5.0 * per_pixel, step / 10), halves=in_inches)
    painter.setPen(QPen(look.colour("faint"), 1.0))
    base = round(ruler.top()) + 0.5
    painter.drawLine(QLineF(ruler.left(), base, ruler.right(), base))

    def pixel(value: float) -> float:
        return round(scale.pixel(scale.low + quantities.entered(value))) + 0.5

    small = [pixel(value) for value in ticks_between(start, stop, minor)]
    painter.drawLines([QLineF(x, base, x, base + 3) for x in small])
    painter.setPen(look.colour("ink"))
    for value in ticks_between(start, stop, step):
        x = pixel(value)
        painter.drawLine(QLineF(x, base, x, base + 6))
        box = QRectF(x - widest / 2, base + 5, widest, ruler.height() - 5)
        text = quantities.number(value, decimals_of(step))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.setPen(look.colour("faint"))
    unit = QRectF(ruler.right() + 4, base + 5, 40, ruler.height() - 5)
    painter.drawText(
        unit, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, quantities.suffix
    )


def paint_tag(painter: QPainter, x: float, frame: Frame, text: str, look: Look) -> None:
    """Write a few words on a patch beside a place in the plot, on the side that has room."""
    fonts = QFontMetricsF(painter.font())
    width, height = fonts.horizontalAdvance(text) + 12, fonts.height() + 4
    left = x + 8 if x + 8 + width <= frame.plot.right() else x - 8 - width
    box = QRectF(max(left, frame.plot.left()), frame.plot.top() + 3, width, height)
    painter.setPen(QPen(look.colour("rule"), 1.0))
    painter.setBrush(look.colour("raised"))
    painter.drawRoundedRect(box, 4.0, 4.0)
    painter.setPen(look.colour("ink"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
