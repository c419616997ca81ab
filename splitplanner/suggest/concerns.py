"""Concerns: what a maker decides by, and which plans differ in something that matters.

The criteria of the plan score are put together by what they are about (`Criterion.concern`), and
told in terms of the score, so that one tolerance does for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from splitplanner.score import Criterion, Numbers, Scorecard
from splitplanner.suggest.costs import told_by_numbers

MATTERS = 0.05
"""Plans whose concerns differ by less of the plan score than this are told apart by nobody: a fifth
of what a piece costs, a tenth of what the support of a usual part does."""
OTHERWISE = 0.25
"""How much of the whole score counts for somebody who decides by one concern: to be better in it, a
plan may lose up to five times as much in all others."""

Levels = Mapping[str, float]
"""What each concern adds to the score of a plan, by its name."""


@dataclass(frozen=True, eq=False)
class Concerns:
    """Tells what each concern adds to the score of plans that are only estimated.

    Attributes
    ----------
    weights : mapping of criterion name to weight
        Replaces default weights.
    """

    weights: Mapping[str, float] = field(default_factory=dict)
    _criteria: list[tuple[Criterion, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._criteria.extend(told_by_numbers(self.weights))

    def of(self, numbers: Numbers) -> Levels:
        """Return the levels of a plan; criteria that take the pieces themselves are left out."""
        levels: dict[str, float] = {}
        for criterion, weight in self._criteria:
            assert criterion.estimate is not None
            value = weight * criterion.estimate(numbers)
            levels[criterion.about] = levels.get(criterion.about, 0.0) + value
        return levels


def levels_of(card: Scorecard) -> Levels:
    """Return the levels of a plan that has been measured."""
    levels: dict[str, float] = {}
    for term in card.terms:
        if term.counts:
            about = term.criterion.about
            levels[about] = levels.get(about, 0.0) + term.contribution
    return levels


def covers(one: Levels, other: Levels, tolerance: float = MATTERS) -> bool:
    """Return whether `other` is better than `one` by more than `tolerance` in nothing."""
    return all(level <= other[concern] + tolerance for concern, level in one.items())


def front(plans: Sequence[tuple[float, Levels]], tolerance: float = MATTERS) -> list[int]:
    """Return which plans differ in something that matters from all that score better.

    A plan is left out if one that scores better (or as well, and comes first) is worse by more than
    `tolerance` in nothing. So with tolerance 0 what is left is the Pareto set, and for any
    tolerance no two of it are near twins.

    Parameters
    ----------
    plans : sequence of (score, levels)
    tolerance : float
        In terms of the plan score.

    Returns
    -------
    list of int
        Their places in `plans`, best score first.
    """
    order = sorted(range(len(plans)), key=lambda at: (round(plans[at][0], 6), at))
    return [
        at
        for rank, at in enumerate(order)
        if not any(covers(plans[better][1], plans[at][1], tolerance) for better in order[:rank])
    ]
