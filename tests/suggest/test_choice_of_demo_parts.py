"""The choice among what a search finds for the demonstration parts, by estimates."""

import itertools

import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.progress import silent
from splitplanner.suggest.choosing import in_order, is_symmetric, same_idea
from splitplanner.suggest.concerns import MATTERS, front
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.searching import search
from splitplanner.suggest.standing_in import stand_in_for
from tests.suggest.shapes import PRINTER


@pytest.fixture(scope="module", params=sorted(DEMO_PARTS))
def chosen(request):
    """The pool of a part, its mirrors, and the plans in the order in which they are shown."""
    part = DEMO_PARTS[request.param].make(3000)
    found = search(stand_in_for(part), Costs(part, PRINTER), lambda plan: True, silent)

    def same(one, other):
        return same_idea(one, other, part, found.mirrors)

    return found, same, in_order(found.pool, found.mirrors, same)


def promised(found):
    """The best, the best of the fewest pieces and of one more, and the best symmetric plan."""
    pool = found.pool
    symmetric = [plan for plan in pool.choice if is_symmetric(plan, found.mirrors)]
    return [*pool.all[:1], *pool.of(pool.least)[:1], *pool.of(pool.least + 1)[:1], *symmetric[:1]]


def test_promised_plans_come_first(chosen):
    found, _, order = chosen
    first = {id(plan) for plan in promised(found)}
    assert {id(plan) for plan in order[: len(first)]} == first
    assert order[0] is found.pool.all[0]
    assert len(order) >= 3


def test_what_is_chosen_besides_is_better_in_something_than_all_before(chosen):
    found, same, order = chosen
    levels = [found.pool.levels(plan) for plan in order]
    rows = [(plan.score, level) for plan, level in zip(order, levels, strict=True)]
    apart = front(rows)
    start = len({id(plan) for plan in promised(found)})

    def gains(at):
        return any(
            min(earlier[name] for earlier in levels[:at]) - level > MATTERS
            for name, level in levels[at].items()
        )

    spread = list(itertools.takewhile(gains, range(start, len(order))))
    for at in spread:
        assert at in apart
        assert order[at].score <= 1.5 * order[0].score
        assert not any(same(order[at].sketch.cuts, other.sketch.cuts) for other in order[:at])
    # And nothing that could have been chosen so was passed over.
    left = order[start + len(spread) :]
    known = order[: start + len(spread)]
    for plan in left:
        gain = max(
            min(levels[at][name] for at in range(len(known))) - level
            for name, level in found.pool.levels(plan).items()
        )
        twin = any(same(plan.sketch.cuts, other.sketch.cuts) for other in known)
        dear = plan.score > 1.5 * order[0].score
        assert gain <= MATTERS or twin or dear or order.index(plan) not in apart
