"""Costs: what pieces and seams add is what the scorecard says of the plan."""

import numpy as np
import pytest

from splitplanner.plan import Cut, divide
from splitplanner.score import CRITERIA, measure, scorecard
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest.costs import Costs
from tests.suggest.shapes import PRINTER, u_shape

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
NUMERIC = [criterion for criterion in CRITERIA if criterion.estimate is not None]


def figures_of(part, cuts, ups=Z):
    division = divide(part, cuts)
    ups = dict.fromkeys(division.by_name, ups)
    return measure(division, ups, PRINTER, seen_from_outside(part))


PLANS = [
    (u_shape(), [Cut(Plane(Y, 215.0)), Cut(Plane(X, 215.0), "1")], X),
    (Solid.box((400, 100, 60)), [Cut(Plane.through((200, 50, 30), (1, 0.2, 0.4)))], Z),
    (Solid.box((100, 100, 60)), [], Y),
]


@pytest.mark.parametrize(("part", "cuts", "up"), PLANS)
@pytest.mark.parametrize(
    "weights",
    [{}, {"support volume": 0.0, "pieces": 3.0}, {c.name: 0.5 for c in NUMERIC}],
    ids=["usual", "some", "all"],
)
def test_costs_add_up_to_the_plan_score(part, cuts, up, weights):
    figures = figures_of(part, cuts, up)
    costs = Costs(part, PRINTER, weights)
    total = sum(costs.of_piece(row) for row in figures.pieces)
    total += sum(costs.of_seam(row) for row in figures.seams)
    total += costs.of_whole(figures)
    # What takes the pieces themselves to measure is left out of costs.
    given = {c.name: 0.0 for c in CRITERIA if c.estimate is None}
    exact = scorecard(figures, {**weights, **given}).total
    assert total == pytest.approx(exact, rel=1e-9)
    assert total > 0.2


@pytest.mark.parametrize("criterion", NUMERIC, ids=lambda criterion: criterion.name)
def test_every_criterion_counts_by_its_weight(criterion):
    part, cuts, up = PLANS[0]
    figures = figures_of(part, cuts, up)
    nothing = {c.name: 0.0 for c in CRITERIA}

    def total(weight):
        costs = Costs(part, PRINTER, {**nothing, criterion.name: weight})
        pieces = sum(costs.of_piece(row) for row in figures.pieces)
        seams = sum(costs.of_seam(row) for row in figures.seams)
        return pieces + seams + costs.of_whole(figures)

    assert total(0.0) == 0
    wanted = criterion.measure(figures) / criterion.reference
    assert total(1.0) == pytest.approx(wanted, rel=1e-9, abs=1e-12)
    assert total(4.0) == pytest.approx(4 * wanted, rel=1e-9, abs=1e-12)


def test_a_print_is_judged_also_by_what_does_not_add_up():
    # A tall pin with a head.
    part = Solid.box((20, 20, 230)).union(Solid.box((40, 40, 10), (-10, -10, 230)))
    row = figures_of(part, [], Z).pieces[0]
    usual = Costs(part, PRINTER)
    assert usual.of_print(row) == pytest.approx(usual.of_piece(row))
    # One piece alone is not uneven, but it may be slender or hardly touch the bed.
    slender = Costs(part, PRINTER, {"slender prints": 5.0, "plan without bed contact": 5.0})
    alone = Costs(part, PRINTER, {})
    added = slender.of_print(row) - alone.of_print(row)
    tall = row.fit.height / row.fit.sides[1]
    flat = 1.0 - row.overhang.contact_area / row.fit.outline_area
    terms = {criterion.name: criterion for criterion in CRITERIA}
    wanted = 5.0 * max(0.0, flat) / terms["plan without bed contact"].reference
    limit = float(terms["slender prints"].unit.split()[-1])
    wanted += 5.0 * max(0.0, tall - limit) / terms["slender prints"].reference
    assert added == pytest.approx(wanted)
    assert tall == pytest.approx(240 / 40)
    assert flat == pytest.approx(1 - 20 * 20 / (40 * 40))


def test_the_fit_is_needed_for_other_weights_only():
    part = Solid.box((100, 100, 60))
    assert not Costs(part, PRINTER).needs_fit
    assert not Costs(part, PRINTER, {"support volume": 5.0}).needs_fit
    assert Costs(part, PRINTER, {"print time": 1.0}).needs_fit
    assert Costs(part, PRINTER, {"slender prints": 1.0}).needs_fit


def test_costs_are_never_negative():
    part, cuts, up = PLANS[1]
    figures = figures_of(part, cuts, up)
    costs = Costs(part, PRINTER, {c.name: 1.0 for c in CRITERIA})
    values = [costs.of_piece(row) for row in figures.pieces]
    values += [costs.of_seam(row) for row in figures.seams]
    assert (np.array(values) > 0).all()
