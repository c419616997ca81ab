"""The table of seams: their figures, and the chosen one as a plan, with what holds it in a list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QAction, QContextMenuEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QSplitter, QVBoxLayout, QWidget

from splitplanner.window.lists.fasteners_table import FastenersTable
from splitplanner.window.lists.joint_words import held_text
from splitplanner.window.lists.named_rows import NamedRows
from splitplanner.window.lists.seam_columns import COLUMNS
from splitplanner.window.lists.seam_rows import (
    FastenerPlace,
    SeamLine,
    fastener_places,
    seam_lines,
)
from splitplanner.window.lists.tables import RowsModel, Table
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.known_seams import PlannedSeam
from splitplanner.window.seams.seam_plan import SeamPlan

__all__ = ["FastenerPlace", "SeamLine", "SeamsTable", "fastener_places", "seam_lines"]


class SeamsTable(NamedRows):
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
    fastener_turned(str, int)
        The head of a screw is wanted in the other piece.
    pin_added(str)
        A pin is wanted, wherever there is room.
    pin_added_at(str, float, float)
        A pin is wanted at a place (u, v) in the plane, mm.
    screw_added(str)
    screw_added_at(str, float, float)
        The same of screws.
    fastening_asked(str)
        The seam may be wanted held in its own way.
    """

    seam_chosen = Signal(str)
    placing_asked = Signal(str)
    emptied = Signal(str)
    fastener_moved = Signal(str, int, float, float)
    fastener_deleted = Signal(str, int)
    fastener_turned = Signal(str, int)
    pin_added = Signal(str)
    pin_added_at = Signal(str, float, float)
    screw_added = Signal(str)
    screw_added_at = Signal(str, float, float)
    fastening_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "Seams")
        self.table.setAccessibleDescription(
            "P places anew what holds the seam, Delete removes it, H asks how it is to be held."
        )
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self.table.row_chosen.connect(self._seam_chosen)
        self.table.chosen_changed.connect(self._show_fasteners)
        self.fasteners = FastenersTable()
        self.plan = SeamPlan()
        for each in (self.fasteners, self.plan):
            each.moved.connect(self._moved)
            each.deleted.connect(self._deleted)
            each.turned.connect(self._turned)
        self.fasteners.pin_added.connect(self._ask_pin)
        self.fasteners.screw_added.connect(self._ask_screw)
        self.fasteners.chosen_changed.connect(self._fastener_chosen)
        self.plan.pin_added.connect(self._pin_added_at)
        self.plan.screw_added.connect(self._screw_added_at)
        self.plan.screw_asked.connect(self._ask_screw)
        self.plan.taken.connect(self.fasteners.choose)
        self._spot = (0.0, 0.0)
        self._planned: dict[str, PlannedSeam] = {}
        self._strength: dict[str, str] = {}
        self.place_action = self.table.add_command("Place anew", "P", self._ask_placing)
        self.remove_action = self.table.add_command("Remove all", "Del", self._empty)
        self.own_action = self.table.add_command("Hold otherwise…", "H", self._ask_fastening)
        self._make_heading()
        self._make_buttons()
        self._lay_out()
        self._show_fasteners()

    def _make_heading(self) -> None:
        self._heading = QLabel()
        self._heading.setWordWrap(True)
        self._heading.setTextFormat(Qt.TextFormat.PlainText)
        # Two lines from the start: the drawing above must not jump when a seam is chosen.
        self._heading.setMinimumHeight(2 * self._heading.fontMetrics().lineSpacing())
        self._heading.setAlignment(Qt.AlignmentFlag.AlignTop)

    def _make_buttons(self) -> None:
        self._place = button(
            "Place a&new", "Place anew what holds this seam, by its room (P).", self._ask_placing
        )
        self._remove = button(
            "&Remove all", "Leave this seam with nothing that holds it.", self._empty
        )
        self._add = button(
            "Add p&in", "Add a pin where there is most room (Insert).", self._ask_pin
        )
        self._screw = button(
            "A&dd screw", "Add a screw where there is most room (Shift+Insert).", self._ask_screw
        )
        self._turn = button(
            "T&urn round",
            "Turn the chosen screw round, its head into the other piece (T).",
            self.fasteners.turn_chosen,
        )
        self._delete = button(
            "De&lete one", "Delete the chosen pin or screw (Delete).", self.fasteners.delete_chosen
        )

    def _lay_out(self) -> None:
        buttons, over = QHBoxLayout(), QHBoxLayout()
        for each in (self._add, self._screw, self._turn, self._delete):
            buttons.addWidget(each)
        buttons.addStretch()
        over.addWidget(self._heading, 1)
        for each in (self._place, self._remove):
            over.addWidget(each, 0, Qt.AlignmentFlag.AlignTop)
        lower = QWidget()
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 4, 0, 0)
        below.addLayout(over)
        below.addWidget(self.fasteners)
        below.addLayout(buttons)
        splitter = QSplitter(Qt.Orientation.Vertical)
        for widget, stretch in ((self.table, 3), (self.plan, 4), (lower, 2)):
            splitter.addWidget(widget)
            splitter.setStretchFactor(splitter.count() - 1, stretch)
        splitter.setChildrenCollapsible(False)
        splitter.setSizes([270, 330, 200])
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

    def tell_strength(self, texts: Mapping[str, str]) -> None:
        """Take what is said of loads below the plans of seams, by name."""
        self._strength = dict(texts)
        self.plan.tell_strength(self._strength.get(self.chosen or "", ""))

    def note(self, seam: str, text: str) -> None:
        """Say something of a seam below its plan until the user goes on, if it is the chosen."""
        if seam == self.chosen:
            self.plan.note(text)

    def choose_fastener(self, index: int) -> None:
        """Choose a pin or screw of the chosen seam, without signalling it."""
        self.fasteners.choose(index)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        super().set_quantities(quantities)
        self.fasteners.set_quantities(quantities)
        self.plan.set_quantities(quantities)
        self._show_heading()

    def menu(self) -> QMenu:
        """Return a menu of what can be done with the chosen seam."""
        menu = QMenu(self)
        menu.addAction(self.place_action)
        menu.addAction(self.remove_action)
        menu.addAction(self.own_action)
        menu.addSeparator()
        for each in (self._add, self._screw, self._turn, self._delete):
            action = menu.addAction(each.text())
            action.setEnabled(each.isEnabled())
            action.triggered.connect(each.click)
        menu.addSeparator()
        menu.addAction(self.table.copy_action)
        return menu

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Show the menu of the chosen seam; over its plan also what can be done there."""
        if self.chosen is None:
            return
        menu, canvas = self.menu(), self.plan.canvas
        at = canvas.mapFrom(self, event.pos())
        is_there = canvas.rect().contains(at) and canvas.ground is not None
        if is_there and event.reason() == QContextMenuEvent.Reason.Mouse:
            self._spot = canvas.scale.to_plane(QPointF(at))
            first = menu.actions()[0]
            for text, done in (
                ("Add a pin here", self._pin_here),
                ("Add a screw here", self._screw_here),
            ):
                action = QAction(text, menu)
                action.triggered.connect(done)
                menu.insertAction(first, action)
            menu.insertSeparator(first)
        self.table.pop_up(menu, event)

    def _pin_here(self, *_: object) -> None:
        if not self.plan.canvas.add_at(*self._spot, is_screw=False):
            self.plan.note("There is no room for a pin there; the hatched area is where it may be.")

    def _screw_here(self, *_: object) -> None:
        if not self.plan.canvas.add_at(*self._spot, is_screw=True):
            self.plan.note("That is outside of the seam and its flange.")

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
        row = self.table.rows_model.rows[self.table.chosen]
        text = held_text(row.joint, self.table.rows_model.quantities)
        told = (
            f"Seam {self.chosen} is held by {text}" if text else f"Nothing holds seam {self.chosen}"
        )
        self._heading.setText(f"{told}; it has a way of its own." if row.is_own else f"{told}.")

    def _show_plan(self) -> None:
        self.plan.tell_strength(self._strength.get(self.chosen or "", ""))
        seam = self._planned.get(self.chosen or "")
        if seam is None:
            self.plan.show_seam(None, None, 0.0)
            return
        below, above = seam.colours
        self.plan.show_seam(
            seam.row,
            seam.joint,
            seam.edge_distance,
            below,
            above,
            seam.names,
            seam.shown,
            seam.screw_distance,
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
        for each in (self._place, self._add, self._screw, self.place_action, self.own_action):
            each.setEnabled(some)
        for each in (self._remove, self.remove_action):
            each.setEnabled(is_held)
        self._delete.setEnabled(self.fasteners.chosen >= 0)
        self._turn.setEnabled(self.fasteners.is_screw_chosen)

    def _seam_chosen(self, row: int) -> None:
        self.seam_chosen.emit(self.table.rows_model.rows[row].name)

    def _ask_placing(self, *_: object) -> None:
        if self.chosen is not None:
            self.placing_asked.emit(self.chosen)

    def _empty(self, *_: object) -> None:
        if self.chosen is not None:
            self.emptied.emit(self.chosen)

    def _ask_fastening(self, *_: object) -> None:
        if self.chosen is not None:
            self.fastening_asked.emit(self.chosen)

    def _ask_pin(self, *_: object) -> None:
        if self.chosen is not None:
            self.pin_added.emit(self.chosen)

    def _ask_screw(self, *_: object) -> None:
        if self.chosen is not None:
            self.screw_added.emit(self.chosen)

    def _turned(self, index: int) -> None:
        if self.chosen is not None:
            self.fastener_turned.emit(self.chosen, index)

    def _screw_added_at(self, u: float, v: float) -> None:
        if self.chosen is not None:
            self.screw_added_at.emit(self.chosen, u, v)

    def _moved(self, index: int, u: float, v: float) -> None:
        if self.chosen is not None:
            self.fastener_moved.emit(self.chosen, index, u, v)

    def _deleted(self, index: int) -> None:
        if self.chosen is not None:
            self.fastener_deleted.emit(self.chosen, index)

    def _pin_added_at(self, u: float, v: float) -> None:
        if self.chosen is not None:
            self.pin_added_at.emit(self.chosen, u, v)
