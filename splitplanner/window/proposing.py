"""The search for proposals: under way or not, and what it has found."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from splitplanner.suggest import Proposal, Suggestion
from splitplanner.window.choices import Choices
from splitplanner.window.jobs import Job, Jobs


class Proposing(QObject):
    """Has plans proposed for what is decided, and keeps those that were found.

    Attributes
    ----------
    found : list of Proposal
        In the order in which they are shown.
    """

    proposed = Signal(object)
    """A proposal was found."""
    ended = Signal(str)
    """No more proposals come; what to say about it."""
    failed = Signal(object)
    """A fault to show, a `SplitPlannerError`."""

    def __init__(self, jobs: Jobs, parent: QObject) -> None:
        super().__init__(parent)
        self.found: list[Proposal] = []
        self._jobs = jobs
        self._job: Job | None = None

    @property
    def is_on(self) -> bool:
        """Whether proposals are being looked for."""
        return self._job is not None and not self._job.is_over

    @property
    def job(self) -> Job | None:
        """The search, while it is under way."""
        return self._job if self.is_on else None

    def begin(self, choices: Choices) -> None:
        """Look for proposals anew; they come one by one."""
        # Imported late: the window starts without what makes joints.
        from splitplanner.joint import with_room_to_shrink

        self.found = []
        self._jobs.stop(self._job)
        self._job = self._jobs.ask(
            "searcher",
            "propose",
            choices.plan.part,
            with_room_to_shrink(choices.plan.machine, choices.plan.material),
            dict(choices.weights),
            choices.wishes,
            choices.plan.loadings,
            choices.plan.material,
            title="looking for proposals",
            handed=self._on_proposal,
            answered=self._on_suggestion,
            failed=self._on_none,
            stopped=self._on_stopped,
        )

    def stop(self) -> None:
        """Stop looking for proposals; those that were found stay."""
        self._jobs.stop(self._job)

    def forget(self) -> None:
        """Stop looking for proposals, and let go of those that were found."""
        self.stop()
        self.found = []

    def _on_stopped(self) -> None:
        so_far = "what was found so far stays" if self.found else "nothing was found by then"
        self.ended.emit(f"Stopped; {so_far}.")

    def _on_proposal(self, proposal: Proposal) -> None:
        self.found.append(proposal)
        self.proposed.emit(proposal)

    def _on_suggestion(self, suggestion: Suggestion) -> None:
        self.found = list(suggestion.proposals)
        least = suggestion.bound.pieces
        self.ended.emit(f"No plan can have fewer than {least} pieces.")

    def _on_none(self, fault: Exception) -> None:
        self.ended.emit(str(fault))
        self.failed.emit(fault)
