"""Short texts beside points of the part, pushed apart where they would cover each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from splitplanner.arrays import Floats
from splitplanner.output.camera import Camera
from splitplanner.window.look import Look
from splitplanner.window.view.values import Mark

_GAP = 3.0
"""Between marks, pixels."""
_ROUNDS = 40
_END = 8.0
"""Half the room that an end of a handle takes, pixels."""


def paint_marks(
    painter: QPainter,
    camera: Camera,
    marks: Sequence[Mark],
    look: Look,
    kept_clear: Floats | None = None,
) -> None:
    """Paint marks, each tied by a line to its point if it had to give way.

    They give way to each other and to the ends of handles, `kept_clear` (n, 2) pixels.
    """
    if not marks:
        return
    font = painter.font()
    font.setBold(True)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    anchors = camera.pixels([mark.at for mark in marks])
    shown = [at for at in range(len(marks)) if _is_inside(anchors[at], camera.size)]
    chosen = [marks[at] for at in shown]
    halves = np.array([_half_size(mark, metrics) for mark in chosen]).reshape(-1, 2)
    clear = np.zeros((0, 2)) if kept_clear is None else kept_clear
    places = spread(anchors[shown], halves, camera.size, clear)
    for place, anchor in zip(places, anchors[shown], strict=True):
        if np.hypot(*(place - anchor)) > metrics.height() / 2:
            painter.setPen(QPen(look.colour("ink"), 1.2))
            painter.drawLine(QPointF(*anchor), QPointF(*place))
    for mark, place, half in zip(chosen, places, halves, strict=True):
        _paint(painter, mark, place, half, look)


def spread(
    anchors: Floats, halves: Floats, size: tuple[int, int], kept_clear: Floats | None = None
) -> Floats:
    """Return where marks go, (n, 2) pixels, so that none covers another or leaves the picture.

    Parameters
    ----------
    anchors : (n, 2) float array
        Their points.
    halves : (n, 2) float array
        Half their widths and heights.
    size : (width, height)
        Of the picture.
    kept_clear : (k, 2) float array, optional
        Places that marks give way to, which stay.
    """
    count = len(anchors)
    if kept_clear is not None:
        anchors = np.concatenate([anchors, kept_clear])
        halves = np.concatenate([halves, np.full(kept_clear.shape, _END)])
    at = anchors.copy()
    low, high = halves[:count] + 2.0, np.array(size) - halves[:count] - 2.0
    for _ in range(_ROUNDS):
        gaps = at[:, None] - at[None]
        over = halves[:, None] + halves[None] + _GAP - np.abs(gaps)
        pairs = np.argwhere(np.triu((over > 0.0).all(axis=2), 1))
        pairs = pairs[pairs[:, 0] < count]
        for one, other in pairs:
            axis = int(np.argmin(over[one, other]))
            way = 1.0 if gaps[one, other, axis] >= 0.0 else -1.0
            push = way * (over[one, other, axis] / 2 + 0.5)
            if other < count:
                at[one, axis] += push
                at[other, axis] -= push
            else:
                at[one, axis] += 2.0 * push
        at[:count] = np.clip(at[:count], low, np.maximum(low, high))
        if not len(pairs):
            break
    return at[:count]


def _is_inside(place: Floats, size: tuple[int, int]) -> bool:
    return bool(np.isfinite(place).all() and (place >= 0).all() and (place <= size).all())


def _half_size(mark: Mark, metrics: QFontMetricsF) -> tuple[float, float]:
    half = metrics.horizontalAdvance(mark.text) / 2
    if mark.is_round:
        radius = max(half, metrics.height() / 2) + 3.0
        return radius, radius
    return half + 6.0, metrics.height() / 2 + 2.0


def _paint(painter: QPainter, mark: Mark, place: Floats, half: Floats, look: Look) -> None:
    box = QRectF(place[0] - half[0], place[1] - half[1], 2 * half[0], 2 * half[1])
    # A rim in ink keeps pale colours apart from the paper.
    painter.setBrush(look.colour("raised"))
    for colour, width in ((look.colour("ink"), 4.4), (QColor(mark.colour), 2.6)):
        painter.setPen(QPen(colour, width))
        if mark.is_round:
            painter.drawEllipse(box)
        else:
            painter.drawRoundedRect(box, 5.0, 5.0)
    painter.setPen(look.colour("ink"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, mark.text)
