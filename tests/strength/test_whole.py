"""The uncut part under load: stress where seams may lie, against closed forms of beams."""

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.plan import (
    Fall,
    Loading,
    PointLoad,
    WeightLoad,
    cantilever,
    over_two_supports,
    twisted,
)
from splitplanner.solid import Solid
from splitplanner.strength import main_stress_direction, section_chain, under_loads
from splitplanner.strength.whole import BESIDE, twists
from splitplanner.workshop import Material, generic_materials

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
LENGTH, WIDTH, HEIGHT = 600.0, 40.0, 30.0
MODULUS = WIDTH * HEIGHT**2 / 6
"""Elastic section modulus of a rectangle, b h² / 6 (Roark, appendix A)."""
DOWN = (0.0, 0.0, -100.0)
SUPPORTED = Loading(X, over_two_supports(0.0, LENGTH, PointLoad(LENGTH / 2, DOWN)))
HANGING = Loading(X, cantilever(0.0, PointLoad(LENGTH, DOWN)))


def bar():
    return Solid.box((LENGTH, WIDTH, HEIGHT))


def loaded(part, *loadings, material=None):
    loads = under_loads(part, loadings, material)
    assert loads.findings == ()
    return loads.found


# -- bending --------------------------------------------------------------------------------------
def test_a_force_in_the_middle_bends_by_a_triangle():
    (whole,) = loaded(bar(), SUPPORTED)
    # M = F x / 2 up to the middle, F L / 4 there (Roark, table of straight beams).
    assert whole.largest == pytest.approx(100 * LENGTH / 4 / MODULUS)
    for place in (30.0, 123.4, 250.0):
        pull, shear = whole.at(place, place)
        assert pull == pytest.approx(100 * place / 2 / MODULUS)
        assert not shear.any()
        # And as far as a joint reaches to the side that is bent more.
        stress = 100 * (place + BESIDE) / 2 / MODULUS
        assert whole.stress_at(X, place, place) == pytest.approx(stress)
        assert whole.stress_at(X, LENGTH - place, LENGTH - place) == pytest.approx(stress)
    assert whole.stress_at(X, 300.0, 300.0) == pytest.approx(whole.largest)
    assert not whole.twists


def test_a_cantilever_is_bent_towards_its_clamp():
    (whole,) = loaded(bar(), HANGING)
    assert whole.largest == pytest.approx(100 * LENGTH / MODULUS)
    for place in (100.0, 455.5):
        stress = 100 * (LENGTH - place + BESIDE) / MODULUS
        assert whole.stress_at(X, place, place) == pytest.approx(stress)


def test_an_oblique_seam_takes_what_acts_square_to_it():
    (whole,) = loaded(bar(), HANGING)
    # s cos² t on an inclined section (Gere, Mechanics of Materials, section 2.6).
    for degrees in (10.0, 40.0, 80.0, 90.0):
        angle = math.radians(degrees)
        normal = (math.cos(angle), 0.0, math.sin(angle))
        worst = 100 * (LENGTH - 200.0 + BESIDE) / MODULUS
        found = whole.stress_at(normal, 200.0, 280.0)
        assert found == pytest.approx(math.cos(angle) ** 2 * worst, abs=1e-12)
    # A seam along the whole bar is pulled apart by nothing.
    assert whole.stress_at(Z, 0.0, LENGTH) == 0.0


def test_a_rib_at_the_seam_relieves_no_joint():
    rib = Solid.box((6.0, 200.0, 200.0), (97.0, -80.0, -85.0))
    (whole,) = loaded(bar().union(rib), HANGING)
    assert whole.at(100.0, 100.0)[0][0] < 0.1 * whole.largest
    beside = 100 * (LENGTH - 90.0) / MODULUS
    assert whole.stress_at(X, 100.0, 100.0) == pytest.approx(beside, rel=0.01)


# -- twisting -------------------------------------------------------------------------------------
def test_a_twisted_bar_slides_in_every_plane():
    rod = Solid.cylinder((0, 0, 0), (0, 0, 200), 10.0, 128)
    (whole,) = loaded(rod, Loading(Z, twisted(0.0, 200.0, 5000.0, Z)))
    # τ = 2 T / (π r³) in a round bar (Roark, torsion), and constants along a part are good to 2 %.
    shear = 2 * 5000.0 / (math.pi * 10.0**3)
    assert whole.twists
    assert whole.twist.max() == pytest.approx(shear, rel=0.05)
    assert whole.normal.max() < 0.02 * shear
    for normal in (X, Z, (math.sqrt(0.5), 0.0, math.sqrt(0.5))):
        stress = whole.stress_at(normal, 80.0, 120.0)
        assert stress == pytest.approx(math.sqrt(3.0) * whole.at(100.0, 100.0)[1][0], rel=1e-3)


@pytest.mark.parametrize(
    ("load", "wanted"),
    [
        (PointLoad(200.0, moment=(500.0, 0.0, 0.0)), False),
        (PointLoad(200.0, moment=(500.0, 0.0, 1.0)), True),
        (PointLoad(200.0, (10.0, 0.0, 0.0), at=(8.0, 0.0, 0.0)), True),
        (PointLoad(200.0, (0.0, 0.0, 10.0), at=(8.0, 0.0, 0.0)), False),
        (PointLoad(200.0, (10.0, 0.0, 0.0)), False),
        (WeightLoad((10.0, 0.0, 0.0)), False),
    ],
)
def test_twist_is_looked_at_where_a_load_twists(load, wanted):
    assert twists(Loading(Z, cantilever(0.0, load))) == wanted


# -- falls ----------------------------------------------------------------------------------------
def test_a_fall_counts_as_many_times_its_weight():
    case = over_two_supports(0.0, LENGTH, WeightLoad((0.0, 0.0, -1.0)))
    heavy = Material("lead", 11.0)
    (whole,) = loaded(bar(), Loading(X, case, Fall(750.0, stopping=10.0)), material=heavy)
    # n = 2 (h + s) / s; M = W L / 8 of a load that is spread evenly (Roark).
    weight = LENGTH * WIDTH * HEIGHT / 1e6 * 11.0 * 9.80665
    assert whole.factor == pytest.approx(2 * 760.0 / 10.0)
    assert whole.largest == pytest.approx(152.0 * weight * LENGTH / 8 / MODULUS, rel=0.005)
    # Where the mass is given, that counts.
    (given,) = loaded(bar(), Loading(X, case, Fall(750.0, 10.0, mass=500.0)), material=heavy)
    assert given.largest == pytest.approx(152.0 * 0.5 * 9.80665 * LENGTH / 8 / MODULUS, rel=1e-4)


def test_stresses_beside_each_other_do_not_depend_on_the_material():
    case = over_two_supports(0.0, 450.0, WeightLoad((0.0, 0.0, -1.0)))
    falls = Loading(X, case, Fall(300.0))
    soft = replace(generic_materials()[0], density=2.0, stiffness_xy=300.0)
    (usual,), (other,) = loaded(bar(), falls), loaded(bar(), falls, material=soft)
    assert other.factor < 0.9 * usual.factor
    np.testing.assert_allclose(
        other.normal / other.largest, usual.normal / usual.largest, rtol=1e-9, atol=1e-12
    )


def test_a_material_that_tells_no_stiffness_falls_as_its_kind_does():
    """√(1 + 2 h / δ) + 1 times its weight, and δ is as 1 / E (Gere, section 9.10)."""
    case = over_two_supports(0.0, LENGTH, WeightLoad((0.0, 0.0, -1.0)))
    falls = Loading(X, case, Fall(300.0, mass=500.0))
    stiffness = {each.name.split()[0]: each.stiffness_xy for each in generic_materials()}

    def give(material):
        (whole,) = loaded(bar(), falls, material=material)
        return 1.0 / ((whole.factor - 1.0) ** 2 - 1.0)

    usual = give(None)
    for name in ("PETG of mine", "PC", "unheard of"):
        modulus = stiffness.get(name.split()[0], stiffness["PLA"])
        assert give(Material(name, 1.0)) / usual == pytest.approx(stiffness["PLA"] / modulus)
    told = replace(Material("PETG of mine", 1.0), stiffness_xy=1000.0)
    assert give(told) / usual == pytest.approx(stiffness["PLA"] / 1000.0)


# -- what cannot be worked out --------------------------------------------------------------------
def test_what_does_not_suit_the_part_is_found_and_left_out():
    beside = Loading(X, cantilever(0.0, PointLoad(700.0, DOWN), name="beside"))
    nothing = Loading(X, over_two_supports(0.0, LENGTH, name="nothing"))
    loads = under_loads(bar(), [beside, nothing, HANGING])
    assert [whole.loading for whole in loads.found] == [HANGING]
    (finding,) = loads.findings
    assert (finding.kind, finding.subject) == ("strength.load", "beside")
    assert "at 700 mm lies beside the part" in finding.message


def test_sections_are_cut_once_for_every_axis_or_taken_from_who_remembers_them():
    asked = []

    def remembered(part, axis, report):
        asked.append(axis)
        return section_chain(part, axis, 11)

    across = Loading(Y, cantilever(0.0, PointLoad(WIDTH, DOWN)))
    loads = under_loads(bar(), [SUPPORTED, across, HANGING], chain_of=remembered)
    assert asked == [X, Y]
    # 11 stations and both ends of the part: 12 stretches with two entries each.
    assert [len(whole.positions) for whole in loads.found] == [24, 24, 24]


def test_it_is_small_enough_to_go_along_with_every_plan():
    (whole,) = loaded(bar(), SUPPORTED)
    sent = pickle.dumps(whole)
    assert len(sent) < 20_000
    assert pickle.loads(sent).largest == whole.largest


# -- print directions -----------------------------------------------------------------------------
def test_pieces_are_pulled_along_the_axis_that_bends_them_most():
    plate = Solid.box((600.0, 600.0, 20.0))
    along_x = Loading(X, cantilever(0.0, PointLoad(600.0, DOWN), name="x"))
    along_y = Loading(Y, over_two_supports(0.0, 600.0, PointLoad(300.0, DOWN), name="y"))
    whole = loaded(plate, along_x, along_y)
    at_clamp = Solid.box((100.0, 100.0, 20.0))
    in_middle = Solid.box((100.0, 100.0, 20.0), (500.0, 250.0, 0.0))
    assert main_stress_direction(whole, at_clamp) == X
    assert main_stress_direction(whole, in_middle) == Y
    assert main_stress_direction(whole[:1], Solid.box((10.0, 99.0, 20.0), (590.0, 0, 0))) is None
    assert main_stress_direction((), plate) is None


def test_what_is_twisted_is_pulled_along_no_one_direction():
    whole = loaded(bar(), Loading(X, twisted(0.0, LENGTH, 5000.0, X)))
    assert main_stress_direction(whole, Solid.box((200.0, 40.0, 30.0), (200.0, 0, 0))) is None
