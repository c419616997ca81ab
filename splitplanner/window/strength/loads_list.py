"""The list of load cases of a plan, and what can be done with them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QVBoxLayout, QWidget

from splitplanner.window.lists.named_rows import NamedRows
from splitplanner.window.lists.tables import RowsModel
from splitplanner.window.parts.buttons import button
from splitplanner.window.strength.answer_rows import CASES, CaseRow
from splitplanner.window.strength.ratio_bars import ratio_table


class LoadsList(NamedRows):
    """All load cases; the chosen one is what chart, view and answers show.

    Signals
    -------
    case_chosen(str)
    add_asked(), propose_asked(), open_asked(), save_asked()
    edit_asked(str), rename_asked(str), copied(str), deleted(str)
        With the name of a load case.
    """

    case_chosen = Signal(str)
    add_asked = Signal()
    propose_asked = Signal()
    open_asked = Signal()
    save_asked = Signal()
    edit_asked = Signal(str)
    rename_asked = Signal(str)
    copied = Signal(str)
    deleted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = ratio_table(RowsModel(CASES), "Load cases")
        self.table.setAccessibleDescription(
            "Insert adds one, Enter edits it, F2 renames it, D copies it, Delete takes it away."
        )
        self.table.row_chosen.connect(self._choose)
        self.table.row_entered.connect(self._enter)
        self.table.chosen_changed.connect(self._enable)
        self._actions = (
            self.table.add_command("Add…", "Ins", self._add),
            self.table.add_command("Rename…", "F2", self._rename),
            self.table.add_command("Copy", "D", self._copy),
            self.table.add_command("Delete", "Del", self._delete),
        )
        self.add = button("A&dd…", "Say what the part has to stand (Insert).", self._add)
        self.edit = button("Ed&it…", "Change the chosen load case (Enter).", self._edit)
        self.copy = button("Cop&y", "Add a load case like the chosen one (D).", self._copy)
        self.delete = button("Delete", "Take the chosen load case away (Delete).", self._delete)
        self.propose = button(
            "P&ropose load cases",
            "Add what a part of this form usually meets: a fall, a push from the side and a twist. "
            "They begin with common values; change them to what yours meets.",
            self._propose,
        )
        self.read = button("Open loads…", "Add load cases from a file (TOML).", self._open)
        self.save = button("Save loads…", "Write all load cases to a file (TOML).", self._save)
        self._has_part = False
        self._lay_out()
        self._enable()

    def _lay_out(self) -> None:
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.table, 1)
        for buttons in (
            (self.add, self.edit, self.copy, self.delete),
            (self.propose, self.read, self.save),
        ):
            row = QHBoxLayout()
            for each in buttons:
                row.addWidget(each)
            row.addStretch(1)
            whole.addLayout(row)

    def show_rows(self, rows: Sequence[CaseRow], has_part: bool) -> None:
        """Show load cases; the chosen one stays chosen if it is still there."""
        self._has_part = has_part
        self.table.show_rows(rows)
        self._enable()

    def _enable(self) -> None:
        is_some = self.chosen is not None
        for each in (self.edit, self.copy, self.delete, *self._actions[1:]):
            each.setEnabled(is_some)
        for each in (self.add, self.propose, self.read, self._actions[0]):
            each.setEnabled(self._has_part)
        self.save.setEnabled(bool(self.table.rows_model.rows))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer what can be done with the chosen load case."""
        if not self._has_part:
            return
        menu = QMenu(self)
        edit = menu.addAction("Edit…")
        edit.setEnabled(self.chosen is not None)
        edit.triggered.connect(self._edit)
        menu.addActions(self._actions)
        menu.addSeparator()
        copy = menu.addAction(self.table.copy_action.text())
        copy.triggered.connect(self.table.copy)
        self.table.pop_up(menu, event)

    # -- what is asked for --------------------------------------------------------------------
    def _choose(self, row: int) -> None:
        self.case_chosen.emit(self.table.rows_model.rows[row].key)

    def _enter(self, _: int) -> None:
        self._edit()

    def _add(self, *_: object) -> None:
        self.add_asked.emit()

    def _edit(self, *_: object) -> None:
        if self.chosen is not None:
            self.edit_asked.emit(self.chosen)

    def _rename(self, *_: object) -> None:
        if self.chosen is not None:
            self.rename_asked.emit(self.chosen)

    def _copy(self, *_: object) -> None:
        if self.chosen is not None:
            self.copied.emit(self.chosen)

    def _delete(self, *_: object) -> None:
        if self.chosen is not None:
            self.deleted.emit(self.chosen)

    def _propose(self, *_: object) -> None:
        self.propose_asked.emit()

    def _open(self, *_: object) -> None:
        self.open_asked.emit()

    def _save(self, *_: object) -> None:
        self.save_asked.emit()
