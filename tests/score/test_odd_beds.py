"""Bed fit on outlines of any shape and with blocked areas, against closed forms and shapely."""

import numpy as np
import pytest
import shapely

from splitplanner.score.bed_fit import bed_fit
from splitplanner.score.outline_fit import free_area
from splitplanner.workshop import Bed
from tests.score.beds import (
    BED,
    BEDS,
    CLIPPED_BED,
    L_BED,
    PENTAGON,
    UP,
    assert_lies_on,
    box,
    free_polygon,
    prism,
    turned,
)


# -- outlines and blocked areas ---------------------------------------------------------------
def test_bar_fits_only_in_a_leg_of_an_l_shaped_bed():
    fit = bed_fit(box(280, 90, 50), UP, L_BED)
    assert fit.fits
    # In the leg along x (100 mm wide, 300 long), lying square.
    assert fit.yaw % 90.0 == 0.0
    assert fit.spare == pytest.approx(min(300 / 280, 100 / 90), rel=1e-6)
    assert_lies_on(box(280, 90, 50), fit, L_BED)
    # The bounding square would hold 200 x 200; the L holds a square of 100 in its corner only.
    assert bed_fit(box(100, 100, 50), UP, L_BED).fits
    assert not bed_fit(box(101, 101, 50), UP, L_BED).fits
    assert not bed_fit(box(200, 200, 50), UP, L_BED).fits


def test_piece_as_large_as_a_leg_fits_after_any_yaw():
    for yaw in (0.0, 17.0, 123.4):
        points = turned(box(300, 100, 20), yaw)
        fit = bed_fit(points, UP, L_BED)
        assert fit.fits
        assert fit.spare == pytest.approx(1.0, abs=1e-8)
        assert_lies_on(points, fit, L_BED)


def test_longest_line_on_an_l_shaped_bed_passes_its_inner_corner():
    # From (300, 0) through (100, 100) to (0, 150): sqrt(300² + 150²), longer than the diagonal
    # of a leg, sqrt(300² + 100²), and at no yaw at which anything is parallel.
    longest = np.hypot(300.0, 150.0)
    fit = bed_fit([(0, 0, 0), (100, 0, 0)], UP, L_BED)
    assert fit.spare == pytest.approx(longest / 100.0, rel=1e-6)
    assert not bed_fit([(0, 0, 0), (longest * 1.00001, 0, 0)], UP, L_BED).fits
    just = bed_fit([(0, 0, 0), (longest * 0.99999, 0, 0)], UP, L_BED)
    assert just.fits
    # The L is its own mirror image, so the line may fall by 1 in 2 or by 2 in 1.
    fall = np.degrees(np.arctan(0.5)), np.degrees(np.arctan(2.0))
    assert min(abs(just.yaw % 180.0 - (180.0 - angle)) for angle in fall) < 0.01


def climbed_scale(plan, shape, rng):
    """Largest scale of `plan` in `shape` found by random moves and shapely's own containment."""
    centred = shapely.affinity.translate(plan, -plan.centroid.x, -plan.centroid.y)

    def scale_at(x, y, yaw):
        turned_by = shapely.affinity.rotate(centred, yaw, origin=(0, 0))
        low, high = 0.0, 20.0
        for _ in range(26):
            middle = (low + high) / 2
            placed = shapely.affinity.affine_transform(turned_by, (middle, 0, 0, middle, x, y))
            low, high = (middle, high) if shapely.covers(shape, placed) else (low, middle)
        return low

    shapely.prepare(shape)
    low_x, low_y, high_x, high_y = shape.bounds
    starts = rng.uniform((low_x, low_y, 0.0), (high_x, high_y, 360.0), (120, 3))
    best = max(starts, key=lambda at: scale_at(*at))
    found, reach = scale_at(*best), np.array([30.0, 30.0, 20.0])
    for _ in range(250):
        trial = best + rng.normal(size=3) * reach
        if (scale := scale_at(*trial)) > found:
            best, found = trial, scale
        else:
            reach *= 0.98
    return found


@pytest.mark.parametrize("name", ["L", "clip", "pentagon", "round with clip"])
def test_no_placement_found_by_random_climbing_beats_the_spare(name):
    rng = np.random.default_rng(17)
    shape = free_polygon(BEDS[name])
    for spread in ((30.0, 30.0), (60.0, 8.0)):
        corners = rng.normal(size=(8, 2)) * spread
        found = climbed_scale(shapely.MultiPoint(corners).convex_hull, shape, rng)
        spare = bed_fit(prism(corners, 1.0), UP, BEDS[name]).spare
        assert spare >= found * (1.0 - 1e-6)
        # The climb is a fair one: it comes near.
        assert found >= 0.8 * spare


def test_blocked_corner_limits_a_box_to_what_lies_beside_it():
    assert bed_fit(box(190, 220, 10), UP, CLIPPED_BED).fits
    fit = bed_fit(box(200, 200, 10), UP, CLIPPED_BED)
    assert bed_fit(box(200, 200, 10), UP, BED).fits
    assert not fit.fits
    # Lying square it must be 190 wide: 10 mm to lose; the corners are in the way at other yaws.
    assert fit.spare == pytest.approx(190.0 / 200.0, rel=1e-6)
    assert fit.over == pytest.approx(10.0, rel=1e-5)


def test_blocked_area_in_the_middle_leaves_the_ring_beside_it():
    block = ((90, 90), (110, 90), (110, 110), (90, 110))
    bed = Bed("rectangle", 200.0, 200.0, 100.0, blocked=(block,))
    for size, fits in (((90, 200, 5), True), ((91, 200, 5), False), ((90, 90, 5), True)):
        fit = bed_fit(box(*size), UP, bed)
        assert fit.fits is fits, size
        if fits:
            assert_lies_on(box(*size), fit, bed)


def test_outline_of_a_rectangle_agrees_with_the_rectangle():
    corners = ((0, 0), (220, 0), (220, 180), (0, 180))
    as_outline = Bed.of_outline(corners, 250.0, margin=3.0)
    plain = Bed.rectangle(220.0, 180.0, 250.0, margin=3.0)
    rng = np.random.default_rng(5)
    for _ in range(6):
        plan = rng.normal(size=(9, 2)) * (60.0, 25.0)
        expected = bed_fit(prism(plan), UP, plain)
        measured = bed_fit(prism(plan), UP, as_outline)
        assert measured.spare == pytest.approx(expected.spare, rel=2e-7)
        assert measured.fits == expected.fits


def test_pentagon_fits_a_pentagon_of_its_own_size():
    angles = np.radians(13.0 + 72.0 * np.arange(5))
    plan = 100.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    fit = bed_fit(prism(plan), UP, PENTAGON)
    assert fit.fits
    assert fit.spare == pytest.approx(1.0, abs=1e-7)
    assert not bed_fit(prism(plan * 1.0001), UP, PENTAGON).fits
    # Largest square in a regular pentagon: side 1.0673956817 a with a the pentagon's side
    # (Weisstein, "Regular Pentagon", MathWorld; from memory).
    square = 1.0673956817 * 2.0 * 100.0 * np.sin(np.pi / 5.0)
    found = bed_fit(box(square, square, 10), UP, PENTAGON)
    assert found.spare == pytest.approx(1.0, abs=1e-6)


def test_margin_of_an_outline_keeps_clear_of_the_re_entrant_corner():
    # The legs are 100 wide; less 10 on both sides a bar of 80 is left.
    corners = ((0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300))
    bed = Bed.of_outline(corners, 200.0, margin=10.0)
    assert bed_fit(box(280, 80, 20), UP, bed).fits
    assert not bed_fit(box(280, 80.1, 20), UP, bed).fits


def test_bed_with_nothing_free_fits_nothing():
    everything = ((-1, -1), (101, -1), (101, 101), (-1, 101))
    bed = Bed("rectangle", 100.0, 100.0, 100.0, blocked=(everything,))
    fit = bed_fit(box(10, 10, 10), UP, bed)
    assert not fit.fits
    assert fit.spare == 0.0
    assert fit.over == pytest.approx(10.0)


# -- margin round blocked areas ---------------------------------------------------------------
def test_blocked_areas_grow_by_the_margin():
    # A strip of 20 mm along x = 200..220 on a bed of 220 with a margin of 5 mm: from x = 5 to
    # 200 - 5 there are 190 mm, from y = 5 to 215 there are 210.
    strip = ((200, 0), (220, 0), (220, 220), (200, 220))
    bed = Bed("rectangle", 220.0, 220.0, 250.0, 5.0, blocked=(strip,))
    fit = bed_fit(box(190, 210, 10), UP, bed)
    assert fit.spare == pytest.approx(1.0, abs=1e-6)
    assert_lies_on(box(190, 210, 10), fit, bed)
    assert not bed_fit(box(190.1, 210, 10), UP, bed).fits
    without = Bed("rectangle", 220.0, 220.0, 250.0, 0.0, blocked=(strip,))
    assert bed_fit(box(200, 220, 10), UP, without).fits


@pytest.mark.parametrize("margin", [1.0, 5.0])
@pytest.mark.parametrize(
    "area",
    [
        ((50, 50), (80, 50), (80, 90), (50, 90)),
        ((50, 50), (120, 52), (50, 54)),
        ((50, 50), (90, 50), (90, 60), (60, 60), (60, 90), (50, 90)),
    ],
    ids=["clip", "needle", "L"],
)
def test_nothing_within_the_margin_of_a_blocked_area_is_free(area, margin):
    bed = Bed("rectangle", 220.0, 220.0, 250.0, margin, blocked=(area,))
    shape = free_area(bed).shape
    blocked = shapely.Polygon(area)
    # A circle's worth of chords lies inside the true offset by a ten-thousandth of the margin.
    assert shape.distance(blocked) == pytest.approx(margin, rel=1e-3)
    # A needle's corner is cut off across at twice the margin, no wider than the margin each way:
    # no farther away than sqrt(2² + 1²) = 2.236 times the margin.
    within = shapely.box(margin, margin, 220 - margin, 220 - margin)
    assert shape.buffer(1e-6).covers(within.difference(blocked.buffer(2.24 * margin)))
