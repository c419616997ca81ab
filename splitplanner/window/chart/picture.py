"""The drawn part of the station chart: what it shows, and how that is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QLineF, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.score import Stations
from splitplanner.window.chart.ground import Frame, Shown, Snap, paint_ground, paint_tag
from splitplanner.window.chart.load_hand import LoadHand
from splitplanner.window.chart.load_painting import SeamHold, paint_holds, paint_key, paint_loads
from splitplanner.window.chart.marks import Mark, listed_marks, paint_mark, placed_marks
from splitplanner.window.chart.scale import ChartScale
from splitplanner.window.chart.spans import paint_spans, row_count
from splitplanner.window.chart.values import CURVES, Curve, CutMark, LoadCurve, Span
from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities

SNAP_NEAR = 6.0
"""Why a place is a sensible one is told from this far away, pixels."""
_SMALLER = 0.92
_WAITING = "being worked out"
EMPTY = "No part is open. Open one to see its sections along an axis."
MEASURING = "The sections along the part are being measured."


class ChartPicture(QWidget):
    """Draws the chart; the ground is kept, so that a marker moves in a millisecond."""

    pointed = Signal()
    """The place that is read, or what is known of it, has changed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.stations: Stations | None = None
        self.words_instead = EMPTY
        """What is told where there are no figures."""
        self.curve: Curve = CURVES[0]
        self.curves: tuple[Curve, ...] = CURVES
        """All that can be drawn now, those of the load case last."""
        self.holds: tuple[SeamHold, ...] = ()
        self.has_loads = False
        """Whether a load case is shown, which takes place over and under the plot."""
        self.loads = LoadHand(self)
        self.cuts: tuple[CutMark, ...] = ()
        self.spans: tuple[Span, ...] = ()
        self.snaps: tuple[Snap, ...] = ()
        self.quantities = Quantities()
        self.selected: int | None = None
        self.scale = ChartScale.whole(0.0, 1.0, 0.0, 1.0)
        self.crosshair: float | None = None
        """Of the pointer or of keys, mm along the axis."""
        self.is_moving = False
        """Whether the chosen cut is being moved."""
        self.hot: int | None = None
        """The cut under the pointer."""
        self._ground: QPixmap | None = None
        self._strip: QPixmap | None = None
        self._resting: QPixmap | None = None
        self._resting_marks: list[Mark] = []
        self._frame: Frame | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    # -- what is shown --------------------------------------------------------------------
    def show_stations(self, stations: Stations | None) -> None:
        """Show the figures of a part; the view stays if part and axis do."""
        before, self.stations = self.stations, stations
        if stations is None:
            self.crosshair = None
        elif before is None or (before.axis, before.ends) != (stations.axis, stations.ends):
            self.crosshair = None
            self.show_whole()
        self.redraw()

    def show_cuts(self, cuts: Sequence[CutMark]) -> None:
        """Show markers for cuts."""
        had_list = self._has_list
        self.cuts = tuple(cuts)
        if self.selected is not None and self.chosen is None:
            self.selected = None
        if had_list != self._has_list:
            self.refit()
        self.tell()

    def show_spans(self, spans: Sequence[Span]) -> None:
        """Show where the pieces lie."""
        rows = row_count(self.spans)
        self.spans = tuple(spans)
        if rows != row_count(self.spans):
            self.updateGeometry()
            self.refit()
        # The curve stays: pieces change with every step of a drag.
        self._strip = None
        self.update()

    def put(self, index: int, station: float) -> None:
        """Show a cut at another station until its owner says where it is."""
        self.cuts = tuple(
            replace(cut, station=station) if cut.index == index else cut for cut in self.cuts
        )
        self.tell()

    def redraw(self) -> None:
        """Draw all anew, after what is shown has changed."""
        self._ground = self._strip = self._resting = None
        self.tell()

    def refit(self) -> None:
        """Lay all out anew, after the size or what needs place has changed."""
        self._frame = None
        plot = self.frame.plot
        self.scale = self.scale.resized(plot.left(), plot.right())
        self.redraw()

    def rescale(self, scale: ChartScale) -> None:
        """Show another stretch of the axis."""
        self.scale = scale
        self.redraw()

    def show_whole(self) -> None:
        """Show all of the part."""
        if self.stations is not None:
            plot = self.frame.plot
            self.rescale(ChartScale.whole(plot.left(), plot.right(), *self.stations.ends))

    @property
    def chosen(self) -> CutMark | None:
        """The marker that is chosen."""
        return next((cut for cut in self.cuts if cut.index == self.selected), None)

    @property
    def read_at(self) -> float | None:
        """The station that is read: of the cut that is moved, of the pointer, of the chosen."""
        mark = self.loads.mark
        if mark is not None and self.loads.is_moving:
            return mark.station
        cut = self.chosen
        if cut is not None and not cut.is_along and (self.is_moving or self.crosshair is None):
            return cut.station
        return self.crosshair

    @property
    def snap(self) -> Snap | None:
        """The sensible place at which the cut that is moved is."""
        cut = self.chosen
        if cut is None or not self.is_moving:
            return None
        near = SNAP_NEAR * self.scale.mm_per_pixel
        close = [snap for snap in self.snaps if abs(snap[0] - cut.station) <= near]
        return min(close, key=lambda snap: abs(snap[0] - cut.station), default=None)

    @property
    def frame(self) -> Frame:
        """Where the parts of the chart lie."""
        if self._frame is None:
            rows = row_count(self.spans)
            self._frame = Frame.of(
                self.width(), self.height(), rows, self._has_list, QFontMetricsF(self._font),
                self.has_loads,
            )  # fmt: skip
        return self._frame

    @property
    def marks(self) -> list[Mark]:
        """The markers as drawn, the chosen one last."""
        frame, fonts = self.frame, QFontMetricsF(self._font)
        marks = placed_marks(self.cuts, self.scale, frame.lane, frame.plot, fonts)
        marks += listed_marks(self.cuts, frame.listed, fonts)
        return sorted(marks, key=lambda mark: mark.cut.index == self.selected)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a good size."""
        return QSize(900, int(QFontMetricsF(self._font).height() * 10))

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return the least size in which all can be read."""
        line = QFontMetricsF(self._font).height()
        rows = 6 + row_count(self.spans) + (2 if self.has_loads else 0)
        return QSize(320, int(line * rows) + 36 + (12 if self.has_loads else 0))

    @property
    def _has_list(self) -> bool:
        return any(cut.is_along for cut in self.cuts)

    @property
    def _font(self) -> QFont:
        font = QFont(self.font())
        # A font has its size either in points or in pixels.
        if font.pointSizeF() > 0.0:
            font.setPointSizeF(font.pointSizeF() * _SMALLER)
        else:
            font.setPixelSize(max(round(font.pixelSize() * _SMALLER), 1))
        return font

    def tell(self) -> None:
        """Draw, and let readers know."""
        self.update()
        self.pointed.emit()

    # -- drawing --------------------------------------------------------------------------
    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the kept ground, and the markers over it."""
        painter = QPainter(self)
        painter.setFont(self._font)
        look = look_of(self.palette())
        if self.stations is None:
            painter.fillRect(self.rect(), look.colour("paper"))
            painter.setPen(look.colour("faint"))
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(self.rect(), flags, self.words_instead)
            return
        frame, marks = self.frame, self.marks
        is_busy = [mark.cut.index in (self.selected, self.hot) for mark in marks]
        resting = [mark for mark, busy in zip(marks, is_busy, strict=True) if not busy]
        self._paint_kept(painter, frame, resting)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_snap(painter, frame)
        self._paint_marks(painter, [m for m, busy in zip(marks, is_busy, strict=True) if busy])
        if self.has_loads:
            self._paint_loads(painter, frame)
        self._paint_reading(painter, frame)
        if self.hasFocus():
            painter.setPen(QPen(look.colour("accent"), 1.0, Qt.PenStyle.DotLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    def _paint_marks(self, painter: QPainter, marks: list[Mark]) -> None:
        look, ruler = look_of(self.palette()), self.frame.ruler
        for mark in marks:
            is_chosen, is_hot = mark.cut.index == self.selected, mark.cut.index == self.hot
            paint_mark(painter, mark, look, is_chosen=is_chosen, is_hot=is_hot, ruler=ruler)

    def _paint_loads(self, painter: QPainter, frame: Frame) -> None:
        """Draw supports and loads, and what belongs to the curve of a load case."""
        look, loads = look_of(self.palette()), self.loads
        if isinstance(self.curve, LoadCurve):
            if not len(self.curve.numbers):
                painter.setPen(look.colour("faint"))
                painter.drawText(frame.plot, Qt.AlignmentFlag.AlignCenter, _WAITING)
            elif self.curve.beside is not None:
                paint_key(painter, frame, look)
            paint_holds(painter, self.holds, self.scale, frame, look)
        paint_loads(painter, loads.marks, self.scale, frame, look, loads.selected, loads.hot)

    def _paint_kept(self, painter: QPainter, frame: Frame, resting: list[Mark]) -> None:
        """Draw what is kept: the ground with the markers at rest, and the pieces below it."""
        ratio = self.devicePixelRatioF()
        if self._ground is None or self._ground.devicePixelRatio() != ratio:
            self._strip = self._resting = None
            self._ground = self._blank(self.height())
            with self._brush(self._ground) as brush:
                paint_ground(brush, self._shown(), self.scale, frame)
        if self._resting is None or self._resting_marks != resting:
            self._resting, self._resting_marks = self._ground.copy(), resting
            with self._brush(self._resting) as brush:
                self._paint_marks(brush, resting)
        if self._strip is None:
            self._strip = self._blank(frame.strip.height())
            with self._brush(self._strip) as brush:
                brush.translate(0.0, -frame.strip.top())
                paint_spans(brush, self.spans, self.scale, frame.strip, look_of(self.palette()))
        painter.drawPixmap(0, 0, self._resting)
        painter.drawPixmap(QPointF(0.0, frame.strip.top()), self._strip)

    def _brush(self, picture: QPixmap) -> QPainter:
        """Return a painter on a picture, with the letters and smooth lines of the chart."""
        brush = QPainter(picture)
        brush.setFont(self._font)
        brush.setRenderHint(QPainter.RenderHint.Antialiasing)
        return brush

    def _blank(self, height: float) -> QPixmap:
        """Return an empty picture across the chart, as sharp as the screen."""
        ratio = self.devicePixelRatioF()
        blank = QPixmap(max(round(self.width() * ratio), 1), max(round(height * ratio), 1))
        blank.setDevicePixelRatio(ratio)
        blank.fill(look_of(self.palette()).colour("paper"))
        return blank

    def _shown(self) -> Shown:
        assert self.stations is not None
        look = look_of(self.palette())
        return Shown(self.stations, self.curve, self.snaps, self.quantities, look)

    def _paint_snap(self, painter: QPainter, frame: Frame) -> None:
        if self.snap is not None:
            x = self.scale.pixel(self.snap[0])
            colour = look_of(self.palette()).colour("accent")
            painter.setPen(QPen(colour, 1.0, Qt.PenStyle.DashLine))
            painter.drawLine(QLineF(x, frame.plot.top(), x, frame.strip.bottom()))

    def _paint_reading(self, painter: QPainter, frame: Frame) -> None:
        """Draw a hairline with the value at the place that is read, and why a place is good."""
        station, snap = self.read_at, self.snap
        if station is None or not self.scale.start <= station <= self.scale.stop:
            return
        shown, x = self._shown(), self.scale.pixel(station)
        is_moving = self.is_moving or self.loads.is_moving
        is_pointed = station == self.crosshair and not is_moving
        if is_pointed:
            painter.setPen(QPen(shown.look.colour("faint"), 1.0))
            painter.drawLine(QLineF(x, frame.plot.top(), x, frame.ruler.bottom()))
        value = self.curve.value_at(shown.stations, station)
        if math.isfinite(value):
            y = shown.height(value * self.curve.factor(self.quantities), frame.plot)
            painter.setPen(QPen(shown.look.colour("raised"), 1.0))
            painter.setBrush(shown.look.colour("accent"))
            painter.drawEllipse(QPointF(x, y), 3.5, 3.5)
        if not (is_pointed or is_moving):
            return
        words = [self.station_text(station), self.curve.text(value, self.quantities)]
        if isinstance(self.curve, LoadCurve) and self.curve.beside is not None:
            planned = self.curve.beside_at(station)
            words.append(f"as planned {self.curve.text(planned, self.quantities)}")
        words += [snap[1]] if snap else []
        paint_tag(painter, x, frame, " · ".join(words), shown.look)

    def readings(self) -> list[tuple[str, str]]:
        """Return the station that is read and all figures there, the drawn one first."""
        station, stations = self.read_at, self.stations
        if station is None or stations is None:
            return []
        curves = sorted(self.curves, key=lambda curve: curve.name != self.curve.name)
        return [("Station", self.station_text(station))] + [
            (curve.label, curve.text(curve.value_at(stations, station), self.quantities))
            for curve in curves
        ]

    def reading_text(self) -> str:
        """Return the readings as lines, name and value separated by a tab."""
        return "\n".join(f"{name}\t{value}" for name, value in self.readings())

    def station_text(self, station: float) -> str:
        """Return a station as its distance from the low end of the part."""
        low = 0.0 if self.stations is None else self.stations.ends[0]
        return self.quantities.length(station - low, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Fit the chart to its new size."""
        super().resizeEvent(event)
        self.refit()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Draw anew in other colours and letters."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self.refit()
