"""The pool: the best plans found so far, for every number of pieces."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from operator import attrgetter

from splitplanner.plan import Cut
from splitplanner.suggest.concerns import OTHERWISE, Levels
from splitplanner.suggest.estimate import Estimate

_EACH = 8
"""Plans kept for every number of pieces."""
_WITHIN = 1.3
"""Plans that are the best there are in one concern are kept besides, if they score no more than
this many times the best of all: so much worse on the whole is worth it to nobody."""


def _nothing(plan: Estimate) -> Levels:
    return {}


@dataclass(eq=False)
class Pool:
    """Plans whose pieces all fit, best first by number of pieces.

    Attributes
    ----------
    levels : function of Estimate
        What each concern adds to its score; see `splitplanner.suggest.concerns`.
    """

    levels: Callable[[Estimate], Levels] = _nothing
    _by_count: dict[int, list[Estimate]] = field(default_factory=dict)
    _records: dict[tuple[int, str], tuple[tuple[float, ...], Estimate]] = field(
        default_factory=dict
    )

    def add(self, estimate: Estimate, *, on_the_way: bool = False) -> None:
        """Keep a plan, if all its pieces fit and it is among the best of its count.

        One that a search only passes through `on_the_way` to a better one is no best in anything:
        where another process slides the cuts, this one never sees it.
        """
        if not estimate.done:
            return
        count = len(estimate.sketch.blocks)
        if not on_the_way:
            self._record(count, estimate)
        kept = self._by_count.setdefault(count, [])
        if any(other.sketch.cuts == estimate.sketch.cuts for other in kept):
            return
        kept.append(estimate)
        kept.sort(key=attrgetter("rank"))
        alike: set[tuple[object, ...]] = set()
        fresh = []
        for plan in kept:
            # Of plans that differ only in where their cuts lie, the best stands for all.
            form = form_of(plan.sketch.cuts)
            if form not in alike:
                alike.add(form)
                fresh.append(plan)
        self._by_count[count] = fresh[:_EACH]

    def _record(self, count: int, plan: Estimate) -> None:
        """Remember a plan if it is the best of its count for whoever decides by one concern."""
        for concern, level in self.levels(plan).items():
            row = (round(level + OTHERWISE * plan.score, 6), *plan.rank), plan
            held = self._records.get((count, concern))
            if held is None or row[0] < held[0]:
                self._records[count, concern] = row

    @property
    def least(self) -> int | None:
        """The least number of pieces found."""
        return min((count for count, kept in self._by_count.items() if kept), default=None)

    def of(self, count: int) -> list[Estimate]:
        """Return the plans of `count` pieces, best first."""
        return self._by_count.get(count, [])

    @property
    def counts(self) -> list[int]:
        """The numbers of pieces there are plans for, least first."""
        return sorted(self._by_count)

    @property
    def all(self) -> list[Estimate]:
        """Every plan, best first."""
        return sorted(
            (plan for kept in self._by_count.values() for plan in kept), key=attrgetter("rank")
        )

    @property
    def choice(self) -> list[Estimate]:
        """Every plan, and those that are the best of their count in a concern, best first."""
        every = self.all
        known = {id(plan) for plan in every}
        for _, plan in self._records.values():
            if id(plan) not in known and plan.score <= _WITHIN * every[0].score:
                known.add(id(plan))
                every.append(plan)
        return sorted(every, key=attrgetter("rank"))


def form_of(cuts: tuple[Cut, ...]) -> tuple[object, ...]:
    """Return what two plans share that differ only in where their cuts lie."""
    return tuple(
        sorted((*(round(value, 2) for value in cut.plane.normal), cut.piece or "") for cut in cuts)
    )
