"""Supports and loads in the station chart under the user's hands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPointF, Signal

from splitplanner.window.chart.load_marks import LoadMark, marks_while_moved, snapped
from splitplanner.window.chart.load_painting import mark_at
from splitplanner.window.chart.moves import Moves

if TYPE_CHECKING:
    from splitplanner.window.chart.picture import ChartPicture

SNAP = 7.0
"""A marker clicks into a sensible place from so many pixels away, as cuts do."""


class LoadHand(QObject):
    """Moves markers of a load case; while one moves only the marker does.

    Attributes
    ----------
    marks : tuple of LoadMark
        As shown, with the one that is moved where it is now.
    selected, hot : int or None
        The chosen marker, and that under the pointer.
    moves : Moves
    """

    moved = Signal(object, float)
    """A marker as it was, and the offset at which it was let go."""
    dragged = Signal(object, float)
    """A marker as it was, and where it is in hand."""
    aborted = Signal()
    chosen = Signal(int)
    """-1 for none."""

    def __init__(self, canvas: ChartPicture) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self.marks: tuple[LoadMark, ...] = ()
        self._kept: tuple[LoadMark, ...] = ()
        self.selected: int | None = None
        self.hot: int | None = None
        self.moves = Moves(self)
        self.moves.dragged.connect(self._drag)
        self.moves.dropped.connect(self._drop)
        self.moves.aborted.connect(self._abort)

    @property
    def mark(self) -> LoadMark | None:
        """The chosen marker."""
        return next((mark for mark in self.marks if mark.index == self.selected), None)

    @property
    def is_moving(self) -> bool:
        """Whether one is being moved."""
        return self.moves.is_begun

    def show(self, marks: Sequence[LoadMark]) -> None:
        """Show markers; a move goes on if they are the same as before, and is given up if not."""
        if tuple(marks) == self._kept:
            if not self.is_moving:
                self.put_back()
            return
        self.moves.forget()
        self.marks = self._kept = tuple(marks)
        if self.mark is None:
            self.selected = None
        self.hot = None
        self._canvas.tell()

    def at(self, place: QPointF) -> LoadMark | None:
        """Return the marker under a place."""
        canvas = self._canvas
        return mark_at(self.marks, place, canvas.scale, canvas.frame)

    def choose(self, index: int | None) -> None:
        """Choose a marker as the user does, and tell it."""
        if index != self.selected:
            self.moves.drop()
            self.show_chosen(index)
            self.chosen.emit(-1 if index is None else index)

    def show_chosen(self, index: int | None) -> None:
        """Show which marker is chosen."""
        self.selected = index
        mark = self.mark
        if mark is not None:
            self._canvas.rescale(self._canvas.scale.showing(mark.station))
        self._canvas.tell()

    def _drag(self, index: int, station: float, per_pixel: float, is_fine: bool) -> None:
        if not is_fine:
            station = self._snapped(station, SNAP * per_pixel)
        self.preview(index, station)
        moved = next((mark for mark in self._kept if mark.index == index), None)
        if moved is not None:
            self.dragged.emit(moved, station)

    def preview(self, index: int, station: float) -> None:
        """Show a marker at another offset until it is let go, here or in the view."""
        self.marks = marks_while_moved(self._kept, index, station)
        self._canvas.tell()

    def put_back(self) -> None:
        """Show all markers where they were."""
        self.marks = self._kept
        self._canvas.tell()

    def _drop(self, index: int) -> None:
        before = next((mark for mark in self._kept if mark.index == index), None)
        after = next((mark for mark in self.marks if mark.index == index), None)
        if before is None or after is None:
            return
        if before.station == after.station:
            self._abort()
        else:
            self.moved.emit(before, after.station)

    def _abort(self, *_: object) -> None:
        self.put_back()
        self.aborted.emit()

    def _snapped(self, station: float, near: float) -> float:
        """Return a sensible place beside one."""
        if self._canvas.stations is None:
            return station
        return snapped(station, near, self._canvas.stations.ends, self.places)

    @property
    def places(self) -> tuple[float, ...]:
        """Where a marker clicks in, beside the ends and the middle: cuts' places and seams."""
        canvas = self._canvas
        return (*(place for place, _ in canvas.snaps), *(hold.station for hold in canvas.holds))
