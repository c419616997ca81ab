"""The braces of a plan, and whether they can be cut from a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import (
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QMenu,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.loaded import BraceUnderLoad
from splitplanner.plan import BraceWish
from splitplanner.window.dialogs.fields import tick_box
from splitplanner.window.lists.joint_words import HELD_IN
from splitplanner.window.lists.lines import Shown, shown_findings
from splitplanner.window.lists.named_rows import NamedRows
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel, Table
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.sheet_sketch import SheetSketch
from splitplanner.window.strength.what_if import WhatIf

_SHEET = (600.0, 300.0, 10.0, 8.0)
"""Width, depth, margin and gap to begin with, mm: common practice, no source."""


@dataclass(frozen=True, eq=False)
class BraceRow:
    """A brace in the list of them.

    Attributes
    ----------
    wish : BraceWish
    low : float
        Offset of the part's low end along its way, mm.
    findings : int
    worst : Severity or None
        Of what is found of it.
    under : BraceUnderLoad or None
        What it takes of the chosen load case; None where that is not known.
    """

    wish: BraceWish
    low: float
    findings: int = 0
    worst: Severity | None = None
    under: BraceUnderLoad | None = None

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.wish.name


def _sheet(row: BraceRow, q: Quantities) -> Shown:
    # Sheets are sold by mm whatever is read in.
    stock = f"{q.locale.toString(float(row.wish.stock), 'g', 5)} mm"
    made = f"printed, {stock}" if row.wish.is_printed else f"{row.wish.metal}, {stock}"
    return Shown(made, faint=True)


def _stations(row: BraceRow, q: Quantities) -> Shown:
    low, high = (q.length(each - row.low, 0) for each in (row.wish.low, row.wish.high))
    return Shown(f"{low} to {high}")


def _depth(row: BraceRow, q: Quantities) -> Shown:
    bolts = f"{row.wish.screw_size} {HELD_IN[row.wish.hold]}"
    return Shown(f"{q.length(row.wish.depth, 0)} deep, {bolts}", faint=True)


def _takes(row: BraceRow, q: Quantities) -> Shown:
    if row.under is None:
        return Shown(NOTHING)
    low, high = (q.number(100.0 * share) for share in row.under.shares)
    return Shown(f"{low} %" if low == high else f"{low} to {high} %")


def _stress(row: BraceRow, q: Quantities) -> Shown:
    if row.under is None:
        return Shown("")
    return Shown(f"{q.number(row.under.stress)} of {q.number(row.under.proof)} MPa", faint=True)


COLUMNS = (
    Column(
        "Brace\ncut from",
        (Figure("brace", lambda row, _: Shown(row.key)), Figure("brace sheet", _sheet)),
        14,
        right=False,
    ),
    Column(
        "Stations\ndepth, bolts",
        (Figure("brace stations", _stations), Figure("brace depth", _depth)),
        18,
        right=False,
        stretches=True,
    ),
    Column(
        "Takes\nits stress",
        (Figure("brace share", _takes), Figure("brace stress", _stress)),
        14,
    ),
    Column(
        "Findings",
        (Figure("findings", lambda row, _: shown_findings(row.findings, row.worst)),),
        8,
        right=False,
    ),
)


class BracesPanel(NamedRows):
    """All braces, what can be done with them, and the sheet that they are cut from.

    Signals
    -------
    propose_asked(), add_asked(), open_asked(), save_asked()
    edit_asked(str), deleted(str)
        With the name of a brace.
    shown_changed(bool)
        Whether braces are wanted in the view.
    fit_asked(float, float, float, float)
        Width, depth, margin and gap of a sheet, mm.
    """

    propose_asked = Signal()
    add_asked = Signal()
    open_asked = Signal()
    save_asked = Signal()
    edit_asked = Signal(str)
    deleted = Signal(str)
    shown_changed = Signal(bool)
    fit_asked = Signal(float, float, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._has_part = False
        self.table = Table(RowsModel(COLUMNS), "Braces")
        self.table.setAccessibleDescription(
            "Insert adds one, Enter edits it, Delete takes it away."
        )
        self.table.setMinimumHeight(110)
        self.table.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
        self.table.row_entered.connect(self._edit)
        self.table.chosen_changed.connect(self._enable)
        self._actions = (
            self.table.add_command("Add…", "Ins", self._add),
            self.table.add_command("Delete", "Del", self._delete),
        )
        self.propose = button(
            "Pr&opose two braces",
            "Look for places over all seams, on the hidden side if they can be reached there.",
            self._propose,
        )
        self.add = button("Add…", "Say where a brace is to run (Insert).", self._add)
        self.edit = button("Edit…", "Change the chosen brace (Enter).", self._edit)
        self.delete = button("Delete", "Take the chosen brace away (Delete).", self._delete)
        self.read = button("Open braces…", "Add braces from a file (TOML).", self._open)
        self.save = button("Save braces…", "Write all braces to a file (TOML).", self._save)
        self.shown = tick_box("Show braces", "Draw the braces of the plan in the view.")
        self.shown.setChecked(True)
        self.shown.toggled.connect(self.shown_changed)
        self.note, self.what_if = NoteLine(), WhatIf()
        self._make_sheet()
        self._lay_out()
        self._enable()

    def _make_sheet(self) -> None:
        words = (
            ("Width", "Of the sheet of stock."),
            ("Depth", "Of the sheet of stock."),
            ("Margin", "Kept free all round for clamps."),
            ("Gap", "Between two braces, for the cutter."),
        )
        self.sheet = tuple(
            LengthBox(f"{name} of the sheet", tip, least=0.0 if at > 1 else 1.0, step=5.0)
            for at, (name, tip) in enumerate(words)
        )
        for box, value, (name, _) in zip(self.sheet, _SHEET, words, strict=True):
            box.set_mm(value)
            box.setPrefix(f"{name.lower()} ")
        self.fit = button(
            "Fit on the sheet",
            "Look whether all braces of one metal and thickness can be cut from one such sheet, at "
            "any turn: those like the chosen one. It takes some seconds.",
            self._fit,
        )
        self.fit_note, self.sketch = NoteLine(), SheetSketch()
        self.sketch.hide()

    def _lay_out(self) -> None:
        row, files = QHBoxLayout(), QHBoxLayout()
        for each in (self.add, self.edit, self.delete, self.propose):
            row.addWidget(each)
        row.addStretch(1)
        for each in (self.read, self.save):
            files.addWidget(each)
        files.addStretch(1)
        files.addWidget(self.shown)
        stock = QGroupBox("Sheet of stock")
        inside, sizes, over = QVBoxLayout(stock), QHBoxLayout(), QHBoxLayout()
        for box in self.sheet[:2]:
            sizes.addWidget(box)
        for box in self.sheet[2:]:
            over.addWidget(box)
        over.addWidget(self.fit)
        for line in (sizes, over):
            line.addStretch(1)
            inside.addLayout(line)
        inside.addWidget(self.fit_note)
        inside.addWidget(self.sketch, 1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 4, 0, 0)
        whole.addWidget(self.table, 1)
        whole.addLayout(row)
        whole.addLayout(files)
        whole.addWidget(self.what_if)
        whole.addWidget(self.note)
        whole.addWidget(stock)
        self._none = QLabel(
            "Braces are stiff strips of sheet metal, or printed flat, that are bolted over seams."
        )
        self._none.setWordWrap(True)
        whole.insertWidget(0, self._none)

    def show_rows(self, rows: Sequence[BraceRow], has_part: bool) -> None:
        """Show braces; the chosen one stays chosen if it is still there."""
        self._has_part = has_part
        self.table.show_rows(rows)
        self._none.setVisible(not rows)
        self.what_if.keep_only([row.key for row in rows])
        self._enable()

    def show_fit(
        self, size: tuple[float, float], margin: float, outlines: Sequence[Floats], said: Finding
    ) -> None:
        """Show how the braces lie on a sheet, and say by how much they fit or do not.

        Parameters
        ----------
        size : (width, depth)
            mm.
        margin : float
            mm.
        outlines : sequence of (n, 2) float arrays
            As they lie, mm; none where they do not fit.
        said : Finding
        """
        is_well = said.severity is Severity.NOTE
        self.fit_note.say(Mark.DONE if is_well else Mark.FAULT, said.message)
        self.sketch.show_sheet(size, margin, outlines)
        self.sketch.setVisible(bool(outlines))

    def forget_fit(self) -> None:
        """Show nothing of a sheet any more."""
        self.fit_note.say(Mark.INFO, "")
        self.sketch.hide()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        super().set_quantities(quantities)
        for box in self.sheet:
            box.set_quantities(quantities)

    def _enable(self) -> None:
        is_some = self.chosen is not None
        self.what_if.choose(self.chosen)
        for each in (self.edit, self.delete, self._actions[1]):
            each.setEnabled(is_some)
        for each in (self.propose, self.add, self.read, self._actions[0]):
            each.setEnabled(self._has_part)
        for each in (self.fit, self.save):
            each.setEnabled(bool(self.table.rows_model.rows))

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer what can be done with the chosen brace."""
        if not self._has_part:
            return
        menu = QMenu(self)
        menu.addActions((*self._actions, self.table.copy_action))
        self.table.pop_up(menu, event)

    def _propose(self, *_: object) -> None:
        self.propose_asked.emit()

    def _add(self, *_: object) -> None:
        self.add_asked.emit()

    def _edit(self, *_: object) -> None:
        if self.chosen is not None:
            self.edit_asked.emit(self.chosen)

    def _delete(self, *_: object) -> None:
        if self.chosen is not None:
            self.deleted.emit(self.chosen)

    def _open(self, *_: object) -> None:
        self.open_asked.emit()

    def _save(self, *_: object) -> None:
        self.save_asked.emit()

    def _fit(self, *_: object) -> None:
        width, depth, margin, gap = (box.mm for box in self.sheet)
        self.fit_asked.emit(width, depth, margin, gap)
