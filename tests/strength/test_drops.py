"""Drops. Expected values: closed forms and printed tables, named at each check."""

import math

import numpy as np
import pytest

from splitplanner.errors import LoadError
from splitplanner.plan import PointLoad, SpreadLoad, WeightLoad, cantilever, over_two_supports
from splitplanner.strength import Drop, diagrams, drop_factor, dropped, stopping_factor
from tests.strength.bars import bar_chain

E_BAR = 3000.0
DOWN = (0.0, 0.0, -1.0)


@pytest.mark.parametrize(
    ("ratio", "factor"), [(0.0, 2.00), (2.5, 3.45), (5.0, 4.32), (7.5, 5.00), (10.0, 5.58)]
)
def test_the_printed_table(ratio, factor):
    # Gere, Mechanics of Materials, 7th edition, solution 9.10-1 (which prints 4.33 at 5, where the
    # formula gives 4.317).
    assert drop_factor(ratio * 3.0, 3.0) == pytest.approx(factor, abs=0.005)


def test_frozen_case():
    # Bending alone: 1 kg from 50 mm onto the end of a cantilever of 100 mm, 20 x 10, E 3000: sag
    # 0.653777, factor 13.408, stress from 2.942 to 39.45, 576.296 N·mm both ways (closed form).
    found = dropped(
        bar_chain(100.0),
        cantilever(0.0, PointLoad(100.0, DOWN)),
        Drop(1000.0, 50.0),
        E_BAR,
        twist=False,
    )
    assert found.sag == pytest.approx(0.653777, abs=1e-6)
    assert found.factor == pytest.approx(13.408, abs=5e-4)
    assert found.static.largest_stress == pytest.approx(2.942, abs=5e-4)
    assert found.largest_stress == pytest.approx(39.45, abs=5e-3)
    assert found.fallen == pytest.approx(576.296, abs=5e-3)
    stored = diagrams(bar_chain(100.0), found.case, E_BAR, twist=False)
    assert stored.energy == pytest.approx(found.fallen, rel=1e-9)
    assert stored.largest_stress == pytest.approx(found.largest_stress)


@pytest.mark.parametrize("height", [0.0, 3.0, 700.0])
@pytest.mark.parametrize(
    "load",
    [
        PointLoad(90.0, (3.0, 4.0, -12.0)),
        WeightLoad(DOWN),
        SpreadLoad(20.0, 160.0, (0.0, -2.0, 0.0)),
    ],
)
def test_energy_of_the_fall_is_in_the_part(load, height):
    # ½ n² W δ = W (h + n δ), with the elastic energy of the static equivalent worked out anew.
    chain = bar_chain(200.0)
    found = dropped(chain, over_two_supports(10.0, 190.0, load), Drop(850.0, height), E_BAR)
    assert np.linalg.norm(found.static.case.total) == pytest.approx(0.85 * 9.80665)
    assert diagrams(chain, found.case, E_BAR).energy == pytest.approx(found.fallen, rel=1e-9)


def test_sag_of_a_part_that_falls_itself():
    # Twice the elastic energy of a beam under its weight, w² L⁵ / 240EI, over w L
    # (∫ of M²/2EI with M = w x (L - x) / 2): w L⁴ / 120EI.
    length, weight = 200.0, 0.5 * 9.80665
    case = over_two_supports(0.0, length, WeightLoad(DOWN))
    found = dropped(bar_chain(length), case, Drop(500.0, 100.0), E_BAR, twist=False)
    expected = weight * length**3 / (120 * 5e6)
    assert found.sag == pytest.approx(expected, rel=1e-8)
    assert found.factor == pytest.approx(1 + math.sqrt(1 + 200 / expected), rel=1e-8)


def test_a_known_way_of_stopping():
    # A spring that gives way by s: both formulas agree.
    for height, sag in ((100.0, 0.7), (0.0, 2.0), (5.0, 30.0)):
        n = drop_factor(height, sag)
        assert stopping_factor(height, n * sag) == pytest.approx(n)
    case = cantilever(0.0, PointLoad(100.0, DOWN))
    found = dropped(bar_chain(100.0), case, Drop(1000.0, 190.0, stopping=10.0), E_BAR)
    assert found.factor == pytest.approx(40.0)
    # What the fall gives is in the resistance, which rises evenly to 40 times the weight.
    assert found.fallen == pytest.approx(0.5 * 40.0 * 9.80665 * 10.0)


def test_a_stiffer_part_has_to_stand_more():
    case = cantilever(0.0, PointLoad(100.0, DOWN))
    factors = [
        dropped(bar_chain(100.0), case, Drop(1000.0, 50.0), e).factor for e in (500, 2000, 8000)
    ]
    assert factors == sorted(factors)
    assert factors[0] > 2.0


@pytest.mark.parametrize(
    ("numbers", "match"),
    [((0.0, 1.0), "mass"), ((1.0, -1.0), "height"), ((1.0, 1.0, 0.0), "stops")],
)
def test_drops_that_cannot_be(numbers, match):
    with pytest.raises(LoadError, match=match):
        Drop(*numbers)


def test_a_drop_needs_to_know_where_it_strikes():
    with pytest.raises(LoadError, match="where"):
        dropped(bar_chain(100.0), cantilever(0.0), Drop(1000.0, 50.0), E_BAR)
