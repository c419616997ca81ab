"""Supports and loads in the station chart under the user's hands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPointF, Signal

from splitplanner.window.chart.load_marks import LoadMark
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
        self.moves.aborted.connect(lambda _: self._put_back())

    @property
    def mark(self) -> LoadMark | None:
        """The chosen marker."""
        return next((mark for mark in self.marks if mark.index == self.selected), None)

    @property
    def is_moving(self) -> bool:
        """Whether one is being moved."""
        return self.moves.is_begun

    def show(self, marks: Sequence[LoadMark]) -> None:
        """Show markers; a move of what is another now is given up."""
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
        self.marks = tuple(_moved(mark, index, self._kept, station) for mark in self._kept)
        self._canvas.tell()

    def _drop(self, index: int) -> None:
        before = next((mark for mark in self._kept if mark.index == index), None)
        after = next((mark for mark in self.marks if mark.index == index), None)
        if before is not None and after is not None and before.station != after.station:
            self.moved.emit(before, after.station)
        self._canvas.tell()

    def _put_back(self) -> None:
        self.marks = self._kept
        self._canvas.tell()

    def _snapped(self, station: float, near: float) -> float:
        """Return a sensible place beside one; else in tenths of a mm from the end of the part."""
        canvas = self._canvas
        stations = canvas.stations
        if stations is None:
            return station
        low, high = stations.ends
        places = [low, high, (low + high) / 2, *(place for place, _ in canvas.snaps)]
        places += [hold.station for hold in canvas.holds]
        best = min(places, key=lambda place: abs(place - station))
        return best if abs(best - station) <= near else low + round(station - low, 1)


def _moved(
    mark: LoadMark, index: int, marks: Sequence[LoadMark], station: float
) -> LoadMark:  # fmt: skip
    """Return a marker as shown while another, or itself, is moved to a station."""
    moved = next(each for each in marks if each.index == index)
    if mark.reach is None or moved.reach is None or mark.number != moved.number:
        return replace(mark, station=station) if mark.index == index else mark
    way = station - moved.station
    start = mark.reach[0] + (0.0 if moved.kind == "end" else way)
    end = mark.reach[1] + (0.0 if moved.kind == "start" else way)
    places = {"start": start, "end": end}
    return replace(mark, station=places.get(mark.kind, (start + end) / 2), reach=(start, end))
