"""Contact, slenderness and evenness of pieces whose shapes are known."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.plan import Cut, divide
from splitplanner.score import CRITERIA, bed_fit, measure
from splitplanner.score.plan_fit import convex_area, convex_outline
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Bed, Printer
from tests.score.beds import BED, BEDS, UP, box, prism, turned

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
BY_NAME = {criterion.name: criterion for criterion in CRITERIA}


def value(name, part, *cuts, up=Z, printer=None):
    division = divide(part, cuts)
    ups = {piece.name: up for piece in division.pieces}
    figures = measure(division, ups, printer or Printer(), seen_from_outside(part))
    criterion = BY_NAME[name]
    # These come from numbers alone, so the estimate of exact numbers is the value itself.
    assert criterion.estimate(figures) == criterion.measure(figures)
    return criterion.measure(figures)


# -- what the fit tells of the plan -------------------------------------------------------------
@pytest.mark.parametrize("bed", BEDS.values(), ids=BEDS)
@pytest.mark.parametrize("yaw", [0.0, 33.0])
def test_the_plan_of_a_box_is_measured_whatever_bed_it_lies_on(bed, yaw):
    fit = bed_fit(turned(box(60, 20, 10), yaw), UP, bed)
    assert fit.sides == pytest.approx((60, 20))
    assert fit.outline_area == pytest.approx(1200)


def test_the_sides_are_those_of_the_smallest_rectangle_though_the_piece_lies_aslant():
    # 280 mm fit a bed of 220 near its diagonal only.
    fit = bed_fit(box(280, 8, 30), UP, BED)
    assert fit.fits
    assert abs(fit.yaw % 90 - 45) < 5
    assert fit.sides == pytest.approx((280, 8))


def test_the_outline_area_is_that_of_the_hull():
    # An L of two arms 60 x 20: its hull adds the triangle between the ends, 40 x 40 / 2.
    ell = [(0, 0), (60, 0), (60, 20), (20, 20), (20, 60), (0, 60)]
    fit = bed_fit(prism(ell), UP, BED)
    assert fit.outline_area == pytest.approx(60 * 20 + 20 * 40 + 40 * 40 / 2)
    # Regular polygon: n r² sin(360°/n) / 2.
    angles = 2 * np.pi * np.arange(7) / 7
    outline = convex_outline(30 * np.column_stack([np.cos(angles), np.sin(angles)]) + 500)
    assert convex_area(outline) == pytest.approx(7 * 900 * math.sin(2 * math.pi / 7) / 2)
    assert convex_area(convex_outline([(1, 1), (5, 3)])) == 0
    assert convex_area(convex_outline([(2, 2)])) == 0


# -- contact ------------------------------------------------------------------------------------
def test_a_block_has_all_of_its_plan_on_the_bed():
    assert value("plan without bed contact", Solid.box((60, 40, 30))) == pytest.approx(0)


def test_a_ball_has_none():
    ball = trimesh.creation.icosphere(subdivisions=3, radius=30)
    tilted = trimesh.transformations.rotation_matrix(0.3, (1, 2, 0.5))
    ball.apply_transform(tilted)
    assert value("plan without bed contact", Solid.from_arrays(ball.vertices, ball.faces)) == 1


def test_a_mushroom_stands_on_its_stem_and_well_on_its_cap():
    # A stem of 20 mm under a cap of 100 mm, square both: 400 of 10 000 mm².
    mushroom = Solid.box((20, 20, 50), (40, 40, 0)).union(Solid.box((100, 100, 10), (0, 0, 50)))
    name = "plan without bed contact"
    assert value(name, mushroom) == pytest.approx(0.96)
    assert value(name, mushroom, up=(0.0, 0.0, -1.0)) == pytest.approx(0)


def test_what_lies_between_legs_holds_nothing():
    # Four legs of 10 mm under the corners of 100 mm.
    table = Solid.box((100, 100, 10), (0, 0, 30)).union(
        *(Solid.box((10, 10, 30), (x, y, 0)) for x in (0, 90) for y in (0, 90))
    )
    assert value("plan without bed contact", table) == pytest.approx(1 - 400 / 10000)


def test_contact_is_the_mean_of_the_pieces():
    # Below the cut a block, above it a block on a foot of a quarter of its plan.
    part = Solid.box((50, 40, 40)).union(Solid.box((50, 10, 40), (50, 0, 0)))
    part = part.union(Solid.box((50, 40, 10), (50, 0, 30)))
    found = value("plan without bed contact", part, Cut(Plane(X, 50.0)))
    assert found == pytest.approx((0 + 0.75) / 2)


# -- slenderness --------------------------------------------------------------------------------
@pytest.mark.parametrize(("height", "expected"), [(60, 0), (80, 0), (100, 1), (200, 6)])
def test_slenderness_counts_from_four_times_the_smaller_side(height, expected):
    assert value("slender prints", Solid.box((50, 20, height))) == pytest.approx(expected)


def test_lying_down_a_rod_is_not_slender():
    rod = Solid.box((20, 20, 200))
    assert value("slender prints", rod) == pytest.approx(6)
    assert value("slender prints", rod, up=X) == 0


def test_slender_pieces_are_added_up():
    # Two halves of 10 x 30 x 100 mm, each 10 times as tall as wide.
    plate = Solid.box((20, 30, 100))
    assert value("slender prints", plate, Cut(Plane(X, 10.0))) == pytest.approx(2 * 6)


# -- evenness -----------------------------------------------------------------------------------
@pytest.mark.parametrize(("offset", "expected"), [(50.0, 0.0), (25.0, 0.5), (10.0, 0.8)])
def test_two_pieces_spread_by_half_their_difference_over_their_mean(offset, expected):
    # Of two values a and b the deviation over the mean is |a - b| / (a + b).
    found = value("uneven pieces", Solid.box((100, 30, 30)), Cut(Plane(X, offset)))
    assert found == pytest.approx(expected, abs=1e-9)


def test_a_reference_of_unevenness_is_one_piece_three_times_the_other():
    assert BY_NAME["uneven pieces"].reference == 0.5


def test_one_piece_is_even():
    assert value("uneven pieces", Solid.box((10, 10, 10))) == 0


def test_three_pieces():
    # 10, 20 and 30 of 60 mm: the deviation is sqrt(200 / 3), the mean 20.
    cuts = Cut(Plane(X, 10.0)), Cut(Plane(X, 30.0))
    found = value("uneven pieces", Solid.box((60, 30, 30)), *cuts)
    assert found == pytest.approx(math.sqrt(200 / 3) / 20)


# -- beds and hours -----------------------------------------------------------------------------
def test_beds_of_a_plan():
    part = Solid.box((200, 50, 50))
    printer = Printer(bed=Bed.rectangle(110, 110, 250))
    # Two of 100 x 50 mm share 110 x 110 mm: 50 + 5 + 50.
    assert value("print beds", part, Cut(Plane(X, 100.0)), printer=printer) == 1
    small = Printer(bed=Bed.rectangle(104, 104, 250))
    assert value("print beds", part, Cut(Plane(X, 100.0)), printer=small) == 2


def test_hours_of_a_plan_grow_with_what_is_cut():
    part = Solid.box((200, 50, 50))
    printer = Printer(layer_change_seconds=0.0, least_layer_seconds=0.0)
    whole = value("print time", part, printer=printer)
    halves = value("print time", part, Cut(Plane(X, 100.0)), printer=printer)
    # Two walls of 50 x 50 mm more of three lines of 0.45 mm, in layers of 0.2 mm: 30 and 50 mm/s.
    # Solid layers stay what they are; 15 % of these walls were printed anyway, at 70 mm/s.
    line = 2 * 2500 * 0.45
    extra = line / (30 * 0.09) + 2 * line / (50 * 0.09) - 0.15 * 3 * line / (70 * 0.09)
    assert (halves - whole) * 3600 == pytest.approx(extra)


@pytest.mark.parametrize(
    "criterion",
    [criterion for criterion in CRITERIA if criterion.adds_up],
    ids=lambda criterion: criterion.name,
)
def test_what_is_said_to_add_up_adds_up(criterion):
    part = Solid.box((300, 30, 100)).union(Solid.box((300, 60, 10), (0, 0, 100)))
    part = part.difference(Solid.box((40, 80, 20), (30, -5, -5)))
    division = divide(part, (Cut(Plane(X, 120.0)), Cut(Plane(X, 210.0))))
    ups = {piece.name: Z for piece in division.pieces}
    figures = measure(division, ups, Printer(), seen_from_outside(part))
    alone = [replace(figures, pieces=(row,), seams=()) for row in figures.pieces]
    alone += [replace(figures, pieces=(), seams=(row,)) for row in figures.seams]
    total = sum(criterion.measure(each) for each in alone)
    assert total == pytest.approx(criterion.measure(figures), abs=1e-9)
