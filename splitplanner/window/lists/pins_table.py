"""The pins of one seam as numbers: moved, added and deleted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.number_editor import Index, NumberDelegate
from splitplanner.window.lists.seam_rows import PinPlace
from splitplanner.window.lists.tables import Column, Figure, RowsModel, Table
from splitplanner.window.quantities import Quantities


def shown_size(diameter: float, length: float, quantities: Quantities) -> str:
    """Return diameter and length of a pin, which is sold by mm whatever the user reads in."""
    short = quantities.locale.toString
    return f"{short(diameter, 'g', 4)} × {short(length, 'g', 4)} mm"


COLUMNS = (
    Column("Pin", (Figure("pin", lambda row, _: Shown(str(row.index + 1))),), 5),
    Column(
        "Along u", (Figure("pin u", lambda row, q: Shown(q.length(row.u, 2))),), 12, editable=True
    ),
    Column(
        "Along v", (Figure("pin v", lambda row, q: Shown(q.length(row.v, 2))),), 12, editable=True
    ),
    Column(
        "Size",
        (Figure("pin size", lambda row, q: Shown(shown_size(row.diameter, row.length, q))),),
        12,
        stretches=True,
    ),
)


class PinsModel(RowsModel):
    """Pins whose places can be edited; what is entered is told, and changes nothing here."""

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
        """Tell where the user wants the pin."""
        if role != Qt.ItemDataRole.EditRole or index.column() not in (1, 2):
            return False
        row = self.rows[index.row()]
        entered = self.quantities.entered(float(value))
        u, v = (entered, row.v) if index.column() == 1 else (row.u, entered)
        self.place_entered.emit(row.index, u, v)
        return True


class PinsTable(Table):
    """The pins of one seam.

    Signals
    -------
    pin_moved(int, float, float)
        Index and place in the plane, mm.
    pin_deleted(int)
    pin_added()
    """

    pin_moved = Signal(int, float, float)
    pin_deleted = Signal(int)
    pin_added = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        model = PinsModel(COLUMNS)
        super().__init__(model, "Pins of the chosen seam", parent)
        self.setAccessibleDescription("F2 edits a place, Insert adds a pin, Delete deletes one.")
        model.place_entered.connect(self.pin_moved)
        for column in (1, 2):
            self.setItemDelegateForColumn(column, NumberDelegate(self, lambda: model.quantities))

    def show_pins(self, pins: Sequence[PinPlace]) -> None:
        """Show the pins of a seam."""
        self.show_rows(pins)

    def delete_chosen(self, *_: object) -> None:
        """Ask for the chosen pin to be deleted."""
        if self.chosen >= 0:
            self.pin_deleted.emit(self.rows_model.rows[self.chosen].index)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Insert adds a pin, Delete deletes the chosen one."""
        if event.key() == Qt.Key.Key_Insert:
            self.pin_added.emit()
        elif event.key() == Qt.Key.Key_Delete:
            self.delete_chosen()
        else:
            super().keyPressEvent(event)
