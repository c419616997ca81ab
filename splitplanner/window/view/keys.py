"""What the keys do in the view."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from splitplanner.viewport.handles import Part
from splitplanner.window.view.drag import stepped

if TYPE_CHECKING:
    from splitplanner.window.view.part_view import PartView

KEYS = (
    ("Arrow keys", "turn the view"),
    ("Shift + arrow keys", "move the view"),
    ("+ and −", "larger and smaller"),
    ("0 or Home", "see everything"),
    ("1 to 7", "look from the front, back, left, right, above, below, or at a slant"),
    ("P", "with perspective or without"),
    ("Tab, ] and [", "choose the next or the last cut plane"),
    ("Alt + up and down", "shift the chosen plane by 1 mm; with Shift 0.1, with Ctrl 10"),
    ("Alt + left and right", "tilt it about its first axis by 1°; with Shift 0.1°, with Ctrl 10°"),
    ("Alt + Page Up and Down", "tilt it about its second axis"),
    ("Delete", "remove the chosen support or load"),
    ("Esc", "put back a plane or load in hand, or choose no face"),
)
"""The keys and what they do, for a list of shortcuts."""

_TURN, _PAN, _ZOOM = 5.0, 40.0, 1.2
_WAYS: dict[int, tuple[int, int]] = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, 1),
    Qt.Key.Key_Down: (0, -1),
}
_SIDES: dict[int, tuple[float, float, float]] = {
    Qt.Key.Key_1: (0.0, -1.0, 0.0),
    Qt.Key.Key_2: (0.0, 1.0, 0.0),
    Qt.Key.Key_3: (-1.0, 0.0, 0.0),
    Qt.Key.Key_4: (1.0, 0.0, 0.0),
    Qt.Key.Key_5: (0.0, 0.0, 1.0),
    Qt.Key.Key_6: (0.0, 0.0, -1.0),
    Qt.Key.Key_7: (-0.5, -1.0, 0.6),
}
_STEPS: dict[int, tuple[Part, float]] = {
    Qt.Key.Key_Up: ("arrow", 1.0),
    Qt.Key.Key_Down: ("arrow", -1.0),
    Qt.Key.Key_Right: ("first ring", 1.0),
    Qt.Key.Key_Left: ("first ring", -1.0),
    Qt.Key.Key_PageUp: ("second ring", 1.0),
    Qt.Key.Key_PageDown: ("second ring", -1.0),
}


class Keys:
    """The keyboard of the view."""

    def __init__(self, view: PartView) -> None:
        self._view = view
        self._held = -1

    def press(self, event: QKeyEvent) -> bool:
        """Do what a key is for; return whether it is for anything."""
        key, modifiers = event.key(), event.modifiers()
        if modifiers & Qt.KeyboardModifier.AltModifier:
            return key in _STEPS and self._step(event)
        return self._look(key, bool(modifiers & Qt.KeyboardModifier.ShiftModifier)) or self._other(
            key
        )

    def release(self, event: QKeyEvent) -> bool:
        """Put down the plane that a key has moved."""
        if self._held < 0 or event.isAutoRepeat() or event.key() not in _STEPS:
            return False
        index, self._held = self._held, -1
        self._view.plane_dropped.emit(index)
        return True

    def choose(self, step: int, goes_round: bool) -> bool:
        """Choose the next plane or the one before; return whether there is one."""
        planes = self._view.planes
        at = [index for index, plane in enumerate(planes) if plane.is_selected]
        wanted = (at[0] if at else (-1 if step > 0 else len(planes))) + step
        if planes and goes_round:
            wanted %= len(planes)
        if not 0 <= wanted < len(planes):
            return False
        self._view.plane_chosen.emit(planes[wanted].index)
        return True

    def let_go(self) -> None:
        """Put down what is held, as the key will be released elsewhere."""
        if self._held >= 0:
            index, self._held = self._held, -1
            self._view.plane_dropped.emit(index)

    def _look(self, key: int, has_shift: bool) -> bool:
        view, table = self._view, self._view.turntable
        middle = (view.width() / 2, view.height() / 2)
        if key in _WAYS:
            right, up = _WAYS[key]
            if has_shift:
                # What is seen goes the other way than the eye.
                view.turn_to(table.panned(-_PAN * right, _PAN * up, view.height()))
            else:
                view.turn_to(table.orbited(_TURN * right, _TURN * up))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            view.turn_to(table.zoomed(_ZOOM, *middle, view.picture_size))
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            view.turn_to(table.zoomed(1 / _ZOOM, *middle, view.picture_size))
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            view.fit_all()
        elif key in _SIDES:
            view.look_from(_SIDES[key])
        elif key == Qt.Key.Key_P:
            view.set_parallel(not table.is_parallel)
        else:
            return False
        return True

    def _other(self, key: int) -> bool:
        if key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
            return self.choose(1 if key == Qt.Key.Key_BracketRight else -1, goes_round=True)
        shape = self._view.loads.shape
        if key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and shape is not None:
            self._view.loads.delete_asked.emit(shape.mark)
            return True
        if key == Qt.Key.Key_Escape:
            if self._view.abort_drag():
                return True
            if self._view.mode != "look":
                self._view.set_mode("look")
                return True
        return False

    def _step(self, event: QKeyEvent) -> bool:
        chosen = [plane for plane in self._view.planes if plane.is_selected]
        if not chosen or self._view.is_dragging:
            return False
        plane, (part, amount) = chosen[0], _STEPS[event.key()]
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            amount *= 0.1
        elif event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            amount *= 10.0
        # As long as the key is down it is one act.
        if self._held != plane.index:
            self.let_go()
            self._held = plane.index
            self._view.plane_grabbed.emit(plane.index)
        moved = stepped(plane.plane, plane.centre, part, amount)
        # Meant as it is: a step that clicks back into where it came from would go nowhere.
        self._view.plane_dragged.emit(plane.index, moved, abs(amount), True)
        return True
