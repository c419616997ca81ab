"""Connects the dialog of how seams are held with the plan."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from splitplanner.plan import Fastenings, with_fastenings
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.quantities import Quantities
from splitplanner.window.session import Session
from splitplanner.workshop import Shelf

_WAIT = "The plan is still being cut; wait a moment and try again."
_FIRST = "Mend the cuts first; which seams are held in their own way is told by them."


class FasteningLink(QObject):
    """Asks how seams are held, and holds them so."""

    def __init__(self, session: Session, seams: SeamsTable) -> None:
        super().__init__(seams)
        self._session, self._seams = session, seams
        seams.fastening_asked.connect(self._ask_one)

    def ask(
        self,
        window: QWidget,
        quantities: Quantities,
        shelf: Shelf | None = None,
        seam: str | None = None,
    ) -> None:
        """Open the dialog, by what is on a shelf; see `offered_hardware`.

        Parameters
        ----------
        window : QWidget
        quantities : Quantities
        shelf : Shelf, optional
        seam : str, optional
            The seam that is asked about first; all of them by default.
        """
        from splitplanner.window.dialogs.fastening_dialog import FasteningDialog
        from splitplanner.window.dialogs.offered import offered_hardware

        plan, division = self._session.plan, self._session.division
        if plan is None:
            return
        if plan.seams_named_by is not None or (seam is not None and division is None):
            self._session.said.emit(_WAIT if self._session.fault is None else _FIRST)
            return
        names = [] if division is None else [each.name for each in division.seams]
        dialog = FasteningDialog(
            plan.fastenings, offered_hardware(shelf), window, seams=names, seam=seam
        )
        dialog.set_quantities(quantities)
        dialog.applied.connect(self.hold)
        dialog.exec()

    def _ask_one(self, seam: str) -> None:
        quantities = self._seams.table.rows_model.quantities
        self.ask(self._seams.window(), quantities, self._session.shelf, seam)

    def hold(self, fastenings: Fastenings) -> None:
        """Hold seams in another way, as one step; nothing happens if it is the same."""
        plan = self._session.plan
        if plan is None or plan.fastenings == fastenings:
            return
        before = plan.fastenings
        names = sorted({*before.own, *fastenings.own})
        other = [name for name in names if before.own.get(name) != fastenings.own.get(name)]
        is_one = before.general == fastenings.general and len(other) == 1
        label = f"how {other[0]} is held" if is_one else "how seams are held"
        self._session.apply(label, with_fastenings(plan, fastenings))
