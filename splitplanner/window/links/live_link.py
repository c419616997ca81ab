"""Connects changes of screws, pins and braces with the check by cells that answers them at once."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from splitplanner.background.live_told import LiveTold, change_beyond
from splitplanner.errors import HelperError
from splitplanner.plan import Plan
from splitplanner.window.jobs import Job
from splitplanner.window.links.cells_link import CellsLink
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.strength.live_panel import LivePanel
from splitplanner.window.strength.live_words import headline, live_rows, seam_line
from splitplanner.window.strength.what_if import WhatIf

_LATE = 200
"""An answer that takes longer takes away the figures that are shown, ms."""
_Asked = tuple[Plan, frozenset[str]]


class LiveLink(QObject):
    """Has every change answered by the last check, before the plan is examined anew.

    It hears of a change before the session has it examined, so that it asks first; the answer of a
    plan that is not the current one any more is not heard.
    """

    seams_told = Signal(object)
    """What to say below the plans of seams, a dict of seam name to text."""

    def __init__(
        self,
        session: Session,
        selection: Selection,
        cells: CellsLink,
        panel: LivePanel,
        what_if: WhatIf,
    ) -> None:
        super().__init__(panel)
        self._session, self._selection = session, selection
        self._panel, self._what_if = panel, what_if
        self._quantities = Quantities()
        self._checked: tuple[Plan, str] | None = None
        self._is_lost = False
        self._job: Job | None = None
        self._asked: _Asked | None = None
        self._told: tuple[_Asked, LiveTold | str] | None = None
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(_LATE)
        self._late.timeout.connect(self._hide_old)
        session.opened.connect(self.forget)
        for signal in (session.changed, session.checked, selection.load_changed, what_if.changed):
            signal.connect(self.refresh)
        selection.seam_changed.connect(self._choose_seam)
        cells.begun.connect(self.forget)
        cells.checked.connect(self._keep)
        panel.check_asked.connect(cells.ask)
        panel.seam_chosen.connect(selection.choose_seam)

    @property
    def is_idle(self) -> bool:
        """Whether no answer is awaited."""
        return self._job is None or self._job.is_over

    @property
    def is_answered(self) -> bool:
        """Whether what is shown is of the plan as it is."""
        told = self._told
        return told is not None and told[0] == (self._session.plan, self._what_if.left_out)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self._show()

    def forget(self) -> None:
        """Nothing is kept: there is another part, or another check has begun."""
        self._stop()
        self._checked = self._told = None
        self._is_lost = False
        self.refresh()

    def _keep(self, plan: Plan, load: str) -> None:
        """Take note of what the process that checks has kept."""
        self._checked, self._told, self._is_lost = (plan, load), None, False
        self.refresh()

    # -- what is asked ------------------------------------------------------------------------
    def refresh(self) -> None:
        """Have the plan answered, if it is another, and show what is known."""
        if self._session.is_dragging:
            return
        plan, why = self._session.plan, self._why_not()
        if plan is not None and not why and self._checked is not None:
            asked = plan, self._what_if.left_out
            if self._told is None or self._told[0] != asked:
                self._ask(asked)
                return
        self._stop()
        self._show()

    def _why_not(self) -> str:
        """Return why the check is of no use for the plan; empty if it answers, or there is none."""
        plan = self._session.plan
        if self._checked is None or plan is None:
            return ""
        checked, load = self._checked
        if load != self._selection.load:
            return f"it was of load case “{load}”"
        return change_beyond(checked, plan, load)

    def _ask(self, asked: _Asked) -> None:
        assert self._checked is not None
        if asked == self._asked and not self.is_idle:
            return
        self._stop()
        self._asked = asked
        self._late.start()
        plan, left_out = asked
        self._job = self._session.jobs.ask(
            "examiner",
            "answer_seams",
            plan,
            self._checked[1],
            tuple(sorted(left_out)),
            answered=self._take,
            failed=self._fail,
        )

    def _stop(self) -> None:
        # It is over before it could heed that.
        self._late.stop()
        self._session.jobs.stop(self._job, patience=None)
        self._job = self._asked = None

    def _take(self, told: LiveTold | None) -> None:
        asked = self._asked
        self._late.stop()
        self._asked = None
        if told is None or asked is None:
            self._lose()
            return
        self._told = asked, told
        self._show()

    def _fail(self, fault: Exception) -> None:
        asked = self._asked
        self._late.stop()
        self._asked = None
        if isinstance(fault, HelperError) or asked is None:
            self._lose()
            return
        self._told = asked, str(fault)
        self._show()

    def _lose(self) -> None:
        """The process that kept the check has ended."""
        self._checked, self._told, self._is_lost = None, None, True
        self._show()

    # -- what is shown ------------------------------------------------------------------------
    def _show(self) -> None:
        panel, what_if, why = self._panel, self._what_if, self._why_not()
        what_if.set_able(self._checked is not None and not why)
        told = None if why or self._told is None else self._told[1]
        lines: dict[str, str] = {}
        what_if.tell("")
        if self._is_lost:
            panel.show_lost()
        elif why:
            panel.show_earlier(why)
        elif isinstance(told, str):
            panel.show_fault(told)
        elif told is None or self._told is None or self._checked is None:
            panel.show_nothing()
        else:
            (plan, left_out), q = self._told[0], self._quantities
            lines = {row.key: seam_line(told, row, q) for row in live_rows(told)}
            if left_out:
                what_if.tell(headline(told, left_out, q))
            if left_out or plan != self._checked[0]:
                panel.show_told(told, left_out)
                self._choose_seam()
            else:
                # The check itself is shown.
                panel.show_nothing()
        self.seams_told.emit(lines)

    def _hide_old(self) -> None:
        self._panel.show_working()
        self._what_if.tell("")
        self.seams_told.emit({})

    def _choose_seam(self) -> None:
        self._panel.choose_seam(self._selection.seam)
