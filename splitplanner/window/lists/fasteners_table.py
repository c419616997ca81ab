"""Pins and screws of one seam as numbers: moved, added, turned round and deleted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.number_editor import Index, NumberDelegate
from splitplanner.window.lists.seam_rows import FastenerPlace
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel, Table
from splitplanner.window.quantities import Quantities


def _size(row: FastenerPlace, _: Quantities) -> Shown:
    return Shown(row.size)


def _length(row: FastenerPlace, quantities: Quantities) -> Shown:
    # It is sold by mm whatever the user reads in.
    return Shown(f"{quantities.locale.toString(float(row.length), 'g', 4)} mm", faint=True)


def _head(row: FastenerPlace, quantities: Quantities) -> Shown:
    if row.head_in is None:
        return Shown(NOTHING, faint=True)
    return Shown(f"piece {quantities.number(row.head_in)}, {row.hold}")


def _seat(row: FastenerPlace, quantities: Quantities) -> Shown:
    if row.head_in is None:
        return Shown(NOTHING, faint=True)
    return Shown(quantities.length(row.seat), faint=True)


COLUMNS = (
    Column("Pin or\nscrew", (Figure("fastener", lambda row, _: Shown(row.name)),), 7, right=False),
    Column(
        "Along u",
        (Figure("fastener u", lambda row, q: Shown(q.length(row.u, 2))),),
        10,
        editable=True,
    ),
    Column(
        "Along v",
        (Figure("fastener v", lambda row, q: Shown(q.length(row.v, 2))),),
        10,
        editable=True,
    ),
    Column("Size\nlength", (Figure("fastener size", _size), Figure("fastener length", _length)), 6),
    Column(
        "Head in\nseat",
        (Figure("head", _head), Figure("seat", _seat)),
        11,
        right=False,
        stretches=True,
    ),
)


class FastenersModel(RowsModel):
    """Pins and screws whose places can be edited; what is entered is told and changes nothing."""

    place_entered = Signal(int, float, float)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return that places may be edited."""
        flags = super().flags(index)
        if index.isValid() and self.columns[index.column()].editable:
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the number that is edited, in the unit it is shown in."""
        if role == Qt.ItemDataRole.EditRole and index.isValid():
            row = self.rows[index.row()]
            return {1: self.quantities.shown(row.u), 2: self.quantities.shown(row.v)}.get(
                index.column()
            )
        return super().data(index, role)

    def setData(  # noqa: N802
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Tell where the user wants it."""
        if role != Qt.ItemDataRole.EditRole or index.column() not in (1, 2):
            return False
        row = self.rows[index.row()]
        entered = self.quantities.entered(float(value))
        u, v = (entered, row.v) if index.column() == 1 else (row.u, entered)
        self.place_entered.emit(row.index, u, v)
        return True


class FastenersTable(Table):
    """Pins and screws of one seam.

    Signals
    -------
    moved(int, float, float)
        Index, the pins first, and place in the plane, mm.
    deleted(int)
    turned(int)
        The head of a screw is wanted in the other piece.
    pin_added()
    screw_added()
    """

    moved = Signal(int, float, float)
    deleted = Signal(int)
    turned = Signal(int)
    pin_added = Signal()
    screw_added = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        model = FastenersModel(COLUMNS)
        super().__init__(model, "Pins and screws of the chosen seam", parent)
        self.setAccessibleDescription(
            "F2 edits a place, Insert adds a pin and Shift+Insert a screw, T turns the chosen "
            "screw round, Delete deletes the chosen one."
        )
        model.place_entered.connect(self.moved)
        for column in (1, 2):
            self.setItemDelegateForColumn(column, NumberDelegate(self, lambda: model.quantities))

    def show_fasteners(self, fasteners: Sequence[FastenerPlace]) -> None:
        """Show pins and screws of a seam."""
        self.show_rows(fasteners)
        self._show_chosen()

    def choose(self, key: object) -> None:
        """Choose one, or none; nothing is signalled, and it is brought into sight."""
        super().choose(key)
        self._show_chosen()

    def _show_chosen(self) -> None:
        if self.chosen >= 0:
            self.scrollTo(self.currentIndex())

    def delete_chosen(self, *_: object) -> None:
        """Ask for the chosen one to be deleted."""
        if self.chosen >= 0:
            self.deleted.emit(self.rows_model.rows[self.chosen].index)

    def turn_chosen(self, *_: object) -> None:
        """Ask for the chosen screw to be turned round."""
        if self.chosen >= 0:
            self.turned.emit(self.rows_model.rows[self.chosen].index)

    @property
    def is_screw_chosen(self) -> bool:
        """Whether it is a screw that is chosen."""
        return self.chosen >= 0 and self.rows_model.rows[self.chosen].head_in is not None

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Insert adds a pin, with Shift a screw; T turns and Delete deletes the chosen one."""
        if event.key() == Qt.Key.Key_Insert:
            is_screw = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            (self.screw_added if is_screw else self.pin_added).emit()
        elif event.key() == Qt.Key.Key_T and not event.modifiers():
            self.turn_chosen()
        elif event.key() == Qt.Key.Key_Delete:
            self.delete_chosen()
        else:
            super().keyPressEvent(event)
