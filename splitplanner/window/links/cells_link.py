"""Connects the check by finite cells with the plan and the view."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from splitplanner.background.cells_told import CellsTold
from splitplanner.findings import listed
from splitplanner.window.jobs import Job
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.strength.cells_panel import CellsPanel
from splitplanner.window.view.showing import numbers_of

_NO_CASE = "Choose a load case first; add one if there is none."
_BARE = "Add screws, tape or glue first (Ctrl+H): while a seam is open the check tells little more."
_WAIT = "The plan is being checked; try again when that is done."


class CellsLink(QObject):
    """Has the chosen load case checked, and shows what came of it while the plan stays as it is."""

    overlays_offered = Signal(object)
    """Figures to be shown on the model, a tuple of Overlay."""
    begun = Signal()
    """A check is asked for; what was kept of the one before goes."""
    checked = Signal(object, str)
    """A plan was checked under a load case, told by its name, and is kept where that was done."""

    def __init__(self, session: Session, selection: Selection, panel: CellsPanel) -> None:
        super().__init__(panel)
        self._session, self._selection, self._panel = session, selection, panel
        self._job: Job | None = None
        self._asked_for: object = None
        self._asked_name = ""
        self._told: dict[str, CellsTold] = {}
        self._told_of: object = None
        for signal in (session.opened, session.changed, session.checked):
            signal.connect(self.refresh)
        selection.load_changed.connect(self.refresh)
        selection.seam_changed.connect(self._choose_seam)
        panel.check_asked.connect(self.ask)
        panel.stop_asked.connect(self._stop)
        panel.overlay_asked.connect(self._offer)
        panel.seam_chosen.connect(selection.choose_seam)

    def refresh(self) -> None:
        """Show what is known of the chosen load case; a check of another plan is given up."""
        session, panel = self._session, self._panel
        if session.is_dragging:
            return
        plan, name = session.plan, self._selection.load
        is_asked = self._job is not None and not self._job.is_over
        if is_asked and not self._is_same(self._asked_for):
            # It heeds that soon, and the process that does it knows too much to be ended for it.
            session.jobs.stop(self._job, patience=None)
            is_asked = False
        if is_asked:
            panel.show_working(self._asked_name)
            return
        told = self._told.get(name or "") if self._is_same(self._told_of) else None
        if told is None or plan is None or told.loading not in plan.loadings:
            panel.show_nothing(can_check=name is not None, warning=self._doubt(name))
            return
        numbers = numbers_of(session.division)
        has_hardware = any(joint.pins or joint.screws for joint in plan.joints)
        panel.show_told(told, numbers, has_hardware)

    def _doubt(self, name: str | None) -> str:
        """Return why a check would tell nothing, as far as that is known before; or nothing."""
        examined = self._session.examined
        known = None if examined is None else examined.strength
        answers = () if known is None else known.loads
        answer = next((each for each in answers if each.loading.name == name), None)
        planned = None if answer is None else answer.planned
        seams = () if planned is None else planned.seams
        bare = [each.seam for each in seams if each.weakest.factor <= 0.0]
        many = "seams" if len(bare) > 1 else "seam"
        if not bare:
            return ""
        return f"Nothing holds {many} {listed(bare)} closed against this load. {_BARE}"

    def _is_same(self, plan: object) -> bool:
        """Whether a plan is the one that is worked on."""
        return plan is not None and plan == self._session.plan

    def ask(self) -> None:
        """Have the chosen load case checked."""
        session, name = self._session, self._selection.load
        if name is None or session.plan is None:
            session.said.emit(_NO_CASE)
            return
        if session.examined is None:
            session.said.emit(_WAIT)
            return
        self._asked_for, self._asked_name = session.plan, name
        self._job = session.jobs.ask(
            "examiner",
            "check_cells",
            session.plan,
            name,
            title=f"checking “{name}” by cells",
            answered=self._take,
            failed=self._fail,
            stopped=self._stopped,
        )
        self._panel.show_working(name)
        self.begun.emit()

    def _stop(self) -> None:
        self._session.jobs.stop(self._job)

    def _stopped(self) -> None:
        self._job = None
        self.refresh()

    def _take(self, told: CellsTold) -> None:
        plan, name = self._asked_for, told.loading.name
        if self._told_of != plan:
            self._told = {}
        self._told_of = plan
        self._told[name] = told
        self.refresh()
        division = self._session.division
        if division is not None and len(division.pieces) > 1:
            self.checked.emit(plan, name)

    def _fail(self, fault: Exception) -> None:
        self._panel.show_fault(str(fault))

    def _choose_seam(self) -> None:
        self._panel.choose_seam(self._selection.seam)

    def _offer(self, _: str) -> None:
        told = self._told.get(self._selection.load or "")
        if told is not None:
            self.overlays_offered.emit(told.overlays)
