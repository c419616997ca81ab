"""Bed fit against closed forms, shapely and scipy."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from splitplanner.score.bed_fit import bed_fit, bed_fits, best_fit, fit_findings
from splitplanner.score.plan_fit import convex_outline, enclosing_circle, rectangle_fit, sizes
from splitplanner.solid import Solid
from splitplanner.workshop import Bed
from tests.score.beds import (
    BED,
    BEDS,
    L_BED,
    UP,
    assert_lies_on,
    box,
    turned,
)


# -- rectangles -----------------------------------------------------------------------------
@pytest.mark.parametrize("yaw", [0.0, 30.0, 53.13010235415598, 100.0])
def test_sides_of_a_turned_box_are_those_of_the_closed_form(yaw):
    # A rectangle w x d turned by t spans w cos t + d sin t along x, w sin t + d cos t along y.
    w, d, t = 40.0, 30.0, np.radians(yaw)
    outline = convex_outline([(0, 0), (w, 0), (w, d), (0, d)])
    c, s = abs(np.cos(t)), abs(np.sin(t))
    assert sizes(outline, yaw) == pytest.approx((w * c + d * s, w * s + d * c), abs=1e-12)


def test_three_four_five_box_lies_square_after_any_yaw():
    # Turned by atan(3/4), the sine and cosine are 0.6 and 0.8; the box is 80 x 60 all the same.
    tight = Bed.rectangle(80.0, 60.0, 10.0)
    for yaw in (0.0, 36.86989764584402, 53.13010235415598, 211.0):
        points = turned(box(80, 60, 10), yaw)
        fit = bed_fit(points, UP, tight)
        assert fit.fits
        assert (fit.yaw + yaw) % 180.0 == pytest.approx(0.0, abs=1e-9) or (
            fit.yaw + yaw
        ) % 180.0 == pytest.approx(180.0, abs=1e-9)
        assert_lies_on(points, fit, tight)


def test_bar_longer_than_the_side_fits_across_the_diagonal():
    fit = bed_fit(box(280, 15, 15), UP, BED)
    # At 45° both sides are (280 + 15) / sqrt 2 = 208.6 mm.
    assert fit.fits
    assert fit.yaw == pytest.approx(45.0, abs=1e-9)
    assert fit.spare == pytest.approx(220.0 / (295.0 / np.sqrt(2.0)), rel=1e-12)
    assert fit.height == 15.0
    assert_lies_on(box(280, 15, 15), fit, BED)


def test_longest_bar_across_a_square_bed():
    # (L + w) / sqrt 2 = S.
    longest = 220.0 * np.sqrt(2.0) - 15.0
    fit = bed_fit(box(longest, 15, 15), UP, BED)
    assert fit.fits
    assert fit.spare == pytest.approx(1.0, abs=1e-9)
    longer = bed_fit(box(longest + 1e-3, 15, 15), UP, BED)
    assert not longer.fits
    assert longer.spare < 1.0
    assert longer.over == pytest.approx(1e-3 / np.sqrt(2.0), rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_piece_exactly_as_large_as_the_bed_fits_however_it_was_tilted(seed):
    rotation = Rotation.random(random_state=seed).as_matrix()
    points = box(220, 220, 250) @ rotation.T + (1000.0, -300.0, 20.0)
    fit = bed_fit(points, rotation[:, 2], BED)
    assert fit.fits
    assert fit.spare == pytest.approx(1.0, abs=1e-9)
    assert fit.over == 0.0
    assert_lies_on(points, fit, BED)
    larger = bed_fit(points * (1 + 1e-7), rotation[:, 2], BED)
    assert not larger.fits
    assert larger.over == pytest.approx(250.0 * 1e-7, rel=1e-3)


def test_height_limits_as_well_as_plan():
    fit = bed_fit(box(10, 10, 260), UP, BED)
    assert not fit.fits
    assert fit.over == pytest.approx(10.0)
    assert fit.spare == pytest.approx(250.0 / 260.0)
    # Laid down it goes across the bed: (260 + 10) / sqrt 2 = 190.9 mm.
    lying = bed_fit(box(10, 10, 260), (1, 0, 0), BED)
    assert lying.fits
    assert lying.height == pytest.approx(10.0)
    assert lying.spare == pytest.approx(220.0 * np.sqrt(2.0) / 270.0, rel=1e-12)


def test_piece_that_fits_square_is_not_turned():
    fit = bed_fit(box(100, 50, 20), UP, BED)
    assert fit.yaw == 0.0
    assert fit.shift == pytest.approx((60.0, 85.0))
    assert fit.spare == pytest.approx(220.0 / 100.0, rel=1e-12)


def test_piece_is_turned_to_lie_along_an_oblong_bed():
    fit = bed_fit(box(100, 290, 20), UP, BEDS["oblong"])
    assert fit.fits
    assert fit.yaw == 90.0
    assert_lies_on(box(100, 290, 20), fit, BEDS["oblong"])


def test_margin_is_kept_free_on_every_side():
    with_brim = Bed.rectangle(220.0, 220.0, 250.0, margin=8.0)
    fit = bed_fit(box(204, 204, 10), UP, with_brim)
    assert fit.fits
    assert fit.shift == pytest.approx((8.0, 8.0))
    assert not bed_fit(box(204.001, 204, 10), UP, with_brim).fits
    assert not bed_fit(box(204.001, 204.001, 10), UP, with_brim).fits


def random_polygon(values):
    return np.array(values).reshape(-1, 2)


coordinates = st.lists(st.floats(-100.0, 100.0).map(lambda x: round(x, 3)), min_size=6, max_size=40)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(coordinates, st.floats(40.0, 300.0), st.floats(40.0, 300.0))
def test_rectangle_fit_is_never_beaten_by_trying_every_twentieth_degree(values, width, depth):
    points = random_polygon(values[: len(values) // 2 * 2])
    hull = shapely.MultiPoint(points).convex_hull
    fit = rectangle_fit(convex_outline(points), width, depth)
    if hull.length == 0.0:
        assert fit.spare == np.inf
        return
    angles = np.radians(np.arange(0.0, 180.0, 0.05))
    corners = shapely.get_coordinates(hull)
    along = np.ptp(corners @ np.stack([np.cos(angles), -np.sin(angles)]), axis=0)
    across = np.ptp(corners @ np.stack([np.sin(angles), np.cos(angles)]), axis=0)
    brute = float((1.0 / np.maximum(along / width, across / depth)).max())
    assert fit.spare >= brute * (1.0 - 1e-12)
    # A side changes by no more than the diameter times the turn, so the grid is this near.
    diameter = 2.0 * shapely.minimum_bounding_radius(hull)
    slack = diameter * np.radians(0.025) / min(width, depth)
    assert 1.0 / fit.spare >= 1.0 / brute - slack
    # The yaw reported gives the spare reported, by shapely's own rotation.
    low_x, low_y, high_x, high_y = shapely.affinity.rotate(hull, fit.yaw, origin=(0, 0)).bounds
    reached = max((high_x - low_x) / width, (high_y - low_y) / depth)
    assert reached == pytest.approx(1.0 / fit.spare, rel=1e-9)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(coordinates)
def test_square_yaw_gives_the_smallest_bounding_rectangle_of_shapely(values):
    points = random_polygon(values[: len(values) // 2 * 2])
    hull = shapely.MultiPoint(points).convex_hull
    if hull.area < 1.0:
        return
    outline = convex_outline(points)
    width, depth = sizes(outline, rectangle_fit(outline, 100.0, 60.0).square)
    least = shapely.oriented_envelope(hull).area
    assert width * depth <= least * (1.0 + 1e-9)


# -- circles --------------------------------------------------------------------------------
def test_square_on_a_round_bed_needs_its_diagonal():
    side = 200.0 / np.sqrt(2.0)
    bed = Bed.circle(200.0, 100.0)
    fit = bed_fit(box(side, side, 10), UP, bed)
    assert fit.fits
    assert fit.spare == pytest.approx(1.0, abs=1e-12)
    assert fit.yaw == 0.0
    assert_lies_on(box(side, side, 10), fit, bed)
    larger = bed_fit(box(side + 0.1, side + 0.1, 10), UP, bed)
    assert not larger.fits
    assert larger.over == pytest.approx(0.1 * np.sqrt(2.0), rel=1e-9)
    assert not bed_fit(box(side, side, 10), UP, Bed.circle(200.0, 100.0, margin=0.01)).fits


def test_circle_round_an_equilateral_and_an_obtuse_triangle():
    # Circumradius of an equilateral triangle: a / sqrt 3; an obtuse one: half its longest side.
    triangle = np.array([(0.0, 0.0), (30.0, 0.0), (15.0, 15.0 * np.sqrt(3.0))])
    centre, radius = enclosing_circle(triangle)
    assert radius == pytest.approx(30.0 / np.sqrt(3.0), rel=1e-14)
    assert centre == pytest.approx(triangle.mean(axis=0), abs=1e-12)
    centre, radius = enclosing_circle(np.array([(0.0, 0.0), (40.0, 0.0), (10.0, 5.0)]))
    assert radius == pytest.approx(20.0, rel=1e-14)
    assert centre == pytest.approx((20.0, 0.0), abs=1e-12)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(coordinates)
def test_enclosing_circle_agrees_with_geos(values):
    points = random_polygon(values[: len(values) // 2 * 2])
    centre, radius = enclosing_circle(convex_outline(points))
    assert radius == pytest.approx(
        shapely.minimum_bounding_radius(shapely.MultiPoint(points)), rel=1e-9, abs=1e-9
    )
    assert np.hypot(*(points - centre).T).max() <= radius + 1e-9


@pytest.mark.parametrize("seed", range(8))
def test_enclosing_circle_agrees_with_minimising_the_largest_distance(seed):
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(20, 2)) * (50.0, 20.0)
    _, radius = enclosing_circle(convex_outline(points))

    def farthest(at):
        return float(np.hypot(*(points - at).T).max())

    found = minimize(
        farthest,
        points.mean(axis=0),
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 4000},
    )
    assert radius <= found.fun + 1e-9
    assert radius == pytest.approx(found.fun, rel=1e-5)


# -- what holds on every bed -------------------------------------------------------------------
@pytest.mark.parametrize("name", BEDS)
def test_spare_is_the_largest_scale_that_fits(name):
    bed = BEDS[name]
    rng = np.random.default_rng(11)
    for up in ((0, 0, 1), (1, 2, 2)):
        points = rng.normal(size=(25, 3)) * (30.0, 20.0, 10.0)
        spare = bed_fit(points, up, bed).spare
        scaled = bed_fit(points * spare * (1 - 1e-12), up, bed)
        assert scaled.fits
        assert_lies_on(points * spare, scaled, bed)
        assert not bed_fit(points * (spare + 1e-6), up, bed).fits


@pytest.mark.parametrize("name", BEDS)
def test_some_of_the_points_of_a_fitting_piece_fit_too(name):
    bed = BEDS[name]
    rng = np.random.default_rng(3)
    points = rng.normal(size=(30, 3)) * (30.0, 15.0, 10.0)
    points *= bed_fit(points, UP, bed).spare * 0.999999
    assert bed_fit(points, UP, bed).fits
    for count in (12, 3, 2, 1):
        assert bed_fit(points[:count], UP, bed).fits


@pytest.mark.parametrize("name", BEDS)
def test_best_fit_has_most_to_spare(name):
    bed = BEDS[name]
    rng = np.random.default_rng(8)
    points = rng.normal(size=(60, 3)) * (60.0, 25.0, 10.0)
    directions = rng.normal(size=(5, 3))
    every = bed_fits(points, directions, bed)
    assert len(every) == 5
    best = best_fit(points, directions, bed)
    assert best.spare == pytest.approx(max(fit.spare for fit in every), rel=1e-9)


def test_of_equal_directions_the_first_is_best():
    assert best_fit(box(20, 20, 20), [(0, 0, -1), (0, 0, 1), (1, 0, 0)], BED).up == (0, 0, -1)


@pytest.mark.parametrize("bed", [BED, BEDS["round"], L_BED], ids=["square", "round", "L"])
def test_flat_and_thin_pieces_are_measured(bed):
    for points in ([(1, 2, 3)], [(0, 0, 0), (50, 0, 0)], [(0, 0, 0), (30, 40, 0), (60, 80, 0)]):
        fit = bed_fit(points, UP, bed)
        assert fit.fits
        assert fit.height == 0.0
    line = bed_fit([(0, 0, 0), (180, 240, 0)], UP, BED)
    # A line on a square bed: its diagonal.
    assert line.spare == pytest.approx(220.0 * np.sqrt(2.0) / 300.0, rel=1e-12)


def test_too_large_a_piece_is_a_fault_that_says_by_how_much():
    points = box(230, 230, 10)
    fit = bed_fit(points, UP, BED)
    (finding,) = fit_findings(fit, "2.1", points, BED)
    assert finding.kind == "piece.bed_fit"
    assert "10.0 mm too large" in finding.message
    assert finding.measured == pytest.approx(220.0 / 230.0)
    assert finding.allowed == 1.0
    assert len(finding.where) == 8
    assert fit_findings(bed_fit(box(10, 10, 10), UP, BED), "1", box(10, 10, 10), BED) == ()


def test_a_solid_is_taken_as_well_as_its_points():
    solid = Solid.box((30, 40, 50))
    fit = bed_fit(solid, UP, BED)
    assert fit == bed_fit(solid.vertices, UP, BED)
    np.testing.assert_array_equal(fit.pose(solid), fit.pose(solid.vertices))
    placed = solid.transformed(fit.pose(solid))
    np.testing.assert_allclose(placed.bounds.mean(axis=0), (110.0, 110.0, 25.0), atol=1e-9)


@pytest.mark.parametrize("points", [np.empty((0, 3)), [(1.0, 2.0)], [(np.nan, 0.0, 0.0)]])
def test_points_that_are_no_piece_are_refused(points):
    with pytest.raises(ValueError, match="point"):
        bed_fit(points, UP, BED)


def test_best_fit_needs_a_direction():
    with pytest.raises(ValueError, match="direction"):
        best_fit(box(1, 1, 1), np.empty((0, 3)), BED)
