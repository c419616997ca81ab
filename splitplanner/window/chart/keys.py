"""The keys of the station chart: everything that the mouse does in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence

from splitplanner.window.quantities import MM_PER_INCH

if TYPE_CHECKING:
    from splitplanner.window.chart.canvas import ChartCanvas

_Key = Qt.Key
_STEPS = {"mm": 1.0, "inch": 0.05 * MM_PER_INCH}
"""A step of the left and right keys, mm; a tenth with Shift, ten times with Ctrl."""
_ZOOM = 1.5
_USED = {
    _Key.Key_Left,
    _Key.Key_Right,
    _Key.Key_Home,
    _Key.Key_End,
    _Key.Key_BracketLeft,
    _Key.Key_BracketRight,
    _Key.Key_Insert,
    _Key.Key_Delete,
    _Key.Key_Backspace,
    _Key.Key_Plus,
    _Key.Key_Equal,
    _Key.Key_Minus,
    _Key.Key_0,
    _Key.Key_PageUp,
    _Key.Key_PageDown,
}
KEYS_TOLD = (
    "[ and ] choose a cut, support or load; Left and Right move it by 1 mm, with Shift by 0.1 mm, "
    "with Ctrl by 10 mm; Home and End move it to the ends of the part; Delete removes it; Escape "
    "gives up a move, and then the choice. The menu key offers what can be added. With nothing "
    "chosen, the same keys move the hairline, and Insert adds a cut there. "
    "Plus, minus and 0 zoom, Page Up and Page Down pan. Ctrl+C copies the figures."
)


class ChartKeys:
    """What keys do in a chart."""

    def __init__(self, canvas: ChartCanvas) -> None:
        self._canvas = canvas

    def is_used(self, event: QKeyEvent) -> bool:
        """Return whether a key does something here now."""
        canvas, key, held = self._canvas, event.key(), event.modifiers()
        if canvas.stations is None or held & Qt.KeyboardModifier.AltModifier:
            return False
        if key == _Key.Key_Escape:
            is_held = canvas.moves.cut is not None or canvas.loads.moves.cut is not None
            return is_held or canvas.selected is not None or canvas.loads.selected is not None
        if key in (_Key.Key_Delete, _Key.Key_Backspace):
            return canvas.chosen is not None or canvas.loads.mark is not None
        if event.matches(QKeySequence.StandardKey.Copy):
            return canvas.read_at is not None
        if held & Qt.KeyboardModifier.ControlModifier:
            return key in (_Key.Key_Left, _Key.Key_Right)
        return key in _USED

    def press(self, event: QKeyEvent) -> None:
        """Do what a key is for."""
        canvas, key = self._canvas, event.key()
        if event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(canvas.reading_text())
        elif key in (_Key.Key_Left, _Key.Key_Right, _Key.Key_Home, _Key.Key_End):
            self._go(event)
        elif key in (_Key.Key_BracketLeft, _Key.Key_BracketRight):
            self.choose_next(1 if key == _Key.Key_BracketRight else -1)
        elif key == _Key.Key_Escape:
            self._give_up()
        elif key == _Key.Key_Insert:
            canvas.moves.drop()
            canvas.cut_asked.emit(self._place())
        elif key in (_Key.Key_Delete, _Key.Key_Backspace):
            canvas.moves.drop()
            canvas.loads.moves.drop()
            if canvas.loads.mark is not None:
                canvas.load_delete_asked.emit(canvas.loads.mark)
            elif canvas.selected is not None:
                canvas.delete_asked.emit(canvas.selected)
        else:
            self._look(key)

    def choose_next(self, step: int) -> bool:
        """Choose the next cut along the axis, then those along it, then supports and loads.

        False after the last.
        """
        canvas = self._canvas
        if canvas.stations is None:
            return False
        cuts = sorted(canvas.cuts, key=lambda cut: (cut.is_along, cut.station, cut.index))
        loads = sorted(canvas.loads.marks, key=lambda mark: (mark.station, mark.index))
        order = [("cut", cut.index) for cut in cuts] + [("load", mark.index) for mark in loads]
        load = canvas.loads.selected
        chosen = ("cut", canvas.selected) if load is None else ("load", load)
        first = 0 if step > 0 else len(order) - 1
        at = order.index(chosen) + step if chosen in order else first
        if not 0 <= at < len(order):
            return False
        kind, index = order[at]
        (canvas.choose if kind == "cut" else canvas.loads.choose)(index)
        return True

    def _place(self) -> float:
        """Return where the hairline is; in the middle of the view if there is none."""
        canvas = self._canvas
        if canvas.crosshair is not None:
            return canvas.crosshair
        return canvas.scale.clamped((canvas.scale.start + canvas.scale.stop) / 2)

    def _go(self, event: QKeyEvent) -> None:
        """Move the chosen cut, or if there is none the hairline."""
        canvas, key, held = self._canvas, event.key(), event.modifiers()
        step = _STEPS[canvas.quantities.unit]
        if held & Qt.KeyboardModifier.ShiftModifier:
            step /= 10.0
        elif held & Qt.KeyboardModifier.ControlModifier:
            step *= 10.0
        scale = canvas.scale
        if key in (_Key.Key_Home, _Key.Key_End):
            step = scale.high - scale.low
        way = -step if key in (_Key.Key_Left, _Key.Key_Home) else step
        cut, load = canvas.chosen, canvas.loads.mark
        if load is not None:
            if load.is_movable:
                canvas.loads.moves.nudge(load, way, scale)
                canvas.rescale(scale.showing((canvas.loads.mark or load).station))
        elif cut is None:
            canvas.crosshair = scale.clamped(self._place() + way)
            canvas.rescale(scale.showing(canvas.crosshair))
        elif cut.is_movable and not cut.is_along:
            canvas.moves.nudge(cut, way, scale)
            moved = canvas.chosen
            if moved is not None:
                canvas.rescale(scale.showing(moved.station))

    def _give_up(self) -> None:
        """Give up the move, or if there is none the choice."""
        canvas = self._canvas
        if canvas.moves.cut is not None:
            canvas.moves.abort()
        elif canvas.loads.moves.cut is not None:
            canvas.loads.moves.abort()
        elif canvas.loads.selected is not None:
            canvas.loads.choose(None)
        else:
            canvas.choose(None)

    def _look(self, key: int) -> None:
        """Zoom or pan."""
        canvas, scale = self._canvas, self._canvas.scale
        at = canvas.read_at
        about = scale.pixel(at) if at is not None else (scale.left + scale.right) / 2
        page = 0.8 * (scale.right - scale.left)
        if key in (_Key.Key_Plus, _Key.Key_Equal):
            canvas.rescale(scale.zoomed(_ZOOM, about))
        elif key == _Key.Key_Minus:
            canvas.rescale(scale.zoomed(1.0 / _ZOOM, about))
        elif key == _Key.Key_0:
            canvas.show_whole()
        else:
            canvas.rescale(scale.panned(page if key == _Key.Key_PageUp else -page))
