"""Connects the order of assembly and the parts list with what the window works on."""

from __future__ import annotations

from operator import is_

from PySide6.QtCore import QObject

from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.lists import assembly_table, parts_table
from splitplanner.window.lists.assembly_table import AssemblyTable
from splitplanner.window.lists.brace_step_rows import brace_step_rows
from splitplanner.window.lists.parts_table import PartsTable
from splitplanner.window.lists.step_rows import StepRow, order_said, step_rows
from splitplanner.window.session import Session
from splitplanner.window.view.steps import ShownStep


class AssemblyLink(QObject):
    """Fills both tables once a plan is checked, and shows the chosen step in the view."""

    def __init__(
        self, session: Session, view: ViewLink, assembly: AssemblyTable, parts: PartsTable
    ) -> None:
        super().__init__(assembly)
        self._session, self._view = session, view
        self._assembly, self._parts = assembly, parts
        self._shown: tuple[object, ...] | None = None
        session.opened.connect(self._open)
        for signal in (session.divided, session.measured, session.checked):
            signal.connect(self.refresh)
        view.colours_changed.connect(self.refresh)
        assembly.step_shown.connect(self._show_step)
        assembly.finding_chosen.connect(view.show_finding)

    def _open(self) -> None:
        """Let go of what was known of another part."""
        self._shown = None
        self._assembly.show_nothing(assembly_table.WAITING)
        self._parts.show_nothing(parts_table.WAITING)

    def refresh(self) -> None:
        """Show what is known of the plan, unless it is shown."""
        session, colours = self._session, self._view.colours
        known = (session.division, session.examined, session.fault, session.shelf, colours)
        before = self._shown or ()
        if len(before) == len(known) and all(map(is_, known, before)):
            return
        self._shown = known
        division, examined = session.division, session.examined
        if session.fault is not None:
            self._assembly.show_nothing(assembly_table.NOT_CUT)
            self._parts.show_nothing(parts_table.NOT_CUT)
        elif division is None or examined is None or examined.order is None:
            self._assembly.show_waiting()
            self._parts.show_waiting()
        else:
            order, braces = examined.order, examined.braces
            rows = step_rows(order, division, examined.plan, session.shelf, colours)
            rows += brace_step_rows(braces, len(rows), division, session.shelf)
            said = order_said(order, len(division.pieces), len(braces))
            self._assembly.show_steps(rows, order.findings, said)
            if examined.needed is not None:
                self._parts.show_parts(examined.needed)

    def _show_step(self, row: StepRow | None) -> None:
        self._view.show_step(None if row is None else ShownStep(row.step, row.way, row.brace))
