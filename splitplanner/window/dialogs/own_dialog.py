"""Choosing from a list of built-in things and the user's own, and changing his own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractSpinBox,
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.errors import SplitPlannerError, WorkshopError
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Kept

_BUILT_IN = "built in"


class Form(Protocol):
    """The fields of one thing."""

    edited: Any

    def set_thing(self, thing: Any) -> None:
        """Show a thing."""

    def thing(self) -> Any:
        """Return the thing that the fields make."""

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""

    def start(self) -> None:
        """Put the keyboard into the first field."""


@dataclass(frozen=True)
class Kind:
    """What a dialog is about.

    Attributes
    ----------
    name, title : str
        Such as ``printer`` and ``Printers``.
    built_in : sequence of things
    fresh : thing
        What a new one is like.
    read, keep, drop : functions
        As `workshop.own_printers`, `workshop.keep_printer` and `workshop.drop_printer`.
    """

    name: str
    title: str
    built_in: Sequence[Any]
    fresh: Any
    read: Callable[[Path], Kept[Any]]
    keep: Callable[[Path, Any, str], Path]
    drop: Callable[[Path, str], None]


@dataclass
class _Entry:
    """A line of the list.

    Attributes
    ----------
    before : str
        The name by which it is kept; empty if it is not yet.
    hint : str
        Where it is from, if it is not the user's own.
    """

    thing: Any
    is_own: bool
    before: str = ""
    is_changed: bool = False
    hint: str = ""


def _built_in(thing: Any) -> _Entry:
    return _Entry(thing, False, hint=_BUILT_IN)


class OwnDialog(QDialog):
    """Chooses one thing. Changes are kept when the dialog is left by its first button.

    Parameters
    ----------
    first : thing or str
        What is chosen at first, or its name. One that is not in the list comes on top of it.

    Signals
    -------
    chosen(thing)
        The user left the dialog by choosing one; his changes are kept by then.
    """

    chosen = Signal(object)

    def __init__(
        self, kind: Kind, form: Any, folder: Path, first: Any = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._kind, self._form, self._folder = kind, form, folder
        self._dropped: list[str] = []
        self._fault = ""
        self.setWindowTitle(kind.title)
        self._list = QListWidget(self)
        self._list.setAccessibleName(kind.title)
        self._list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self._note = NoteLine(self)
        self._files = NoteLine(self)
        self._make_buttons()
        self._lay_out()
        kept = kind.read(folder)
        self._entries = [_Entry(thing, True, thing.name) for thing in kept.things]
        own = {entry.thing.name for entry in self._entries}
        self._entries += [_built_in(each) for each in kind.built_in if each.name not in own]
        if not isinstance(first, str) and first not in [entry.thing for entry in self._entries]:
            self._entries.insert(0, _Entry(first, False, hint="as it is used now"))
        if kept.faults:
            self._files.say(Mark.WARNING, "\n".join(kept.faults))
        for entry in self._entries:
            self._list.addItem(QListWidgetItem(entry.thing.name))
        self._list.currentRowChanged.connect(self._show)
        self._list.itemDoubleClicked.connect(lambda _: self.accept())
        form.edited.connect(self._edit)
        is_first = [first in (entry.thing, entry.thing.name) for entry in self._entries]
        self._list.setCurrentRow(is_first.index(True) if any(is_first) else 0)
        self._mark_all()

    @property
    def thing(self) -> Any:
        """What is chosen now."""
        return self._entry.thing

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._form.set_quantities(quantities)

    # -- making it ----------------------------------------------------------------------------
    def _make_buttons(self) -> None:
        what = self._kind.name

        def button(text: str, tip: str, do: Callable[[], object]) -> QPushButton:
            made = QPushButton(text, self)
            made.setToolTip(tip)
            made.setAccessibleDescription(tip)
            made.setAutoDefault(False)
            made.clicked.connect(do)
            return made

        self._new = button("&New", f"Add a {what} of your own.", self._add_new)
        self._copy = button("&Copy", f"Add a copy of this {what}, to change it.", self._add_copy)
        self._delete = button("&Delete", f"Remove this {what} of your own.", self._remove)
        self._undo = self._note.add_button("&Undo", "Put the fields back as they were.")
        self._undo.clicked.connect(self._put_back)
        self._own = self._note.add_button("&Make it my own", "Copy it, to change the copy.")
        self._own.clicked.connect(self._add_copy)
        self._use = button(f"Use this {what}", "Keep all changes and choose it.", self.accept)
        self._use.setDefault(True)
        self._cancel = button("Cancel", "Leave all as it was.", self.reject)

    def _lay_out(self) -> None:
        lines = QHBoxLayout()
        for each in (self._new, self._copy, self._delete):
            lines.addWidget(each)
        side = QVBoxLayout()
        side.addWidget(self._list, 1)
        side.addLayout(lines)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._use)
        buttons.addWidget(self._cancel)
        grid = QGridLayout(self)
        grid.setHorizontalSpacing(16)
        grid.addLayout(side, 0, 0, 2, 1)
        grid.addWidget(self._form, 0, 1)
        grid.addWidget(self._note, 1, 1)
        grid.addWidget(self._files, 2, 0, 1, 2)
        grid.addLayout(buttons, 3, 0, 1, 2)
        grid.setRowStretch(0, 1)
        grid.setColumnStretch(1, 1)
        grid.setColumnMinimumWidth(0, 220)
        grid.setColumnMinimumWidth(1, 400)

    # -- what the user does -------------------------------------------------------------------
    @property
    def _entry(self) -> _Entry:
        return self._entries[self._list.currentRow()]

    def _show(self, row: int) -> None:
        if row < 0:
            return
        entry = self._entries[row]
        self._form.set_thing(entry.thing)
        self._judge("")

    def _edit(self) -> None:
        """Take what the fields make, or say why they make nothing."""
        entry = self._entry
        try:
            thing = self._form.thing()
            if entry.is_own or thing.name != entry.thing.name:
                self._check_name(thing.name)
        except WorkshopError as fault:
            self._judge(str(fault))
            return
        if not entry.is_own:
            # What is built in stays; the change makes a copy of it.
            if thing != entry.thing:
                same = thing.name == entry.thing.name
                name = self._free_name(f"{thing.name}, own") if same else thing.name
                self._add(replace(thing, name=name))
            return
        entry.is_changed = entry.is_changed or thing != entry.thing
        entry.thing = thing
        self._mark_all()
        self._judge("")

    def _check_name(self, name: str) -> None:
        if not name:
            raise WorkshopError(f"A {self._kind.name} needs a name.")
        others = [
            entry
            for entry in self._entries
            if entry is not self._entry and (entry.is_own or entry.hint == _BUILT_IN)
        ]
        if any(entry.thing.name == name for entry in others):
            raise WorkshopError(
                f"There is another {self._kind.name} called “{name}”; give this one another name."
            )

    def _judge(self, fault: str) -> None:
        """Show a fault in place; until it is mended nothing else can be done to the list."""
        self._fault = fault
        is_own = self._entry.is_own
        self._undo.setVisible(bool(fault))
        self._own.setVisible(not fault and not is_own)
        if fault:
            self._note.say(Mark.FAULT, fault)
        elif not is_own:
            hint = self._entry.hint.capitalize()
            self._note.say(Mark.INFO, f"{hint}: what you change becomes one of your own.")
        else:
            self._note.say(Mark.INFO, "")
        for each in (self._list, self._new, self._copy, self._use):
            each.setEnabled(not fault)
        self._delete.setEnabled(is_own)

    def _put_back(self) -> None:
        self._show(self._list.currentRow())

    def _add_new(self) -> None:
        self._add(replace(self._kind.fresh, name=self._free_name(f"My {self._kind.name}")))
        self._form.start()

    def _add_copy(self) -> None:
        self._add(replace(self._entry.thing, name=self._free_name(f"{self.thing.name}, own")))
        self._form.start()

    def _free_name(self, name: str) -> str:
        taken = {entry.thing.name for entry in self._entries}
        numbered = (f"{name} {number}" for number in range(2, len(taken) + 3))
        return next(each for each in (name, *numbered) if each not in taken)

    def _add(self, thing: Any) -> None:
        row = sum(entry.hint != _BUILT_IN for entry in self._entries)
        # The list tells of its new row at once, so what it stands for is put in first.
        self._list.blockSignals(True)
        self._entries.insert(row, _Entry(thing, True, is_changed=True))
        self._list.insertItem(row, QListWidgetItem(thing.name))
        self._list.setCurrentRow(row)
        self._list.blockSignals(False)
        self._show(row)
        self._mark_all()

    def _remove(self) -> None:
        row = self._list.currentRow()
        entry = self._entries[row]
        if not entry.is_own:
            return
        if entry.before:
            self._dropped.append(entry.before)
        self._list.blockSignals(True)
        del self._entries[row]
        self._list.takeItem(row)
        back = [each.thing.name for each in self._entries]
        # A built-in one of that name was hidden behind it.
        self._entries += [
            _built_in(each)
            for each in self._kind.built_in
            if each.name == entry.before and each.name not in back
        ]
        while self._list.count() < len(self._entries):
            self._list.addItem(QListWidgetItem(self._entries[self._list.count()].thing.name))
        self._list.setCurrentRow(min(row, len(self._entries) - 1))
        self._list.blockSignals(False)
        self._mark_all()
        self._show(self._list.currentRow())

    def _mark_all(self) -> None:
        for row, entry in enumerate(self._entries):
            item = self._list.item(row)
            kind = f"  ({entry.hint})" if entry.hint else ""
            item.setText(f"{entry.thing.name}{kind}{'  *' if entry.is_changed else ''}")
            item.setToolTip("Changed; kept when you leave by choosing." if entry.is_changed else "")

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Delete removes the chosen line of the list."""
        if event.key() == Qt.Key.Key_Delete and self._list.hasFocus():
            self._remove()
        else:
            super().keyPressEvent(event)

    def accept(self) -> None:
        """Keep all changes and choose; stay if something stands in the way."""
        # Where a click on a button does not take the keyboard, a number may still be half typed.
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        if self._fault:
            return
        try:
            self._keep_all()
        except SplitPlannerError as fault:
            self._note.say(Mark.FAULT, str(fault))
            return
        super().accept()
        self.chosen.emit(self.thing)

    def _keep_all(self) -> None:
        while self._dropped:
            self._kind.drop(self._folder, self._dropped[0])
            del self._dropped[0]
        for entry in self._entries:
            if entry.is_own and entry.is_changed:
                self._kind.keep(self._folder, entry.thing, entry.before)
                entry.before, entry.is_changed = entry.thing.name, False
