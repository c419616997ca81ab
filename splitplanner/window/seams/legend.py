"""Says in words what the marks in the plan of a seam mean."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from splitplanner.plan import Joint
from splitplanner.window.look import Look, look_of
from splitplanner.window.seams.band_painting import paint_register, paint_tape
from splitplanner.window.seams.fastener_painting import head_pen, hexagon
from splitplanner.window.seams.painting import (
    TINT,
    paint_middle,
    rim_pen,
    room_brush,
    shown_pen,
)
from splitplanner.window.seams.picture import tinted
from splitplanner.window.seams.tips import REGISTER_WORDS

_SWATCH, _GAP, _APART = 18, 5, 14
"""Width of a mark, between it and its words, and between two, logical pixels."""


class SeamLegend(QWidget):
    """A few marks with words, in as many lines as they need."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = ("#B8BDC6", "#B8BDC6")
        self._names = ("", "")
        self._kinds: frozenset[str] = frozenset()
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("What the marks in the plan mean")
        self.setAccessibleDescription(", ".join(self.words))
        self.setToolTip(
            "<p><b>Room:</b> where the axis of the chosen pin or screw may stand, or of a new pin; "
            "it is as far from every edge as that needs.</p><p><b>Deep:</b> where there is "
            "material for two diameters of a 3 mm pin behind the room of that pin, in both "
            "pieces.</p><p><b>Register:</b> its foot on the piece below, in walls that are taken "
            "to be upright; where one leans, what is made may end earlier. <b>Tape:</b> along the "
            "outlines on the hidden side, drawn thicker than it is.</p>"
            "<p>The seam is seen from the piece above, on the piece below.</p>"
        )

    @property
    def words(self) -> list[str]:
        """What the marks mean."""
        return [text for text, _ in self._entries()]

    def show_pieces(self, colours: tuple[str, str], names: tuple[str, str]) -> None:
        """Take colours and names of the pieces below and above."""
        self._colours, self._names = colours, names
        self.setAccessibleDescription(", ".join(self.words))
        self.updateGeometry()
        self.update()

    def show_kinds(self, kinds: frozenset[str]) -> None:
        """Take what there is beside pins; see `kinds_of`."""
        self._kinds = kinds
        self.setAccessibleDescription(", ".join(self.words))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Ask for all lines."""
        return QSize(300, self.heightForWidth(max(self.width(), 120)))

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Break lines as narrow as need be."""
        return QSize(120, self._line())

    def _line(self) -> int:
        return self.fontMetrics().height() + 2

    def _entries(self) -> list[tuple[str, Callable[[QPainter, QRectF, Look], None]]]:
        below, above = self._names
        pieces: list[tuple[str, Callable[[QPainter, QRectF, Look], None]]] = [
            (f"seam on piece {below}" if below else "seam", partial(_piece_mark, self._colours[0]))
        ]
        if above:
            pieces.append((f"below piece {above}", partial(_piece_mark, self._colours[1])))
        return [
            *pieces,
            ("seen from outside", _shown_mark),
            ("room", _room_mark),
            ("deep in both pieces", _deep_mark),
            ("pin and its edge distance", _pin_mark),
            *((text, mark) for kind, text, mark in _MORE if kind in self._kinds),
            ("middle of the seam", _middle_mark),
        ]

    def _placed(self, width: int) -> tuple[list[QPointF], int]:
        """Return where each entry begins, and how many lines there are."""
        places, x, row = [], 0.0, 0
        for text, _ in self._entries():
            long = _SWATCH + _GAP + self.fontMetrics().horizontalAdvance(text)
            if x and x + long > width:
                x, row = 0.0, row + 1
            places.append(QPointF(x, row * self._line()))
            x += long + _APART
        return places, row + 1

    def hasHeightForWidth(self) -> bool:  # noqa: N802
        """Return that lines are broken."""
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Return the height of all lines at a width."""
        return self._placed(width)[1] * self._line()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Follow the system from light to dark, and its font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw marks and words."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        line = self._line()
        for (text, mark), place in zip(self._entries(), self._placed(self.width())[0], strict=True):
            mark(painter, QRectF(place.x() + 0.5, place.y() + 2.5, _SWATCH - 1, line - 5), look)
            painter.setPen(look.colour("ink"))
            box = QRectF(place.x() + _SWATCH + _GAP, place.y(), self.width(), line)
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, text)


def _piece_mark(colour: str, painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setPen(QPen(look.colour("ink"), 1.3))
    painter.setBrush(tinted(look, colour, TINT))
    painter.drawRect(box)


def _shown_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setPen(shown_pen(look))
    middle = box.center().y()
    painter.drawLine(QPointF(box.left(), middle), QPointF(box.right(), middle))


def _room_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    brush = room_brush(look, is_deep=False)
    painter.setPen(QPen(brush.color(), 1.0))
    painter.setBrush(brush)
    painter.drawRect(box)


def _deep_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    _room_mark(painter, box, look)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(room_brush(look, is_deep=True))
    painter.drawRect(box)


def _pin_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("ink"), 1.0, Qt.PenStyle.DotLine))
    painter.drawEllipse(box.center(), 7.0, 7.0)
    painter.setBrush(look.colour("raised"))
    painter.setPen(QPen(look.colour("ink"), 1.4))
    painter.drawEllipse(box.center(), 3.5, 3.5)


def _middle_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("ink"), 1.3))
    paint_middle(painter, box.center())


def _screw_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(head_pen(look))
    painter.drawEllipse(box.center(), 7.0, 7.0)
    painter.setBrush(look.colour("raised"))
    painter.setPen(QPen(look.colour("ink"), 1.4))
    painter.drawEllipse(box.center(), 3.0, 3.0)


def _nut_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(look.colour("ink"), 1.0))
    painter.drawPolygon(
        QPolygonF([box.center() + QPointF(x, y) * 6.0 for x, y in hexagon(math.sqrt(3.0))])
    )


def _thread_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(look.colour("raised"))
    painter.setPen(QPen(look.colour("ink"), 1.0))
    painter.drawEllipse(box.center(), 6.5, 6.5)
    painter.drawEllipse(box.center(), 3.5, 3.5)


def _flange_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(rim_pen(look))
    painter.drawRect(box)


def _register_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    path = QPainterPath()
    path.addRect(box.adjusted(0, 2, 0, -2))
    paint_register(painter, path, look)


def _studs_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    path = QPainterPath()
    for away in (-4.5, 4.5):
        path.addEllipse(box.center() + QPointF(away, 0.0), 3.5, 3.5)
    paint_register(painter, path, look)


def _tape_mark(painter: QPainter, box: QRectF, look: Look) -> None:
    path = QPainterPath(QPointF(box.left(), box.center().y()))
    path.lineTo(box.right(), box.center().y())
    paint_tape(painter, path, look)


_MORE = (
    ("screw", "screw: hole and room for its head", _screw_mark),
    ("nut", "nut", _nut_mark),
    ("insert", "hole for an insert", _thread_mark),
    ("flange", "flange", _flange_mark),
    *((form, REGISTER_WORDS[form], _register_mark) for form in ("lap", "tongue", "wedge")),
    ("studs", REGISTER_WORDS["studs"], _studs_mark),
    ("tape", "tape", _tape_mark),
)
"""What is only told of where it is: kind, words and mark."""


def kinds_of(joint: Joint) -> frozenset[str]:
    """Return which kinds of marks a joint needs beside those of pins."""
    kinds = {"screw"} if joint.screws else set()
    if any(screw.nut_room > 0 for screw in joint.screws):
        kinds.add("nut")
    if any(screw.hold != "nut" and screw.hole > screw.clearance for screw in joint.screws):
        kinds.add("insert")
    if joint.flange is not None:
        kinds.add("flange")
    if joint.register is not None:
        kinds.add(joint.register.form)
    if joint.tape is not None:
        kinds.add("tape")
    return frozenset(kinds)
