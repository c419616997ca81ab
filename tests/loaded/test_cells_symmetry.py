"""Parts alike left and right, held and loaded so, do the same on both sides."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.loaded.cells_check import check_by_cells, check_uncut
from splitplanner.loaded.cells_loads import LoadedParts
from splitplanner.loaded.cells_spots import along_lines, outline_of, touched
from splitplanner.loaded.cells_stretches import ties_along
from splitplanner.plan import (
    Loading,
    PointLoad,
    Register,
    SpreadLoad,
    Tape,
    WeightLoad,
    between_clamps,
    cantilever,
    over_two_supports,
)
from splitplanner.solid import Plane
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import (
    Assembly,
    elimination_order,
    embedded,
    held_as_whole,
    held_matrix,
    seam_points,
    sprung,
)
from splitplanner.strength.cells.factors import symmetric_factors
from splitplanner.strength.seam_ground import stretches_along
from tests.loaded.celled import (
    ALONG,
    LENGTH,
    LOAD,
    PLASTIC,
    SHELF,
    STRAIGHT,
    WIDTH,
    channel,
    gutter,
    planned,
    unlike,
)

SIZE = 12.0
DOWN = tuple(LOAD.tolist())
LEANING = (0.97, 0.0, 0.2)
"""Across a part that is alike left and right."""
LYING = over_two_supports(10.0, 150.0, PointLoad(60.0, DOWN))


# -- whole parts ----------------------------------------------------------------------------
@pytest.mark.parametrize(
    "case",
    [
        cantilever(0.0, PointLoad(LENGTH, (-20.0, 0.0, 0.0))),
        cantilever(0.0, PointLoad(140.0, (-7.0, 0.0, -20.0))),
        cantilever(0.0, PointLoad(LENGTH, moment=(0.0, 500.0, 0.0))),
        between_clamps(5.0, 155.0, WeightLoad(DOWN)),
        LYING,
        over_two_supports(10.0, 150.0, SpreadLoad(40.0, 120.0, DOWN)),
    ],
    ids=["pushed", "leaning", "couple", "weight", "lying", "spread"],
)
def test_an_uncut_part_moves_alike_left_and_right(case):
    division, plan = planned(channel(85.0))
    assert unlike(check_uncut(division, plan, Loading(ALONG, case), size=SIZE)) < 1e-3


def test_so_does_one_that_is_round():
    division, plan = planned(gutter())
    assert unlike(check_uncut(division, plan, Loading(ALONG, LYING), size=SIZE)) < 1e-3


@pytest.mark.parametrize(
    ("part", "planes"),
    [
        (channel(85.0), [STRAIGHT]),
        (channel(40.0, 85.0, 125.0), [Plane(ALONG, x) for x in (40.0, 85.0, 125.0)]),
        (channel(50.0, 110.0), [Plane(LEANING, 0.97 * 50 + 2), Plane(LEANING, 0.97 * 110 + 2)]),
        (gutter(), [Plane(LEANING, 0.97 * 85 + 5)]),
    ],
    ids=["cut", "four pieces", "leaning", "round"],
)
def test_a_cut_part_on_two_supports_does_the_same_left_and_right(part, planes):
    division, plan = planned(part, *planes)
    loading = Loading(ALONG, LYING)
    check = check_by_cells(division, division.pieces, plan, SHELF, loading, size=SIZE)
    assert len(check.pieces) == len(planes) + 1
    assert unlike(check) < 1e-3
    for seam in check.seams:
        most = seam.screws.max()
        assert most > 1.0
        assert seam.screws[0::2] == pytest.approx(seam.screws[1::2], abs=1e-3 * most)


@pytest.mark.parametrize("push", [DOWN, tuple((-LOAD).tolist())], ids=["pressed", "lifted"])
def test_tape_and_register_hold_alike_left_and_right(push):
    division, plan = planned(channel(85.0), STRAIGHT)
    (own,) = plan.joints
    tape, register = Tape("glass", 163.0, 2, 0.5, 30.0, 90.0), Register("tongue", 1.5, 1.2, 0.1)
    plan = replace(plan, joints=(replace(own, pins=(), tape=tape, register=register),))
    loading = Loading(ALONG, cantilever(0.0, PointLoad(LENGTH, push)))
    check = check_by_cells(division, division.pieces, plan, SHELF, loading, held="taped", size=SIZE)
    assert unlike(check) < 1e-3
    (seam,) = check.seams
    assert seam.screws[0::2] == pytest.approx(seam.screws[1::2], abs=5e-3 * seam.screws.max())


@pytest.mark.parametrize("start", [0, 1, 3])
@pytest.mark.parametrize("width", [40.0, 43.0, 57.0])
def test_ties_of_a_tape_are_alike_on_both_sides_wherever_it_begins(width, start):
    outline = shapely.box(-width / 2, -11.0, width / 2, 13.0).union(shapely.box(-6, 0, 6, 31.0))
    corners = shapely.get_coordinates(outline)[:-1]
    line = shapely.LinearRing(np.roll(corners, -start, axis=0))
    # One that begins in the middle of a side is parted there all the same.
    places, tangents, lengths = stretches_along(line)
    ties = ties_along(np.roll(places, 3, axis=0), np.roll(tangents, 3, axis=0))
    lengths, places = np.roll(lengths, 3), np.roll(places, 3, axis=0)
    assert sorted(np.concatenate(ties).tolist()) == list(range(len(places)))
    middles = np.array([places[tie].mean(axis=0) for tie in ties])
    sizes = np.array([lengths[tie].sum() for tie in ties])
    assert sizes.max() < 12.5
    apart = np.linalg.norm(middles[:, None] - (middles * (-1.0, 1.0))[None], axis=2)
    assert apart.min(axis=0).max() < 1e-9
    assert sizes[apart.argmin(axis=0)] == pytest.approx(sizes)


# -- clamps ---------------------------------------------------------------------------------
@pytest.mark.parametrize("axis", [(1.0, 0.0, 0.0), (0.8, 0.6, 0.0), (0.0, 0.0, 1.0)])
def test_a_band_has_what_of_the_surface_lies_in_it(axis):
    # By what the solid has of it once it is cut there, less the cuts themselves.
    solid = gutter()
    model = embedded(solid, LayeredStiffness.of(PLASTIC), size=SIZE)
    low, high = 17.3, 29.1
    patch = model.band(axis, low, high)
    heights = patch.points @ axis
    assert low < heights.min() < low + 0.2
    assert high - 0.2 < heights.max() < high
    below = solid.split(Plane(axis, high))[0]
    between = below.split(Plane(axis, low))[1]
    flat = np.abs(between.face_normals @ axis) > 1.0 - 1e-9
    at = between.face_centroids @ axis
    cut = flat & ((np.abs(at - low) < 1e-6) | (np.abs(at - high) < 1e-6))
    areas = between.face_areas
    assert patch.area == pytest.approx(areas[~cut].sum(), rel=1e-6)
    middle = areas[~cut] @ between.face_centroids[~cut] / areas[~cut].sum()
    assert patch.middle == pytest.approx(middle, abs=1e-5)


# -- supports -------------------------------------------------------------------------------
def test_a_support_touches_what_is_near_its_lowest_point():
    section = channel().section(Plane(ALONG, 60.0))
    outline = outline_of(section)
    (spot,) = along_lines([outline], [3])
    assert spot.piece == 3
    assert spot.weights.sum() == pytest.approx(section.shape.length)
    up = np.array((0.0, 0.0, 1.0))
    # The floor, its inside, and 5 mm of the walls outside and 2 inside.
    (spot,) = along_lines(touched([outline], up), [3])
    assert spot.weights.sum() == pytest.approx(WIDTH + WIDTH - 6.0 + 2 * (5.0 + 2.0))
    assert spot.points[:, 2].max() < 5.0
    # ∫ y² over them in closed form.
    second = 60.0**3 / 12 + 54.0**3 / 12 + 2 * (5.0 * 30.0**2 + 2.0 * 27.0**2)
    assert spot.weights @ spot.points[:, 1] ** 2 == pytest.approx(second)
    # Pushed from above it is the rims of both walls.
    (spot,) = along_lines(touched([outline], -up), [3])
    assert spot.weights.sum() == pytest.approx(2 * (3.0 + 5.0 + 5.0))


def test_what_is_held_as_a_whole_moves_as_if_its_springs_were_in_the_factors():
    model = embedded(channel(85.0), LayeredStiffness.of(PLASTIC), size=20.0)
    parts = LoadedParts(Assembly((model,), ()), Loading(ALONG, LYING))
    held, forces = parts.held(), parts.forces()
    matrix = held_matrix(model, [hold for _, hold in held.holds])
    given = held.gaps, held.springs, held.aids, model.modulus
    found = held_as_whole(matrix, forces, *given)
    # In whichever order it is worked out.
    order = elimination_order(model.grid.lattice, np.unique(held.aids.indices))
    dissected = held_as_whole(matrix, forces, *given, order)
    assert dissected == pytest.approx(found, abs=1e-7 * np.abs(found).max())
    whole = sprung(matrix, held.gaps, held.springs)
    expected = symmetric_factors(whole, "MMD_AT_PLUS_A").solve(forces)
    assert found == pytest.approx(expected, abs=1e-6 * np.abs(expected).max())


# -- contact --------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "shape",
    [
        shapely.Point(0, 0).buffer(40.0).difference(shapely.Point(0, 0).buffer(36.0)),
        shapely.box(-18, -18, 18, 18),
        shapely.box(-50, -30, 50, 30).difference(shapely.box(-47, -27, 47, 27)),
    ],
    ids=["ring", "square", "frame"],
)
def test_points_of_a_contact_are_alike_on_both_sides(shape):
    at = seam_points(Plane((0.0, 0.0, 1.0), 0.0), [shape])
    flat = at.points[:, :2]
    for way in ((-1.0, 1.0), (1.0, -1.0)):
        apart = np.linalg.norm(flat[:, None] - (flat * way)[None], axis=2)
        assert apart.min(axis=0).max() < 1e-6
        assert at.areas[apart.argmin(axis=0)] == pytest.approx(at.areas, rel=1e-6)
