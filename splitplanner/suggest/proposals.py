"""Proposals: whole plans that are sound, scored exactly, and really different from each other."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from splitplanner.errors import NoProposalError
from splitplanner.findings import Finding, counted, faults
from splitplanner.plan import Cut, PartFile, Plan
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import soundness
from splitplanner.solid import Solid, seen_from_outside
from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.layouts import Layout, LayoutSearch
from splitplanner.suggest.limits import refuse_too_many
from splitplanner.suggest.reasons import reason
from splitplanner.suggest.refining import Draft, Refiner
from splitplanner.workshop import Printer

STAND_IN_TRIANGLES = 9_000
"""Parts with more triangles than this are searched on a lighter stand-in."""

_MANY_PIECES, _TOO_MANY_TO_REFINE = 12, 30
"""Above the first number only two layouts are refined, and above the second none is, so that a
plan of many pieces takes a minute or two as well."""

_SAME_ANGLE = 15.0

STAND_IN_TOLERANCES = (0.05, 0.1, 0.2)
"""How far (mm) a stand-in's surface may lie from the part's, the first that makes it light enough;
the finalists are cut exactly."""


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

    @property
    def least_pieces(self) -> int:
        """The least number of pieces among the proposals."""
        return min(len(proposal.draft.division.pieces) for proposal in self.proposals)


def suggest(
    part: Solid,
    part_file: PartFile,
    printer: Printer,
    *,
    seed: int = 0,
    most: int = 5,
    report: Report = silent,
) -> Suggestion:
    """Propose plans for a part.

    Parameters
    ----------
    part : Solid
    part_file : PartFile
        Written into the plans.
    printer : Printer
    seed : int
        Written into the plans; the search is deterministic.
    most : int
        No more proposals than this.
    report : progress callback

    Returns
    -------
    Suggestion
        At least one proposal. Where `most` is 3 or more, one of them has the least number of
        pieces found for a sound plan and, where there is a sound plan of it, one has one more.

    Raises
    ------
    NoProposalError
        If nothing sound was found, or the part is out of proportion to the bed.
    """
    refuse_too_many(part, printer.bed)
    report(0.0, "making a light stand-in")
    stand_in = _stand_in(part)
    layouts = LayoutSearch(stand_in, printer.bed, part_of(report, 0.02, 0.25)).run()
    drafts = _refined(stand_in, layouts, printer, part_of(report, 0.25, 0.7))
    finalists = _exact(part, drafts, printer, most, part_of(report, 0.7, 1.0))
    if not finalists:
        raise NoProposalError(_why_nothing(part, layouts, printer))
    finalists = _worth_showing(sorted(finalists, key=lambda draft: round(draft.score, 6)))
    proposals = tuple(
        Proposal(
            number,
            Plan(part_file, printer, draft.cuts, draft.ups, (), seed),
            draft,
            reason(draft, finalists),
        )
        for number, draft in enumerate(finalists, 1)
    )
    return Suggestion(proposals, lower_bound(part, printer.bed))


def _stand_in(part: Solid) -> Solid:
    """Return the part, or one with fewer triangles that is much the same."""
    stand_in = part
    for tolerance in STAND_IN_TOLERANCES:
        if len(stand_in.faces) > STAND_IN_TRIANGLES:
            stand_in = part.simplified(tolerance)
    return stand_in


def _refined(
    stand_in: Solid, layouts: list[Layout], printer: Printer, report: Report
) -> list[Draft]:
    """Score every layout as it stands, refine the most promising, and return them best first."""
    report(0.0, "finding the good side")
    seen = seen_from_outside(stand_in)
    refiner = Refiner(stand_in, seen, printer, resolution=stand_in.size / 250)
    scored: list[tuple[float, Layout]] = []
    for index, layout in enumerate(layouts):
        report(0.05 + 0.35 * index / len(layouts), f"scoring layout {index + 1} of {len(layouts)}")
        draft = refiner.draft(layout.cuts)
        scored.append((np.inf if draft is None else draft.score, layout))
    scored.sort(key=lambda item: item[0])
    chosen = _by_count(scored, each=2)
    if min((layout.pieces for layout in chosen), default=0) > _MANY_PIECES:
        few = min(chosen, key=lambda layout: layout.pieces)
        chosen = [*chosen[:1], *([few] if few is not chosen[0] else chosen[1:2])]
    drafts = []
    for index, layout in enumerate(chosen):
        start, end = (0.4 + 0.6 * (index + k) / len(chosen) for k in (0, 1))
        if layout.pieces > _TOO_MANY_TO_REFINE:
            report(start, "cutting at even distances")
            draft = refiner.draft(layout.cuts)
        else:
            draft = refiner.refine(layout, part_of(report, start, end))
        if draft is not None:
            drafts.append(draft)
    return sorted(drafts, key=lambda draft: draft.score)


def _by_count(scored: list[tuple[float, Layout]], each: int, least: int = 6) -> list[Layout]:
    """Return the best `each` layouts of every number of pieces, filled up with the next best.

    Best first, and `least` of them if there are as many.
    """
    taken: dict[int, int] = {}
    chosen: list[Layout] = []
    rest: list[Layout] = []
    for _, layout in scored:
        taken[layout.pieces] = taken.get(layout.pieces, 0) + 1
        (chosen if taken[layout.pieces] <= each else rest).append(layout)
    return chosen + rest[: max(0, least - len(chosen))]


def _exact(
    part: Solid, drafts: list[Draft], printer: Printer, most: int, report: Report
) -> list[Draft]:
    """Cut the drafts exactly and keep up to `most` that are sound and differ."""
    report(0.0, "finding the good side")
    refiner = Refiner(part, seen_from_outside(part), printer, exact=True)
    checked: dict[int, Draft | None] = {}

    def sound(draft: Draft) -> Draft | None:
        if id(draft) not in checked:
            start, end = (0.1 + 0.9 * (len(checked) + k) / len(drafts) for k in (0.0, 0.7))
            exact = refiner.draft(draft.cuts, part_of(report, start, end))
            if exact is not None:
                report(end, "checking that the plan is sound")
                if faults(soundness(exact.division, exact.ups, exact.cuts, printer)):
                    exact = None
            checked[id(draft)] = exact
        return checked[id(draft)]

    return choose_sound(drafts, sound, most, part)


def choose_sound(
    drafts: list[Draft], sound: Callable[[Draft], Draft | None], most: int, part: Solid
) -> list[Draft]:
    """Return up to `most` sound drafts that differ.

    The best by score comes first, then the best of the least number of pieces and of one more
    where there are sound ones, then the rest by score.

    Parameters
    ----------
    drafts : list of Draft
        Best first.
    sound : function of Draft
        Returns it cut exactly, or None if that is not sound. Asked for no more than are needed.
    most : int
    part : Solid
        For its size: what differs is told by `same_idea`.
    """
    kept: list[Draft] = []

    def keep_one(of: list[Draft]) -> bool:
        found = next((exact for draft in of if (exact := sound(draft)) is not None), None)
        if found is not None:
            kept.append(found)
        return found is not None

    keep_one(drafts)
    least: int | None = None
    for count in sorted({len(draft.division.pieces) for draft in drafts}):
        if not kept or len(kept) >= most or (least is not None and count > least + 1):
            break
        there = any(len(draft.division.pieces) == count for draft in kept)
        if there or keep_one([d for d in drafts if len(d.division.pieces) == count]):
            least = count if least is None else least
    for draft in drafts:
        if not kept or len(kept) >= most:
            break
        if any(same_idea(draft.cuts, other.cuts, part) for other in kept):
            continue
        exact = sound(draft)
        if exact is not None:
            kept.append(exact)
    return kept[:most]


def same_idea(one: tuple[Cut, ...], other: tuple[Cut, ...], part: Solid) -> bool:
    """Return whether two plans differ in nothing that matters.

    They are the same idea if they have as many cuts and every cut of one has its match in the
    other: within 15° and a twelfth of the part's size.
    """
    if len(one) != len(other):
        return False
    left = list(other)
    for cut in one:
        match = next((c for c in left if _alike(cut, c, part)), None)
        if match is None:
            return False
        left.remove(match)
    return True


def _alike(one: Cut, other: Cut, part: Solid) -> bool:
    cosine = float(np.dot(one.plane.normal, other.plane.normal))
    if abs(cosine) < math.cos(math.radians(_SAME_ANGLE)):
        return False
    middle = part.bounds.mean(axis=0)
    here, there = float(one.plane.height(middle)), float(other.plane.height(middle))
    shift = here - math.copysign(there, there * cosine)
    return abs(shift) < float(part.size) / 12


def _worth_showing(drafts: list[Draft], least: int = 3) -> list[Draft]:
    """Leave out plans that another beats in every figure that counts; keep at least `least`.

    The last one of the least number of pieces stays, and the last of one more.
    """
    promised = min((len(draft.division.pieces) for draft in drafts), default=0) + 1
    beaten = [draft for draft in drafts if any(_beats(other, draft) for other in drafts)]
    for draft in sorted(beaten, key=lambda draft: -draft.score):
        count = len(draft.division.pieces)
        alike = sum(len(other.division.pieces) == count for other in drafts)
        if len(drafts) > least and (alike > 1 or count > promised):
            drafts = [other for other in drafts if other is not draft]
    return drafts


def _beats(one: Draft, other: Draft) -> bool:
    """Return whether `one` is nowhere worse than `other` and somewhere better."""
    terms = zip(one.card.terms, other.card.terms, strict=True)
    pairs = [(a.value, b.value) for a, b in terms if a.counts]
    return all(a <= b + 1e-9 for a, b in pairs) and any(a < b - 1e-9 for a, b in pairs)


def _why_nothing(part: Solid, layouts: list[Layout], printer: Printer) -> str:
    size = " x ".join(
        f"{extent:.3g}" if extent < 10 else f"{extent:.0f}" for extent in part.extents
    )
    if not layouts:
        return (
            f"No way was found to cut the part ({size} mm) into pieces that fit the bed "
            f"({printer.bed}); use a larger bed or a smaller margin."
        )
    if not any(layout.cuts for layout in layouts):
        return (
            f"The part ({size} mm) fits the bed ({printer.bed}) uncut, but is thinner than a line "
            f"of {printer.line_width:g} mm; use a thinner line."
        )
    ways = counted(len(layouts), "way")
    verb, each = ("fits", "it") if len(layouts) == 1 else ("fit", "each of them")
    return (
        f"{ways} to cut the part ({size} mm) {verb} the bed ({printer.bed}), but {each} leaves "
        "slivers or skins thinner than a line; set cuts by hand or use a thinner line."
    )
