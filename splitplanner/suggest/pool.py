"""The pool: the best plans found so far, for every number of pieces."""

from __future__ import annotations

from dataclasses import dataclass, field
from operator import attrgetter

from splitplanner.plan import Cut
from splitplanner.suggest.estimate import Estimate

_EACH = 8
"""Plans kept for every number of pieces."""


@dataclass(eq=False)
class Pool:
    """Plans whose pieces all fit, best first by number of pieces."""

    _by_count: dict[int, list[Estimate]] = field(default_factory=dict)

    def add(self, estimate: Estimate) -> None:
        """Keep a plan, if all its pieces fit and it is among the best of its count."""
        if not estimate.done:
            return
        kept = self._by_count.setdefault(len(estimate.sketch.blocks), [])
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
        self._by_count[len(estimate.sketch.blocks)] = fresh[:_EACH]

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


def form_of(cuts: tuple[Cut, ...]) -> tuple[object, ...]:
    """Return what two plans share that differ only in where their cuts lie."""
    return tuple(
        sorted((*(round(value, 2) for value in cut.plane.normal), cut.piece or "") for cut in cuts)
    )
