"""The scorecard: the measured figures of one plan, and the plan score that adds them up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from splitplanner.score.criteria import CRITERIA
from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures


@dataclass(frozen=True, eq=False)
class Term:
    """One criterion's value in a plan score.

    It is measured when it is first asked for. One of weight 0 adds nothing whatever its value, so
    it costs nothing in a search and is measured only to be shown.

    Attributes
    ----------
    criterion : Criterion
    figures : Figures
        Of the plan.
    weight : float
    """

    criterion: Criterion
    figures: Figures
    weight: float

    @property
    def counts(self) -> bool:
        """Whether it may add to the plan score."""
        return self.weight != 0.0 and self.applies

    @cached_property
    def applies(self) -> bool:
        """Whether it says anything of the plan; else its value is 0, and it is not shown."""
        return self.criterion.applies is None or self.criterion.applies(self.figures)

    @cached_property
    def value(self) -> float:
        """In the criterion's unit."""
        return self.criterion.measure(self.figures)

    @property
    def contribution(self) -> float:
        """What it adds to the plan score."""
        return self.weight * self.value / self.criterion.reference if self.counts else 0.0


@dataclass(frozen=True, eq=False)
class Scorecard:
    """The figures of one plan and its score.

    Attributes
    ----------
    figures : Figures
    terms : tuple of Term
    """

    figures: Figures
    terms: tuple[Term, ...]

    @property
    def total(self) -> float:
        """The plan score; lower is better."""
        return sum(term.contribution for term in self.terms)


def scorecard(
    figures: Figures,
    weights: Mapping[str, float] | None = None,
    criteria: Sequence[Criterion] = CRITERIA,
) -> Scorecard:
    """Add the figures up.

    Parameters
    ----------
    figures : Figures
    weights : mapping of criterion name to weight, optional
        Replaces default weights.
    criteria : sequence of Criterion
        With those that need to know more than the plan, such as `splitplanner.score.seen_from`.

    Raises
    ------
    ValueError
        If a weight is given to a criterion that does not exist.
    """
    terms = (
        Term(criterion, figures, weight) for criterion, weight in weighed(criteria, weights or {})
    )
    return Scorecard(figures, tuple(terms))


def weighed(
    criteria: Sequence[Criterion], weights: Mapping[str, float]
) -> list[tuple[Criterion, float]]:
    """Return each criterion with its weight: the user's, or else its own.

    Raises
    ------
    ValueError
        If a weight is given to a criterion that does not exist.
    """
    unknown = set(weights) - {criterion.name for criterion in criteria}
    if unknown:
        raise ValueError(f"there is no criterion called {', '.join(sorted(unknown))}")
    return [(criterion, weights.get(criterion.name, criterion.weight)) for criterion in criteria]
