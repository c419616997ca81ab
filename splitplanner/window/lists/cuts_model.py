"""Cuts as rows of numbers that can be edited."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from PySide6.QtCore import QAbstractItemModel, Qt, Signal
from PySide6.QtWidgets import QComboBox, QStyleOptionViewItem, QWidget

from splitplanner.plan import WHOLE, Cut
from splitplanner.window.chart.cut_places import (
    ChartAxis,
    CutPlace,
    leaned,
    moved_to_station,
    place_of,
)
from splitplanner.window.lists.lines import LinesDelegate, Shown
from splitplanner.window.lists.number_editor import Index
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel
from splitplanner.window.quantities import Quantities

ALL_PIECES = "all it meets"
DIVIDES, STATION, LEAN, TURN, OFFSET = range(1, 6)


@dataclass(frozen=True)
class CutRow:
    """One cut.

    Attributes
    ----------
    index : int
    cut : Cut
    place : CutPlace
    targets : tuple of str
        The pieces that it could divide instead.
    numbers : dict of str to int
        The number of each piece there is now, by its name.
    """

    index: int
    cut: Cut
    place: CutPlace
    targets: tuple[str, ...] = ()
    numbers: Mapping[str, int] = field(default_factory=dict)

    @property
    def key(self) -> int:
        """What a table knows it by."""
        return self.index


def words_of(name: str | None, numbers: Mapping[str, int]) -> str:
    """Return what a cut divides by the numbers of the pieces that are left of it now.

    Parameters
    ----------
    name : str or None
        Of what earlier cuts left; None for all that the cut meets.
    numbers : dict of str to int
        The number of each piece there is now, by its name; empty while that is not known.
    """
    if name is None:
        return ALL_PIECES
    if name == WHOLE:
        return "the whole part"
    left = sorted(each for piece, each in numbers.items() if f"{piece}.".startswith(f"{name}."))
    if not left:
        return f"piece {name}"
    return f"{'piece' if len(left) == 1 else 'pieces'} {' + '.join(map(str, left))}"


def _divides(row: CutRow, _: Quantities) -> Shown:
    return Shown(words_of(row.cut.piece, row.numbers))


def _station(row: CutRow, quantities: Quantities) -> Shown:
    station = row.place.station
    return Shown(NOTHING if math.isnan(station) else quantities.length(station))


def _turn(row: CutRow, quantities: Quantities) -> Shown:
    return Shown(NOTHING if row.place.is_straight else quantities.angle(row.place.turn))


COLUMNS = (
    Column("Cut", (Figure("cut", lambda row, _: Shown(str(row.index + 1))),), 3),
    Column("Divides", (Figure("divides", _divides),), 10, right=False, editable=True,
           stretches=True),
    Column("Station", (Figure("station", _station),), 9, editable=True),
    Column("Lean", (Figure("lean", lambda row, q: Shown(q.angle(row.place.lean))),), 6,
           editable=True),
    Column("Turn", (Figure("turn", _turn),), 6, editable=True),
    Column("Offset", (Figure("offset", lambda row, q: Shown(q.length(row.place.offset))),), 9,
           editable=True),
)  # fmt: skip


class CutsModel(RowsModel):
    """Cuts whose numbers can be edited; what is entered is told, and changes nothing here.

    Signals
    -------
    plane_entered(int, object)
        Index of the cut, and the plane that the user wants.
    target_entered(int, object)
        Index of the cut, and the name of the piece it is to divide or None for all.
    """

    plane_entered = Signal(int, object)
    target_entered = Signal(int, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(COLUMNS, parent)
        self.axis = ChartAxis()

    def rows_of(
        self,
        cuts: Sequence[Cut],
        targets: Sequence[Sequence[str]],
        numbers: Mapping[str, int] | None = None,
    ) -> list[CutRow]:
        """Return the rows of cuts beside the axis."""
        named = [*targets, *([()] * (len(cuts) - len(targets)))]
        return [
            CutRow(index, cut, place_of(cut.plane, self.axis), tuple(names), numbers or {})
            for index, (cut, names) in enumerate(zip(cuts, named, strict=False))
        ]

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return which numbers may be edited: all that the plane has."""
        flags = super().flags(index)
        if not index.isValid() or not self.columns[index.column()].editable:
            return flags
        place = self.rows[index.row()].place
        missing = (index.column() == STATION and math.isnan(place.station)) or (
            index.column() == TURN and place.is_straight
        )
        return flags if missing else flags | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what is edited, in the unit it is shown in."""
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return super().data(index, role)
        row = self.rows[index.row()]
        return {
            DIVIDES: row.cut.piece,
            STATION: self.quantities.shown(row.place.station),
            LEAN: row.place.lean,
            TURN: row.place.turn,
            OFFSET: self.quantities.shown(row.place.offset),
        }.get(index.column())

    def setData(  # noqa: N802
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Tell what the user wants of a cut."""
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        row, column = self.rows[index.row()], index.column()
        plane, place = row.cut.plane, row.place
        if column == DIVIDES:
            self.target_entered.emit(row.index, value)
            return True
        if column == STATION:
            plane = moved_to_station(plane, self.quantities.entered(float(value)), self.axis)
        elif column == LEAN:
            plane = leaned(plane, float(value), place.turn, self.axis)
        elif column == TURN:
            plane = leaned(plane, place.lean, float(value), self.axis)
        elif column == OFFSET:
            plane = plane.shifted(self.quantities.entered(float(value)) - plane.offset)
        else:
            return False
        self.plane_entered.emit(row.index, plane)
        return True


class TargetDelegate(LinesDelegate):
    """Chooses what a cut divides."""

    def createEditor(  # noqa: N802
        self, parent: QWidget, option: QStyleOptionViewItem, index: Index
    ) -> QWidget:
        """Return a list of all pieces there are at this cut."""
        box = QComboBox(parent)
        box.setAccessibleName("Divides")
        box.addItem(ALL_PIECES, None)
        model: Any = index.model()
        row = model.rows[index.row()]
        names = list(row.targets)
        if row.cut.piece is not None and row.cut.piece not in names:
            names.insert(0, row.cut.piece)
        for name in names:
            box.addItem(words_of(name, row.numbers), name)
        return box

    def setEditorData(self, editor: QWidget, index: Index) -> None:  # noqa: N802
        """Show what it divides now."""
        if isinstance(editor, QComboBox):
            found = editor.findData(index.data(Qt.ItemDataRole.EditRole))
            editor.setCurrentIndex(max(found, 0))

    def setModelData(  # noqa: N802
        self, editor: QWidget, model: QAbstractItemModel, index: Index
    ) -> None:
        """Hand on what was chosen, if it is something else."""
        if isinstance(editor, QComboBox):
            chosen = editor.currentData()
            if chosen != index.data(Qt.ItemDataRole.EditRole):
                model.setData(index, chosen, Qt.ItemDataRole.EditRole)
