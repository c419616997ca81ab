"""Connects the table of beds with what the window works on."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject

from splitplanner.background.examined import Examined
from splitplanner.loaded.wording import named
from splitplanner.score import BedLoad, bed_prints
from splitplanner.window.jobs import Job
from splitplanner.window.lists import beds_table
from splitplanner.window.lists.beds_table import BedRow, BedsTable
from splitplanner.window.session import Session
from splitplanner.window.view.showing import BRACE
from splitplanner.workshop import Material


class BedsLink(QObject):
    """Has pieces and printed braces put on beds when the table is looked at, and shows them.

    Parameters
    ----------
    session : Session
    table : BedsTable
    material : callable
        Returns the material that pieces are printed from, or None.
    """

    def __init__(
        self, session: Session, table: BedsTable, material: Callable[[], Material | None]
    ) -> None:
        super().__init__(table)
        self._session, self._table, self._material = session, table, material
        self.colours: dict[str, str] = {}
        self._job: Job | None = None
        self._asked_for: object = None
        self._found_for: Examined | None = None
        self._loads: tuple[BedLoad, ...] = ()
        session.opened.connect(self._open)
        for signal in (session.divided, session.measured, session.checked):
            signal.connect(self.refresh)
        table.seen.connect(self.refresh)

    def _open(self) -> None:
        """Let go of what was known of another part."""
        self._found_for, self._loads = None, ()
        self._table.show_nothing(beds_table.WAITING)

    def set_colours(self, colours: dict[str, str]) -> None:
        """Show pieces in other colours."""
        self.colours = colours
        self._show()

    def refresh(self) -> None:
        """Show the beds of the plan, or have them found; nothing while nobody looks."""
        session, table = self._session, self._table
        if not table.isVisible() or session.source is None:
            return
        if session.fault is not None:
            table.show_nothing(beds_table.NOT_CUT)
        elif session.examined is None:
            table.show_waiting()
        elif self._found_for is session.examined:
            self._show()
        else:
            table.show_waiting()
            self._ask()

    def _ask(self) -> None:
        session, examined = self._session, self._session.examined
        is_asked = self._job is not None and not self._job.is_over
        if examined is None or (is_asked and self._asked_for is examined):
            return
        # It heeds a stop soon, and the process that does it knows too much to be ended for it.
        session.jobs.stop(self._job, patience=None)

        def take(loads: tuple[BedLoad, ...]) -> None:
            self._found_for, self._loads = examined, loads
            session.use_beds(examined, loads)
            self.refresh()

        self._asked_for = examined
        self._job = session.jobs.ask(
            "examiner",
            "place_on_beds",
            examined.plan,
            title="putting pieces together on beds",
            answered=take,
            failed=session.failed.emit,
        )

    def _show(self) -> None:
        """Show what was found, if it is of the pieces and braces that are there."""
        figures, division, plan = (
            self._session.figures, self._session.division, self._session.plan
        )  # fmt: skip
        found = self._found_for
        if figures is None or division is None or plan is None or found is None or not self._loads:
            return
        names = {name for load in self._loads for name in load.names}
        if names != {row.name for row in figures.prints}:
            return
        # As other lists call them; they are numbered in the order in which they were made.
        braces = {
            row.name: named("brace", found.braces[row.piece.number - 1].name)
            for row in found.card.figures.braces
        }
        labels = {
            piece.name: (str(piece.number), self.colours.get(piece.name, "#B8BDC6"))
            for piece in division.pieces
        }
        labels |= {name: (called, BRACE) for name, called in braces.items()}
        rows = [
            BedRow(
                bed,
                tuple(division.piece(name).number for name in bed.load.names if name not in braces),
                tuple(braces[name] for name in bed.load.names if name in braces),
            )
            for bed in bed_prints(self._loads, figures, self._material())
        ]
        self._table.show_beds(rows, plan.printer.bed, labels)
