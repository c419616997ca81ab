"""Finalists: the plans that are cut exactly, by several processes where there are several."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import cast

from splitplanner.progress import Report, part_of
from splitplanner.suggest.choosing import choose_sound, in_order, same_idea
from splitplanner.suggest.drafting import Draft
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.judging import Judge, Verdict
from splitplanner.suggest.searching import Search
from splitplanner.suggest.second import Cuts, Second

_AHEAD = 2
"""So many plans are looked ahead, and one more for every process besides this one."""

Sound = Callable[[Estimate], Draft | None]


@dataclass(frozen=True)
class _Guess:
    """What is looked at of a draft while plans are chosen, before there is one."""

    cuts: Cuts
    score: float


@dataclass(eq=False)
class Finals:
    """Judges the plans that were found, in the order in which they deserve to be shown.

    What comes out does not depend on who judged which: every plan is judged for itself, ahead of
    its turn if need be, and taken when its turn comes.

    Attributes
    ----------
    judge : Judge
    show : function of a number and a draft
        Gets every sound plan when its turn comes.
    others : sequence of Second
        Other processes, which take some of the work.
    leaves_cutting : bool
        Whether this process leaves all exact cuts to the others, as long as one is there.
    broken : str
        The first wish that a sound plan did not keep, a sentence.
    """

    judge: Judge
    show: Callable[[int, Draft], None]
    others: Sequence[Second] = ()
    leaves_cutting: bool = False
    broken: str = ""
    _verdicts: dict[Cuts, Verdict] = field(default_factory=dict)
    _asked: dict[Cuts, tuple[Second, int]] = field(default_factory=dict)

    def chosen(self, found: Search, most: int, report: Report) -> list[Draft]:
        """Return up to `most` sound drafts that differ."""
        least = found.pool.least or 0

        def same(one: Cuts, other: Cuts) -> bool:
            return same_idea(one, other, self.judge.part, found.mirrors)

        plans = in_order(found.pool, found.mirrors, same)

        def choose(sound: Sound) -> list[Draft]:
            return choose_sound(
                plans, sound, most, same, lambda plan: len(plan.sketch.blocks) <= least + 1
            )

        turn = 0

        def sound(plan: Estimate) -> Draft | None:
            nonlocal turn
            here = part_of(report, 1 - 0.75**turn, 1 - 0.75 ** (turn + 1))
            turn += 1
            verdict = self._verdict(plan.sketch.cuts, lambda: self._upcoming(choose), here)
            if verdict.draft is not None:
                self.show(turn, verdict.draft)
            self.broken = self.broken or verdict.broken
            return verdict.draft

        return choose(sound)

    def _upcoming(self, choose: Callable[[Sound], list[Draft]]) -> list[Cuts]:
        """Return the plans without a verdict that will be looked at if all of them are sound."""
        ahead: list[Cuts] = []

        def guess(plan: Estimate) -> Draft | None:
            cuts = plan.sketch.cuts
            if cuts in self._verdicts:
                return self._verdicts[cuts].draft
            ahead.append(cuts)
            return cast(Draft, _Guess(cuts, plan.score))

        choose(guess)
        return ahead

    def _verdict(self, cuts: Cuts, upcoming: Callable[[], list[Cuts]], report: Report) -> Verdict:
        """Return what becomes of a plan, and have the next ones judged meanwhile."""
        while cuts not in self._verdicts:
            mine: Cuts | None = cuts
            if self._is_answered(cuts):
                mine = None
            elif not all(other.gone for other in self.others):
                ahead = upcoming()
                first = 0 if self.leaves_cutting else 1
                self._ask(ahead[first : _AHEAD + len(self.others)], cuts in self._asked, report)
                mine = None if self._is_answered(cuts) else self._next_here(ahead)
            if mine is None and cuts in self._asked:
                self._verdicts[cuts] = self._answered(cuts, report)
            else:
                mine = mine or cuts
                self._verdicts[mine] = self.judge.verdict(mine, report=report)
        return self._verdicts[cuts]

    def _is_answered(self, cuts: Cuts) -> bool:
        """Return whether another process has judged a plan."""
        if cuts not in self._asked:
            return False
        other, number = self._asked[cuts]
        return other.has_answer(number)

    def _next_here(self, ahead: list[Cuts]) -> Cuts | None:
        """Return the plan that this process judges next; None to wait for what others say."""
        return next((one for one in ahead if self._is_mine(one)), None)

    def _ask(self, ahead: list[Cuts], at_leisure: bool, report: Report) -> None:
        """Give plans to the processes that have least to do.

        While all are busy, this process does what it may do beforehand: if it is `at_leisure`,
        since the plan whose turn it is has been given away, or if it does nothing else.
        """
        for cuts in ahead:
            there = [other for other in self.others if not other.gone]
            if there and cuts not in self._asked:
                other = min(there, key=self._in_hand)
                busy = bool(self._in_hand(other)) and (at_leisure or self.leaves_cutting)
                ups = self.judge.ups(cuts, report) if busy else None
                self._asked[cuts] = other, other.ask("judge", cuts, ups)

    def _in_hand(self, other: Second) -> int:
        """Return how many plans a process has still to judge."""
        return sum(
            self._asked[cuts][0] is other and not self._is_answered(cuts) for cuts in self._asked
        )

    def _is_mine(self, cuts: Cuts) -> bool:
        """Return whether this process may judge a plan, which no other one has begun."""
        if self.leaves_cutting:
            return False
        if cuts in self._asked:
            other, number = self._asked[cuts]
            if not other.take_back(number):
                return False
            del self._asked[cuts]
        return True

    def _answered(self, cuts: Cuts, report: Report) -> Verdict:
        """Wait for what another process says; judge the plan here if that one is gone."""
        other, number = self._asked.pop(cuts)
        found = other.answer(number, lambda: report(*other.progress))
        return found if isinstance(found, Verdict) else self.judge.verdict(cuts, report=report)
