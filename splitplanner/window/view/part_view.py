"""The view in the middle of the window: bodies, the cut planes and their handles."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QHideEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.arrays import to_vector
from splitplanner.output.camera import Camera
from splitplanner.output.scene import BedFrame
from splitplanner.viewport.bodies import Hit, first_hit
from splitplanner.viewport.gl import gl_works
from splitplanner.viewport.turntable import Turntable
from splitplanner.window.look import LIGHT, look_of
from splitplanner.window.view import overlay as painting
from splitplanner.window.view.hand import Hand
from splitplanner.window.view.keys import KEYS, Keys
from splitplanner.window.view.load_layer import LoadLayer
from splitplanner.window.view.picture import PictureMaker
from splitplanner.window.view.values import Mark, Mode, Outline, ShownBody, ShownPlane

_REST = 150
"""After so long without a move everything is drawn in full, ms."""
_HOVER = 60
"""After so long without a move it is found out what is under the pointer, ms."""


class PartView(QWidget):
    """Shows bodies, planes, lines and marks, and tells what the user does to them.

    Parameters
    ----------
    gl_check : callable
        Returns why nothing can be drawn here, or an empty text; called in a thread.

    Notes
    -----
    Call `release` before the window closes. Points and normals in signals are (x, y, z), mm, where
    they are seen: bodies that are pulled apart have their `shift` in them.
    """

    plane_grabbed = Signal(int)
    plane_dragged = Signal(int, object, float, bool)
    """Index, the plane as it should be now, how many mm a pixel or step is, and whether fine."""
    plane_dropped = Signal(int)
    plane_aborted = Signal(int)
    """The plane should be put back where it was grabbed."""
    plane_chosen = Signal(int)
    body_clicked = Signal(str, object, object)
    """Name, point and normal."""
    face_picked = Signal(str, object, object)
    point_picked = Signal(object, object)
    """Point and normal in the part's frame, wherever the body has been pulled to."""
    hovered = Signal(str, object)
    """Name and point of what is under the pointer; an empty name and None for nothing."""
    stroke_begun = Signal(object, object)
    """Point and normal."""
    stroke_moved = Signal(object, object)
    stroke_ended = Signal()
    mode_changed = Signal(str)

    def __init__(
        self, parent: QWidget | None = None, *, gl_check: Callable[[], str] = gl_works
    ) -> None:
        super().__init__(parent)
        self.turntable = Turntable()
        self.mode: Mode = "look"
        self.planes: tuple[ShownPlane, ...] = ()
        self._bodies: tuple[ShownBody, ...] = ()
        self._outlines: tuple[Outline, ...] = ()
        self._seen_lines = painting.SeenLines()
        self._marks: tuple[Mark, ...] = ()
        self._bed: BedFrame | None = None
        self._maker = PictureMaker(gl_check, self)
        self._maker.loaded.connect(self._redraw)
        self._maker.drawn.connect(self._arrived)
        self._maker.edges_found.connect(self._redraw)
        self._image: QImage | None = None
        self._is_stale, self._is_moving, self._is_aimed = True, False, False
        self.loads = LoadLayer(self)
        self._hand, self._keys = Hand(self), Keys(self)
        self._pointed = QPointF()
        self._rest = self._timer(_REST, self._rested)
        self._hover = self._timer(_HOVER, self._hovered)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("View of the part")
        self.setAccessibleDescription(". ".join(f"{keys}: {what}" for keys, what in KEYS) + ".")

    # What is shown

    def show_bodies(self, bodies: Sequence[ShownBody]) -> None:
        """Show bodies in place of those before.

        Those whose arrays are the same objects as before are not made anew.
        """
        self._bodies = tuple(bodies)
        self._maker.show(self._bodies)
        if bodies and not self._is_aimed:
            self.fit_all()
        self._redraw()

    def set_overlay(self, colours: Mapping[str, NDArray[np.uint8] | None]) -> None:
        """Colour the faces (m, 3) of bodies by name; None for their own colour again."""
        self.show_bodies(
            [
                replace(body, face_colours=colours.get(body.name, body.face_colours))
                for body in self._bodies
            ]
        )

    def show_light(self, bodies: Sequence[ShownBody] | None) -> None:
        """Show light bodies in place of the others while something changes, until None."""
        self._maker.show_light(bodies)
        if bodies is not None:
            self._moved()
        self._redraw()

    def rest_light(self, bodies: Sequence[ShownBody]) -> None:
        """Keep light bodies that stand in for heavy ones while the view moves."""
        self._maker.stand_in(bodies)

    def show_planes(self, planes: Sequence[ShownPlane]) -> None:
        """Show cut planes in place of those before."""
        self.planes = tuple(planes)
        self._hand.drop_lost({plane.index for plane in planes})
        self._redraw()

    def show_outlines(self, outlines: Sequence[Outline]) -> None:
        """Show lines that nothing hides in place of those before."""
        self._outlines = tuple(outlines)
        self._seen_lines.forget()
        self.update()

    def show_marks(self, marks: Sequence[Mark]) -> None:
        """Show marks in place of those before."""
        self._marks = tuple(marks)
        self.update()

    def show_bed(self, bed: BedFrame | None) -> None:
        """Show a bed on z = 0, or none."""
        self._bed = bed
        self._redraw()

    def release(self) -> None:
        """Give back what the graphics driver holds; nothing more is drawn."""
        self._rest.stop()
        self._hover.stop()
        self._maker.release()
        self._image = None

    # From where it is seen

    def fit_all(self) -> None:
        """Bring everything into the picture."""
        points = [body.mesh.corners + body.shift for body in self._maker.full]
        if self._bed is not None:
            plan = self._bed.outline
            points += [
                np.column_stack([plan, np.full(len(plan), z)]) for z in (0, self._bed.height)
            ]
        if points:
            self._is_aimed = True
            self.turn_to(self.turntable.fitted(np.concatenate(points), self.picture_size))

    def fit_if_cut_off(self) -> None:
        """Bring everything into the picture if something has left it."""
        width, height = self.picture_size
        for body in self._maker.full:
            seen = self.camera.pixels(body.mesh.corners + body.shift)
            if not (np.isfinite(seen) & (seen >= 0.0) & (seen <= [width, height])).all():
                self.fit_all()
                return

    def look_from(self, direction: ArrayLike) -> None:
        """Look at everything from a direction (3,)."""
        self.turntable = self.turntable.seen_from(direction)
        self.fit_all()

    def set_parallel(self, is_parallel: bool) -> None:
        """Look without perspective, or with."""
        self.turn_to(replace(self.turntable, is_parallel=is_parallel))

    def turn_to(self, turntable: Turntable) -> None:
        """Look from elsewhere."""
        self.turntable = turntable
        self._is_aimed = True
        self._moved()
        self._redraw()

    @property
    def picture_size(self) -> tuple[int, int]:
        """Width and height of the picture, logical pixels."""
        return max(1, self.width()), max(1, self.height())

    @property
    def camera(self) -> Camera:
        """From where it is seen; its pixels are logical ones."""
        return self.turntable.camera(self.picture_size)

    # What the user does

    def set_mode(self, mode: Mode) -> None:
        """Say what the left button does on a body; "pick" and "place" are for the next click."""
        if mode != self.mode:
            self.abort_drag()
            self.mode = mode
            self._hand.hot = None
            self.show_cursor(False)
            self.mode_changed.emit(mode)
            self.update()

    @property
    def is_dragging(self) -> bool:
        """Whether a plane is in hand."""
        return self._hand.drag is not None

    def abort_drag(self) -> bool:
        """Put back a plane in hand; return whether there was one."""
        return self._hand.abort()

    def hit_at(self, x: float, y: float) -> tuple[str, Hit] | None:
        """Return the name of the body that is seen at a place, pixels, and where it is met."""
        hit = first_hit(self.camera.ray(x, y), self._maker.full)
        return None if hit is None else (self._bodies[hit.body].name, hit)

    def pick_point(self, name: str, hit: Hit) -> None:
        """Tell where a body was clicked, as if it stood in its place."""
        body = next(each for each in self._bodies if each.name == name)
        self.point_picked.emit(to_vector(np.subtract(hit.point, body.shift)), hit.normal)

    def show_cursor(self, is_on_handle: bool) -> None:
        """Show by the pointer what can be done."""
        shape = Qt.CursorShape.ArrowCursor
        if self.mode != "look":
            shape = Qt.CursorShape.CrossCursor
        elif is_on_handle:
            shape = (
                Qt.CursorShape.SizeAllCursor
                if self.is_dragging or self.loads.is_held
                else Qt.CursorShape.OpenHandCursor
            )
        if self.cursor().shape() != shape:
            self.setCursor(shape)

    def hover_soon(self, place: QPointF) -> None:
        """Tell what is under the pointer once it rests."""
        self._pointed = place
        self._hover.start()

    def rest_soon(self) -> None:
        """Draw everything in full once nothing moves."""
        if self._is_moving:
            self._rest.start()

    # Qt

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return a size that leaves room for what is around."""
        return QSize(900, 600)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return a size in which something can still be seen."""
        return QSize(240, 180)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take hold."""
        self._hand.press(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take along."""
        self._hand.move(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Let go."""
        self._hand.release(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Bring to the middle."""
        self._hand.double(event)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Come nearer."""
        self._hand.wheel(event)
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802
        """Forget what was under the pointer."""
        self._hover.stop()
        if not self._hand.is_busy:
            self._hand.hot = None
            self.hovered.emit("", None)
            self.update()
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Do what the key is for."""
        if not self._keys.press(event):
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Put down what the key has moved."""
        if not self._keys.release(event):
            super().keyReleaseEvent(event)

    def focusNextPrevChild(self, is_next: bool) -> bool:  # noqa: N802
        """Let Tab go through the planes before it goes on."""
        return self._keys.choose(1 if is_next else -1, goes_round=False) or (
            super().focusNextPrevChild(is_next)
        )

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Show that the keys go here."""
        self.update()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Put down what a key has moved."""
        self._keys.let_go()
        self.update()
        super().focusOutEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802
        """Put back a plane in hand."""
        self.abort_drag()
        super().hideEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Draw as large."""
        self._moved()
        self._redraw()
        super().resizeEvent(event)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Follow the system from light to dark."""
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.StyleChange):
            self._redraw()
        super().changeEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint the picture, drawn anew if anything in it has changed, and what is over it."""
        camera, look = self.camera, look_of(self.palette())
        if not self._maker.is_asked:
            # Only now that the window is there, which should not wait for it.
            QTimer.singleShot(0, self._maker.load)
        if self._is_stale and self._maker.is_ready:
            self._maker.show_flat(*painting.flat_things(self.planes, self._bed, look))
            ratio = self.devicePixelRatioF()
            image = self._maker.image(camera, ratio, self._is_moving, look.paper, LIGHT.ink)
            self._image = image or self._image
            self._is_stale = False
        painter = QPainter(self)
        if self._image is None:
            painter.fillRect(self.rect(), look.colour("paper"))
        else:
            # It takes three times as long.
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, not self._is_moving)
            painter.drawImage(QRectF(self.rect()), self._image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._image is None:
            for body in self._maker.full:
                painting.paint_box(painter, camera, body.mesh.corners + body.shift, look)
            painting.paint_sheets(painter, camera, self.planes, look)
        for outline in self._outlines:
            lines = self._seen_lines.of(outline, camera)
            painting.paint_outline(painter, lines, outline, look, self._is_moving)
        # Names of cuts and numbers of pieces can be read over arrows of loads.
        self.loads.paint(painter, camera, look)
        painting.paint_planes(painter, camera, self.planes, self._marks, look)
        painting.paint_handles(painter, camera, self.planes, self._hand.drag, self._hand.hot, look)
        painting.paint_message(painter, self.rect(), self._maker.fault, look)
        if self.hasFocus():
            painting.paint_focus(painter, self.rect(), look)
        painter.end()

    def _redraw(self) -> None:
        """Draw the picture anew, once for all that has changed until then."""
        self._is_stale = True
        self.update()

    def _moved(self) -> None:
        """Draw as quickly as can be, and in full when nothing has moved for a while."""
        self._is_moving = True
        self._rest.start()

    def _arrived(self, image: QImage, is_moving: bool) -> None:
        """Show a picture that took its time, unless the view has been moved meanwhile."""
        if is_moving or not self._is_moving:
            self._image = image
        self.update()

    def _rested(self) -> None:
        # While something is held it will move again.
        if not self._hand.is_busy:
            self._is_moving = False
            self._redraw()

    def _hovered(self) -> None:
        if self._hand.is_busy or not self.underMouse():
            return
        hit = self.hit_at(self._pointed.x(), self._pointed.y())
        self.hovered.emit(*(("", None) if hit is None else (hit[0], hit[1].point)))

    def _timer(self, wait: int, then: Callable[[], None]) -> QTimer:
        timer = QTimer(self, singleShot=True, interval=wait)
        timer.timeout.connect(then)
        return timer
