"""The station chart under the user's hands: mouse, keys and tooltips."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from splitplanner.score import Stations
from splitplanner.window.chart.keys import ChartKeys
from splitplanner.window.chart.load_marks import LoadMark
from splitplanner.window.chart.load_painting import SeamHold, hold_boxes
from splitplanner.window.chart.marks import Mark, mark_at
from splitplanner.window.chart.menu import chart_menu
from splitplanner.window.chart.moves import Moves
from splitplanner.window.chart.picture import ChartPicture
from splitplanner.window.chart.spans import span_boxes
from splitplanner.window.chart.values import CutMark, LoadCurve

_NOTCH = 1.2
"""By how much a notch of the wheel zooms."""


class ChartCanvas(ChartPicture):
    """The drawn part of the chart, that tells what the user does with it; see `StationChart`."""

    cut_grabbed = Signal(int)
    cut_dragged = Signal(int, float, float, bool)
    cut_dropped = Signal(int)
    cut_aborted = Signal(int)
    cut_chosen = Signal(int)
    cut_asked = Signal(float)
    delete_asked = Signal(int)
    load_asked = Signal(str, float)
    load_delete_asked = Signal(object)
    load_edit_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.moves = Moves(self)
        self._keys = ChartKeys(self)
        self._pan_from: float | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Station chart")
        self.moves.grabbed.connect(self._grabbed)
        self.moves.dragged.connect(self._dragged)
        self.moves.dropped.connect(self._dropped)
        self.moves.aborted.connect(self._aborted)
        # One thing is chosen at a time, so that keys know what they move.
        self.loads.chosen.connect(self._load_chosen)

    def show_stations(self, stations: Stations | None) -> None:
        """Show the figures of a part; a move on another axis is given up."""
        before = self.stations
        if before is None or stations is None or before.axis != stations.axis:
            self.moves.abort()
        super().show_stations(stations)

    def show_cuts(self, cuts: Sequence[CutMark]) -> None:
        """Show markers for cuts; a move of one that is no more is forgotten."""
        super().show_cuts(cuts)
        moved = self.moves.cut
        if moved is not None and all(cut.index != moved.index for cut in cuts):
            self.moves.forget()
            self.is_moving = False

    def choose(self, index: int | None) -> None:
        """Choose a marker as the user does, and tell it; -1 is told for none."""
        if index == self.selected:
            return
        self.moves.drop()
        if index is not None:
            self.loads.choose(None)
        self.show_chosen(index)
        self.cut_chosen.emit(-1 if index is None else index)

    def show_chosen(self, index: int | None) -> None:
        """Show which marker is chosen, and move the view to it if need be."""
        self.selected = index
        cut = self.chosen
        if cut is not None and not cut.is_along:
            self.rescale(self.scale.showing(cut.station))
        self.tell()

    # -- the mouse ------------------------------------------------------------------------
    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Choose and take the marker under the pointer, or begin to pan."""
        place = event.position()
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan_from = place.x()
        elif event.button() == Qt.MouseButton.LeftButton and self.stations is not None:
            load = self.loads.at(place)
            if load is not None:
                self.loads.choose(load.index)
                if load.is_movable:
                    self.loads.moves.press(load, place.x())
                return
            mark = self._mark_at(place)
            if mark is not None:
                self.choose(mark.cut.index)
                if mark.cut.is_movable and mark.line is not None:
                    self.moves.press(mark.cut, place.x())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Drag, pan, or read the value under the pointer."""
        place = event.position()
        if self._pan_from is not None:
            self.rescale(self.scale.panned(place.x() - self._pan_from))
            self._pan_from = place.x()
        elif self.moves.cut is not None and event.buttons() & Qt.MouseButton.LeftButton:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.moves.pull(place.x(), self.scale, fine)
        elif self.loads.moves.cut is not None and event.buttons() & Qt.MouseButton.LeftButton:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.loads.moves.pull(place.x(), self.scale, fine)
        else:
            self._point_at(place)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Let go."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan_from = None
        elif event.button() == Qt.MouseButton.LeftButton and not self.moves.is_by_keys:
            self.moves.drop()
            if not self.loads.moves.is_by_keys:
                self.loads.moves.drop()
            self._point_at(event.position())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Ask for a cut at an empty place of the plot; show all again on the ruler."""
        place, frame = event.position(), self.frame
        if event.button() != Qt.MouseButton.LeftButton or self.stations is None:
            return
        load = self.loads.at(place)
        if load is not None:
            self.loads.choose(load.index)
            self.load_edit_asked.emit(load)
        elif self._mark_at(place) is not None:
            self.mousePressEvent(event)
        elif frame.ruler.contains(place):
            self.show_whole()
        elif frame.plot.united(frame.lane).contains(place):
            self.cut_asked.emit(self.scale.clamped(self.scale.station(place.x())))

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom about the pointer; pan sideways."""
        if self.stations is None:
            event.ignore()
            return
        turn = event.angleDelta()
        if abs(turn.x()) > abs(turn.y()):
            self.rescale(self.scale.panned(turn.x() / 2))
        else:
            factor = _NOTCH ** (turn.y() / 120.0)
            self.rescale(self.scale.zoomed(factor, event.position().x()))
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Nothing is pointed at any more."""
        self.hot = self.loads.hot = None
        if not self.is_moving:
            self.crosshair = None
        self.tell()

    def _mark_at(self, place: QPointF) -> Mark | None:
        return mark_at(self.marks, place, self.frame.ruler.bottom())

    def _point_at(self, place: QPointF) -> None:
        if self.stations is None:
            return
        load = self.loads.at(place)
        mark = self._mark_at(place) if load is None else None
        self.hot = None if mark is None else mark.cut.index
        self.loads.hot = None if load is None else load.index
        can_move = mark is not None and mark.cut.is_movable and mark.line is not None
        can_move = can_move or (load is not None and load.is_movable)
        self.setCursor(Qt.CursorShape.SizeHorCursor if can_move else Qt.CursorShape.ArrowCursor)
        station, low, high = self.scale.station(place.x()), *self.stations.ends
        self.crosshair = station if low <= station <= high else None
        self.tell()

    def _load_chosen(self, index: int) -> None:
        if index >= 0:
            self.choose(None)

    # -- moves ----------------------------------------------------------------------------
    def _grabbed(self, index: int) -> None:
        self.is_moving = True
        self.cut_grabbed.emit(index)

    def _dragged(self, index: int, station: float, per_pixel: float, fine: bool) -> None:
        # Shown at once; whoever owns the cuts then says where it really is.
        self.put(index, station)
        self.cut_dragged.emit(index, station, per_pixel, fine)

    def _dropped(self, index: int) -> None:
        self.is_moving = False
        self.tell()
        self.cut_dropped.emit(index)

    def _aborted(self, cut: CutMark) -> None:
        self.is_moving = False
        self.put(cut.index, cut.station)
        self.cut_aborted.emit(cut.index)

    # -- the keys -------------------------------------------------------------------------
    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Do what a key is for."""
        if self._keys.is_used(event):
            self._keys.press(event)
        else:
            event.ignore()

    def focusNextPrevChild(self, is_next: bool) -> bool:  # noqa: N802
        """Go to the next marker, and after the last one out of the chart."""
        return self._keys.choose_next(1 if is_next else -1) or super().focusNextPrevChild(is_next)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Show that keys come here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Let go of what keys move."""
        super().focusOutEvent(event)
        for moves in (self.moves, self.loads.moves):
            if moves.is_by_keys:
                moves.drop()
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer what can be done at a place; by keys, at what is chosen or read."""
        if self.stations is None:
            event.ignore()
            return
        is_by_keys = event.reason() == QContextMenuEvent.Reason.Keyboard
        load = self.loads.mark if is_by_keys else self.loads.at(QPointF(event.pos()))
        station, where = self.scale.station(event.pos().x()), event.globalPos()
        if is_by_keys:
            station = self.read_at if self.read_at is not None else self.scale.station(
                (self.scale.left + self.scale.right) / 2
            )  # fmt: skip
            middle = QPointF(self.scale.pixel(station), self.frame.plot.center().y())
            where = self.mapToGlobal(middle.toPoint())
        if load is not None:
            self.loads.choose(load.index)
        chart_menu(self, self.scale.clamped(station), load).popup(where)
        event.accept()

    # -- tooltips, and keys that are wanted elsewhere -----------------------------------------
    def event(self, event: QEvent) -> bool:
        """Show what is under the pointer; keep keys that are used here from shortcuts."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            text = self.tip_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), text, self)
            return True
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and self._keys.is_used(event)
        ):
            event.accept()
            return True
        return super().event(event)

    def _holds_drawn(self) -> list[tuple[SeamHold, QRectF]]:
        """Return where it is written what seams hold, if it is."""
        if not isinstance(self.curve, LoadCurve):
            return []
        return hold_boxes(self.holds, self.scale, self.frame, QFontMetricsF(self._font))

    def tip_at(self, place: QPointF) -> str:
        """Return what is to be told of a place: a marker, a piece, or the curve's definition."""
        if self.stations is None:
            return ""
        mark, frame, load = self._mark_at(place), self.frame, self.loads.at(place)
        if load is not None:
            return _load_told(load, self)
        for hold, box in self._holds_drawn():
            if box.contains(place):
                return hold.meaning
        if mark is not None:
            return _told(mark.cut, self)
        boxes = span_boxes(self.spans, self.scale, frame.strip)
        for span, box in zip(self.spans, boxes, strict=True):
            if box.contains(place):
                fit = "fit not known yet" if span.fit is None else str(span.fit)
                return f"Piece {span.label}: {fit}. {span.text}".strip()
        if place.x() < frame.plot.left():
            return f"{self.curve.label}. {self.curve.meaning}"
        return ""


def _load_told(load: LoadMark, canvas: ChartCanvas) -> str:
    words = [load.name, load.label] if load.label else [load.name]
    if load.kind == "weight":
        return ": ".join(words)
    if load.kind == "spread" and load.reach is not None:
        ends = " to ".join(canvas.station_text(at) for at in load.reach)
        return f"{': '.join(words)} from {ends}"
    return f"{': '.join(words)} at {canvas.station_text(load.station)}"


def _told(cut: CutMark, canvas: ChartCanvas) -> str:
    if cut.is_along:
        return f"{cut.name} runs along the axis and so has no station on it."
    lean = math.degrees(math.asin(min(cut.slope, 1.0)))
    words = f"{cut.name} at {canvas.station_text(cut.station)}"
    words += f", leaning by {canvas.quantities.angle(lean)}" if lean >= 0.05 else ""
    return words if cut.is_movable else f"{words}. It cannot be moved here."
