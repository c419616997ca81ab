"""A cut or load that is moved in the chart, by mouse or by keys: one grab, drags, one drop."""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import QObject, QTimer, Signal

from splitplanner.window.chart.scale import ChartScale

FINE = 0.1
"""With Shift a cut goes this share of the pointer's way."""
BURST = 700
"""Keys that follow each other within this time make one move, ms."""
_BEGINS = 3.0
"""A pointer that goes less far than this only chooses a cut, pixels."""


class Movable(Protocol):
    """What has a place on the axis: an index by which it is told, and its offset, mm."""

    @property
    def index(self) -> int:
        """By which it is told apart."""

    @property
    def station(self) -> float:
        """Offset along the axis, mm."""


class Moves(QObject):
    """What is being moved.

    The way is added up step by step, so that Shift may be pressed and let go in the middle of it.
    """

    grabbed = Signal(int)
    dragged = Signal(int, float, float, bool)
    dropped = Signal(int)
    aborted = Signal(object)
    """What was moved, as it was when it was grabbed."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.cut: Movable | None = None
        """As it was when it was grabbed; None when nothing is."""
        self.is_begun = False
        """Whether it has been moved, rather than only pressed on."""
        self._at, self._pixel = 0.0, 0.0
        self._burst = QTimer(self)
        self._burst.setSingleShot(True)
        self._burst.setInterval(BURST)
        self._burst.timeout.connect(self.drop)

    @property
    def is_by_keys(self) -> bool:
        """Whether keys move it."""
        return self._burst.isActive()

    def press(self, cut: Movable, pixel: float) -> None:
        """Take a cut with the pointer."""
        self.drop()
        self.cut, self._at, self._pixel = cut, cut.station, pixel

    def pull(self, pixel: float, scale: ChartScale, fine: bool) -> None:
        """Move the cut that was taken to where the pointer is."""
        if self.cut is None or self.is_by_keys:
            return
        if not self.is_begun and abs(pixel - self._pixel) < _BEGINS:
            return
        way = (pixel - self._pixel) * scale.mm_per_pixel
        self._pixel = pixel
        self._go(self._at + way * (FINE if fine else 1.0), scale, fine)

    def nudge(self, cut: Movable, way: float, scale: ChartScale) -> None:
        """Move a cut by keys, mm; keys pressed in a row make one move."""
        if self.cut is None or self.cut.index != cut.index or not self.is_by_keys:
            self.drop()
            self.cut, self._at = cut, cut.station
        self._burst.start()
        # From where it really is, so that a key too many at an end costs nothing.
        self._go(scale.clamped(self._at + way), scale, True)

    def drop(self) -> None:
        """Let go of what is being moved, if anything is."""
        cut = self.forget()
        if cut is not None:
            self.dropped.emit(cut.index)

    def abort(self) -> None:
        """Give up the move, if there is one."""
        cut = self.forget()
        if cut is not None:
            self.aborted.emit(cut)

    def forget(self) -> Movable | None:
        """End a move without a word, and return the cut as it was if it has been moved."""
        self._burst.stop()
        cut = self.cut if self.is_begun else None
        self.cut, self.is_begun = None, False
        return cut

    def _go(self, at: float, scale: ChartScale, fine: bool) -> None:
        cut = self.cut
        assert cut is not None
        if not self.is_begun:
            self.is_begun = True
            self.grabbed.emit(cut.index)
        self._at = at
        self.dragged.emit(cut.index, scale.clamped(at), scale.mm_per_pixel, fine)
