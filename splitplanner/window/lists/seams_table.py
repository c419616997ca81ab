"""The table of seams: their figures, and the chosen one as a plan, with its pins in a list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QSplitter, QVBoxLayout, QWidget

from splitplanner.window.lists.lines import Shown, shown_findings
from splitplanner.window.lists.pins_table import PinsTable, shown_size
from splitplanner.window.lists.seam_rows import PinPlace, SeamLine, pin_places, seam_lines
from splitplanner.window.lists.tables import PENDING, Column, Figure, RowsModel, Table
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.known_seams import PlannedSeam
from splitplanner.window.seams.seam_plan import SeamPlan

__all__ = ["PinPlace", "SeamLine", "SeamsTable", "pin_places", "seam_lines"]


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


def _pins(row: SeamLine, quantities: Quantities) -> Shown:
    count = len(row.pins)
    if not count:
        return Shown("no pins", faint=True)
    return Shown(f"{quantities.number(count)} {'pin' if count == 1 else 'pins'}")


def _sizes(row: SeamLine, quantities: Quantities) -> Shown:
    sizes = sorted({(pin.diameter, pin.length) for pin in row.pins})
    return Shown(", ".join(shown_size(*size, quantities) for size in sizes), faint=True)


def _findings(row: SeamLine, _: Quantities) -> Shown:
    return shown_findings(row.findings, row.worst)


COLUMNS = (
    Column(
        "Seam\npieces",
        (
            Figure("seam", lambda row, _: Shown(row.name)),
            Figure("pieces joined", lambda row, _: Shown("{} + {}".format(*row.between))),
        ),
        7,
        right=False,
    ),
    Column(
        "Seen\nhidden",
        (Figure("seam seen", _length("seen")), Figure("seam hidden", _length("hidden"))),
        8,
    ),
    Column("Area\nroom", (Figure("area", _area("area")), Figure("room", _area("room"))), 8),
    Column(
        "Pins fit,\ndeep, arms",
        (
            Figure("pins that fit", _count("fitting", "fit")),
            Figure("pins deep enough", _count("deep", "deep")),
            Figure("lever arm", _arm),
        ),
        9,
    ),
    Column(
        "Pins placed",
        (Figure("pins placed", _pins), Figure("pin size", _sizes)),
        8,
        stretches=True,
    ),
    Column(
        "Find-\nings", (Figure("findings", lambda r, _: shown_findings(r.findings, r.worst)),), 4
    ),
)


class SeamsTable(QWidget):
    """All seams with their figures, and below them the chosen one: as a plan, and its pins.

    Signals
    -------
    seam_chosen(str)
    pins_asked(str)
        Pins are to be placed anew on the seam.
    pins_removed(str)
        All pins of the seam are to go.
    pin_moved(str, int, float, float)
        Seam, index of the pin, and its place (u, v) in the plane, mm.
    pin_deleted(str, int)
    pin_added(str)
        A pin is wanted, wherever there is room.
    pin_added_at(str, float, float)
        A pin is wanted at a place (u, v) in the plane, mm.
    """

    seam_chosen = Signal(str)
    pins_asked = Signal(str)
    pins_removed = Signal(str)
    pin_moved = Signal(str, int, float, float)
    pin_deleted = Signal(str, int)
    pin_added = Signal(str)
    pin_added_at = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "Seams")
        self.table.setAccessibleDescription("P places pins anew, Delete removes them.")
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self.table.row_chosen.connect(self._seam_chosen)
        self.table.chosen_changed.connect(self._show_pins)
        self.pins = PinsTable()
        self.pins.pin_moved.connect(self._pin_moved)
        self.pins.pin_deleted.connect(self._pin_deleted)
        self.pins.pin_added.connect(self._ask_pin)
        self.pins.chosen_changed.connect(self._pin_chosen)
        self.plan = SeamPlan()
        self.plan.pin_moved.connect(self._pin_moved)
        self.plan.pin_deleted.connect(self._pin_deleted)
        self.plan.pin_added.connect(self._pin_added_at)
        self.plan.pin_chosen.connect(self.pins.choose)
        self._planned: dict[str, PlannedSeam] = {}
        self.place_action = self.table.add_command("Place pins anew", "P", self._ask_pins)
        self.remove_action = self.table.add_command("Remove all pins", "Del", self._remove_pins)
        self._heading = QLabel()
        self._place = button(
            "Place a&new", "Place dowel pins on this seam by its room (P).", self._ask_pins
        )
        self._remove = button("&Remove all", "Leave this seam without pins.", self._remove_pins)
        self._add = button("Add p&in", "Add one where there is most room (Insert).", self._ask_pin)
        self._delete = button(
            "De&lete pin", "Delete the chosen pin (Delete).", self.pins.delete_chosen
        )
        self._lay_out()
        self._show_pins()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for each in (self._place, self._remove, self._add, self._delete):
            buttons.addWidget(each)
        buttons.addStretch()
        lower = QWidget()
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 4, 0, 0)
        below.addWidget(self._heading)
        below.addWidget(self.pins)
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
        self._show_pins()

    def show_plans(self, planned: Mapping[str, PlannedSeam]) -> None:
        """Take what the plans of seams are drawn from, by name; nothing of those not measured."""
        self._planned = dict(planned)
        self._show_plan()

    def choose_pin(self, index: int) -> None:
        """Choose a pin of the chosen seam, without signalling it."""
        self.pins.choose(index)

    def choose(self, name: str | None) -> None:
        """Choose a seam, or none, without signalling it."""
        self.table.choose(name)
        self._show_pins()

    @property
    def chosen(self) -> str | None:
        """The name of the chosen seam."""
        name: str | None = self.table.chosen_key
        return name

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
        self.pins.set_quantities(quantities)
        self.plan.set_quantities(quantities)

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

    def _show_pins(self, *_: object) -> None:
        row = self.table.chosen
        pins = self.table.rows_model.rows[row].pins if row >= 0 else ()
        self.pins.show_pins(pins)
        self._show_plan()
        self._heading.setText(
            f"Pins of seam {self.chosen}" if row >= 0 else "Choose a seam to see its pins."
        )
        self._enable()

    def _show_plan(self) -> None:
        seam = self._planned.get(self.chosen or "")
        if seam is None:
            self.plan.show_seam(None, (), 0.0)
            return
        below, above = seam.colours
        self.plan.show_seam(
            seam.row, seam.pins, seam.edge_distance, below, above, seam.names, seam.shown
        )
        self._pin_chosen()

    def _pin_chosen(self) -> None:
        """Show the pin that is chosen in the list in the plan as well."""
        self.plan.choose(self.pins.chosen_key)
        self._enable()

    def _enable(self, *_: object) -> None:
        some = self.chosen is not None
        has_pins = some and bool(self.pins.rows_model.rows)
        for each in (self._place, self._add, self.place_action):
            each.setEnabled(some)
        for each in (self._remove, self.remove_action):
            each.setEnabled(has_pins)
        self._delete.setEnabled(self.pins.chosen >= 0)

    def _seam_chosen(self, row: int) -> None:
        self.seam_chosen.emit(self.table.rows_model.rows[row].name)

    def _ask_pins(self, *_: object) -> None:
        if self.chosen is not None:
            self.pins_asked.emit(self.chosen)

    def _remove_pins(self, *_: object) -> None:
        if self.chosen is not None:
            self.pins_removed.emit(self.chosen)

    def _ask_pin(self, *_: object) -> None:
        if self.chosen is not None:
            self.pin_added.emit(self.chosen)

    def _pin_moved(self, index: int, u: float, v: float) -> None:
        if self.chosen is not None:
            self.pin_moved.emit(self.chosen, index, u, v)

    def _pin_deleted(self, index: int) -> None:
        if self.chosen is not None:
            self.pin_deleted.emit(self.chosen, index)

    def _pin_added_at(self, u: float, v: float) -> None:
        if self.chosen is not None:
            self.pin_added_at.emit(self.chosen, u, v)
