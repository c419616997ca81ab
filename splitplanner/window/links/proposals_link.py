"""Connects the list of proposals, and the weights by which they are ranked, with the session."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QObject

from splitplanner.suggest import Proposal
from splitplanner.suggest.ranking import remember, reranked, unmeasured
from splitplanner.window.jobs import Job
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.lists.proposals_list import ProposalsList
from splitplanner.window.lists.weights_panel import WeightsPanel
from splitplanner.window.parts.small_picture import small_picture
from splitplanner.window.session import Session

_PICTURE = (420, 280)
_BEGIN = "Ask for proposals and accept one, or add cuts by hand (Ctrl+K)."


class ProposalsLink(QObject):
    """Streams proposals into the list, and makes the one that is accepted the plan."""

    def __init__(
        self, session: Session, view: ViewLink, proposals: ProposalsList, weights: WeightsPanel
    ) -> None:
        super().__init__(proposals)
        self._session, self._list, self._weights = session, proposals, weights
        session.opened.connect(self._open)
        session.proposing.proposed.connect(self._add)
        session.proposing.ended.connect(self._end)
        session.jobs.changed.connect(self._show_progress)
        session.changed.connect(self._show_weights)
        proposals.asked.connect(self.ask)
        proposals.stopped.connect(session.proposing.stop)
        proposals.previewed.connect(view.preview)
        proposals.accepted.connect(self._accept)
        weights.weights_changed.connect(self._rank)
        weights.weights_settled.connect(self._weigh)
        self._view = view
        self._measuring: Job | None = None

    def ask(self) -> None:
        """Look for proposals."""
        if self._session.plan is None:
            self._session.said.emit("Open a model first; then ask for proposals.")
            return
        self._list.clear()
        self._session.propose()
        # The button stops it from now on, though nothing has been heard of it yet.
        self._show_progress()

    def _open(self) -> None:
        self._list.clear()
        self._list.set_idle(_BEGIN)
        self._show_weights()

    def _show_progress(self) -> None:
        search = self._session.proposing.job
        if search is not None:
            self._list.set_progress(search.done, search.doing)

    def _add(self, proposal: Proposal) -> None:
        self._list.add(proposal)
        self._draw(proposal)

    def _draw(self, proposal: Proposal) -> None:
        if self._session.light is not None:
            self._session.jobs.ask(
                "painter",
                "draw_plan",
                proposal.plan,
                _PICTURE,
                answered=partial(self._take_picture, proposal),
            )

    def _take_picture(self, proposal: Proposal, png: bytes) -> None:
        # By now it may have another number and reason, or be shown no more.
        for shown in self._list.proposals:
            if shown.plan.cuts == proposal.plan.cuts:
                self._list.add(shown, small_picture(png))

    def _end(self, message: str) -> None:
        self._list.set_idle(message)
        self._rank()

    def _rank(self, weights: Mapping[str, float] | None = None) -> None:
        """Order the proposals by weights: those decided, or those of a slider that moves."""
        session = self._session
        if session.choices is None or not session.proposing.found or session.proposing.is_on:
            return
        weighed = session.choices.weights if weights is None else weights
        names = unmeasured(session.proposing.found, weighed)
        if names:
            self._measure(list(session.proposing.found), names)
        else:
            self._list.set_order(reranked(session.proposing.found, weighed))

    def _measure(self, proposals: list[Proposal], names: set[str]) -> None:
        """Have criteria measured that did not count before; then order the proposals."""
        jobs = self._session.jobs
        if self._measuring is not None and not self._measuring.is_over:
            return
        self._measuring = jobs.ask(
            "searcher",
            "measure_criteria",
            [each.draft.card for each in proposals],
            names,
            title="measuring the proposals",
            answered=partial(self._take_values, proposals),
            failed=self._session.failed.emit,
        )

    def _take_values(self, proposals: list[Proposal], values: list[dict[str, float]]) -> None:
        for proposal, found in zip(proposals, values, strict=True):
            remember(proposal.draft.card, found)
        self._rank(self._weights.weights)

    def _accept(self, proposal: Proposal) -> None:
        self._view.preview(None)
        self._session.accept(proposal)

    def _weigh(self, weights: Mapping[str, float]) -> None:
        document = self._session.document
        if document is not None:
            document.apply("weights", replace(document.current, weights=dict(weights)))

    def _show_weights(self) -> None:
        choices = self._session.choices
        if choices is not None:
            self._weights.set_weights(choices.weights)
            self._rank()
