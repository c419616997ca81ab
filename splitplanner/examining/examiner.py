"""Examining a plan: cutting it, measuring it, joining it and checking it, again and again.

Plans that are changed step by step share most of their cuts, pieces and seams. What has been cut
and measured is remembered, so that the next plan costs what is new in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from splitplanner.arrays import Bools
from splitplanner.examining.kept import kept_joints, once
from splitplanner.examining.measures import Measures
from splitplanner.findings import Finding
from splitplanner.joint import (
    Maker,
    assembly_of,
    check_allowances,
    check_joints,
    check_sense,
    join,
    left_open,
    screw_by_hand,
    sensible,
)
from splitplanner.loaded import Chains, StrengthAnswer, strength_answer
from splitplanner.output import Result
from splitplanner.plan import (
    Division,
    Piece,
    Plan,
    RememberedCuts,
    Screw,
    divide,
    with_own_followed,
)
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import (
    Figures,
    GoodSide,
    Surfaces,
    Wishes,
    broken_wishes,
    good_side,
    scorecard,
    soundness,
)
from splitplanner.solid import ReadPart
from splitplanner.suggest import LowerBound, lower_bound
from splitplanner.workshop import Bed, Shelf, hardware_shelf

_REMEMBERED = 1_000_000
"""So many faces of pieces are kept; some 100 bytes each."""
Hand = Callable[[object], None]
"""Takes what is known already: first the `Division`, then its `Figures`."""


def _to_nobody(known: object) -> None:
    """Take what is known already, and do nothing with it."""


class Examiner:
    """Examines plans of one part.

    Parameters
    ----------
    source : ReadPart
    shelf : Shelf, optional
        Hardware to choose from; the built-in tables by default.
    """

    def __init__(
        self,
        source: ReadPart,
        shelf: Shelf | None = None,
    ) -> None:
        self.source = source
        self.shelf = shelf or hardware_shelf()
        self.maker = Maker()
        """What makes the pieces; it remembers what it has made."""
        self._seen: dict[GoodSide, Bools] = {}
        self._cutter = RememberedCuts(source.solid, _REMEMBERED)
        self._chains = Chains()
        self._measures = Measures(self._chains)
        self._bound = lru_cache(4)(self._lower_bound)
        self.surfaces = Surfaces()

    def seen(self, wishes: Wishes | None = None, report: Report = silent) -> Bools:
        """Return the faces of the part on the good side, (m,), as wished or as it is found."""
        wished = wishes or Wishes()
        if wished.good_side not in self._seen:
            report(0.0, "finding the good side")
            # One is worked with at a time.
            self._seen = {wished.good_side: good_side(self.source.solid, wished)}
            self._measures.forget_seams()
        return self._seen[wished.good_side]

    def examine(
        self,
        plan: Plan,
        title: str,
        *,
        completing: bool = False,
        weights: Mapping[str, float] | None = None,
        wishes: Wishes | None = None,
        spool_left: float | None = None,
        report: Report = silent,
        hand: Hand = _to_nobody,
    ) -> Result:
        """Cut, measure and check a plan.

        Parameters
        ----------
        plan : Plan
        title : str
            Name of the part, for headings.
        completing : bool
            Whether what the plan leaves open is filled in, and the result's plan has it: a print
            direction for pieces that have none or do not fit in it, and what holds seams of which
            nothing is said, or whose pins and screws are not on them any more.
        weights : mapping of criterion name to weight, optional
            Replaces default weights of the plan score.
        wishes : Wishes, optional
            What the plan does not keep of them is among the findings; the good side is theirs.
        spool_left : float, optional
            What is left on the started spool, g.
        report : progress callback
            What it raises ends the examination.
        hand : callable, optional
            Called with the `Division` and with its `Figures` as soon as they are known; again
            with the division where the pieces as they are printed, with flanges and holes, differ;
            and last with the figures of these, their layers and all.

        Raises
        ------
        CutError
            If a cut does not divide what it names.
        ValueError
            If a weight is given to a criterion that does not exist.
        """
        division = divide(self.source.solid, plan.cuts, part_of(report, 0.0, 0.15), self._cutter)
        hand(division)
        plan, renamed = with_own_followed(plan, division, self._cutter)
        seen = self.seen(wishes, part_of(report, 0.15, 0.2))
        if completing:
            choosing = part_of(report, 0.2, 0.25)
            ups = self._measures.ups(division, plan, seen, weights, choosing)
            plan = replace(plan, print_directions=ups)
        figures = self._measures.figures(division, plan, seen, part_of(report, 0.25, 0.5))
        hand(figures)
        found = [*self._cut_findings(division, plan, figures, part_of(report, 0.5, 0.7)), *renamed]
        found += () if wishes is None else broken_wishes(figures, wishes)
        if completing:
            plan, notes = self._joined(division, plan, seen, part_of(report, 0.7, 0.85))
            found += notes
        # What somebody has edited beyond sense is found, and nothing is made of it.
        found += [each for joint in plan.joints for each in check_sense(joint)]
        made = sensible(plan)
        pieces = self.maker.make(division, made, part_of(report, 0.85, 0.88), self.shelf)
        figures, more = self._measures.made(pieces, division, made, figures)
        if more is not None:
            hand(replace(division, pieces=tuple(row.piece for row in figures.pieces)))
            found += more
        figures = self._measures.by_layers(figures, part_of(report, 0.88, 0.92))
        braces = self.maker.braces(division, made, self.shelf)
        figures = replace(figures, braces=self._measures.braces(braces, made.machine))
        hand(figures)
        strength = self._strength(division, made, part_of(report, 0.92, 0.95))
        if strength is not None:
            figures = replace(figures, seam_ratios=strength.seam_ratios)
            found += strength.findings
        order = assembly_of(division, made, _pieces_of(figures), self.shelf)
        found += self._made_findings(
            division, plan, made, seen, figures, part_of(report, 0.95, 0.96)
        )
        found += order.findings
        good_sides = self.surfaces.good_sides(figures, part_of(report, 0.96, 0.98))
        walls = self.surfaces.walls(self.source.solid, plan.machine, part_of(report, 0.98, 1.0))
        found += walls.findings
        report(1.0, "checked")
        result = Result(
            title, self.source, plan, division, scorecard(figures, weights),
            self._bound(plan.printer.bed), None, (*self.source.findings, *once(found)), order,
            self.shelf, good_sides=good_sides, walls=walls, strength=strength,
            braces=braces,
        )  # fmt: skip
        return result.with_spool_left(spool_left)

    def _cut_findings(
        self, division: Division, plan: Plan, figures: Figures, report: Report
    ) -> tuple[Finding, ...]:
        """Return whether the pieces as they are cut make a sound plan."""
        fits = {row.name: row.fit for row in figures.pieces}
        ups = {row.name: row.up for row in figures.pieces}
        return soundness(division, ups, plan.cuts, plan.machine, report, fits=fits)

    def _joined(
        self, division: Division, plan: Plan, seen: Bools, report: Report
    ) -> tuple[Plan, Sequence[Finding]]:
        """Return the plan with what holds each seam, and what is said of it."""
        kept = kept_joints(division, plan)
        joints, notes = join(
            division, plan, self.shelf, seen=seen, maker=self.maker, kept=kept, report=report
        )
        return plan.with_joints(joints), notes

    def _strength(self, division: Division, made: Plan, report: Report) -> StrengthAnswer | None:
        """Return what the plan stands of its load cases; None where it has none."""
        if not made.loadings:
            return None
        report(0.0, "working out what the plan stands")
        braces = self.maker.braces(division, made, self.shelf)
        return strength_answer(
            division, made, self.shelf, braces=braces, remembered=self._chains, report=report
        )

    def _made_findings(
        self,
        division: Division,
        plan: Plan,
        made: Plan,
        seen: Bools,
        figures: Figures,
        report: Report,
    ) -> Iterator[Finding]:
        """Yield what is wrong with joints and pieces as they are printed."""
        report(0.0, "checking the joints")
        pieces = _pieces_of(figures)
        yield from check_joints(
            division, made, self.shelf, seen=seen, maker=self.maker, pieces=pieces
        )
        yield from left_open(division, plan)
        lying = {row.name: row.fit for row in figures.pieces}
        yield from check_allowances(division, made, pieces, lying)
        # What does not fit the bed is to be cut before it matters how it prints.
        for row in (each for each in figures.pieces if each.fit.fits):
            report(0.5, f"looking at how piece {row.piece.number} prints")
            key = row.piece.name, row.piece.number, row.piece.solid, row.up, row.overhang
            yield from self._measures.print_findings(*key, plan.machine, plan.material)

    def set_screw(
        self,
        plan: Plan,
        seam: str,
        *,
        place: tuple[float, float] | None = None,
        index: int | None = None,
        wishes: Wishes | None = None,
        report: Report = silent,
    ) -> Screw:
        """Return a screw that somebody adds to a seam, or one of its screws as it has to be now.

        Parameters
        ----------
        plan, seam, place, index
            See `splitplanner.joint.screw_by_hand`.
        wishes : Wishes, optional
            The good side is theirs.
        report : progress callback

        Raises
        ------
        CutError
            If a cut does not divide what it names.
        JointError
            If none stands there.
        WorkshopError
            If the shelf has not what the screw takes.
        """
        division = divide(self.source.solid, plan.cuts, part_of(report, 0.0, 0.2), self._cutter)
        return screw_by_hand(
            division,
            plan,
            seam,
            self.shelf,
            seen=self.seen(wishes, part_of(report, 0.2, 0.3)),
            place=place,
            index=index,
            maker=self.maker,
            report=part_of(report, 0.3, 1.0),
        )

    def _lower_bound(self, bed: Bed) -> LowerBound:
        return lower_bound(self.source.solid, bed)


def _pieces_of(figures: Figures) -> tuple[Piece, ...]:
    return tuple(row.piece for row in figures.pieces)
