"""The table of pieces: each as it lies on its bed, with its figures, and which way up it prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QAction, QContextMenuEvent, QImage, QPainter, QPixmap
from PySide6.QtWidgets import QHBoxLayout, QMenu, QVBoxLayout, QWidget

from splitplanner.plan import Vector
from splitplanner.score import PrintTotals
from splitplanner.score.lying import fit_of, size_as_it_lies
from splitplanner.window.lists.directions_popup import DirectionsPopup, RankedDirection
from splitplanner.window.lists.lines import (
    LinesDelegate,
    Shown,
    badge_width,
    draw_badge,
    shown_findings,
    shown_fit,
)
from splitplanner.window.lists.named_rows import NamedRows
from splitplanner.window.lists.piece_rows import PieceRow, piece_rows
from splitplanner.window.lists.tables import NOTHING, PENDING, Column, Figure, RowsModel, Table
from splitplanner.window.lists.totals_line import TotalsLine
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Material

__all__ = [
    "PieceRow",
    "PiecesTable",
    "RankedDirection",
    "fit_of",
    "piece_rows",
    "size_as_it_lies",
]

_PICTURE_HEIGHT = 60
AXES: tuple[tuple[str, Vector], ...] = (
    ("+x", (1.0, 0.0, 0.0)),
    ("−x", (-1.0, 0.0, 0.0)),
    ("+y", (0.0, 1.0, 0.0)),
    ("−y", (0.0, -1.0, 0.0)),
    ("+z", (0.0, 0.0, 1.0)),
    ("−z", (0.0, 0.0, -1.0)),
)
"""The directions along the axes of the model, and how they are written."""


def _number(row: PieceRow, _: Quantities) -> Shown:
    return Shown(str(row.number), str(row.number), row.colour)


def _size(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.size is None else quantities.size(row.size))


def _fit(row: PieceRow, _: Quantities) -> Shown:
    return Shown(PENDING) if row.fit is None else shown_fit(row.fit)


def _spare(row: PieceRow, quantities: Quantities) -> Shown:
    if row.spare is None:
        return Shown(PENDING)
    share = quantities.share(abs(row.spare - 1.0), 1)
    return Shown(f"{share} to spare" if row.spare >= 1.0 else f"{share} too large", faint=True)


def _overhang(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.overhang is None else quantities.area(row.overhang))


def _support(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.support is None else quantities.volume(row.support))


def _time(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.hours is None else quantities.duration(row.hours))


def _mass(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(_missing(row) if row.mass is None else quantities.mass(row.mass))


def _filament(row: PieceRow, quantities: Quantities) -> Shown:
    """Return the length, and what it costs where that is known."""
    if row.length is None:
        return Shown(_missing(row), faint=True)
    price = "" if row.cost is None else f" · {quantities.number(row.cost, 2)}"
    return Shown(f"{quantities.run(row.length)}{price}", faint=True)


def _missing(row: PieceRow) -> str:
    """Return what stands for filament that is not known, or is not known yet."""
    return PENDING if row.hours is None else NOTHING


def _supports_seen(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.good is None else f"{quantities.area(row.good.supports)} held")


def _seam_seen(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.good is None else f"{quantities.length(row.good.seam, 0)} seam")


def _travels_seen(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(
        PENDING if row.good is None else f"{quantities.number(row.good.crossings)} travels"
    )


def _bed_seen(row: PieceRow, quantities: Quantities) -> Shown:
    return Shown(PENDING if row.good is None else f"{quantities.area(row.good.contact)} bed")


def _findings(row: PieceRow, _: Quantities) -> Shown:
    return shown_findings(row.findings, row.worst)


COLUMNS = (
    Column("Piece", (Figure("piece", _number),), 6, right=False),
    Column(
        "Size, fit\nand spare",
        (Figure("size", _size), Figure("fit", _fit), Figure("spare", _spare)),
        14,
        right=False,
        stretches=True,
    ),
    Column("Overhang\nsupport", (Figure("overhang", _overhang), Figure("support", _support)), 9),
    Column(
        "Time, mass\nfilament",
        (Figure("print time", _time), Figure("mass", _mass), Figure("filament", _filament)),
        10,
    ),
    Column(
        "On the\ngood side",
        (
            Figure("supports on the good side", _supports_seen),
            Figure("seam on the good side", _seam_seen),
            Figure("travel crossings seen", _travels_seen),
            Figure("good side on the bed", _bed_seen),
        ),
        13,
    ),
    Column("Find-\nings", (Figure("findings", _findings),), 4),
)


class PictureDelegate(LinesDelegate):
    """Draws a piece's picture with its number on it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.pictures: dict[str, QImage] = {}
        self._scaled: dict[tuple[str, int, int, float], QPixmap] = {}

    def set_picture(self, name: str, picture: QImage) -> None:
        """Keep the picture of a piece."""
        self.pictures[name] = picture
        self._scaled.clear()

    def forget_all_but(self, names: Sequence[str]) -> None:
        """Let go of the pictures of pieces that are gone."""
        self.pictures = {name: self.pictures[name] for name in names if name in self.pictures}
        self._scaled.clear()

    def draw_lines(
        self, painter: QPainter, opt: Any, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Draw the picture as large as the cell allows, and the number in its corner."""
        model: Any = index.model()
        row = model.rows[index.row()]
        box = opt.rect.adjusted(3, 3, -3, -3)
        picture = self._picture(row.name, box, painter.device().devicePixelRatioF())
        if picture is not None:
            size = picture.deviceIndependentSize()
            left = box.left() + (box.width() - size.width()) / 2
            top = box.top() + (box.height() - size.height()) / 2
            painter.drawPixmap(
                QRectF(left, top, size.width(), size.height()),
                picture,
                QRectF(picture.rect()),
            )
        text, side = str(row.number), painter.fontMetrics().height()
        width = badge_width(painter.fontMetrics(), text)
        draw_badge(painter, QRectF(box.left(), box.top(), width, side), text, row.colour)

    def _picture(self, name: str, box: QRect, ratio: float) -> QPixmap | None:
        image = self.pictures.get(name)
        if image is None or image.isNull():
            return None
        key = (name, box.width(), box.height(), ratio)
        if key not in self._scaled:
            scaled = image.scaled(
                round(box.width() * ratio),
                round(box.height() * ratio),
                Qt.AspectRatioMode.KeepAspectRatio,
                Qt.TransformationMode.SmoothTransformation,
            )
            pixmap = QPixmap.fromImage(scaled)
            pixmap.setDevicePixelRatio(ratio)
            self._scaled[key] = pixmap
        return self._scaled[key]


class PiecesTable(NamedRows):
    """All pieces with their figures; print directions are changed from here.

    Signals
    -------
    piece_chosen(str)
        The name of the piece that the user went to.
    direction_asked(str, object)
        The piece is to print with this direction, (x, y, z) of the part, up.
    lay_face_asked(str)
        The user wants to click the face of the piece that is to lie down.
    directions_asked(str)
        The user wants to choose among ranked directions; answer by `show_directions`.
    spool_left_changed(object)
        So many g are left on the started spool, or None where it is not known.
    """

    piece_chosen = Signal(str)
    direction_asked = Signal(str, object)
    lay_face_asked = Signal(str)
    directions_asked = Signal(str)
    spool_left_changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "Pieces")
        self.table.set_least_height(_PICTURE_HEIGHT + 6)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self._pictures = PictureDelegate(self.table)
        self.table.setItemDelegateForColumn(0, self._pictures)
        self.table.row_chosen.connect(self._piece_chosen)
        self.table.row_entered.connect(self._ask_directions)
        self._popup = DirectionsPopup(self)
        self._popup.direction_taken.connect(self.direction_asked)
        self.directions_action = self.table.add_command(
            "Print direction…", "D", self._ask_directions
        )
        self.lay_action = self.table.add_command("Lay a face down…", "L", self._ask_lay)
        self._directions_button = button(
            "Print &direction…",
            "Choose which way up the chosen piece prints, among those that cost least (D).",
            self._ask_directions,
        )
        self._lay_button = button(
            "&Lay a face down…",
            "Click the face of the chosen piece that is to lie on the bed (L).",
            self._ask_lay,
        )
        self.totals = TotalsLine()
        self.totals.left_changed.connect(self.spool_left_changed)
        self.table.chosen_changed.connect(self._enable)
        self._lay_out()
        self._enable()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        buttons.addWidget(self._directions_button)
        buttons.addWidget(self._lay_button)
        buttons.addStretch()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.table)
        layout.addLayout(buttons)
        layout.addWidget(self.totals)

    def show_rows(self, rows: Sequence[PieceRow]) -> None:
        """Show the pieces; the chosen one stays chosen, and pictures stay with their names."""
        self.table.show_rows(rows)
        self._pictures.forget_all_but([row.name for row in rows])
        self._enable()

    def show_totals(
        self,
        totals: PrintTotals | None,
        material: Material | None,
        left: float | None,
        braces: int = 0,
    ) -> None:
        """Show what all pieces and so many printed braces take.

        And what is left on the started spool, g or None.
        """
        self.totals.show_totals(len(self.table.rows_model.rows), totals, material, left, braces)

    def set_picture(self, name: str, picture: QImage) -> None:
        """Show the picture of a piece as it lies on its bed."""
        self._pictures.set_picture(name, picture)
        self.table.viewport().update()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        super().set_quantities(quantities)
        self._popup.set_quantities(quantities)
        self.totals.set_quantities(quantities)

    def show_directions(self, name: str, directions: Sequence[RankedDirection]) -> None:
        """Let the user choose among print directions of a piece, the best first."""
        rows = [row for row in self.table.rows_model.rows if row.name == name]
        if not rows or not directions:
            return
        index = self.table.rows_model.index(self.table.rows_model.rows.index(rows[0]), 1)
        corner = self.table.visualRect(index).bottomLeft()
        at = self.table.viewport().mapToGlobal(corner)
        title = f"Which way up piece {rows[0].number} prints"
        self._popup.offer(name, title, directions, at, rows[0].up)

    @property
    def popup(self) -> DirectionsPopup:
        """Where print directions are chosen."""
        return self._popup

    def menu(self) -> QMenu:
        """Return a menu of what can be done with the chosen piece."""
        menu = QMenu(self)
        menu.addAction(self.directions_action)
        menu.addAction(self.lay_action)
        upward = menu.addMenu("This side &up")
        for label, up in AXES:
            upward.addAction(f"{label} of the model").setData(up)
        upward.triggered.connect(self._ask_direction)
        menu.addSeparator()
        menu.addAction(self.table.copy_action)
        return menu

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Show the menu at the mouse, or at the chosen row where a key asked for it."""
        if self.chosen is not None:
            self.table.pop_up(self.menu(), event)

    def _piece_chosen(self, row: int) -> None:
        self.piece_chosen.emit(self.table.rows_model.rows[row].name)

    def _ask_direction(self, action: QAction) -> None:
        if self.chosen is not None:
            self.direction_asked.emit(self.chosen, action.data())

    def _enable(self, *_: object) -> None:
        for each in (
            self._directions_button,
            self._lay_button,
            self.directions_action,
            self.lay_action,
        ):
            each.setEnabled(self.chosen is not None)

    def _ask_directions(self, *_: object) -> None:
        if self.chosen is not None:
            self.directions_asked.emit(self.chosen)

    def _ask_lay(self, *_: object) -> None:
        if self.chosen is not None:
            self.lay_face_asked.emit(self.chosen)
