"""Concerns: what plans differ in that matters, beside plain checks of dominance by brute force."""

import itertools

import numpy as np
import pytest

from splitplanner.plan import Cut
from splitplanner.score import CRITERIA
from splitplanner.solid import Plane
from splitplanner.suggest.concerns import MATTERS, Concerns, covers, front, levels_of
from splitplanner.suggest.drafting import Drafter
from splitplanner.suggest.wording import words_for
from tests.suggest.shapes import l_shape, pool_of, survey_of


def rows_of(levels):
    """Plans whose score is the sum of their concerns."""
    names = "abcdef"
    return [(float(sum(row)), dict(zip(names, map(float, row), strict=False))) for row in levels]


def pareto(levels):
    """By the book: nobody is nowhere worse and somewhere better."""
    levels = np.asarray(levels)
    return {
        at
        for at, row in enumerate(levels)
        if not any((other <= row).all() and (other < row).any() for other in levels)
    }


@pytest.mark.parametrize("seed", range(20))
def test_without_tolerance_it_is_the_pareto_set(seed):
    random = np.random.default_rng(seed)
    levels = random.integers(0, 5, (40, 3)) / 4
    # Of equal plans the first stands for all.
    levels = np.unique(levels, axis=0)[random.permutation(len(np.unique(levels, axis=0)))]
    assert set(front(rows_of(levels), 0.0)) == pareto(levels)


@pytest.mark.parametrize("seed", range(20))
def test_what_is_left_out_is_no_better_in_anything_that_matters(seed):
    levels = np.random.default_rng(seed).random((60, 4))
    rows = rows_of(levels)
    kept = front(rows, 0.2)
    assert set(kept) <= pareto(levels)
    for at in range(len(levels)):
        covered = [
            better
            for better in range(len(levels))
            if rows[better][0] < rows[at][0] and (levels[better] <= levels[at] + 0.2).all()
        ]
        assert (at in kept) == (not covered)
    # No two of them are near twins.
    for one, other in itertools.combinations(kept, 2):
        assert np.abs(levels[one] - levels[other]).max() > 0.2
    assert kept == sorted(kept, key=lambda at: rows[at][0])


def test_a_known_front():
    # Two ends, a compromise, a twin of the compromise, and one that is worse in everything.
    levels = [(1.0, 0.0), (0.0, 1.1), (0.5, 0.55), (0.53, 0.55), (1.2, 1.2)]
    assert front(rows_of(levels)) == [0, 2, 1]
    assert front(rows_of(levels), 0.6) == [0]
    assert front([]) == []


def test_of_equal_plans_the_first_stays():
    assert front(rows_of([(1.0, 1.0), (1.0, 1.0)])) == [0]


def test_covering():
    one, other = {"a": 1.0, "b": 2.0}, {"a": 1.0 - MATTERS / 2, "b": 9.0}
    assert covers(one, other)
    assert not covers(other, one)
    assert not covers(one, {"a": 1.0 - 2 * MATTERS, "b": 9.0})


# -- from the criteria ----------------------------------------------------------------------------
def test_every_criterion_is_about_something():
    by_about = {}
    for criterion in CRITERIA:
        by_about.setdefault(criterion.about, []).append(criterion.name)
    assert by_about["support"] == ["overhang area", "support volume"]
    assert by_about["seam seen"] == ["seam seen"]
    assert all(by_about)
    # And has words of its own.
    spoken = [c.name for c in CRITERIA if c.name != "pieces"]
    assert not [name for name in spoken if words_for(name).least == f"best for {name}"]


def test_concerns_of_an_estimate_add_up_to_its_score():
    concerns = Concerns()
    for plan in pool_of("L").all:
        levels = concerns.of(plan.numbers)
        assert sum(levels.values()) == pytest.approx(plan.score)
        assert levels["pieces"] == pytest.approx(0.25 * len(plan.sketch.blocks))
        assert "print time" not in levels


def test_weights_are_those_of_the_user():
    plan = pool_of("L").all[0]
    concerns = Concerns({"pieces": 0.0, "uneven pieces": 2.0})
    assert "pieces" not in concerns.of(plan.numbers)
    assert concerns.of(plan.numbers)["uneven pieces"] > 0


def test_concerns_of_a_measured_plan_add_up_to_its_score():
    part = l_shape()
    survey = survey_of(part)
    cuts = (Cut(Plane((1.0, 0.0, 0.0), 200.0)), Cut(Plane((0.0, 1.0, 0.0), 200.0), "1"))
    draft = Drafter(part, survey.ground.seen, survey.costs, exact=True).draft(cuts)
    levels = levels_of(draft.card)
    assert sum(levels.values()) == pytest.approx(draft.score)
