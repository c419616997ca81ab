"""What a part loses at its seams under its load cases, against the moments of beams."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from splitplanner.plan import (
    Cut,
    Loading,
    PointLoad,
    cantilever,
    divide,
    over_two_supports,
)
from splitplanner.score import measure, scorecard
from splitplanner.score.criteria.seam_strength import HELD, SEAM_STRENGTH
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.strength import under_loads
from splitplanner.strength.whole import BESIDE
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate import surveyed
from splitplanner.suggest.ranking import rescored, unmeasured
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bed=Bed.rectangle(300, 300, 250))
BAR = Solid.box((600.0, 40.0, 30.0))
DOWN = (0.0, 0.0, -100.0)
SUPPORTED = Loading(X, over_two_supports(0.0, 600.0, PointLoad(300.0, DOWN)))
HANGING = Loading(X, cantilever(0.0, PointLoad(600.0, DOWN)))
NAME = "strength lost at seams"


def figures_of(*planes, loads=(SUPPORTED,)):
    division = divide(BAR, [Cut(plane) for plane in planes])
    ups = {piece.name: Z for piece in division.pieces}
    found = under_loads(BAR, loads).found
    return measure(division, ups, PRINTER, seen_from_outside(BAR), under_load=found)


def term_of(figures, weights=None):
    (term,) = [t for t in scorecard(figures, weights).terms if t.criterion.name == NAME]
    return term


def lost(share):
    """Of a seam where the stress is that share of the largest one, %."""
    return 100 * (1 - min(1.0, HELD / share))


def estimated(*planes, loads=(SUPPORTED,)):
    costs = Costs(BAR, PRINTER, {}, under_loads(BAR, loads).found)
    survey = surveyed(BAR, seen_from_outside(BAR), cut_directions(BAR), costs)
    sketch = survey.sketch([Cut(plane) for plane in planes])
    return SEAM_STRENGTH.estimate(survey.estimate(sketch).numbers)


@pytest.mark.parametrize("place", [80.0, 160.0, 200.0, 300.0, 430.0])
def test_a_seam_over_two_supports_loses_by_the_moment_there(place):
    # M = F x / 2 up to the middle, where it is largest (Roark).
    share = min(1.0, (min(place, 600.0 - place) + BESIDE) / 300.0)
    figures = figures_of(Plane(X, place))
    assert SEAM_STRENGTH.measure(figures) == pytest.approx(lost(share))
    assert term_of(figures).contribution == pytest.approx(
        SEAM_STRENGTH.weight * lost(share) / SEAM_STRENGTH.reference
    )
    assert estimated(Plane(X, place)) == pytest.approx(lost(share))


def test_the_worst_seam_and_the_worst_load_case_count():
    cuts = Plane(X, 200.0), Plane(X, 500.0)
    over, free = (200.0 + BESIDE) / 300.0, (400.0 + BESIDE) / 600.0
    for loads, share in (
        ((SUPPORTED,), over),
        ((HANGING,), free),
        ((SUPPORTED, HANGING), max(over, free)),
    ):
        assert SEAM_STRENGTH.measure(figures_of(*cuts, loads=loads)) == pytest.approx(lost(share))
        assert estimated(*cuts, loads=loads) == pytest.approx(lost(share))


@pytest.mark.parametrize("degrees", [5.0, 30.0, 50.0, 90.0])
def test_an_oblique_seam_loses_less_the_more_it_runs_along(degrees):
    cosine = np.cos(np.radians(degrees))
    plane = Plane.through((200.0, 20.0, 15.0), (cosine, 0.0, np.sin(np.radians(degrees))))
    # It reaches 15 mm tan t to either side, as far as the bar goes.
    end = 200.0 + min(100.0, 15.0 * np.tan(np.radians(degrees))) + BESIDE
    share = cosine**2 * min(1.0, end / 300.0)
    wanted = 0.0 if share <= HELD else lost(share)
    assert SEAM_STRENGTH.measure(figures_of(plane)) == pytest.approx(wanted)
    assert estimated(plane) == pytest.approx(wanted)


def test_a_joint_that_is_known_counts_instead():
    figures = figures_of(Plane(X, 200.0), Plane(X, 420.0))
    (first, second) = [row.seam.name for row in figures.seams]
    guessed = lost((180.0 + BESIDE) / 300.0)
    for ratios, wanted in (
        ({first: 0.3}, 70.0),
        ({first: 0.95}, guessed),
        ({first: 0.95, second: 0.9}, 10.0),
        ({first: 1.4, second: 1.0}, 0.0),
    ):
        known = replace(figures, seam_ratios=ratios)
        assert SEAM_STRENGTH.measure(known) == pytest.approx(wanted)


def test_without_load_cases_it_says_nothing():
    figures = figures_of(Plane(X, 300.0), loads=())
    card, term = scorecard(figures), term_of(figures)
    assert (term.applies, term.counts, term.contribution, term.value) == (False, False, 0.0, 0.0)
    assert card.total == pytest.approx(scorecard(figures, {NAME: 0.0}).total)
    assert rescored(card, {NAME: 50.0}) == pytest.approx(card.total)
    # So nobody measures it in another process.
    assert NAME not in unmeasured_of(figures, {})
    assert NAME in unmeasured_of(figures_of(Plane(X, 300.0)), {})
    # And the search is not slowed down by it.
    assert not Costs(BAR, PRINTER).needs_fit
    assert not Costs(BAR, PRINTER, {}, under_loads(BAR, [SUPPORTED]).found).needs_fit


def unmeasured_of(figures, weights):
    draft = SimpleNamespace(card=scorecard(figures))
    return unmeasured([SimpleNamespace(draft=draft)], weights)
