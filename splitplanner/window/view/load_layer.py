"""Supports and loads over the view, taken and dragged along the axis of their load case."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from splitplanner.arrays import Floats
from splitplanner.output.camera import Camera
from splitplanner.viewport.handles import NEAR, gap_to_line
from splitplanner.window.chart.load_marks import snapped
from splitplanner.window.look import Look
from splitplanner.window.view import overlay as painting
from splitplanner.window.view.drag import PlaneDrag, handle_of
from splitplanner.window.view.load_shapes import LoadShape
from splitplanner.window.view.marks import paint_marks
from splitplanner.window.view.values import Mark, Outline

if TYPE_CHECKING:
    from splitplanner.window.view.part_view import PartView

_SNAP = 7.0
"""As in the station chart, pixels."""
_TREMBLE = 3.0
"""A pointer that goes less far only chooses, pixels."""
_FILL = 0.55


class LoadLayer(QObject):
    """What of a load case stands over the view.

    Attributes
    ----------
    shapes : tuple of LoadShape
        As shown, with the one in hand where it is now.
    selected, hot : int or None
        By the index of their markers.
    """

    chosen = Signal(int)
    dragged = Signal(object, float)
    """A marker as it was, and its offset in hand, mm."""
    moved = Signal(object, float)
    """A marker as it was, and the offset at which it was let go."""
    aborted = Signal()
    delete_asked = Signal(object)

    def __init__(self, view: PartView) -> None:
        super().__init__(view)
        self._view = view
        self.shapes: tuple[LoadShape, ...] = ()
        self._kept: tuple[LoadShape, ...] = ()
        self._ends, self._places = (0.0, 0.0), tuple[float, ...]()
        self.selected: int | None = None
        self.hot: int | None = None
        self._drag: PlaneDrag | None = None
        self._held: LoadShape | None = None
        self._from = QPointF()
        self._is_begun = False

    def show(
        self,
        shapes: Sequence[LoadShape],
        ends: tuple[float, float] = (0.0, 0.0),
        places: Sequence[float] = (),
    ) -> None:
        """Show supports and loads; one in hand stays there if they are the same as before.

        Parameters
        ----------
        shapes : sequence of LoadShape
        ends : (low, high)
            Of the part along their axis, mm.
        places : sequence of float
            Offsets at which they click in, beside the ends and the middle.
        """
        self._ends, self._places = ends, tuple(places)
        if self._kept == tuple(shapes):
            if not self.is_held:
                self.put_back()
            return
        self._drag = self._held = None
        self.shapes = self._kept = tuple(shapes)
        self.hot = None
        self._view.update()

    def show_chosen(self, index: int | None) -> None:
        """Show which one is chosen."""
        self.selected = index
        self._view.update()

    def preview(self, index: int, station: float) -> None:
        """Show one at another offset until it is let go, here or in the chart."""
        self.shapes = tuple(
            shape.moved_to(station) if shape.mark.index == index else shape for shape in self._kept
        )
        self._view.update()

    def put_back(self) -> None:
        """Show all where they were."""
        self.shapes = self._kept
        self._view.update()

    @property
    def is_held(self) -> bool:
        """Whether one is in hand."""
        return self._drag is not None

    @property
    def shape(self) -> LoadShape | None:
        """The chosen one."""
        return next((each for each in self._kept if each.mark.index == self.selected), None)

    # -- the pointer ------------------------------------------------------------------------
    def at(self, place: QPointF) -> LoadShape | None:
        """Return what is seen at a place in the picture, the nearest; grips first."""
        camera, nearest = self._view.camera, NEAR
        best: LoadShape | None = None
        for shape in self.shapes:
            away = _away(shape, camera, place)
            if away < nearest:
                nearest, best = away, shape
        return best

    def point(self, place: QPointF) -> bool:
        """Show what is under the pointer, and return whether it can be taken."""
        shape = self.at(place)
        hot = None if shape is None else shape.mark.index
        if hot != self.hot:
            self.hot = hot
            self._view.update()
        return shape is not None and shape.mark.is_movable

    def grab(self, place: QPointF) -> bool:
        """Choose and take what is under the pointer; return whether there is anything."""
        shape = self.at(place)
        if shape is None:
            return False
        self._choose(shape.mark.index)
        if shape.mark.is_movable:
            camera = self._view.camera
            handle = handle_of(shape.plane, shape.grip, camera)
            self._held, self._from, self._is_begun = shape, place, False
            self._drag = PlaneDrag(
                shape.mark.index, handle, "arrow", camera, place.x(), place.y()
            )  # fmt: skip
        return True

    def pull(self, place: QPointF, is_fine: bool) -> None:
        """Take along what is held."""
        if self._drag is None or self._held is None:
            return
        way = place - self._from
        if not self._is_begun and float(np.hypot(way.x(), way.y())) < _TREMBLE:
            return
        self._is_begun = True
        station = self._drag.move(place.x(), place.y(), is_fine).offset
        low, high = self._ends
        station = min(max(station, low), high)
        if not is_fine:
            near = _SNAP * self._drag.mm_per_pixel
            station = snapped(station, near, self._ends, self._places)
        self.preview(self._held.mark.index, station)
        self.dragged.emit(self._held.mark, station)

    def drop(self) -> None:
        """Let go."""
        held, is_begun = self._held, self._is_begun
        self._drag = self._held = None
        if held is None or not is_begun:
            return
        now = next(each for each in self.shapes if each.mark.index == held.mark.index)
        if now.mark.station == held.mark.station:
            self.aborted.emit()
        else:
            self.moved.emit(held.mark, now.mark.station)

    def abort(self) -> bool:
        """Put back what is in hand; return whether there was anything."""
        if self._drag is None:
            return False
        self._drag = self._held = None
        self.put_back()
        self.aborted.emit()
        return True

    def _choose(self, index: int | None) -> None:
        if index != self.selected:
            self.show_chosen(index)
            self.chosen.emit(-1 if index is None else index)

    # -- painting ---------------------------------------------------------------------------
    def paint(self, painter: QPainter, camera: Camera, look: Look) -> None:
        """Paint everything; the chosen one bold and last."""
        for shape in sorted(self.shapes, key=lambda each: each.mark.index == self.selected):
            is_chosen = shape.mark.index == self.selected
            colour = look.accent if is_chosen else shape.colour
            width = 2.0 + 1.2 * is_chosen + 0.8 * (shape.mark.index == self.hot)
            for line in shape.lines:
                self._line(painter, camera, Outline(line, colour, width), look)
            for arrow in shape.arrows:
                bold = Outline(arrow, colour, width + 1.0, has_head=True)
                self._line(painter, camera, bold, look)
            for area in shape.areas:
                _paint_area(painter, camera.pixels(area), colour, width, look)
        self._paint_name(painter, camera, look)

    def _paint_name(self, painter: QPainter, camera: Camera, look: Look) -> None:
        """Write what is under the pointer or in hand, else what is chosen."""
        told = self._held.mark.index if self._held is not None else self.hot
        told = self.selected if told is None else told
        for shape in self.shapes:
            if shape.mark.index == told:
                words = " ".join(filter(None, [shape.mark.name, shape.mark.label]))
                mark = Mark(shape.far_end, words, shape.colour, False)
                paint_marks(painter, camera, [mark], look)

    def _line(self, painter: QPainter, camera: Camera, outline: Outline, look: Look) -> None:
        lines = painting.seen_line(camera, np.asarray(outline.points))
        painting.paint_outline(painter, lines, outline, look, is_quick=False)


def _away(shape: LoadShape, camera: Camera, place: QPointF) -> float:
    """Return how far a shape is from a place, pixels; the outline of a section is no grip."""
    x, y = place.x(), place.y()
    found = [float("inf")]
    for area in shape.areas:
        corners = camera.pixels(area)
        if np.isfinite(corners).all():
            inside = _polygon(corners).containsPoint(place, Qt.FillRule.OddEvenFill)
            found.append(0.0 if inside else gap_to_line(np.vstack([corners, corners[:1]]), x, y))
    lines = shape.arrows if shape.mark.kind != "couple" else shape.lines
    # A hair more, so that a grip at the end of an arrow comes first.
    found += [0.5 + gap_to_line(camera.pixels(line), x, y) for line in lines]
    return min(found)


def _paint_area(painter: QPainter, corners: Floats, colour: str, width: float, look: Look) -> None:
    if not np.isfinite(corners).all():
        return
    fill = QColor(colour)
    fill.setAlphaF(_FILL)
    painter.setPen(QPen(look.colour("raised"), width + 2.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolygon(_polygon(corners))
    painter.setPen(QPen(QColor(colour), width))
    painter.setBrush(fill)
    painter.drawPolygon(_polygon(corners))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _polygon(corners: Floats) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in np.clip(corners, -3e4, 3e4).tolist()])
