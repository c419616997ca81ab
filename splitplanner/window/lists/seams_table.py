"""The table of seams: their figures, and the chosen one as a plan, with what holds it in a list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QSplitter, QVBoxLayout, QWidget

from splitplanner.window.lists.fasteners_table import FastenersTable
from splitplanner.window.lists.joint_words import (
    flange_text,
    hardware_text,
    held_text,
    pins_text,
    register_text,
    screws_text,
    tape_text,
)
from splitplanner.window.lists.lines import Shown, shown_findings
from splitplanner.window.lists.seam_rows import (
    FastenerPlace,
    SeamLine,
    fastener_places,
    seam_lines,
)
from splitplanner.window.lists.tables import NOTHING, PENDING, Column, Figure, RowsModel, Table
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.known_seams import PlannedSeam
from splitplanner.window.seams.seam_plan import SeamPlan

__all__ = ["FastenerPlace", "SeamLine", "SeamsTable", "fastener_places", "seam_lines"]


def _length(field: str, *, faint: bool = False) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else quantities.length(value, 0), faint=faint)

    return show


def _area(field: str, *, faint: bool = False) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else quantities.area(value), faint=faint)

    return show


def _count(field: str, word: str) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else f"{quantities.number(value)} {word}")

    return show


def _arm(row: SeamLine, quantities: Quantities) -> Shown:
    if row.lever_arm is None:
        return Shown(PENDING)
    text = quantities.size(row.lever_arm).replace(" × ", " / ")
    return Shown(text, faint=True)


def _words(text: str, *, faint: bool = False) -> Shown:
    return Shown(text, faint=faint) if text else Shown(NOTHING, faint=True)


HELD = (
    Figure("pins placed", lambda row, _: _words(pins_text(row.joint))),
    Figure("screws placed", lambda row, _: _words(screws_text(row.joint))),
    Figure("hardware", lambda row, _: _words(hardware_text(row.joint), faint=True)),
    Figure("flange", lambda row, q: _words(flange_text(row.joint.flange, q))),
    Figure("register", lambda row, q: _words(register_text(row.joint.register, q))),
    Figure("tape", lambda row, q: _words(tape_text(row.joint.tape, q))),
)


COLUMNS = (
    Column(
        "Seam\npieces\nfindings",
        (
            Figure("seam", lambda row, _: Shown(row.name)),
            Figure("pieces joined", lambda row, _: Shown("{} + {}".format(*row.between))),
            Figure("findings", lambda row, _: shown_findings(row.findings, row.worst)),
        ),
        8,
        right=False,
    ),
    Column(
        "Seen\nhidden\narea\nroom",
        (
            Figure("seam seen", _length("seen")),
            Figure("seam hidden", _length("hidden")),
            Figure("area", _area("area")),
            Figure("room", _area("room")),
        ),
        9,
    ),
    Column(
        "Pins fit,\ndeep, arms",
        (
            Figure("pins that fit", _count("fitting", "fit")),
            Figure("pins deep enough", _count("deep", "deep")),
            Figure("lever arm", _arm),
        ),
        9,
    ),
    # In one wide column, since half a line of what holds a seam says nothing.
    Column(
        "Pins, screws,\nhardware,\nflange,\nregister, tape", HELD, 20, right=False, stretches=True
    ),
)


class SeamsTable(QWidget):
    """All seams with their figures, and below them the chosen one: as a plan, and what holds it.

    Pins and screws of a seam have one numbering, the pins first.

    Signals
    -------
    seam_chosen(str)
    placing_asked(str)
        What holds the seam is to be placed anew.
    emptied(str)
        All that holds the seam is to go.
    fastener_moved(str, int, float, float)
        Seam, index of a pin or screw, and its place (u, v) in the plane, mm.
    fastener_deleted(str, int)
    pin_added(str)
        A pin is wanted, wherever there is room.
    pin_added_at(str, float, float)
        A pin is wanted at a place (u, v) in the plane, mm.
    """

    seam_chosen = Signal(str)
    placing_asked = Signal(str)
    emptied = Signal(str)
    fastener_moved = Signal(str, int, float, float)
    fastener_deleted = Signal(str, int)
    pin_added = Signal(str)
    pin_added_at = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "Seams")
        self.table.setAccessibleDescription("P places anew what holds the seam, Delete removes it.")
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self.table.row_chosen.connect(self._seam_chosen)
        self.table.chosen_changed.connect(self._show_fasteners)
        self.fasteners = FastenersTable()
        self.plan = SeamPlan()
        for each in (self.fasteners, self.plan):
            each.moved.connect(self._moved)
            each.deleted.connect(self._deleted)
        self.fasteners.pin_added.connect(self._ask_pin)
        self.fasteners.chosen_changed.connect(self._fastener_chosen)
        self.plan.pin_added.connect(self._pin_added_at)
        self.plan.taken.connect(self.fasteners.choose)
        self._planned: dict[str, PlannedSeam] = {}
        self.place_action = self.table.add_command("Place anew", "P", self._ask_placing)
        self.remove_action = self.table.add_command("Remove all", "Del", self._empty)
        self._heading = QLabel()
        self._heading.setWordWrap(True)
        self._heading.setTextFormat(Qt.TextFormat.PlainText)
        # Two lines from the start: the drawing above must not jump when a seam is chosen.
        self._heading.setMinimumHeight(2 * self._heading.fontMetrics().lineSpacing())
        self._heading.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._place = button(
            "Place a&new", "Place anew what holds this seam, by its room (P).", self._ask_placing
        )
        self._remove = button(
            "&Remove all", "Leave this seam with nothing that holds it.", self._empty
        )
        self._add = button(
            "Add p&in", "Add a pin where there is most room (Insert).", self._ask_pin
        )
        self._delete = button(
            "De&lete one", "Delete the chosen pin or screw (Delete).", self.fasteners.delete_chosen
        )
        self._lay_out()
        self._show_fasteners()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for each in (self._place, self._remove, self._add, self._delete):
            buttons.addWidget(each)
        buttons.addStretch()
        lower = QWidget()
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 4, 0, 0)
        below.addWidget(self._heading)
        below.addWidget(self.fasteners)
        below.addLayout(buttons)
        splitter = QSplitter(Qt.Orientation.Vertical)
        for widget, stretch in ((self.table, 3), (self.plan, 4), (lower, 2)):
            splitter.addWidget(widget)
            splitter.setStretchFactor(splitter.count() - 1, stretch)
        splitter.setChildrenCollapsible(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(splitter)

    def show_rows(self, rows: Sequence[SeamLine]) -> None:
        """Show the seams; the chosen one stays chosen."""
        self.table.show_rows(rows)
        self._show_fasteners()

    def show_plans(self, planned: Mapping[str, PlannedSeam]) -> None:
        """Take what the plans of seams are drawn from, by name; nothing of those not measured."""
        self._planned = dict(planned)
        self._show_plan()

    def choose_fastener(self, index: int) -> None:
        """Choose a pin or screw of the chosen seam, without signalling it."""
        self.fasteners.choose(index)

    def choose(self, name: str | None) -> None:
        """Choose a seam, or none, without signalling it."""
        self.table.choose(name)
        self._show_fasteners()

    @property
    def chosen(self) -> str | None:
        """The name of the chosen seam."""
        name: str | None = self.table.chosen_key
        return name

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
        self.fasteners.set_quantities(quantities)
        self.plan.set_quantities(quantities)
        self._show_heading()

    def menu(self) -> QMenu:
        """Return a menu of what can be done with the chosen seam."""
        menu = QMenu(self)
        menu.addAction(self.place_action)
        menu.addAction(self.remove_action)
        menu.addSeparator()
        menu.addAction(self.table.copy_action)
        return menu

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Show the menu of the chosen seam."""
        if self.chosen is not None:
            self.table.pop_up(self.menu(), event)

    def _show_fasteners(self, *_: object) -> None:
        row = self.table.chosen
        fasteners = self.table.rows_model.rows[row].fasteners if row >= 0 else ()
        self.fasteners.show_fasteners(fasteners)
        self._show_plan()
        self._show_heading()
        self._enable()

    def _show_heading(self) -> None:
        """Say all that holds the chosen seam: the table may have no room for it."""
        if self.chosen is None:
            self._heading.setText("Choose a seam to see what holds it.")
            return
        joint = self.table.rows_model.rows[self.table.chosen].joint
        text = held_text(joint, self.table.rows_model.quantities)
        self._heading.setText(
            f"Seam {self.chosen} is held by {text}."
            if text
            else f"Nothing holds seam {self.chosen}."
        )

    def _show_plan(self) -> None:
        seam = self._planned.get(self.chosen or "")
        if seam is None:
            self.plan.show_seam(None, None, 0.0)
            return
        below, above = seam.colours
        self.plan.show_seam(
            seam.row, seam.joint, seam.edge_distance, below, above, seam.names, seam.shown
        )
        self._fastener_chosen()

    def _fastener_chosen(self) -> None:
        """Show in the plan as well what is chosen in the list."""
        self.plan.choose(self.fasteners.chosen_key)
        self._enable()

    def _enable(self, *_: object) -> None:
        some = self.chosen is not None
        row = self.table.chosen
        is_held = row >= 0 and not self.table.rows_model.rows[row].joint.is_empty
        for each in (self._place, self._add, self.place_action):
            each.setEnabled(some)
        for each in (self._remove, self.remove_action):
            each.setEnabled(is_held)
        self._delete.setEnabled(self.fasteners.chosen >= 0)

    def _seam_chosen(self, row: int) -> None:
        self.seam_chosen.emit(self.table.rows_model.rows[row].name)

    def _ask_placing(self, *_: object) -> None:
        if self.chosen is not None:
            self.placing_asked.emit(self.chosen)

    def _empty(self, *_: object) -> None:
        if self.chosen is not None:
            self.emptied.emit(self.chosen)

    def _ask_pin(self, *_: object) -> None:
        if self.chosen is not None:
            self.pin_added.emit(self.chosen)

    def _moved(self, index: int, u: float, v: float) -> None:
        if self.chosen is not None:
            self.fastener_moved.emit(self.chosen, index, u, v)

    def _deleted(self, index: int) -> None:
        if self.chosen is not None:
            self.fastener_deleted.emit(self.chosen, index)

    def _pin_added_at(self, u: float, v: float) -> None:
        if self.chosen is not None:
            self.pin_added_at.emit(self.chosen, u, v)
