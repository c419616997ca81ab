"""Ranking proposals anew by other weights, from what has been measured on them already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from splitplanner.score import Scorecard, Term
from splitplanner.score.scorecard import weighed
from splitplanner.suggest.proposals import Proposal


def reranked(
    proposals: Iterable[Proposal], weights: Mapping[str, float]
) -> list[tuple[Proposal, float]]:
    """Return proposals with their plan scores by other weights, the best first.

    A value is measured once for each proposal, however often weights change: it is kept in the
    proposal's scorecard. See `unmeasured` for those that would have to be measured now.

    Parameters
    ----------
    proposals : iterable of Proposal
    weights : mapping of criterion name to weight
        Replaces default weights.

    Raises
    ------
    ValueError
        If a weight is given to a criterion that does not exist.
    """
    scored = [(each, rescored(each.draft.card, weights)) for each in proposals]
    return sorted(scored, key=lambda pair: (pair[1], pair[0].number))


def rescored(card: Scorecard, weights: Mapping[str, float]) -> float:
    """Return the plan score of a scorecard by other weights."""
    total = 0.0
    for term, weight in _counting(card, weights):
        total += weight * term.value / term.criterion.reference
    return total


def unmeasured(proposals: Sequence[Proposal], weights: Mapping[str, float]) -> set[str]:
    """Return the names of criteria that count by these weights but have not all been measured.

    Some of them take long: have them `measured` in another process, then `remember` them.
    """
    return {
        term.criterion.name
        for each in proposals
        for term, _ in _counting(each.draft.card, weights)
        if not is_measured(term)
    }


def measured(card: Scorecard, names: Iterable[str]) -> dict[str, float]:
    """Return the values of criteria by their names, measuring those that are not known."""
    wanted = set(names)
    return {term.criterion.name: term.value for term in card.terms if term.criterion.name in wanted}


def is_measured(term: Term) -> bool:
    """Return whether the value of a term is known, so that asking for it takes no time."""
    return "value" in vars(term)


def remember(card: Scorecard, values: Mapping[str, float]) -> None:
    """Keep values, by the names of their criteria, that were measured elsewhere."""
    for term in card.terms:
        if term.criterion.name in values:
            # Where `Term.value` keeps what it has measured.
            vars(term)["value"] = values[term.criterion.name]


def _counting(card: Scorecard, weights: Mapping[str, float]) -> list[tuple[Term, float]]:
    """Return the terms that count by these weights."""
    pairs = weighed([term.criterion for term in card.terms], weights)
    both = zip(card.terms, pairs, strict=True)
    return [(term, weight) for term, (_, weight) in both if weight != 0.0 and term.applies]
