"""Proposals: whole plans that are sound, scored exactly, and really different from each other."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from functools import cached_property

from splitplanner.errors import NoProposalError
from splitplanner.findings import Finding, counted, faults
from splitplanner.plan import PartFile, Plan, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes, broken_wishes, check_wishes, soundness
from splitplanner.solid import Solid
from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.choosing import choose_sound, in_order, same_idea, worth_showing
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.drafting import Draft, Drafter, light_drafter
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.limits import refuse_too_many
from splitplanner.suggest.reasons import reason
from splitplanner.suggest.searching import Search, search
from splitplanner.suggest.second import Cuts, Second, Setup
from splitplanner.suggest.standing_in import Standing, stand_in_for
from splitplanner.suggest.wishing import Wishing
from splitplanner.workshop import Printer

Streamed = Callable[["Proposal"], None]
"""Takes proposals as they are found."""


@dataclass(frozen=True, eq=False)
class Proposal:
    """A sound plan, its exact figures, and why one would choose it.

    Attributes
    ----------
    number : int
        1 is the best by plan score.
    plan : Plan
        Without joints.
    draft : Draft
        Its division and scorecard, exact.
    reason : str
    """

    number: int
    plan: Plan
    draft: Draft
    reason: str


@dataclass(frozen=True, eq=False)
class Suggestion:
    """The proposals for one part.

    Attributes
    ----------
    proposals : tuple of Proposal
        Best first.
    bound : LowerBound
        The number of pieces that no plan can go below.
    findings : tuple of Finding
    """

    proposals: tuple[Proposal, ...]
    bound: LowerBound
    findings: tuple[Finding, ...] = ()


def suggest(
    part: Solid,
    part_file: PartFile,
    printer: Printer,
    *,
    weights: Mapping[str, float] | None = None,
    wishes: Wishes | None = None,
    seed: int = 0,
    most: int = 5,
    alone: bool = False,
    report: Report = silent,
    on_proposal: Streamed | None = None,
) -> Suggestion:
    """Propose plans for a part.

    Parameters
    ----------
    part : Solid
    part_file : PartFile
        Written into the plans.
    printer : Printer
    weights : mapping of criterion name to weight, optional
        Replaces default weights.
    wishes : Wishes, optional
        Only plans that keep all of them are proposed.
    seed : int
        Written into the plans; the search is deterministic.
    most : int
        No more proposals than this.
    alone : bool
        Whether all is done in this process, even where a second one would halve the time.
    report : progress callback
        What it raises ends the search.
    on_proposal : callable, optional
        Called with every sound proposal as it is found, long before the last is: the first one
        with estimated figures (its scorecard says so). Numbers and reasons are given again at the
        end.

    Returns
    -------
    Suggestion
        At least one proposal. Where `most` is 3 or more, one of them has the least number of
        pieces found for a sound plan and, where there is a sound plan of it, one has one more.

    Raises
    ------
    NoProposalError
        If nothing sound was found that keeps the wishes, or the part is out of proportion to the
        bed.
    WishesError
        If the wishes name faces of another part.
    ValueError
        If a weight is given to a criterion that does not exist.
    """
    wanted = wishes or Wishes()
    check_wishes(part, wanted)
    bound = lower_bound(part, printer.bed)
    refuse_too_many(part, printer.bed, bound.pieces)
    report(0.0, "finding the good side, and making a light stand-in")
    costs = Costs(part, printer, weights or {})
    standing = stand_in_for(part, wanted)
    wishing = Wishing(part, wanted, standing.tolerance) if wanted != Wishes() else None
    finals = _Finals(part, part_file, costs, standing, wanted, seed, on_proposal)
    with _second_for(standing, costs, alone or wishing is not None) as second:
        finals.second = second
        early, searching = finals.early, part_of(report, 0.02, 0.6)
        found = search(standing, costs, early, searching, wishing, second)
        finalists = finals.chosen(found, most, part_of(report, 0.6, 1.0))
    if not finalists:
        raise NoProposalError(finals.broken or _why_nothing(part, found, printer))
    report(1.0, "comparing the proposals")
    finalists = worth_showing(sorted(finalists, key=lambda draft: round(draft.score, 6)))
    proposals = tuple(
        finals.proposal(number, draft, reason(draft, finalists))
        for number, draft in enumerate(finalists, 1)
    )
    return Suggestion(proposals, bound)


def _second_for(
    standing: Standing, costs: Costs, alone: bool
) -> AbstractContextManager[Second | None]:
    """Return a second process where it is worth its start: for parts that have a stand-in."""
    if alone or standing.solid is costs.part or (os.cpu_count() or 1) < 2:
        return nullcontext()
    return Second(Setup.of(standing, costs))


@dataclass(eq=False)
class _Finals:
    """Cuts the plans that were found, and tells which are sound."""

    part: Solid
    part_file: PartFile
    costs: Costs
    standing: Standing
    wishes: Wishes
    seed: int
    on_proposal: Streamed | None
    broken: str = ""
    second: Second | None = None
    _asked: dict[Cuts, int] = field(default_factory=dict)

    @cached_property
    def _exact(self) -> Drafter:
        return Drafter(self.part, self.standing.part_seen, self.costs, exact=True)

    @cached_property
    def _light(self) -> Drafter:
        return light_drafter(self.standing, self.costs)

    def proposal(self, number: int, draft: Draft, why: str) -> Proposal:
        plan = Plan(self.part_file, self.costs.printer, draft.cuts, draft.ups, (), self.seed)
        return Proposal(number, plan, draft, why)

    def early(self, plan: Estimate) -> bool:
        """Show a first plan with coarse figures, if anybody looks and it is sound."""
        if self.on_proposal is None:
            return True
        drafter = Drafter(
            self.part,
            self.standing.part_seen,
            self.costs,
            exact=False,
            resolution=self.part.size / 100,
        )
        draft = self._sound(drafter, plan, plan.ups, silent)
        if draft is not None:
            self.on_proposal(self.proposal(1, draft, reason(draft, [draft])))
        return draft is not None

    def chosen(self, found: Search, most: int, report: Report) -> list[Draft]:
        """Return up to `most` sound drafts that differ."""
        plans = list(in_order(found.pool, found.mirrors))
        self._ask_ahead(plans, most, found)
        least = found.pool.least or 0
        asked = 0

        def sound(plan: Estimate) -> Draft | None:
            nonlocal asked
            start = 1 - 0.75**asked
            asked += 1
            draft = self._final(plan, part_of(report, start, 1 - 0.75**asked))
            if draft is not None and self.on_proposal is not None:
                self.on_proposal(self.proposal(asked, draft, reason(draft, [draft])))
            return draft

        return choose_sound(
            plans,
            sound,
            most,
            lambda one, other: same_idea(one, other, self.part, found.mirrors),
            lambda plan: len(plan.sketch.blocks) <= least + 1,
        )

    def _ask_ahead(self, plans: list[Estimate], most: int, found: Search) -> None:
        """Let the second process choose how the pieces of the likely finalists print.

        All but the first, which this process does meanwhile.
        """
        if self.second is None:
            return
        likely: list[Cuts] = []
        for plan in plans:
            cuts = plan.sketch.cuts
            if len(likely) < most and not any(
                same_idea(cuts, other, self.part, found.mirrors) for other in likely
            ):
                likely.append(cuts)
        self._asked = {cuts: self.second.ask("ups", cuts) for cuts in likely[1:]}

    def _light_ups(self, cuts: Cuts, report: Report) -> dict[str, Vector] | None:
        """Return how the pieces of a plan print best on the stand-in; None if one is unsound."""
        if self.second is not None and cuts in self._asked:
            words = "choosing how the pieces print"
            found = self.second.answer(self._asked[cuts], lambda: report(0.0, words))
            if found is not None:
                return dict(found)
        return self._light.ups(cuts, report)

    def _final(self, plan: Estimate, report: Report) -> Draft | None:
        """Cut a plan exactly in the print directions that are best on the stand-in."""
        ups: dict[str, Vector] = {}
        if self.standing.solid is not self.part:
            known = self._light_ups(plan.sketch.cuts, part_of(report, 0.0, 0.3))
            if known is None:
                return None
            ups = known
        return self._sound(self._exact, plan, ups, part_of(report, 0.3, 1.0))

    def _sound(
        self, drafter: Drafter, plan: Estimate, ups: Mapping[str, Vector], report: Report
    ) -> Draft | None:
        draft = drafter.draft(plan.sketch.cuts, ups, part_of(report, 0.0, 0.7))
        if draft is None:
            return None
        drafter.forget()
        report(0.7, "checking that the plan is sound")
        found = soundness(draft.division, draft.ups, draft.cuts, self.costs.printer)
        for piece in draft.division.pieces:
            piece.solid.forget()
        if faults(found):
            return None
        broken = broken_wishes(draft.card.figures, self.wishes)
        if broken and not self.broken:
            self.broken = (
                "No sound plan was found that keeps all wishes; the best one does not keep this: "
                f"{broken[0].message} Or give that wish up."
            )
        return None if broken else draft


def _why_nothing(part: Solid, found: Search, printer: Printer) -> str:
    size = " x ".join(
        f"{extent:.3g}" if extent < 10 else f"{extent:.0f}" for extent in part.extents
    )
    plans = found.pool.all
    if not plans:
        return (
            f"No way was found to cut the part ({size} mm) into pieces that fit the bed "
            f"({printer.bed}); use a larger bed or a smaller margin."
        )
    if not any(plan.sketch.cuts for plan in plans):
        return (
            f"The part ({size} mm) fits the bed ({printer.bed}) uncut, but is thinner than a line "
            f"of {printer.line_width:g} mm; use a thinner line."
        )
    ways = counted(len(plans), "way")
    verb, each = ("fits", "it") if len(plans) == 1 else ("fit", "each of them")
    return (
        f"{ways} to cut the part ({size} mm) {verb} the bed ({printer.bed}), but {each} leaves "
        "slivers or skins thinner than a line; set cuts by hand or use a thinner line."
    )
