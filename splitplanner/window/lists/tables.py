"""What all tables share: whole rows of figures are read, copied and chosen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QEvent, QItemSelectionModel, QModelIndex, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QContextMenuEvent,
    QGuiApplication,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QMenu, QTableView, QWidget

from splitplanner.window.lists.lines import PADDING, LinesDelegate
from splitplanner.window.lists.rows_model import (
    LINES,
    NOTHING,
    PENDING,
    Column,
    Figure,
    Index,
    RowsModel,
)
from splitplanner.window.quantities import Quantities

__all__ = ["LINES", "NOTHING", "PENDING", "Column", "Figure", "Index", "RowsModel", "Table"]

_GOING = (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter)


class Table(QTableView):
    """A table of figures: whole rows are chosen, copied as text, and kept chosen.

    Signals
    -------
    row_chosen(int)
        The user went to a row.
    row_entered(int)
        The user double-clicked a row or pressed Enter.
    chosen_changed()
        Another row is chosen, or none, whoever did it.
    """

    row_chosen = Signal(int)
    row_entered = Signal(int)
    chosen_changed = Signal()

    def __init__(self, model: RowsModel, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows_model = model
        model.setParent(self)
        self.setModel(model)
        self.setAccessibleName(name)
        self.setItemDelegate(LinesDelegate(self))
        self._quiet = False
        self._height = 0
        self._last: object = None
        self._set_manners()
        self._set_widths()
        copy = QKeySequence(QKeySequence.StandardKey.Copy)
        self.copy_action = self.add_command("Copy as text", copy, self.copy)
        self.selectionModel().currentRowChanged.connect(self._look)
        self.selectionModel().selectionChanged.connect(self._look)

    def _set_manners(self) -> None:
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
        )
        # Tab goes on to the next control; arrows move within the table.
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.verticalHeader().hide()
        self.horizontalHeader().setHighlightSections(False)

    def _set_widths(self) -> None:
        header = self.horizontalHeader()
        digit = self.fontMetrics().horizontalAdvance("0")
        for index, column in enumerate(self.rows_model.columns):
            self.setColumnWidth(index, column.width * digit + 2 * PADDING)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self._set_heights()
        header.setMinimumSectionSize(digit * 3)

    def _set_heights(self) -> None:
        """Make all rows as tall as the tallest needs it."""
        lines = self.rows_model.most_lines()
        height = max(self._height, lines * self.fontMetrics().height() + 2 * PADDING)
        self.verticalHeader().setDefaultSectionSize(height)

    def add_command(self, text: str, key: QKeySequence | str, done: Callable[..., Any]) -> QAction:
        """Add what a key does while the table has the focus."""
        action = QAction(text, self)
        action.setShortcut(QKeySequence(key))
        action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        action.triggered.connect(done)
        self.addAction(action)
        return action

    def pop_up(self, menu: QMenu, event: QContextMenuEvent) -> None:
        """Show a menu at the mouse, or at the current row where a key asked for it."""
        at, row = event.globalPos(), self.currentIndex()
        if event.reason() == QContextMenuEvent.Reason.Keyboard and row.isValid():
            at = self.viewport().mapToGlobal(self.visualRect(row).bottomLeft())
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(at)

    def set_least_height(self, pixels: int) -> None:
        """Keep rows at least so tall, logical pixels."""
        self._height = pixels
        self._set_widths()
        self._share_width()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Make room for another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._set_widths()
            self._share_width()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Give what width there is to the columns that stretch."""
        super().resizeEvent(event)
        self._share_width()

    def _share_width(self) -> None:
        columns = self.rows_model.columns
        stretching = [index for index, column in enumerate(columns) if column.stretches]
        if not stretching:
            return
        digit = self.fontMetrics().horizontalAdvance("0")
        least = {index: columns[index].width * digit + 2 * PADDING for index in stretching}
        others = sum(self.columnWidth(i) for i in range(len(columns)) if i not in least)
        left = self.viewport().width() - others - sum(least.values())
        for index, width in least.items():
            self.setColumnWidth(index, width + max(0, left) // len(least))

    def show_rows(self, rows: Sequence[Any]) -> None:
        """Show rows; the one that was chosen stays so if it is still there."""
        chosen = self.chosen_key
        with self._quietly():
            self.rows_model.set_rows(rows)
            self._set_heights()
            if chosen != self.chosen_key:
                self._go_to(chosen)
            self._look()

    def choose(self, key: object) -> None:
        """Choose the row of a key, or none; nothing is signalled."""
        with self._quietly():
            self._go_to(key)

    def _go_to(self, key: object) -> None:
        found = [at for at, row in enumerate(self.rows_model.rows) if row.key == key]
        if not found:
            self.clearSelection()
            self.selectionModel().setCurrentIndex(
                QModelIndex(), QItemSelectionModel.SelectionFlag.NoUpdate
            )
            return
        column = max(self.currentIndex().column(), 0)
        index = self.rows_model.index(found[0], column)
        if found[0] != self.chosen:
            self.setCurrentIndex(index)

    @property
    def chosen(self) -> int:
        """The row that is chosen, or -1."""
        # A view that gets the focus goes to its first row without selecting it: not a choice.
        index = self.currentIndex()
        return index.row() if self.selectionModel().isSelected(index) else -1

    @property
    def chosen_key(self) -> Any:
        """The key of the row that is chosen, or None."""
        return self.rows_model.rows[self.chosen].key if self.chosen >= 0 else None

    def selected_rows(self) -> list[int]:
        """Return the selected rows, from the top."""
        return sorted(index.row() for index in self.selectionModel().selectedRows())

    def copy(self) -> None:
        """Put the selected rows on the clipboard, as text with tabs."""
        rows = self.selected_rows()
        if rows:
            text = "\n".join(self.rows_model.text_of(row) for row in rows)
            QGuiApplication.clipboard().setText(text)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.rows_model.set_quantities(quantities)

    @contextmanager
    def _quietly(self) -> Iterator[None]:
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def _look(self, *_: object) -> None:
        """Tell if another row is chosen than before."""
        row, key = self.chosen, self.chosen_key
        if key == self._last:
            return
        self._last = key
        self.chosen_changed.emit()
        if row >= 0 and not self._quiet:
            self.row_chosen.emit(row)

    def keyPressEvent(self, event: Any) -> None:  # noqa: N802
        """Enter edits the cell if it can be edited, and else takes the row."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        editing = self.state() == QAbstractItemView.State.EditingState
        if event.key() in _GOING and self.chosen < 0 and self.rows_model.rows:
            # The focus has come to a row without choosing it: that is the one to begin with.
            at = self.currentIndex()
            self.setCurrentIndex(at if at.isValid() else self.rows_model.index(0, 0))
            event.accept()
            return
        if enter and not editing and self.chosen >= 0:
            index = self.currentIndex()
            if index.flags() & Qt.ItemFlag.ItemIsEditable:
                self.edit(index)
            else:
                self.row_entered.emit(index.row())
            event.accept()
            return
        super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: Any) -> None:  # noqa: N802
        """Take the row that is double-clicked, where its cell cannot be edited."""
        super().mouseDoubleClickEvent(event)
        index = self.indexAt(event.position().toPoint())
        if index.isValid() and not self.rows_model.columns[index.column()].editable:
            self.row_entered.emit(index.row())
