"""What the mouse does in the plan of a seam."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QToolTip

if TYPE_CHECKING:
    from splitplanner.window.seams.canvas import SeamCanvas

_LEFT = Qt.MouseButton.LeftButton


class SeamMouse:
    """The pointer over the plan of a seam: pins and screws are dragged by it, or the plan is."""

    def __init__(self, canvas: SeamCanvas) -> None:
        self._canvas = canvas
        self._grab, self._pressed = (0.0, 0.0), QPointF()
        self._is_panning = False

    def press(self, event: QMouseEvent) -> None:
        """Take a pin or screw in hand, or the whole drawing."""
        canvas = self._canvas
        if canvas.ground is None or self._is_panning or canvas.is_holding:
            return
        self._pressed = event.position()
        found = canvas.fastener_at(self._pressed) if event.button() == _LEFT else None
        if found is not None:
            canvas.take(found)
            canvas.hold(found)
            u, v = canvas.scale.to_plane(self._pressed)
            self._grab = (canvas.fasteners[found].u - u, canvas.fasteners[found].v - v)
        elif event.button() in (_LEFT, Qt.MouseButton.MiddleButton):
            self._is_panning = True
        self._show_hand(self._pressed)

    def move(self, event: QMouseEvent) -> None:
        """Move what is in hand."""
        canvas, at = self._canvas, event.position()
        if self._is_panning:
            away = at - self._pressed
            self._pressed = at
            canvas.look(canvas.scale.panned(away.x(), away.y()))
        elif canvas.is_holding and event.buttons() & _LEFT:
            far = (at - self._pressed).manhattanLength() >= QApplication.startDragDistance() / 2
            canvas.is_dragging = canvas.is_dragging or far
            if canvas.is_dragging:
                u, v = canvas.scale.to_plane(at)
                is_free = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
                canvas.move_held(u + self._grab[0], v + self._grab[1], is_free)
        self._show_hand(at)
        self._show_tip(at)

    def release(self, event: QMouseEvent) -> None:
        """Put down what is in hand."""
        self._is_panning = False
        if event.button() == _LEFT:
            self._canvas.put_down()
        self._show_hand(event.position())

    def double_click(self, event: QMouseEvent) -> None:
        """Add a pin in the room, with Ctrl a screw; elsewhere see the whole seam."""
        canvas, at = self._canvas, event.position()
        if event.button() != _LEFT or canvas.ground is None:
            return
        if canvas.fastener_at(at) is not None:
            self.press(event)
            return
        is_screw = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if not canvas.add_at(*canvas.scale.to_plane(at), is_screw):
            canvas.fit_all()

    def _show_hand(self, at: QPointF) -> None:
        """Show by the pointer what can be taken."""
        canvas = self._canvas
        if self._is_panning or canvas.is_holding:
            canvas.setCursor(Qt.CursorShape.ClosedHandCursor)
        elif canvas.fastener_at(at) is not None:
            canvas.setCursor(Qt.CursorShape.OpenHandCursor)
        else:
            canvas.unsetCursor()

    def _show_tip(self, at: QPointF) -> None:
        """Have it said what lies under the pointer once that rests; nothing during a drag."""
        canvas = self._canvas
        tip = "" if self._is_panning else canvas.tip_at(at)
        if tip != canvas.toolTip():
            # One that is shown is of something else.
            QToolTip.hideText()
            canvas.setToolTip(tip)
