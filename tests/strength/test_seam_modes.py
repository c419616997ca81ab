"""Single ways of a seam to fail. Expected values: closed forms, equilibrium, integration."""

import math

import numpy as np
import pytest
import shapely
from scipy.integrate import solve_bvp

from splitplanner.strength.bolt_group import SeamLoad
from splitplanner.strength.neutral_axis import bed_of
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_modes import (
    glue_shear,
    lap_peak,
    load_factor,
    section_mode,
    section_stresses,
    simple_mode,
)
from splitplanner.strength.section_properties import section_properties

ELL = shapely.Polygon([(0, 0), (60, 0), (60, 4), (4, 4), (4, 90), (0, 90)])


def test_load_factor():
    assert load_factor(lambda times: times / 7.25) == pytest.approx(7.25, rel=1e-12)
    assert load_factor(lambda times: (times / 3e-4) ** 2 + times) == pytest.approx(
        2.9995e-4, rel=1e-4
    )
    # Any use that does not fall: here a step.
    assert load_factor(lambda times: float(times > 12.0)) == pytest.approx(12.0)
    assert load_factor(lambda times: 0.5) == math.inf
    assert load_factor(lambda times: 1.0) == 0.0


def test_simple_mode():
    assert simple_mode("a", 40.0, 100.0, "N", "").factor == pytest.approx(2.5)
    assert simple_mode("a", 0.0, 100.0, "N", "").factor == math.inf
    assert simple_mode("a", -5.0, 100.0, "N", "").factor == math.inf
    assert simple_mode("a", 5.0, 0.0, "N", "").factor == 0.0


def test_lap_of_equal_layers():
    """x coth x, x = L/2 sqrt(2 G / (E t ta)): E 3000, t 4, G 1000, ta 0.2 and L 20 give 9.13."""
    assert lap_peak(20, 3000 * 4, 3000 * 4, 1000 / 0.2) == pytest.approx(9.13, abs=5e-3)
    for length in (0.1, 3.0, 40.0, 5000.0):
        x = length / 2 * math.sqrt(2 * 5000 / 12000)
        assert lap_peak(length, 12000, 12000, 5000) == pytest.approx(x / math.tanh(x))


@pytest.mark.parametrize(("first", "second"), [(2300.0, 6000.0), (6000.0, 900.0)])
def test_lap_of_unequal_layers(first, second):
    """Against Volkersen's differential equation, solved by scipy."""
    length, glue = 15.0, 300.0

    def rates(_, state):
        # Force in the first layer, and the slip between both.
        return np.array([-glue * state[1], (1 - state[0]) / second - state[0] / first])

    def ends(start, end):
        return np.array([start[0] - 1, end[0]])

    at = np.linspace(0, length, 200)
    guess = np.array([1 - at / length, np.full(200, 1 / length / glue)])
    solved = solve_bvp(rates, ends, at, guess, tol=1e-9, max_nodes=20000)
    peak = glue * solved.sol(np.linspace(0, length, 4001))[1].max()
    assert lap_peak(length, first, second, glue) == pytest.approx(peak * length, rel=1e-5)


def test_stresses_of_a_skew_section():
    """An angle under all six components: its plane of stress, integrated on a grid, is the load."""
    section = section_properties(ELL)
    load = SeamLoad(
        np.array([30.0, -20.0, 500.0]), np.array([7e3, -4e3, 0.0]), np.array([10.0, 20.0])
    )
    normal, shear = section_stresses(section, load, math.inf)
    rows = np.column_stack([np.ones(len(section.hull)), section.hull + section.centroid])
    plane = np.linalg.lstsq(rows, normal, rcond=None)[0]
    assert rows @ plane == pytest.approx(normal)
    step = 0.25
    u, v = np.meshgrid(np.arange(step / 2, 60, step), np.arange(step / 2, 90, step))
    inside = shapely.contains_xy(ELL, u, v)
    u, v = u[inside], v[inside]
    stress = (plane[0] + plane[1] * u + plane[2] * v) * step**2
    assert stress.sum() == pytest.approx(500, rel=1e-3)
    assert (stress * (v - 20)).sum() == pytest.approx(7e3, rel=2e-3)
    assert -(stress * (u - 10)).sum() == pytest.approx(-4e3, rel=2e-3)
    assert shear == pytest.approx(1.5 * math.hypot(30, 20) / ELL.area)
    _, twisted = section_stresses(section, SeamLoad(np.zeros(3), np.array([0, 0, -900.0])), 300.0)
    assert twisted == pytest.approx(3.0)


def test_section_is_used_on_the_ellipse():
    plastic = Plastic(50.0, 30.0, 20.0, 60.0)
    mode = section_mode("uncut", np.array([9.0, -30.0]), 8.0, 30.0, plastic, "")
    # Tension 0.3 and pressure 0.5 of what it stands, shear 0.4.
    assert mode.factor == pytest.approx(1 / math.hypot(0.5, 0.4))


def test_shear_of_glue_in_equilibrium():
    """A straight field: integrated over the polygon it is the load."""
    bed = bed_of(ELL)
    load = SeamLoad(
        np.array([30.0, -20.0, 0.0]), np.array([0.0, 0.0, 900.0]), np.array([10.0, 20.0])
    )
    rows = np.column_stack([np.ones(len(bed.corners)), bed.corners])
    field, *_ = np.linalg.lstsq(rows, glue_shear(bed, load), rcond=None)
    step = 0.25
    u, v = np.meshgrid(np.arange(step / 2, 60, step), np.arange(step / 2, 90, step))
    inside = shapely.contains_xy(ELL, u, v)
    cells = np.column_stack([np.ones(inside.sum()), u[inside], v[inside]])
    shear = cells @ field * step**2
    assert shear.sum(axis=0) == pytest.approx([30, -20], rel=1e-3)
    twist = ((u[inside] - 10) * shear[:, 1] - (v[inside] - 20) * shear[:, 0]).sum()
    assert twist == pytest.approx(900, rel=2e-3)
