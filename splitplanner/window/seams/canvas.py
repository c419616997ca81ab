"""The drawing of one seam in its plane: zoomed, moved, and pins and screws dragged in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import FlatFastener
from splitplanner.window.seams.ground import SeamGround, near_by, told_no_room
from splitplanner.window.seams.keys import SeamKeys
from splitplanner.window.seams.mouse import SeamMouse
from splitplanner.window.seams.painting import paint
from splitplanner.window.seams.picture import LEAST_RADIUS, SeamPicture
from splitplanner.window.seams.scale import Bounds, SeamScale
from splitplanner.window.seams.tips import EMPTY, HELD, fastener_tip, tip_at

_CATCH = 4.0
"""A pin or screw is caught so many pixels outside of its mark."""
_PADDING, _FOOT = 16, 34
"""Round what is fitted, logical pixels; below it stand the scale and the axes."""
_WHEEL = 1.25
"""Zoom for each notch of the wheel."""


class SeamCanvas(QWidget):
    """Draws a seam with its pins and screws, and moves them by mouse and keys.

    What is done is shown at once and told by the signals; the next `show_ground` says what is so.

    Signals
    -------
    moved(int, float, float)
        Index of a pin or screw and where it was put, plane coordinates, mm; once for each drag.
    deleted(int)
    turned(int)
        The head of a screw is wanted in the other piece.
    pin_added(float, float)
        A pin is wanted at a place.
    screw_added(float, float)
    screw_asked()
        A screw is wanted wherever there is most room.
    taken(int)
        Another one is chosen.
    told_changed()
        There is something else to say; see `told`.
    """

    moved = Signal(int, float, float)
    deleted = Signal(int)
    turned = Signal(int)
    pin_added = Signal(float, float)
    screw_added = Signal(float, float)
    screw_asked = Signal()
    taken = Signal(int)
    told_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.ground: SeamGround | None = None
        self.fasteners: tuple[FlatFastener, ...] = ()
        self.chosen: int | None = None
        self.edge_distance = self.screw_distance = 0.0
        self.colour = "#B8BDC6"
        self.told = ""
        self._quantities = Quantities()
        self._scale = SeamScale(1.0, 1.0)
        self._fitted: Bounds | None = None
        self._held: tuple[int, FlatFastener] | None = None
        self._note = ""
        self.is_dragging = False
        self._keys, self._mouse = SeamKeys(self), SeamMouse(self)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Plan of the chosen seam")

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for a wide rectangle."""
        return QSize(400, 220)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Stay legible."""
        return QSize(160, 110)

    # -- what is shown ----------------------------------------------------------------------
    def show_ground(
        self,
        ground: SeamGround | None,
        fasteners: Sequence[FlatFastener],
        edge_distance: float,
        colour: str,
    ) -> None:
        """Show a seam; a drag goes on if its fasteners are those that it began with."""
        before = self.ground
        another = ground is None or before is None or ground.shape != before.shape
        # The rooms that are known already are kept.
        if before is None or ground is None or not ground.is_like(before):
            self.ground = ground
        self.edge_distance, self.colour = edge_distance, colour
        if another or tuple(fasteners) != self._resting():
            self._held, self.is_dragging = None, False
            self.fasteners = tuple(fasteners)
        if another:
            self._note = ""
        if self.chosen is not None and (another or self.chosen >= len(self.fasteners)):
            self.chosen = None
        if another:
            self.fit_all()
        self.say()

    def _resting(self) -> tuple[FlatFastener, ...]:
        """Return what there was before one was taken in hand."""
        if self._held is None:
            return self.fasteners
        index, before = self._held
        return (*self.fasteners[:index], before, *self.fasteners[index + 1 :])

    def choose(self, index: int | None) -> None:
        """Choose a pin or screw, or none, without signalling it."""
        inside = index is not None and 0 <= index < len(self.fasteners)
        before, self.chosen = self.chosen, index if inside else None
        if before != self.chosen:
            self._note = ""
        self.say()

    def take(self, index: int) -> None:
        """Choose a pin or screw as the user does."""
        if index != self.chosen:
            self.choose(index)
            self.taken.emit(index)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another way."""
        self._quantities = quantities
        self.say()

    def note(self, text: str) -> None:
        """Say something until the user goes on, or there is no more to say with an empty text."""
        self._note = text
        self.say()

    def say(self, text: str | None = None) -> None:
        """Say something, or how the chosen pin stands, and draw anew."""
        self.told = self._what_to_say() if text is None else text
        self.setAccessibleDescription(self.told)
        self.told_changed.emit()
        self.update()

    def _what_to_say(self) -> str:
        ground = self.ground
        if ground is None or self._note:
            return self._note
        if self.chosen is not None:
            return fastener_tip(ground, self.fasteners, self.chosen, self._quantities)
        if self.has_no_room:
            return told_no_room(ground, self.edge_distance, self._quantities)
        return HELD if self.fasteners else EMPTY

    @property
    def has_no_room(self) -> bool:
        """Whether no pin of the usual size fits anywhere on the seam."""
        return self.ground is not None and self.ground.room(self.edge_distance).is_empty

    @property
    def room_distance(self) -> float:
        """The edge distance for which the room is shown: of what is chosen, or of a new pin."""
        return (
            self.edge_distance if self.chosen is None else self.fasteners[self.chosen].edge_distance
        )

    # -- zoom -------------------------------------------------------------------------------
    @property
    def scale(self) -> SeamScale:
        """How the plane of the seam lies on the screen."""
        return self._scale

    def look(self, scale: SeamScale) -> None:
        """Look at the seam in another way, which stays when the drawing is resized."""
        self._fitted, self._scale = None, scale
        self.update()

    def fit(self, bounds: Bounds) -> None:
        """Fill the drawing with a part of the plane, mm; also after it is resized."""
        room = QRectF(self.rect()).adjusted(_PADDING, _PADDING, -_PADDING, -_FOOT)
        self._scale = self._scale.resized(self.width(), self.height()).fitted(bounds, room)
        self._fitted = bounds
        self.update()

    def fit_all(self) -> None:
        """See the whole seam."""
        if self.ground is not None and not self.ground.whole.is_empty:
            self.fit(self.ground.whole.bounds)

    def fit_fasteners(self) -> None:
        """See pins and screws near by; without any, the room, or where the wall is widest."""
        ground = self.ground
        if ground is None or ground.whole.is_empty:
            return
        self.fit(near_by(ground, self.fasteners, self.edge_distance))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep the same in sight."""
        super().resizeEvent(event)
        self._scale = self._scale.resized(self.width(), self.height())
        if self._fitted is not None:
            self.fit(self._fitted)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Zoom to the pointer."""
        notches = event.angleDelta().y() / 120
        if self.ground is not None and notches:
            self.look(self._scale.zoomed(_WHEEL**notches, event.position()))
        event.accept()

    # -- pins and screws ---------------------------------------------------------------------
    def tip_at(self, point: QPointF) -> str:
        """Return what is said of what lies at a point of the screen; empty for nothing."""
        ground, found = self.ground, self.fastener_at(point)
        if ground is None or self.is_holding:
            return ""
        if found is not None:
            return fastener_tip(ground, self.fasteners, found, self._quantities)
        reach = _CATCH / self._scale.per_mm
        return tip_at(ground, *self._scale.to_plane(point), reach, self._quantities)

    def fastener_at(self, point: QPointF) -> int | None:
        """Return the one whose mark is at a point of the screen, the nearest of several."""
        found = []
        for index, each in enumerate(self.fasteners):
            away = self._scale.to_screen(each.u, each.v) - point
            distance = (away.x() ** 2 + away.y() ** 2) ** 0.5
            radius = max(each.diameter / 2 * self._scale.per_mm, LEAST_RADIUS)
            if distance <= radius + _CATCH:
                found.append((distance, index))
        return min(found)[1] if found else None

    @property
    def is_holding(self) -> bool:
        """Whether a pin or a screw is in hand."""
        return self._held is not None

    def hold(self, index: int) -> None:
        """Take a pin or screw in hand."""
        self._note = ""
        if self._held is None or self._held[0] != index:
            self.put_down()
            self._held = (index, self.fasteners[index])

    def move_held(self, u: float, v: float, is_free: bool = False) -> None:
        """Move what is in hand to a place, or to the nearest in its room."""
        if self._held is None or self.ground is None:
            return
        index = self._held[0]
        held = self.fasteners[index]
        if not is_free:
            u, v = self.ground.nearest(u, v, held.edge_distance)
        self.fasteners = (
            *self.fasteners[:index],
            replace(held, u=u, v=v),
            *self.fasteners[index + 1 :],
        )
        self.say()

    def put_down(self) -> None:
        """Leave what is in hand where it is, and tell where if it was moved."""
        held, self._held, self.is_dragging = self._held, None, False
        if held is not None and self.fasteners[held[0]] != held[1]:
            put = self.fasteners[held[0]]
            self.moved.emit(held[0], put.u, put.v)
        self.update()

    def put_back(self) -> bool:
        """Put what is in hand back where it was; return whether there was any."""
        if self._held is None:
            return False
        self.fasteners = self._resting()
        self._held, self.is_dragging = None, False
        self.say()
        return True

    def add_at(self, u: float, v: float, is_screw: bool) -> bool:
        """Ask for a pin or a screw at a place; return whether it is one for that.

        A pin needs room there. A screw is asked for anywhere on the seam, at the edge of its room
        if that is near; whether one stands there has to be found out, and is said.
        """
        ground = self.ground
        needed = self.screw_distance if is_screw else self.edge_distance
        if ground is None or not (
            ground.to_edge(u, v) >= 0 if is_screw else ground.holds(u, v, needed)
        ):
            return False
        self._note = ""
        if is_screw:
            near = ground.nearest(u, v, needed)
            self.screw_added.emit(*(near if math.dist(near, (u, v)) <= needed else (u, v)))
        else:
            self.pin_added.emit(u, v)
        return True

    def add_somewhere(self) -> None:
        """Ask for a pin where there is most room beside those that are there."""
        if self.ground is None:
            return
        place = self.ground.roomiest(self.fasteners, self.edge_distance)
        if place is not None:
            self.pin_added.emit(*place)
        elif self.has_no_room:
            self.say(told_no_room(self.ground, self.edge_distance, self._quantities))
        else:
            self.say("There is no room for another pin beside those that are there.")

    # -- mouse ------------------------------------------------------------------------------
    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take a pin or screw in hand, or the whole drawing."""
        self._mouse.press(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Move what is in hand."""
        self._mouse.move(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Put down what is in hand."""
        self._mouse.release(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Add a pin or a screw in the room; elsewhere see the whole seam."""
        self._mouse.double_click(event)

    # -- keys -------------------------------------------------------------------------------
    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Do what the key is for."""
        if not self._keys.press(event):
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Put down what a key has moved."""
        if not self._keys.release(event):
            super().keyReleaseEvent(event)

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: N802
        """Go to the next pin or screw, and from the last one on to the next control."""
        if self._keys.choose(1 if next else -1, goes_round=False):
            return True
        return super().focusNextPrevChild(next)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Put down what is held: the key will be released elsewhere."""
        super().focusOutEvent(event)
        if not self.is_dragging:
            self.put_down()
        self.update()

    # -- painting ---------------------------------------------------------------------------
    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the seam."""
        painter = QPainter(self)
        picture = SeamPicture(
            self.ground,
            self.fasteners,
            self.chosen,
            self.room_distance,
            self._scale,
            self.colour,
            self._quantities,
            self.hasFocus(),
        )
        paint(painter, QRectF(self.rect()), picture, look_of(self.palette()))
