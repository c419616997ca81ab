"""Whether a piece fits somehow, against the full fit, closed forms, shapely and brute force."""

import numpy as np
import pytest
import shapely
from scipy.spatial.transform import Rotation

from splitplanner.score import best_fit, fits_any, may_fit, yaw_search
from splitplanner.score.any_fit import _needs, _widths
from splitplanner.score.outline_fit import fits_at, free_area, free_rectangles
from splitplanner.score.plan_fit import convex_outline
from splitplanner.score.turning import shared_by_turns
from splitplanner.score.yaw_window import fits_at_some_yaw
from splitplanner.solid import frame_of
from splitplanner.workshop import Bed
from tests.score.beds import BED, BEDS, L_BED, UP, box, free_polygon, prism

X, Y, Z = np.eye(3)


def plate(side, other):
    return convex_outline([(0, 0), (side, 0), (side, other), (0, other)])


@pytest.mark.parametrize("name", BEDS)
def test_the_answer_is_that_of_the_full_fit(name):
    rng = np.random.default_rng(7)
    answers = set()
    for _ in range(6 if name == "round with clip" else 12):
        points = rng.normal(size=(12, 3)) * rng.uniform(20, 95, 3)
        ups = Rotation.random(3, random_state=rng).as_matrix()[:, 2]
        answer = fits_any(points, ups, BEDS[name])
        assert answer == best_fit(points, ups, BEDS[name]).fits
        answers.add(answer)
    assert answers == {True, False}


@pytest.mark.parametrize("name", BEDS)
def test_what_fits_may_fit(name):
    rng = np.random.default_rng(8)
    told = 0
    for _ in range(6):
        points = rng.normal(size=(12, 3)) * rng.uniform(20, 95, 3)
        ups = Rotation.random(4, random_state=rng).as_matrix()[:, 2]
        possible = may_fit(points, ups, BEDS[name])
        fitting = [fits_any(points, [up], BEDS[name]) for up in ups]
        assert not (fitting & ~possible).any()
        told += int((~possible).sum())
    # Most of what is too large is seen to be.
    assert told > 3
    assert may_fit(points, np.empty((0, 3)), BEDS[name]).shape == (0,)


@pytest.mark.parametrize(("side", "fits"), [(220.0, True), (220.001, False)])
def test_a_cube_as_wide_as_the_bed(side, fits):
    assert fits_any(box(side, side, side), np.eye(3), BED) is fits


def test_the_right_direction_is_found_among_many():
    # 20 x 230 x 240 stands on its narrow end along the plan diagonal: (20 + 230) / sqrt 2 = 177.
    points = box(20, 230, 240)
    assert fits_any(points, [X, Y, Z], BED)
    assert not fits_any(points, [(1.0, 1.0, 1.0), (0.0, 1.0, 1.0)], Bed.rectangle(220, 220, 100))


def test_no_direction_is_no_fit():
    assert fits_any(box(1, 1, 1), np.empty((0, 3)), BED) is False
    with pytest.raises(ValueError, match="length"):
        fits_any(box(1, 1, 1), [(0.0, 0.0, 0.0)], BED)


def test_upside_down_counts_where_the_bed_is_not_its_own_mirror_image():
    # The bed is the piece's plan view; the mirror image of a scalene triangle does not fit it.
    corners = ((0.0, 0.0), (200.0, 0.0), (60.0, 150.0))
    bed = Bed.of_outline(corners, 100.0)
    points = prism(corners)
    assert fits_any(points, [UP], bed)
    assert not fits_any(points, [(0, 0, -1)], bed)
    assert fits_any(points, [(0, 0, -1), UP], bed)


def test_the_largest_square_on_an_l_shaped_bed():
    # Legs 100 mm wide. At 45° the square's two lower corners touch the outer sides and its far side
    # goes through the inner corner, 141.42 mm from the outer one: s / 2 + s = 141.42, s = 94.3 mm.
    # Square to the sides it is 100 mm.
    for side, fits in ((99.999, True), (100.0, True), (100.01, False)):
        assert fits_at_some_yaw(free_area(L_BED), plate(side, side)) is fits


def test_the_largest_plate_along_a_leg_of_an_l_shaped_bed():
    # Legs 100 mm wide and 150 long: only the middle, 50 mm square, is wider than a leg.
    legs = ((0, 0), (150, 0), (150, 100), (100, 100), (100, 150), (0, 150))
    free = free_area(Bed.of_outline(legs, 9.0))
    assert fits_at_some_yaw(free, plate(150.0, 100.0))
    assert not fits_at_some_yaw(free, plate(150.0, 100.1))
    assert not fits_at_some_yaw(free, plate(150.1, 100.0))


@pytest.mark.parametrize("half", [0.5, 3.0, 6.0])
def test_what_turns_share_lies_in_every_turn(half):
    rng = np.random.default_rng(3)
    for plan in (plate(200, 30), plate(80, 80), convex_outline(rng.normal(size=(20, 2)) * 40)):
        plan = plan - plan.mean(axis=0)
        shared = shapely.Polygon(shared_by_turns(plan, half))
        assert shared.is_valid
        assert shared.area > 0
        least = shapely.Polygon(plan)
        for angle in np.linspace(-half, half, 81):
            turn = shapely.affinity.rotate(shapely.Polygon(plan), angle, origin=(0, 0))
            assert shared.difference(turn).area < 1e-9 * shared.area
            least = least.intersection(turn)
        # Nearly all that they have in common: the chords lie d (1 - cos half) inside the arcs.
        assert shared.area > 0.98 * least.area


def test_free_rectangles_of_an_l_shaped_bed():
    found = {(*low, *high) for low, high in free_rectangles(free_area(L_BED))}
    assert found == {(0, 0, 300, 100), (0, 0, 100, 300)}


@pytest.mark.parametrize("name", BEDS)
def test_free_rectangles_are_free(name):
    rectangles = free_rectangles(free_area(BEDS[name]))
    for low, high in rectangles:
        assert shapely.box(*low, *high).difference(free_polygon(BEDS[name])).area < 1.0
    if name != "round":
        assert rectangles


def test_directions_ruled_out_at_once_fit_at_no_yaw():
    # Widths over yaws 0.02° apart are the brute force.
    rng = np.random.default_rng(5)
    yaws = np.radians(np.arange(0.0, 180.0, 0.02))
    spokes = np.stack([np.cos(yaws), np.sin(yaws)])
    ruled_out = 0
    for _ in range(60):
        points = rng.normal(size=(10, 3)) * rng.uniform(10, 120, 3)
        frame = frame_of(rng.normal(size=3))
        spans = np.ptp(points @ frame[:2].T @ spokes, axis=0)
        fits = np.maximum(spans / 220.0, np.roll(spans, len(yaws) // 2) / 220.0).min() <= 1.0
        if _needs(_widths(points, frame[None]), BED)[0] > 1.0:
            assert not fits
            ruled_out += 1
    assert ruled_out > 10


def test_the_search_for_the_largest_scale_ends_at_a_scale_that_is_enough(monkeypatch):
    tests = []
    monkeypatch.setattr(
        yaw_search, "fits_at", lambda *given: tests.append(given) or fits_at(*given)
    )
    # The plate fits lying square at 1.5 times its size, and 1.25 is enough: nothing is left to try.
    scale, _ = yaw_search.largest_scale(free_area(L_BED), plate(150, 60), 1.25)
    assert scale == pytest.approx(1.25)
    assert len(tests) < 40
