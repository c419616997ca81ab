"""Rows of figures as Qt's tables read them: shown by columns, explained, and copied as text."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QWidget

from splitplanner.findings import capital
from splitplanner.window.lists.definitions import definition
from splitplanner.window.lists.lines import Shown
from splitplanner.window.quantities import Quantities

Index = QModelIndex | QPersistentModelIndex
LINES = Qt.ItemDataRole.UserRole + 1
"""The lines of a cell, a tuple of `Shown`."""
PENDING = "…"
NOTHING = "–"


@dataclass(frozen=True)
class Figure:
    """One figure of a row.

    Attributes
    ----------
    name : str
        As `splitplanner.window.lists.definitions` explains it.
    show : function of a row and Quantities
        How it reads.
    """

    name: str
    show: Callable[[Any, Quantities], Shown]


@dataclass(frozen=True)
class Column:
    """One column: a few figures below each other.

    Attributes
    ----------
    heading : str
        One line or several.
    figures : tuple of Figure
    width : int
        In figures of the font.
    right : bool
        Whether numbers stand flush right.
    editable : bool
    stretches : bool
        Whether it takes what width is left.
    packs : bool
        Whether lines that tell nothing are left out, so that rows are no taller than they need be.
    """

    heading: str
    figures: tuple[Figure, ...]
    width: int
    right: bool = True
    editable: bool = False
    stretches: bool = False
    packs: bool = False


class RowsModel(QAbstractTableModel):
    """Rows of any kind, shown by columns; each row has a ``key`` that it is known by."""

    def __init__(self, columns: Sequence[Column], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.columns = tuple(columns)
        self.rows: tuple[Any, ...] = ()
        self.quantities = Quantities()

    def set_rows(self, rows: Sequence[Any]) -> None:
        """Show other rows; where they are the same ones with new figures, nothing else moves."""
        same = [row.key for row in rows] == [row.key for row in self.rows]
        if same:
            self.rows = tuple(rows)
            self.refresh()
            return
        self.beginResetModel()
        self.rows = tuple(rows)
        self.endResetModel()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.quantities = quantities
        self.refresh()

    def refresh(self) -> None:
        """Have all cells read anew."""
        if self.rows:
            last = self.index(len(self.rows) - 1, len(self.columns) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self.columns)

    def lines(self, row: int, column: int) -> tuple[Shown, ...]:
        """Return what a cell shows."""
        return tuple(
            figure.show(self.rows[row], self.quantities) for figure in self.columns[column].figures
        )

    def drawn(self, row: int, column: int) -> tuple[Shown, ...]:
        """Return those lines of a cell that are drawn."""
        lines = self.lines(row, column)
        if not self.columns[column].packs:
            return lines
        return tuple(line for line in lines if line.text != NOTHING) or lines[:1]

    def most_lines(self) -> int:
        """Return how many lines the tallest row has."""
        kept = [len(column.figures) for column in self.columns if not column.packs]
        packed = [at for at, column in enumerate(self.columns) if column.packs]
        told = [len(self.drawn(row, at)) for row in range(len(self.rows)) for at in packed]
        return max([*kept, *told], default=1)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what Qt asks of a cell."""
        if not index.isValid():
            return None
        column = self.columns[index.column()]
        if role == LINES:
            return self.drawn(index.row(), index.column())
        if role == Qt.ItemDataRole.DisplayRole:
            return "\n".join(line.text for line in self.lines(index.row(), index.column()))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            lines = self.lines(index.row(), index.column())
            named = zip(column.figures, lines, strict=True)
            return ", ".join(f"{figure.name} {line.text}" for figure, line in named)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.tip(index.row(), index.column())
        return None

    def tip(self, row: int, column: int) -> str:
        """Return the tooltip of a cell: what it shows in full, and what that means."""
        lines = self.lines(row, column)
        figures = self.columns[column].figures
        return "".join(
            f"<p><b>{html.escape(capital(figure.name))}: {html.escape(line.text)}</b><br>"
            f"{html.escape(definition(figure.name))}</p>"
            for figure, line in zip(figures, lines, strict=True)
        )

    def headerData(  # noqa: N802
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        """Return what Qt asks of a heading."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = self.columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.heading
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return ", ".join(figure.name for figure in column.figures)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ToolTipRole:
            return "".join(
                f"<p><b>{html.escape(capital(figure.name))}.</b> "
                f"{html.escape(definition(figure.name))}</p>"
                for figure in column.figures
            )
        return None

    def text_of(self, row: int) -> str:
        """Return a row as text: all its figures, with tabs between them."""
        return "\t".join(
            line.text for column in range(len(self.columns)) for line in self.lines(row, column)
        )


def _alignment(column: Column) -> Qt.AlignmentFlag:
    side = Qt.AlignmentFlag.AlignRight if column.right else Qt.AlignmentFlag.AlignLeft
    return side | Qt.AlignmentFlag.AlignVCenter
