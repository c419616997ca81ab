"""What is painted over the picture: all that is thin, and that nothing may hide."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from splitplanner.arrays import Floats, to_vector
from splitplanner.output.camera import Camera
from splitplanner.output.scene import BedFrame
from splitplanner.viewport.bodies import Sheet, Wires
from splitplanner.viewport.handles import PARTS, Handle, Part
from splitplanner.window.look import Look
from splitplanner.window.view.drag import PlaneDrag, handle_of
from splitplanner.window.view.marks import paint_marks
from splitplanner.window.view.values import Mark, Outline, ShownPlane

PART_COLOURS: dict[Part, str] = {
    "arrow": "#0072B2",
    "first ring": "#E69F00",
    "second ring": "#CC79A7",
}
"""Okabe & Ito, "Color Universal Design" (2008)."""
_PLANE = "#7A8CA8"
_BLOCKED = "#D55E00"
_HALO = 3.0
"""A line has so many pixels of paper on both sides together, and so is seen on anything."""
_HEAD = 15.0
"""Length of the head of an arrow, pixels."""
_LEAST = 1.0
"""What is nearer to the eye is not painted, mm."""


def flat_things(
    planes: Sequence[ShownPlane], bed: BedFrame | None, look: Look
) -> tuple[list[Sheet], list[Wires]]:
    """Return what is flat, and may be hidden by bodies: the sheets of planes, and the bed."""
    sheets, wires = ([], []) if bed is None else bed_sheets(bed, look)
    for each in planes:
        colour = look.accent if each.is_selected else _PLANE
        sheets.append(Sheet(each.corners, colour, _opacity(each)))
    return sheets, wires


def _opacity(plane: ShownPlane) -> float:
    return 0.30 if plane.is_selected else 0.20


def bed_sheets(bed: BedFrame, look: Look) -> tuple[list[Sheet], list[Wires]]:
    """Return the plate of a bed with its blocked areas, and its lines, which bodies hide."""
    # A hair below the piece's first layer, and in order, so that nothing flickers.
    drop = 0.002 * max(float(np.ptp(bed.outline, axis=0).max()), bed.height)
    sheets = [Sheet(_at(_open(bed.outline), -2 * drop), look.rule, 0.45)]
    sheets += [Sheet(_at(_open(plan), -drop), _BLOCKED, 0.55) for plan in bed.blocked]
    outline, margin, top = _at(bed.outline, 0.0), _at(bed.margin, 0.0), _at(bed.outline, bed.height)
    corners = _open(bed.outline)
    posts = corners if len(corners) <= 12 else corners[:: max(1, len(corners) // 4)]
    frame = [np.array([[x, y, 0.0], [x, y, bed.height]]) for x, y in posts]
    wires = [
        Wires(_segments([top, *frame]), look.faint),
        Wires(_segments([outline]), look.ink, 2.0),
    ]
    if not np.array_equal(bed.margin, bed.outline):
        wires.append(Wires(_segments([margin]), look.faint))
    if bed.grid:
        wires.append(
            Wires(_segments([_at(line, -1.5 * drop) for line in bed.grid]), look.faint, 0.7)
        )
    return sheets, wires


def bed_points(bed: BedFrame) -> Floats:
    """Return corners of the room over a bed, (n, 3) mm."""
    return np.concatenate([_at(bed.outline, z) for z in (0.0, bed.height)])


def paint_planes(
    painter: QPainter,
    camera: Camera,
    planes: Sequence[ShownPlane],
    marks: Sequence[Mark],
    look: Look,
) -> None:
    """Paint the rims and the names of planes, and marks."""
    for plane in planes:
        paint_plane(painter, camera, plane, look)
    names = [name_of(camera, plane, look) for plane in planes]
    clear = ends_of_arrows(camera, planes)
    paint_marks(painter, camera, [*marks, *filter(None, names)], look, clear)


def paint_focus(painter: QPainter, room: QRect, look: Look) -> None:
    """Paint a frame, for keys go here."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("accent"), 2.0))
    painter.drawRect(room.adjusted(1, 1, -1, -1))


def paint_plane(painter: QPainter, camera: Camera, plane: ShownPlane, look: Look) -> None:
    """Paint the rim of a plane."""
    rim = np.vstack([plane.corners, plane.corners[:1]])
    colour = look.colour("accent") if plane.is_selected else QColor(_PLANE)
    paint_line(painter, camera, rim, QPen(colour, 2.4 if plane.is_selected else 1.4))


def name_of(camera: Camera, plane: ShownPlane, look: Look) -> Mark | None:
    """Return the name of a plane as a mark at the corner that is seen uppermost."""
    heights = camera.pixels(plane.corners)[:, 1]
    if not plane.name or not np.isfinite(heights).any():
        return None
    corner = plane.corners[int(np.nanargmin(heights))]
    return Mark(to_vector(corner), plane.name, look.accent if plane.is_selected else _PLANE, False)


def paint_handles(
    painter: QPainter,
    camera: Camera,
    planes: Sequence[ShownPlane],
    drag: PlaneDrag | None,
    hot: tuple[int, Part] | None,
    look: Look,
) -> None:
    """Paint the arrows of planes and the rings of the chosen one; of one in hand what is held."""
    for plane in sorted(planes, key=lambda each: each.is_selected):
        part = hot[1] if hot and hot[0] == plane.index else None
        if drag is not None and drag.index == plane.index:
            paint_handle(painter, camera, drag.handle, [drag.part], part, look)
        else:
            handle = handle_of(plane.plane, plane.centre, camera)
            parts = PARTS if plane.is_selected else PARTS[:1]
            paint_handle(painter, camera, handle, parts, part, look)


def ends_of_arrows(camera: Camera, planes: Sequence[ShownPlane]) -> Floats:
    """Return where arrows begin and end in the picture, (n, 2) pixels."""
    ends = [
        camera.pixels(handle_of(plane.plane, plane.centre, camera).outline("arrow"))
        for plane in planes
    ]
    found: Floats = np.concatenate([np.zeros((0, 2)), *ends])
    seen: Floats = found[np.isfinite(found).all(axis=1)]
    return seen


def paint_handle(
    painter: QPainter,
    camera: Camera,
    handle: Handle,
    parts: Sequence[Part],
    hot: Part | None,
    look: Look,
) -> None:
    """Paint parts of a handle; that under the pointer stands out."""
    for part in sorted(parts, key=lambda each: each == "arrow"):
        colour = QColor(PART_COLOURS[part])
        if look.is_dark and part == "arrow":
            colour = look.colour("accent")
        width = 4.5 if part == hot else 2.6
        line = camera.pixels(handle.outline(part))
        if not np.isfinite(line).all():
            continue
        for pen in (QPen(look.colour("raised"), width + _HALO), QPen(colour, width)):
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.drawPolyline(_polygon(line))
        if part == "arrow":
            _paint_ends(painter, line, colour, look, part == hot)


def _paint_ends(painter: QPainter, line: Floats, colour: QColor, look: Look, is_hot: bool) -> None:
    """Paint the foot of an arrow, and its head where it is long enough to have a direction."""
    painter.setPen(QPen(look.colour("raised"), 1.5))
    painter.setBrush(colour)
    painter.drawEllipse(QPointF(*line[0]), 5.0, 5.0)
    _paint_head(painter, line, _HEAD * (1.2 if is_hot else 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _paint_head(painter: QPainter, line: Floats, longest: float) -> None:
    """Paint the head of an arrow along the last two points of a line, (n, 2) pixels."""
    way = line[-1] - line[-2]
    length = float(np.hypot(*way))
    if length <= 4.0:
        return
    size = min(longest, length)
    ahead = way / length
    aside = np.array([-ahead[1], ahead[0]])
    tip = line[-1] + 0.3 * size * ahead
    back = tip - size * ahead
    painter.drawPolygon(
        _polygon(np.array([tip, back + 0.45 * size * aside, back - 0.45 * size * aside]))
    )


class SeenLines:
    """Where lines are seen, worked out once for each line as long as the camera stays."""

    def __init__(self) -> None:
        self._camera: Camera | None = None
        self._known: dict[int, tuple[Outline, list[QPolygonF]]] = {}

    def forget(self) -> None:
        """Let go of all lines: there are others now."""
        self._known.clear()

    def of(self, outline: Outline, camera: Camera) -> list[QPolygonF]:
        """Return a line in pixels, in as many stretches as are before the eye."""
        if camera != self._camera:
            self._camera = camera
            self._known.clear()
        if id(outline) not in self._known:
            self._known[id(outline)] = outline, seen_line(camera, np.asarray(outline.points))
        return self._known[id(outline)][1]


def paint_outline(
    painter: QPainter, lines: Sequence[QPolygonF], outline: Outline, look: Look, is_quick: bool
) -> None:
    """Paint a line that nothing hides, as it is seen; quickly without paper beside it."""
    if not is_quick:
        _paint_lines(painter, lines, QPen(look.colour("raised"), outline.width + 2.0))
    _paint_lines(painter, lines, QPen(QColor(outline.colour), outline.width))
    if outline.has_head and lines and lines[-1].size() > 1:
        painter.setPen(QPen(look.colour("raised"), 1.5))
        painter.setBrush(QColor(outline.colour))
        ends = [lines[-1].at(lines[-1].size() - each) for each in (2, 1)]
        _paint_head(painter, np.array([each.toTuple() for each in ends]), _HEAD)
        painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_line(painter: QPainter, camera: Camera, points: Floats, pen: QPen) -> None:
    """Paint a line through points (n, 3), mm, where it is before the eye."""
    _paint_lines(painter, seen_line(camera, points), pen)


def seen_line(camera: Camera, points: Floats) -> list[QPolygonF]:
    """Return a line through points (n, 3), mm, in pixels, where it is before the eye."""
    if camera.span is not None or (camera.depths(points) > _LEAST).all():
        return [_polygon(_thinned(camera.pixels(points)))]
    pieces = (
        camera.ahead_of_eye(points[start : start + 2], _LEAST) for start in range(len(points) - 1)
    )
    return [_polygon(camera.pixels(piece[:2])) for piece in pieces if len(piece) >= 2]


def _paint_lines(painter: QPainter, lines: Sequence[QPolygonF], pen: QPen) -> None:
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for line in lines:
        painter.drawPolyline(line)


def paint_box(painter: QPainter, camera: Camera, corners: Floats, look: Look) -> None:
    """Paint the edges of a box, (8, 3) mm, for a body that cannot be drawn."""
    pen = QPen(look.colour("faint"), 1.0)
    for one in range(8):
        for other in (one | 1, one | 2, one | 4):
            if other != one:
                paint_line(painter, camera, corners[[one, other]], pen)


def paint_sheets(
    painter: QPainter, camera: Camera, planes: Sequence[ShownPlane], look: Look
) -> None:
    """Paint the sheets of planes where there is no picture with them in it."""
    painter.setPen(Qt.PenStyle.NoPen)
    for plane in planes:
        colour = look.colour("accent") if plane.is_selected else QColor(_PLANE)
        colour.setAlphaF(_opacity(plane))
        painter.setBrush(colour)
        painter.drawPolygon(_polygon(camera.pixels(camera.ahead_of_eye(plane.corners, _LEAST))))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_message(painter: QPainter, room: QRect, text: str, look: Look) -> None:
    """Paint a sentence on a plate at the foot of the view; nothing if it is empty."""
    if not text:
        return
    flags = int(Qt.AlignmentFlag.AlignCenter) | int(Qt.TextFlag.TextWordWrap)
    inner = room.adjusted(32, 32, -32, -32)
    words = painter.fontMetrics().boundingRect(inner, flags, text)
    words.moveBottom(inner.bottom())
    painter.setPen(QPen(QColor(_BLOCKED), 2.0))
    painter.setBrush(look.colour("raised"))
    painter.drawRoundedRect(words.adjusted(-14, -10, 14, 10), 6.0, 6.0)
    painter.setPen(look.colour("ink"))
    painter.drawText(words, flags, text)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _polygon(places: Floats) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in np.clip(places, -3e4, 3e4).tolist()])


def _thinned(places: Floats) -> Floats:
    """Return a line without corners that are less than about a pixel away from others."""
    if len(places) < 8:
        return places
    cells = np.floor(places / 1.5)
    kept = np.ones(len(places), dtype=np.bool_)
    kept[1:-1] = (cells[1:-1] != cells[:-2]).any(axis=1)
    return places[kept]


def _open(plan: Floats) -> Floats:
    return plan[:-1] if len(plan) > 1 and np.allclose(plan[0], plan[-1]) else plan


def _at(plan: Floats, z: float) -> Floats:
    return np.column_stack([plan, np.full(len(plan), z)])


def _segments(lines: Sequence[Floats]) -> Floats:
    """Return the steps of lines through points (n, 3), (k, 2, 3)."""
    return np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in lines])
