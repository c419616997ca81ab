"""What the mouse does in the view."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent

from splitplanner.viewport.handles import NEAR, PARTS, Part, gap_to_line
from splitplanner.window.view.drag import PlaneDrag, handle_of
from splitplanner.window.view.values import ShownPlane

if TYPE_CHECKING:
    from splitplanner.window.view.part_view import PartView

_DEGREES = 0.4
"""The view turns by so much for a pixel."""
_CLICK = 4.0
"""Who moves the pointer less far between press and release has clicked, pixels."""
_NOTCH = 1.15
"""A notch of the wheel makes everything so many times as large."""

_Act = Literal["", "turn", "pan", "plane", "load", "stroke"]


class Hand:
    """The pointer over the view, and what it holds.

    Attributes
    ----------
    drag : PlaneDrag or None
        The plane in hand.
    hot : (int, Part) or None
        Plane and part of its handle under the pointer.
    """

    def __init__(self, view: PartView) -> None:
        self._view = view
        self._act: _Act = ""
        self._last = self._first = QPointF()
        self._is_click = False
        self.drag: PlaneDrag | None = None
        self.hot: tuple[int, Part] | None = None

    @property
    def is_busy(self) -> bool:
        """Whether it holds something."""
        return bool(self._act)

    def press(self, event: QMouseEvent) -> None:
        """Take hold of what is under the pointer."""
        if self._act:
            return
        place, button = event.position(), event.button()
        self._last = self._first = place
        self._is_click = button == Qt.MouseButton.LeftButton
        has_shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if button == Qt.MouseButton.MiddleButton:
            self._act = "pan"
        elif button == Qt.MouseButton.LeftButton:
            if self._view.mode == "look" and self._grab(place):
                self._act = "plane"
            elif self._view.mode == "look" and self._view.loads.grab(place):
                self._act = "load"
            elif self._view.mode == "paint" and not has_shift and self._begin_stroke(place):
                self._act = "stroke"
            else:
                self._act = "pan" if has_shift else "turn"
        else:
            event.ignore()

    def move(self, event: QMouseEvent) -> None:
        """Take along what is held."""
        place, view = event.position(), self._view
        if not self._act:
            self.point(place)
            return
        step, self._last = place - self._last, place
        way = place - self._first
        self._is_click &= float(np.hypot(way.x(), way.y())) < _CLICK
        if self._act == "plane" and self.drag is not None:
            is_fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            plane = self.drag.move(place.x(), place.y(), is_fine)
            view.plane_dragged.emit(self.drag.index, plane, self.drag.mm_per_pixel, is_fine)
            view.update()
        elif self._act == "load":
            is_fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            view.loads.pull(place, is_fine)
        elif self._act == "stroke":
            hit = view.hit_at(place.x(), place.y())
            if hit is not None:
                view.stroke_moved.emit(hit[1].point, hit[1].normal)
        elif self._is_click:
            # Not yet: a click may tremble.
            self._last = self._first
        elif self._act == "turn":
            view.turn_to(view.turntable.orbited(-_DEGREES * step.x(), _DEGREES * step.y()))
        else:
            view.turn_to(view.turntable.panned(step.x(), step.y(), view.height()))

    def release(self, event: QMouseEvent) -> None:
        """Let go."""
        held, self._act = self._act, ""
        view, drag = self._view, self.drag
        if held == "plane" and drag is not None:
            self.drag = None
            view.plane_dropped.emit(drag.index)
        elif held == "load":
            view.loads.drop()
        elif held == "stroke":
            view.stroke_ended.emit()
        elif held and self._is_click:
            self._click(event.position())
        view.rest_soon()
        self.point(event.position())

    def double(self, event: QMouseEvent) -> None:
        """Bring what is under the pointer to the middle."""
        hit = self._view.hit_at(event.position().x(), event.position().y())
        if hit is not None and event.button() == Qt.MouseButton.LeftButton:
            self._view.turn_to(self._view.turntable.centred(hit[1].point))
        else:
            self.press(event)

    def wheel(self, event: QWheelEvent) -> None:
        """Come nearer to what is under the pointer, or go away from it."""
        if self._act or not event.angleDelta().y():
            return
        view, place = self._view, event.position()
        factor = _NOTCH ** (event.angleDelta().y() / 120.0)
        view.turn_to(view.turntable.zoomed(factor, place.x(), place.y(), view.picture_size))
        self.point(place)

    def abort(self) -> bool:
        """Put back a plane or load in hand; return whether there was one."""
        if self._act == "load":
            self._act = ""
            return self._view.loads.abort()
        if self.drag is None:
            return False
        drag, self.drag, self._act = self.drag, None, ""
        self._view.plane_aborted.emit(drag.index)
        self._view.update()
        return True

    def drop_lost(self, indices: set[int]) -> None:
        """Let go of a plane that is there no more."""
        if self.drag is not None and self.drag.index not in indices:
            self.drag, self._act = None, ""
        if self.hot is not None and self.hot[0] not in indices:
            self.hot = None

    def point(self, place: QPointF) -> None:
        """Say what is under the pointer."""
        view, hot, is_load = self._view, None, False
        if view.mode == "look":
            found = self._part_at(place)
            hot = None if found is None else (found[0].index, found[1])
            is_load = found is None and view.loads.point(place)
        if hot != self.hot:
            self.hot = hot
            view.update()
        view.show_cursor(hot is not None or is_load)
        view.hover_soon(place)

    def _part_at(self, place: QPointF) -> tuple[ShownPlane, Part] | None:
        """Return the plane, and the part of its handle, at a place; the chosen plane first."""
        camera = self._view.camera
        for plane in sorted(self._view.planes, key=lambda each: not each.is_selected):
            handle = handle_of(plane.plane, plane.centre, camera)
            parts = PARTS if plane.is_selected else PARTS[:1]
            part = handle.part_at(camera, place.x(), place.y(), parts)
            if part is not None:
                return plane, part
        return None

    def _grab(self, place: QPointF) -> bool:
        found = self._part_at(place)
        if found is None:
            return False
        (plane, part), camera = found, self._view.camera
        handle = handle_of(plane.plane, plane.centre, camera)
        self.drag = PlaneDrag(plane.index, handle, part, camera, place.x(), place.y())
        if not plane.is_selected:
            self._view.plane_chosen.emit(plane.index)
        self._view.plane_grabbed.emit(plane.index)
        return True

    def _begin_stroke(self, place: QPointF) -> bool:
        hit = self._view.hit_at(place.x(), place.y())
        if hit is None:
            return False
        self._view.stroke_begun.emit(hit[1].point, hit[1].normal)
        return True

    def _click(self, place: QPointF) -> None:
        view = self._view
        hit = view.hit_at(place.x(), place.y())
        if view.mode == "pick":
            if hit is not None:
                view.set_mode("look")
                view.face_picked.emit(hit[0], hit[1].point, hit[1].normal)
            return
        if view.mode == "place":
            if hit is not None:
                view.set_mode("look")
                view.pick_point(*hit)
            return
        plane = self._sheet_at(place, np.inf if hit is None else hit[1].distance)
        if plane is not None:
            view.plane_chosen.emit(plane.index)
        elif hit is not None:
            view.body_clicked.emit(hit[0], hit[1].point, hit[1].normal)

    def _sheet_at(self, place: QPointF, before: float) -> ShownPlane | None:
        """Return the plane whose rim is near a place, or whose sheet is the first thing there."""
        camera, x, y = self._view.camera, place.x(), place.y()
        ray, best = camera.ray(x, y), None
        for plane in self._view.planes:
            rim = np.vstack([plane.corners, plane.corners[:1]])
            if gap_to_line(camera.pixels(rim), x, y) < NEAR / 2:
                return plane
            normal = np.array(plane.plane.normal)
            slope = float(normal @ ray.direction)
            if abs(slope) < 1e-9:
                continue
            far = (plane.plane.offset - float(normal @ ray.start)) / slope
            if 0.0 < far < before and _is_within(plane, ray.start + far * ray.direction):
                best, before = plane, far
        return best


def _is_within(plane: ShownPlane, point: np.ndarray[tuple[int], np.dtype[np.float64]]) -> bool:
    """Return whether a point of a plane lies on its sheet, which is convex."""
    around = plane.plane.to_plane(plane.corners) - plane.plane.to_plane([point])
    following = np.roll(around, -1, axis=0)
    turns = around[:, 0] * following[:, 1] - around[:, 1] * following[:, 0]
    return bool((turns >= 0).all() or (turns <= 0).all())
