"""The pool: the best plans for every number of pieces."""

from dataclasses import dataclass
from types import SimpleNamespace

from splitplanner.plan import Cut
from splitplanner.solid import Plane
from splitplanner.suggest.pool import Pool, form_of

X, Y = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


@dataclass(frozen=True, eq=False)
class Stub:
    """What the pool looks at of an estimate."""

    sketch: SimpleNamespace
    score: float
    done: bool = True

    @property
    def rank(self):
        return round(self.score, 6), len(self.sketch.cuts)


def plan(score, *cuts, pieces=None, done=True):
    count = len(cuts) + 1 if pieces is None else pieces
    return Stub(SimpleNamespace(cuts=cuts, blocks=dict.fromkeys(range(count))), score, done)


def across(place, normal=X, piece=None):
    return Cut(Plane(normal, place), piece)


def test_an_empty_pool():
    assert (Pool().least, Pool().counts, Pool().all, Pool().of(3)) == (None, [], [], [])


def test_plans_are_sorted_by_number_of_pieces_and_score():
    pool = Pool()
    plans = [
        plan(5.0, across(1.0)),
        plan(3.0, across(1.0, Y)),
        plan(4.0, across(1.0), across(2.0)),
        plan(2.0, across(1.0, Y), across(2.0)),
    ]
    for one in plans:
        pool.add(one)
    assert (pool.least, pool.counts) == (2, [2, 3])
    assert pool.of(2) == [plans[1], plans[0]]
    assert pool.of(3) == [plans[3], plans[2]]
    assert pool.all == [plans[3], plans[1], plans[2], plans[0]]


def test_what_does_not_fit_is_not_kept():
    pool = Pool()
    pool.add(plan(1.0, across(1.0), done=False))
    assert pool.all == []


def test_of_plans_that_differ_only_in_place_the_best_is_kept():
    pool = Pool()
    better, worse = plan(1.0, across(10.0)), plan(2.0, across(12.0))
    for order in ((better, worse), (worse, better)):
        pool = Pool()
        for one in order:
            pool.add(one)
        assert pool.all == [better]
    # Of a named piece, it is another plan.
    pool.add(plan(3.0, across(12.0, piece="whole")))
    assert len(pool.all) == 2


def test_the_same_plan_is_kept_once():
    pool = Pool()
    for _ in range(2):
        pool.add(plan(1.0, across(10.0)))
    assert len(pool.all) == 1


def test_of_equal_scores_fewer_cuts_come_first():
    pool = Pool()
    many = plan(1.0, across(1.0), across(2.0), pieces=3)
    few = plan(1.0, across(1.0), pieces=3)
    pool.add(many)
    pool.add(few)
    assert pool.all == [few, many]


def test_only_the_best_eight_of_a_number_are_kept():
    pool = Pool()
    for rank in range(12):
        normal = (1.0, rank / 10, 0.0)
        pool.add(plan(float(rank), Cut(Plane.through((0, 0, 0), normal))))
    assert [one.score for one in pool.of(2)] == [float(rank) for rank in range(8)]


def test_the_form_of_a_plan_forgets_places_and_order():
    one = (across(1.0), across(2.0, Y, "2"))
    assert form_of(one) == form_of((across(7.0, Y, "2"), across(9.0)))
    assert form_of(one) != form_of((across(1.0), across(2.0, Y)))
    assert form_of(one) != form_of((across(1.0), across(2.0, X, "2")))
    assert form_of((across(1.0), across(2.0))) != form_of((across(1.0),))


def valued(score, rank, **levels):
    normal = (1.0, rank / 10, 0.0)
    one = plan(score, Cut(Plane.through((0, 0, 0), normal)))
    one.sketch.levels = levels
    return one


def recorded(*plans, on_the_way=()):
    pool = Pool(lambda one: one.sketch.levels)
    for one in plans:
        pool.add(one, on_the_way=one in on_the_way)
    return pool


def test_the_best_in_a_concern_is_kept_though_eight_score_better():
    many = [valued(5.0 + rank / 10, rank, support=1.0, seams=1.0) for rank in range(10)]
    free = valued(6.4, 20, support=0.0, seams=3.0)
    plain = valued(6.4, 21, support=1.0, seams=1.0)
    for order in ([*many, free, plain], [plain, free, *reversed(many)]):
        pool = recorded(*order)
        assert pool.of(2) == many[:8]
        assert pool.all == many[:8]
        assert pool.choice == [*many[:8], free]


def test_what_scores_far_worse_is_kept_for_nothing():
    many = [valued(1.0 + rank / 100, rank, support=1.0) for rank in range(8)]
    pool = recorded(*many, valued(2.0, 20, support=0.0))
    assert pool.choice == many


def test_plans_on_the_way_are_the_best_in_nothing():
    many = [valued(5.0 + rank / 10, rank, support=1.0) for rank in range(8)]
    free = valued(6.0, 20, support=0.0)
    assert recorded(*many, free).choice == [*many, free]
    assert recorded(*many, free, on_the_way=[free]).choice == many


def test_a_plan_of_a_known_form_may_be_the_best_in_a_concern():
    best, free = plan(1.0, across(10.0)), plan(1.2, across(40.0))
    best.sketch.levels, free.sketch.levels = {"support": 0.5}, {"support": 0.0}
    pool = recorded(best, free)
    assert pool.all == [best]
    assert pool.choice == [best, free]
    assert recorded().choice == []
