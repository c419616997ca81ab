"""Choosing: which plans are cut and shown, in which order, and what is the same idea."""

import itertools
import math
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from splitplanner.plan import Cut
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.choosing import (
    choose_sound,
    in_order,
    is_symmetric,
    same_idea,
    worth_showing,
)
from splitplanner.suggest.concerns import MATTERS, OTHERWISE, front, levels_of
from splitplanner.suggest.mirroring import Mirror
from splitplanner.suggest.pool import Pool
from tests.suggest.shapes import pool_of, survey_of

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PART = Solid.box((400, 100, 100))


@dataclass(frozen=True, eq=False)
class Stub:
    """What is looked at of an estimate or a draft."""

    cuts: tuple[Cut, ...]
    score: float
    values: tuple[float, ...] = ()
    done: bool = True

    @property
    def sketch(self):
        return SimpleNamespace(cuts=self.cuts, blocks=dict.fromkeys(range(len(self.cuts) + 1)))

    @property
    def division(self):
        return SimpleNamespace(pieces=[None] * (len(self.cuts) + 1))

    @property
    def card(self):
        terms = [
            SimpleNamespace(counts=True, contribution=value, criterion=SimpleNamespace(about=name))
            for name, value in zip("abcdef", self.values, strict=False)
        ]
        return SimpleNamespace(terms=terms)

    @property
    def rank(self):
        return self.score, len(self.cuts)


def stubs(*counts, values=None):
    """Plans of as many pieces, best first, each cut in places and directions of its own."""
    places = itertools.count(10.0, 400.0)
    given = values or [()] * len(counts)
    plans = []
    for rank, count in enumerate(counts):
        normal = (1.0, rank / 50, 0.0)
        cuts = tuple(Cut(Plane.through((next(places), 0, 0), normal)) for _ in range(count - 1))
        plans.append(Stub(cuts, 1.0 + rank / 10, given[rank]))
    return plans


def pieces_of(plans):
    return [len(plan.division.pieces) for plan in plans]


# -- the order ------------------------------------------------------------------------------------
def ordered(*counts):
    pool, plans = Pool(), stubs(*counts)
    for plan in plans:
        pool.add(plan)
    return [plans.index(plan) for plan in in_order(pool, [])]


@pytest.mark.parametrize(
    ("counts", "order"),
    [
        # The best, the best of the fewest pieces, the best of one more, then all by score.
        ((6, 5, 6, 3, 4, 3), [0, 3, 4, 1, 2, 5]),
        ((3, 3, 4, 5), [0, 2, 1, 3]),
        ((6, 3, 5), [0, 1, 2]),
        ((2,), [0]),
    ],
)
def test_the_order_in_which_plans_deserve_to_be_shown(counts, order):
    assert ordered(*counts) == order


def test_the_best_symmetric_plan_comes_early():
    survey, pool = survey_of(PART), Pool()
    mirror = Mirror(X, 200.0)
    places = [(150.0,), (160.0,), (200.0,)]
    plans = [
        survey.estimate(survey.sketch([Cut(Plane(X, place)) for place in group]))
        for group in places
    ]
    # Of unlike forms, so that all three are kept.
    plans = [
        replace(
            plan, score=1.0 + rank, sketch=replace(plan.sketch, cuts=(*plan.sketch.cuts, *extra))
        )
        for rank, (plan, extra) in enumerate(
            zip(plans, ((), (Cut(Plane(Y, 1.0)),), (Cut(Plane(Z, 1.0)),)), strict=True)
        )
    ]
    for plan in plans:
        pool.add(plan)
    assert [is_symmetric(plan, [mirror]) for plan in plans] == [False, False, True]
    assert list(in_order(pool, [])) == plans
    assert list(in_order(pool, [mirror])) == [plans[0], plans[2], plans[1]]
    assert list(in_order(Pool(), [mirror])) == []


# -- which are kept -------------------------------------------------------------------------------
def chosen(plans, most, unsound=(), same=lambda one, other: False, promised=lambda plan: False):
    asked = []

    def sound(plan):
        asked.append(plans.index(plan))
        return None if plans.index(plan) in unsound else plan

    kept = choose_sound(plans, sound, most, same, promised)
    return [plans.index(plan) for plan in kept], asked


@pytest.mark.parametrize(
    ("unsound", "most", "kept", "asked"),
    [
        ((), 3, [0, 1, 2], [0, 1, 2]),
        # What is not sound is passed over.
        ((0, 2), 3, [1, 3, 4], [0, 1, 2, 3, 4]),
        ((0, 1, 2, 3, 4, 5), 3, [], [0, 1, 2, 3, 4, 5]),
        # No more are cut than needed.
        ((), 1, [0], [0]),
    ],
)
def test_sound_plans_are_kept_in_order(unsound, most, kept, asked):
    assert chosen(stubs(3, 3, 3, 3, 3, 3), most, unsound) == (kept, asked)


def test_of_the_same_idea_only_the_first_is_cut():
    plans = stubs(3, 3, 3, 3)
    same = lambda one, other: {one, other} == {plans[0].cuts, plans[1].cuts}  # noqa: E731
    assert chosen(plans, 4, same=same) == ([0, 2, 3], [0, 2, 3])
    # If the first is not sound, the second takes its place.
    assert chosen(plans, 4, unsound=(0,), same=same) == ([1, 2, 3], [0, 1, 2, 3])


def test_much_worse_plans_are_shown_only_for_few_pieces():
    plans = [*stubs(2, 2, 2), Stub(stubs(5)[0].cuts, 3.5), Stub(stubs(4)[0].cuts, 3.5)]
    few = lambda plan: len(plan.sketch.blocks) <= 4  # noqa: E731
    assert chosen(plans, 5, promised=few) == ([0, 1, 2, 4], [0, 1, 2, 4])
    # Until there are three, they are shown all the same.
    assert chosen(plans[1:], 5, promised=few) == ([0, 1, 2, 3], [0, 1, 2, 3])


# -- the same idea --------------------------------------------------------------------------------
def test_same_idea():
    one = (Cut(Plane(X, 200.0)),)  # Size 424 mm, a twelfth of it is 35 mm.
    assert same_idea(one, one, PART)
    assert same_idea(one, (Cut(Plane(X, 230.0)),), PART)
    assert not same_idea(one, (Cut(Plane(X, 240.0)),), PART)
    assert same_idea(one, (Cut(Plane(X, 200.0).flipped()),), PART)
    assert not same_idea(one, (Cut(Plane(Y, 50.0)),), PART)
    assert not same_idea(one, (*one, Cut(Plane(X, 300.0))), PART)

    def leaning(angle):
        turn = math.radians(angle)
        return (Cut(Plane.through((200, 50, 50), (math.cos(turn), math.sin(turn), 0))),)

    assert same_idea(one, leaning(14), PART)
    assert not same_idea(one, leaning(16), PART)


def test_the_order_of_cuts_is_no_other_idea():
    part = Solid.box((600, 100, 100))
    cuts = (Cut(Plane(X, 200.0)), Cut(Plane(X, 400.0)))
    assert same_idea(cuts, cuts[::-1], part)
    # Two cuts near each other do not both match the same one.
    near = (cuts[0], Cut(Plane(X, 210.0)))
    assert not same_idea(cuts, near, part)
    assert not same_idea(near, cuts, part)
    assert same_idea(cuts, tuple(replace(cut, plane=cut.plane.flipped()) for cut in cuts), part)


def test_a_mirror_image_is_the_same_idea():
    one, image = (Cut(Plane(X, 120.0)),), (Cut(Plane(X, 280.0)),)
    mirror = Mirror(X, 200.0)
    assert not same_idea(one, image, PART)
    assert same_idea(one, image, PART, [mirror])
    assert not same_idea(one, image, PART, [Mirror(Y, 50.0)])
    # Leaning the other way, too.
    left = (Cut(Plane.through((120, 50, 50), (1, 0.5, 0))),)
    right = (Cut(Plane.through((280, 50, 50), (1, -0.5, 0))),)
    assert not same_idea(left, right, PART)
    assert same_idea(left, right, PART, [mirror])
    # But two cuts on one side are not one on each.
    both = (*one, *image)
    assert same_idea(both, both[::-1], PART, [mirror])
    assert not same_idea(both, (one[0], Cut(Plane(X, 60.0))), PART, [mirror])


# -- what is chosen for what it is better in ------------------------------------------------------
def pool_of_levels(*rows):
    """A pool of plans of two pieces with these levels of concerns; the score is their sum."""
    pool = Pool(lambda plan: dict(zip("abcdef", plan.values, strict=False)))
    plans = [
        replace(plan, score=sum(row), values=row)
        for plan, row in zip(stubs(*[2] * len(rows)), rows, strict=True)
    ]
    for plan in plans:
        pool.add(plan)
    return pool, plans


def order_of(*rows, same=None):
    pool, plans = pool_of_levels(*rows)
    return [plans.index(plan) for plan in in_order(pool, [], same)]


def test_next_come_plans_that_are_better_in_something():
    # The second is a near twin of the first; the third and fourth are each best in one thing.
    assert order_of((1.0, 1.0), (1.02, 1.01), (1.5, 0.6), (0.8, 1.4)) == [0, 2, 3, 1]


def test_what_is_dear_has_to_be_better_by_more():
    # Both are better in a by as much; one of them costs more.
    assert order_of((1.0, 1.0), (0.5, 1.9), (0.5, 1.8)) == [0, 2, 1]
    # A little more of it is worth a little.
    assert order_of((1.0, 1.0), (0.3, 1.9), (0.5, 1.8)) == [0, 1, 2]
    # But what scores far worse is not chosen for it: here by score, as none is better than the
    # first in anything but dearly.
    assert order_of((1.0, 1.0), (0.0, 3.5), (0.2, 3.0)) == [0, 2, 1]


def test_each_is_better_than_all_before_it():
    # What the third is better in, the second is better in still.
    rows = [(1.0, 1.0, 1.0), (0.2, 1.5, 1.4), (0.5, 1.5, 1.3), (1.2, 1.2, 0.9)]
    assert order_of(*rows)[:3] == [0, 1, 3]


def test_of_the_same_idea_none_is_chosen_for_what_it_is_better_in():
    pool, plans = pool_of_levels((1.0, 1.0), (1.5, 0.6), (0.8, 1.4))
    twin = {plans[0].cuts, plans[1].cuts}
    order = in_order(pool, [], lambda one, other: {one, other} == twin)
    assert [plans.index(plan) for plan in order] == [0, 2, 1]


def brute_force_next(known, rows, best):
    """The place of the best next plan, by the definition."""
    merits = {}
    for at, row in enumerate(rows):
        gain = max(min(rows[k][c] for k in known) - row[c] for c in range(len(row)))
        if gain > MATTERS and sum(row) <= 1.5 * best:
            merits[at] = gain - OTHERWISE * (sum(row) - best)
    return max(merits, key=merits.get, default=None)


@pytest.mark.parametrize("seed", range(10))
def test_the_choice_among_many_against_brute_force(seed):
    random = np.random.default_rng(seed)
    rows = [tuple(row) for row in random.random((8, 3)) + 0.5]
    order = order_of(*rows)
    assert sorted(order) == list(range(8))
    apart = front([(sum(row), dict(zip("abc", row, strict=True))) for row in rows])
    known = [min(range(8), key=lambda at: sum(rows[at]))]
    left = [rows[at] for at in apart]
    while True:
        index = brute_force_next(
            range(len(known)), [rows[at] for at in known] + left, sum(rows[known[0]])
        )
        if index is None:
            break
        known.append(rows.index(left[index - len(known)]))
    assert order[: len(known)] == known


@pytest.mark.parametrize("name", ["box in 2", "L", "ring", "tube"])
def test_promised_plans_come_first_in_searched_pools(name):
    pool = pool_of(name)
    order = in_order(pool, [])
    assert order[0] is pool.all[0]
    least = pool.least
    assert pool.of(least)[0] in order[:2]
    if pool.of(least + 1):
        assert pool.of(least + 1)[0] in order[:3]
    assert {id(plan) for plan in order} == {id(plan) for plan in pool.choice}
    assert len(order) == len(pool.choice)


# -- which are worth showing ----------------------------------------------------------------------
def shown(counts, values, symmetric=()):
    drafts = [replace(draft, score=sum(draft.values)) for draft in stubs(*counts, values=values)]
    kept = worth_showing(drafts, symmetric=lambda draft: drafts.index(draft) in symmetric)
    return [drafts.index(draft) for draft in kept]


@pytest.mark.parametrize(
    ("counts", "values", "kept"),
    [
        # Nobody is beaten: each is best in something.
        ((3, 3, 3, 3), [(1, 4), (2, 3), (3, 2), (4, 1)], [0, 1, 2, 3]),
        # The last is beaten in everything by the first.
        ((3, 3, 3, 3), [(1, 3), (2, 2), (3, 1), (4, 4)], [0, 1, 2]),
        # Or is better than the first in nothing that matters.
        ((3, 3, 3, 3), [(1, 3), (2, 2), (3, 1), (0.96, 4)], [0, 1, 2]),
        ((3, 3, 3, 3), [(1, 3), (2, 2), (3, 1), (0.94, 4)], [0, 1, 2, 3]),
        # Of equals the first is enough.
        ((3, 3, 3, 3), [(1, 1), (1, 1), (1, 1), (1, 1)], [0, 1, 2]),
        # At least three are kept, the worst of the beaten go first.
        ((3, 3, 3, 3), [(1, 1), (2, 2), (3, 3), (4, 4)], [0, 1, 2]),
        # The last of the fewest pieces stays though beaten, and the last of one more.
        ((4, 4, 4, 4, 3), [(1, 1), (2, 2), (3, 3), (4, 4), (5, 5)], [0, 1, 4]),
        ((5, 5, 5, 5, 4, 3), [(1, 1), (2, 2), (3, 3), (4, 4), (5, 5), (6, 6)], [0, 4, 5]),
        # Of two more nobody is promised.
        ((3, 3, 3, 5), [(1, 3), (2, 2), (3, 1), (4, 4)], [0, 1, 2]),
        ((2, 2), [(1, 1), (2, 2)], [0, 1]),
        ((), [], []),
    ],
)
def test_plans_that_are_better_in_nothing_that_matters_are_left_out(counts, values, kept):
    assert shown(counts, values) == kept


def test_the_last_symmetric_plan_stays():
    values = [(1, 1), (2, 2), (3, 3), (4, 4), (5, 5)]
    assert shown([3] * 5, values, symmetric=(4,)) == [0, 1, 4]
    assert shown([3] * 5, values, symmetric=(0, 4)) == [0, 1, 2]


def test_what_does_not_count_beats_nobody():
    drafts = stubs(3, 3, 3, 3, values=[(1, 1), (1, 2), (1, 3), (1, 4)])

    class Half(Stub):
        @property
        def card(self):
            terms = [
                SimpleNamespace(**{**vars(term), "counts": at == 1})
                for at, term in enumerate(super().card.terms)
            ]
            return SimpleNamespace(terms=terms)

    by_second = [Half(d.cuts, 10 - d.score, d.values[::-1]) for d in drafts]
    assert levels_of(by_second[0].card) == {"b": 1}
    assert len(worth_showing(by_second)) == 3
