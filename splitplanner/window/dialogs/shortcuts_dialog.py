"""All keys of the program in one list that can be searched and copied."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

_COLUMNS = ("Where", "What", "Keys")


class ShortcutsDialog(QDialog):
    """Lists what can be done by keys.

    Parameters
    ----------
    groups : mapping of group name to actions
        Those without a key are left out.
    others : sequence of (group, what, keys)
        Keys that are no action's, such as those that are held down while dragging.
    """

    def __init__(
        self,
        groups: Mapping[str, Sequence[QAction]],
        others: Sequence[tuple[str, str, str]] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys")
        self._rows = [*_rows(groups), *others]
        self._search = QLineEdit(self)
        self._search.setPlaceholderText("Search what or which key")
        self._search.setAccessibleName("Search the keys")
        self._search.setToolTip("Rows that hold all of these words are listed.")
        self._search.setClearButtonEnabled(True)
        self._table = self._make_table()
        self._count = QLabel(self)
        copy = QPushButton("&Copy all", self)
        copy.setToolTip("Copy what is listed, to print it or to paste it elsewhere.")
        copy.setAutoDefault(False)
        copy.clicked.connect(lambda: self._copy(chosen_only=False))
        close = QPushButton("Close", self)
        close.setAutoDefault(False)
        close.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(self._search)
        layout.addWidget(self._table)
        low = QHBoxLayout()
        low.addWidget(self._count, 1)
        low.addWidget(copy)
        low.addWidget(close)
        layout.addLayout(low)
        keys = QShortcut(QKeySequence.StandardKey.Copy, self._table)
        keys.setContext(Qt.ShortcutContext.WidgetShortcut)
        keys.activated.connect(lambda: self._copy(chosen_only=True))
        self._search.textChanged.connect(self._filter)
        self._filter()
        self.resize(620, 560)

    def _make_table(self) -> QTableWidget:
        table = QTableWidget(len(self._rows), len(_COLUMNS), self)
        table.setHorizontalHeaderLabels(_COLUMNS)
        table.setAccessibleName("Keys")
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.verticalHeader().hide()
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for row, texts in enumerate(self._rows):
            for column, text in enumerate(texts):
                table.setItem(row, column, QTableWidgetItem(text))
        return table

    def _filter(self) -> None:
        """Show the rows that hold every word of the search."""
        words = self._search.text().casefold().split()
        shown = 0
        for row, texts in enumerate(self._rows):
            whole = " ".join(texts).casefold()
            fits = all(word in whole for word in words)
            self._table.setRowHidden(row, not fits)
            shown += fits
        self._count.setText(f"{shown} of {len(self._rows)}" if shown else "No key of that kind.")

    def _copy(self, *, chosen_only: bool) -> None:
        """Copy rows as text with tabs, as a table takes it."""
        chosen = {index.row() for index in self._table.selectionModel().selectedRows()}
        lines = [
            "\t".join(texts)
            for row, texts in enumerate(self._rows)
            if (row in chosen if chosen_only else not self._table.isRowHidden(row))
        ]
        if lines:
            QApplication.clipboard().setText("\n".join(lines))


def _rows(groups: Mapping[str, Sequence[QAction]]) -> list[tuple[str, str, str]]:
    return [
        (group, _plain(action.text()), _keys(action))
        for group, actions in groups.items()
        for action in actions
        if action.shortcuts()
    ]


def _plain(text: str) -> str:
    """Return a text of a menu without its access key and its dots."""
    return text.replace("&&", "\0").replace("&", "").replace("\0", "&").rstrip("…. ")


def _keys(action: QAction) -> str:
    kind = QKeySequence.SequenceFormat.NativeText
    return ", ".join(keys.toString(kind) for keys in action.shortcuts())
