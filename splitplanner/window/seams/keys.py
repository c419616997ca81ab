"""What the keys do in the plan of a seam."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent

if TYPE_CHECKING:
    from splitplanner.window.seams.canvas import SeamCanvas

KEYS = (
    ("Tab, ] and [", "choose the next or the last pin or screw"),
    ("Arrow keys", "move the chosen one by 0.5 mm; with Shift 0.1, with Ctrl 5"),
    ("Insert", "add a pin where there is most room; with Shift a screw"),
    ("Double-click", "add a pin there; with Ctrl a screw"),
    ("T", "turn the chosen screw round"),
    ("Delete", "delete the chosen pin or screw"),
    ("+ and −", "larger and smaller"),
    ("F", "see pins and screws near by"),
    ("0 or Home", "see the whole seam"),
    ("Esc", "put back what is in hand"),
    ("Shift, held while dragging", "leave the room"),
)
"""The keys and what they do, for a list of shortcuts."""

_STEP, _FINE, _COARSE = 0.5, 0.1, 5.0
"""mm."""
_ZOOM = 1.25
_WAYS: dict[int, tuple[int, int]] = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, 1),
    Qt.Key.Key_Down: (0, -1),
}


class SeamKeys:
    """The keyboard of the plan of a seam."""

    def __init__(self, canvas: SeamCanvas) -> None:
        self._canvas = canvas

    def press(self, event: QKeyEvent) -> bool:
        """Do what a key is for; return whether it is for anything."""
        canvas, key = self._canvas, event.key()
        if canvas.ground is None:
            return False
        if key in _WAYS:
            return self._step(event)
        if key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
            return self.choose(1 if key == Qt.Key.Key_BracketRight else -1, goes_round=True)
        if key == Qt.Key.Key_Escape:
            return canvas.put_back()
        if key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            if canvas.chosen is None:
                return False
            canvas.put_back()
            canvas.deleted.emit(canvas.chosen)
            return True
        if key == Qt.Key.Key_Insert:
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                canvas.screw_asked.emit()
            else:
                canvas.add_somewhere()
            return True
        if key == Qt.Key.Key_T and canvas.chosen is not None:
            canvas.put_back()
            canvas.turned.emit(canvas.chosen)
            return True
        return self._look(key)

    def _look(self, key: int) -> bool:
        canvas = self._canvas
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            larger = key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal)
            canvas.look(canvas.scale.zoomed(_ZOOM if larger else 1 / _ZOOM, self._eye()))
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            canvas.fit_all()
        elif key == Qt.Key.Key_F:
            canvas.fit_fasteners()
        else:
            return False
        return True

    def _eye(self) -> QPointF:
        """Return what stays in place: what is chosen, or the middle of the drawing."""
        canvas = self._canvas
        if canvas.chosen is None:
            return QPointF(canvas.width() / 2, canvas.height() / 2)
        chosen = canvas.fasteners[canvas.chosen]
        return canvas.scale.to_screen(chosen.u, chosen.v)

    def release(self, event: QKeyEvent) -> bool:
        """Put down what a key has moved: as long as the key is down it is one act."""
        if event.isAutoRepeat() or event.key() not in _WAYS or self._canvas.is_dragging:
            return False
        self._canvas.put_down()
        return True

    def choose(self, step: int, goes_round: bool) -> bool:
        """Choose the next one or the one before; return whether there is one."""
        canvas = self._canvas
        count = len(canvas.fasteners)
        at = canvas.chosen if canvas.chosen is not None else (-1 if step > 0 else count)
        wanted = at + step
        if count and goes_round:
            wanted %= count
        if not 0 <= wanted < count or canvas.is_dragging:
            return False
        canvas.put_down()
        canvas.take(wanted)
        return True

    def _step(self, event: QKeyEvent) -> bool:
        canvas = self._canvas
        if canvas.chosen is None or canvas.is_dragging:
            return False
        step = _STEP
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            step = _FINE
        elif event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            step = _COARSE
        right, up = _WAYS[event.key()]
        canvas.hold(canvas.chosen)
        chosen = canvas.fasteners[canvas.chosen]
        canvas.move_held(chosen.u + right * step, chosen.v + up * step)
        return True
