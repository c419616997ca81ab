"""The table of cuts: what each divides, where it stands and how it leans, all of it editable."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QContextMenuEvent, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QMenu, QToolButton, QVBoxLayout, QWidget

from splitplanner.plan import Cut
from splitplanner.window.chart.cut_places import ChartAxis
from splitplanner.window.lists.cuts_model import (
    COLUMNS,
    DIVIDES,
    LEAN,
    OFFSET,
    STATION,
    TURN,
    CutsModel,
    TargetDelegate,
)
from splitplanner.window.lists.number_editor import NumberDelegate
from splitplanner.window.lists.tables import Table
from splitplanner.window.quantities import Quantities

__all__ = ["COLUMNS", "ChartAxis", "CutsTable"]

ACTIONS = (
    ("add", "Add", "Ins", "Add a cut where the largest piece is cut best in two."),
    ("flip", "Flip", "F", "Exchange above and below of the chosen cut."),
    ("copy", "Copy", "C", "Add a cut like the chosen one beside it."),
    ("mirror", "Mirror", "M", "Add the mirror image of the chosen cut about the part's middle."),
    ("delete", "Delete", "Del", "Delete the chosen cut."),
    ("earlier", "▲", "Alt+Up", "Make the chosen cut earlier."),
    ("later", "▼", "Alt+Down", "Make the chosen cut later."),
)
"""What can be done with a cut: its name, and how it is offered."""
_SPOKEN = {"earlier": "Make earlier", "later": "Make later"}


class CutsTable(QWidget):
    """All cuts in the order in which they are made.

    Signals
    -------
    cut_chosen(int)
    cut_edited(int, object)
        The cut is to be on this Plane.
    target_edited(int, object)
        The cut is to divide the piece of this name, or all that it meets: None.
    action_asked(str, int)
        ``add``, ``flip``, ``copy``, ``mirror``, ``delete``, ``earlier`` or ``later``, and the
        chosen cut; -1 if none is.
    """

    cut_chosen = Signal(int)
    cut_edited = Signal(int, object)
    target_edited = Signal(int, object)
    action_asked = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = CutsModel()
        self.table = Table(self.model, "Cuts")
        self.table.setAccessibleDescription(
            "F2 or typing edits a number; Insert adds a cut, Delete deletes one, F flips, "
            "M mirrors, C copies, Alt with up and down makes it earlier or later."
        )
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self._cuts: Sequence[Cut] = ()
        self._targets: Sequence[Sequence[str]] = ()
        self._numbers: Mapping[str, int] = {}
        self._set_editors()
        self.actions_by_name = self._make_actions()
        self.model.plane_entered.connect(self.cut_edited)
        self.model.target_entered.connect(self.target_edited)
        self.table.row_chosen.connect(self.cut_chosen)
        self.table.chosen_changed.connect(self._enable)
        self._lay_out()
        self._enable()

    def _set_editors(self) -> None:
        model, table = self.model, self.table

        def quantities() -> Quantities:
            return model.quantities

        table.setItemDelegateForColumn(DIVIDES, TargetDelegate(table))
        for column in (STATION, OFFSET):
            table.setItemDelegateForColumn(column, NumberDelegate(table, quantities))
        for column, low, high in ((LEAN, 0.0, 180.0), (TURN, -360.0, 360.0)):
            angles = NumberDelegate(table, quantities, is_angle=True, digits=2, low=low, high=high)
            table.setItemDelegateForColumn(column, angles)

    def _make_actions(self) -> dict[str, QAction]:
        group = QActionGroup(self)
        group.setExclusive(False)
        made = {}
        for name, text, key, tip in ACTIONS:
            action = QAction(text, group)
            action.setData(name)
            # Words in the menu, a sign on the button.
            action.setText(_SPOKEN.get(name, text))
            action.setIconText(text)
            action.setShortcut(QKeySequence(key))
            action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            action.setToolTip(f"{tip} ({keys})")
            self.table.addAction(action)
            made[name] = action
        group.triggered.connect(self._act)
        return made

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        buttons.setSpacing(4)
        for action in self.actions_by_name.values():
            button = QToolButton()
            button.setDefaultAction(action)
            button.setAccessibleName(action.text())
            button.setAccessibleDescription(action.toolTip())
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            buttons.addWidget(button)
        buttons.addStretch()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.table)
        layout.addLayout(buttons)

    def show_cuts(
        self,
        cuts: Sequence[Cut],
        targets: Sequence[Sequence[str]] = (),
        numbers: Mapping[str, int] | None = None,
    ) -> None:
        """Show the cuts of a plan; the chosen one stays chosen.

        Parameters
        ----------
        cuts : sequence of Cut
        targets : sequence of sequences of str
            For each cut the names of the pieces that earlier ones left, and that it could divide.
        numbers : dict of str to int, optional
            The number of each piece there is now, by its name.
        """
        self._cuts, self._targets, self._numbers = cuts, targets, numbers or {}
        self.table.show_rows(self.model.rows_of(cuts, targets, self._numbers))
        self._enable()

    def set_axis(self, axis: ChartAxis) -> None:
        """Count stations and angles from another axis."""
        self.model.axis = axis
        self.show_cuts(self._cuts, self._targets, self._numbers)

    def choose(self, index: int | None) -> None:
        """Choose a cut, or none, without signalling it."""
        self.table.choose(index)

    @property
    def chosen(self) -> int:
        """The index of the chosen cut, or -1."""
        return self.table.chosen

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)

    def menu(self) -> QMenu:
        """Return a menu of what can be done with the chosen cut."""
        menu = QMenu(self)
        menu.addActions(list(self.actions_by_name.values()))
        menu.addSeparator()
        menu.addAction(self.table.copy_action)
        return menu

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Show the menu of the chosen cut."""
        self.table.pop_up(self.menu(), event)

    def _act(self, action: QAction) -> None:
        self.action_asked.emit(action.data(), self.chosen)

    def _enable(self) -> None:
        at, last = self.chosen, len(self.model.rows) - 1
        for name, action in self.actions_by_name.items():
            possible = at >= 0 or name == "add"
            possible &= not (name == "earlier" and at == 0)
            possible &= not (name == "later" and at == last)
            action.setEnabled(possible)
