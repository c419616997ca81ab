"""Proposals: whole plans that are sound, scored exactly, and really different from each other."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from functools import partial

from splitplanner.errors import NoProposalError
from splitplanner.findings import Finding, counted
from splitplanner.plan import Loading, PartFile, Plan
from splitplanner.progress import Report, part_of, rising, silent
from splitplanner.score import CRITERIA, Wishes, check_wishes, good_side
from splitplanner.score.scorecard import weighed
from splitplanner.solid import Solid
from splitplanner.strength import UnderLoads, under_loads
from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.choosing import worth_showing
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.drafting import Draft
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.finals import Finals
from splitplanner.suggest.judging import Judge
from splitplanner.suggest.limits import refuse_too_many
from splitplanner.suggest.mirroring import is_own_image_in_any
from splitplanner.suggest.reasons import reason, reasons
from splitplanner.suggest.searching import Search, search
from splitplanner.suggest.second import Second, Setup
from splitplanner.suggest.spare import warm_up
from splitplanner.suggest.standing_in import (
    TRIANGLES,
    Standing,
    lightened,
    stand_in_for,
    standing_with,
)
from splitplanner.suggest.wishing import wishing_for
from splitplanner.workshop import Material, Printer

_LARGE = 150_000
"""An exact cut of a part of more triangles takes longer than a stop may. This process, which the
kernel would hold up, leaves all cutting to others then."""
_HUGE = 2_500_000
"""Of a part of more triangles no third process can have a copy without taking too much memory."""

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
    loadings: Sequence[Loading] = (),
    material: Material | None = None,
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
    loadings : sequence of Loading
        What the part has to stand: seams are put where it is bent little. Written into the plans.
    material : Material, optional
        For the mass and the stiffness that falls are reckoned with; stresses beside each other, by
        which plans are compared, hardly depend on it.
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
    report = rising(report)
    wanted = wishes or Wishes()
    check_wishes(part, wanted)
    setup = Setup(part, printer, weights or {}, wanted, tuple(loadings), material)
    weighed(CRITERIA, setup.weights)
    with _second_for(setup, alone) as second, _third_for(setup, second) as third:
        desk = _Desk(setup, second, third)
        report(0.0, "finding the good side, and making a light stand-in")
        bound = desk.bound(report)
        refuse_too_many(part, printer.bed, bound.pieces)
        standing = desk.standing(part_of(report, 0.0, 0.015))
        loads = desk.under_loads(part_of(report, 0.015, 0.02))
        costs = Costs(part, printer, setup.weights, loads.found)
        judge = Judge(part, standing, costs, wanted)
        bare = Plan(part_file, printer, seed=seed, loadings=setup.loadings)
        offered = _Offered(bare, judge, on_proposal)
        wishing = wishing_for(part, wanted, standing.tolerance)
        searching = part_of(report, 0.02, 0.6)
        early = partial(offered.early, report=part_of(searching, 0.15, 0.2))
        found = search(standing, costs, early, searching, wishing, second)
        finals = Finals(judge, offered.show, desk.others, desk.is_large)
        finalists = finals.chosen(found, most, part_of(report, 0.6, 1.0))
    if not finalists:
        raise NoProposalError(_broken(finals.broken) or _why_nothing(part, found, printer))
    report(1.0, "comparing the proposals")
    finalists = worth_showing(
        sorted(finalists, key=lambda draft: round(draft.score, 6)),
        symmetric=lambda draft: is_own_image_in_any(draft.division, found.mirrors),
    )
    whys = reasons(finalists, found.mirrors)
    proposals = tuple(
        offered.proposal(number, draft, why)
        for number, (draft, why) in enumerate(zip(finalists, whys, strict=True), 1)
    )
    return Suggestion(proposals, bound, loads.findings)


def prepare(part: Solid) -> None:
    """Start the process that will help a search for a part, if one is going to; see `warm_up`."""
    if _is_shared(part):
        warm_up()


def _is_shared(part: Solid) -> bool:
    """Whether a second process is worth its start: for parts that have a stand-in."""
    return len(part.faces) > TRIANGLES and (os.cpu_count() or 1) > 1


def _second_for(setup: Setup, alone: bool) -> AbstractContextManager[Second | None]:
    """Return a second process where one is allowed and worth its start."""
    if alone or not _is_shared(setup.part):
        return nullcontext()
    # One that had much memory is not kept.
    return Second(setup, is_kept=len(setup.part.faces) <= _LARGE)


def _third_for(setup: Setup, second: Second | None) -> AbstractContextManager[Second | None]:
    """Return one more process for a large part: this one cuts no finalists of it, only waits."""
    if second is None or not _LARGE < len(setup.part.faces) <= _HUGE:
        return nullcontext()
    return Second(setup, is_kept=False)


@dataclass(frozen=True, eq=False)
class _Desk:
    """Has what is looked at before the search done by one of the two processes.

    Attributes
    ----------
    setup : Setup
    second, third : Second, optional
    """

    setup: Setup
    second: Second | None
    third: Second | None

    @property
    def others(self) -> list[Second]:
        """The other processes there are."""
        return [other for other in (self.second, self.third) if other is not None]

    @property
    def is_large(self) -> bool:
        """Whether this process leaves all exact work to the other, so that it can be stopped."""
        return self.second is not None and len(self.setup.part.faces) > _LARGE

    def bound(self, report: Report) -> LowerBound:
        """Return the least number of pieces that could do."""
        found = self._away("bound", report) if self.is_large else None
        if isinstance(found, LowerBound):
            return found
        return lower_bound(self.setup.part, self.setup.printer.bed)

    def standing(self, report: Report) -> Standing:
        """Return the good side and the stand-in, which the other processes have too."""
        found = self._standing_of_others(report) if self.is_large else None
        standing = found if isinstance(found, Standing) else self._shared_standing(report)
        for other in self.others:
            other.ask("stand", standing)
        return standing

    def under_loads(self, report: Report) -> UnderLoads:
        """Return the stresses of the uncut part, which the other processes have from then on too.

        Now the second process can make plans as well.
        """
        setup, loads = self.setup, UnderLoads()
        if setup.loadings:
            found = self._away("load", report) if self.is_large else None
            loads = (
                found
                if isinstance(found, UnderLoads)
                else under_loads(setup.part, setup.loadings, setup.material, report)
            )
            for other in self.others:
                other.ask("bear", loads.found)
        if self.second is not None:
            self.second.ask("prepare")
        return loads

    def _standing_of_others(self, report: Report) -> object:
        """Return the good side, found by the second process, and the stand-in, made by the third.

        By the second if there is no third; None if both are gone.
        """
        assert self.second is not None
        # What takes longer is given to the one that was there first.
        self.second.ask("see")
        making = part_of(report, 0.0, 0.5)
        light = None if self.third is None else self._away("lighten", making, by=self.third)
        if light is None:
            light = self._away("lighten", making)
        return self._away("carry", part_of(report, 0.5, 0.9), light)

    def _shared_standing(self, report: Report) -> Standing:
        """Return the good side, found here, and the stand-in, made by the other process meanwhile.

        If that is not ready yet, it is made here too.
        """
        part, second = self.setup.part, self.second
        if second is None:
            return stand_in_for(part, self.setup.wishes, report)
        number = second.ask("lighten")
        seen = good_side(part, self.setup.wishes, part_of(report, 0.0, 0.5))
        making = part_of(report, 0.5, 0.9)
        light = None
        if not second.take_back(number):
            light = second.answer(number, lambda: making(*second.progress))
        solid, tolerance = lightened(part, making) if light is None else light
        report(0.9, "making a light stand-in")
        return standing_with(part, seen, solid, tolerance)

    def _away(self, what: str, report: Report, *given: object, by: Second | None = None) -> object:
        """Return what another process says to a task, by default the second; None if it is gone."""
        other = by or self.second
        assert other is not None
        return other.answer(other.ask(what, *given), lambda: report(*other.progress))


@dataclass(frozen=True, eq=False)
class _Offered:
    """Makes proposals of drafts, and shows them to whoever looks.

    Attributes
    ----------
    bare : Plan
        All that is the same in every plan.
    judge : Judge
    on_proposal : callable, optional
    """

    bare: Plan
    judge: Judge
    on_proposal: Streamed | None

    def proposal(self, number: int, draft: Draft, why: str) -> Proposal:
        """Return a proposal."""
        plan = replace(self.bare, cuts=draft.cuts, print_directions=draft.ups)
        return Proposal(number, plan, draft, why)

    def show(self, number: int, draft: Draft) -> None:
        """Show a draft by itself."""
        if self.on_proposal is not None:
            self.on_proposal(self.proposal(number, draft, reason(draft, [draft])))

    def early(self, plan: Estimate, report: Report) -> bool:
        """Show a first plan with coarse figures, if anybody looks and it is sound."""
        if self.on_proposal is None:
            return True
        draft = self.judge.at_first_sight(plan, report)
        if draft is not None:
            self.show(1, draft)
        return draft is not None


def _broken(wish: str) -> str:
    if not wish:
        return ""
    return (
        "No sound plan was found that keeps all wishes; the best one does not keep this: "
        f"{wish} Or give that wish up."
    )


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
