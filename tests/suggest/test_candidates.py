"""Directions and places for cuts against trimesh's boxes, numpy and closed forms."""

import numpy as np
import pytest
import trimesh

from splitplanner.solid import Plane, Solid
from splitplanner.suggest import cut_directions
from splitplanner.suggest.candidates import large_face_normals, profile_along
from tests.catalogue import solid_of, turned

X, Y, Z = np.eye(3)


def assert_same_axes(found, wanted):
    """Each of the `wanted` (k, 3) is one of `found`, either way round."""
    np.testing.assert_allclose(np.abs(found @ np.transpose(wanted)).max(axis=0), 1, atol=1e-9)


# -- directions ---------------------------------------------------------------------------------
PARTS = {
    "box": lambda: Solid.box((430, 200, 240)),
    "turned box": lambda: turned(Solid.box((430, 200, 240)), 1)[0],
    "prism": lambda: solid_of(trimesh.creation.cylinder(90.0, 240.0, sections=7)),
    "cone": lambda: turned(solid_of(trimesh.creation.cone(100.0, 300.0, sections=32)), 3)[0],
    "ball": lambda: solid_of(trimesh.creation.icosphere(2, 50.0)),
}


@pytest.mark.parametrize("name", PARTS)
def test_directions_are_distinct_unit_vectors_and_always_the_same(name):
    found = cut_directions(PARTS[name]())
    assert 3 <= len(found) <= 9
    np.testing.assert_allclose(np.linalg.norm(found, axis=1), 1)
    cosines = np.abs(found @ found.T)[np.triu_indices(len(found), 1)]
    assert cosines.max() < np.cos(np.radians(3))
    # Of two opposite directions the one with its largest component positive.
    assert (np.take_along_axis(found, np.abs(found).argmax(axis=1)[:, None], axis=1) > 0).all()
    np.testing.assert_array_equal(found, cut_directions(PARTS[name]()))
    np.testing.assert_array_equal(found[:2], cut_directions(PARTS[name](), most=2))


def test_a_box_is_cut_along_its_own_axes_longest_first():
    np.testing.assert_allclose(cut_directions(Solid.box((200, 430, 240))), [Y, Z, X], atol=1e-9)
    part, turn = turned(Solid.box((200, 430, 240)), 2)
    found = cut_directions(part)
    assert_same_axes(found[:3], turn.T)
    assert abs(found[0] @ turn[:, 1]) == pytest.approx(1)
    # And along the axes of the frame that the part stands askew in.
    assert_same_axes(found, np.eye(3))


def test_directions_hold_the_large_flats():
    # A wedge: its slope of 3 in 4 is a flat that no box and no frame has.
    wedge = trimesh.convex.convex_hull(
        [(x, y, z) for y in (0, 100) for x, z in ((0, 0), (400, 0), (0, 300))]
    )
    assert_same_axes(cut_directions(solid_of(wedge)), [X, Y, Z, (0.6, 0, 0.8)])


def test_large_flats_come_largest_first_and_small_ones_not_at_all():
    # Flats of 430 x 240, 430 x 200 and 240 x 200, two each: 103 200, 86 000 and 48 000 mm².
    found = large_face_normals(Solid.box((430, 200, 240)))
    np.testing.assert_allclose(np.abs(found), [Y, Z, X], atol=1e-9)
    # Ends of 0.25 % of the surface each.
    assert_same_axes(large_face_normals(Solid.box((1000, 10, 10))), [Y, Z])
    assert len(large_face_normals(Solid.box((1000, 10, 10)))) == 2


# -- profiles -----------------------------------------------------------------------------------
def test_profile_of_a_cone():
    # A cone of 256 sides drawn inside the circle: area (n/2) r² sin(2π/n), outline 2 n r sin(π/n),
    # with r falling evenly from 100 mm to nothing over 300 mm.
    cone = solid_of(trimesh.creation.cone(100.0, 300.0, sections=256))
    profile = profile_along(cone, Z, count=30)
    np.testing.assert_allclose(profile.stations, 5 + 10 * np.arange(30))
    r, n = 100 * (1 - profile.stations / 300), 256
    np.testing.assert_allclose(profile.area, n / 2 * r**2 * np.sin(2 * np.pi / n), rtol=1e-6)
    np.testing.assert_allclose(profile.length, 2 * n * r * np.sin(np.pi / n), rtol=1e-6)


def test_profile_of_a_ball_along_a_slanting_line():
    ball = solid_of(trimesh.creation.icosphere(5, 50.0))
    direction = np.array([1.0, 2.0, 2.0]) / 3
    moved = ball.transformed(np.column_stack([np.eye(3), [30, 60, 60]]))
    profile = profile_along(moved, direction, count=20)
    # The middle, (30, 60, 60), is at station 90; a section at distance d has a radius² of 50² - d².
    square = 50**2 - (profile.stations - 90) ** 2
    np.testing.assert_allclose(profile.area, np.pi * square, rtol=4e-3, atol=2)
    np.testing.assert_allclose(profile.length, 2 * np.pi * np.sqrt(square), rtol=4e-3)


def stepped():
    """A bar 300 long: 60 x 40, but 20 x 40 from 100 to 140 and with a bore from 200 to 300."""
    bar = Solid.box((300, 60, 40)).difference(Solid.box((40, 40, 50), (100, 20, -5)))
    return bar.difference(Solid.box((101, 40, 20), (200, 10, 10)))


def test_profile_of_a_bar_with_steps():
    profile = profile_along(stepped(), X, count=60)
    x = profile.stations
    neck, bored = (x > 100) & (x < 140), x > 200
    area = np.where(neck, 20 * 40, np.where(bored, 60 * 40 - 40 * 20, 60 * 40))
    length = np.where(neck, 2 * (20 + 40), np.where(bored, 2 * (60 + 40) + 2 * (40 + 20), 200))
    np.testing.assert_allclose(profile.area, area)
    np.testing.assert_allclose(profile.length, length)


def test_profile_along_a_vector_of_any_length_is_in_millimetres():
    profile = profile_along(stepped(), 5 * X, count=60)
    np.testing.assert_allclose(profile.stations, profile_along(stepped(), X, count=60).stations)
    np.testing.assert_allclose(np.linalg.norm(profile.direction), 1)


# -- natural places -----------------------------------------------------------------------------
def test_natural_places_are_where_the_outline_is_short():
    profile = profile_along(stepped(), X, count=60)
    places = profile.natural_places(10, 290, most=8)
    assert 100 < places[0] < 140
    lengths = [stepped().section(Plane(tuple(X), place)).length for place in places]
    assert lengths == sorted(lengths)
    assert lengths[0] == pytest.approx(120)
    # At 28 mm apart, a tenth of the range, there is room for some on the neck and on the solid bar
    # (200 mm of outline) before the bored end with its 320 mm.
    assert np.diff(np.sort(places)).min() >= 28
    assert all(place < 200 for place in places[:6])


def test_natural_places_keep_to_the_range_and_the_number():
    profile = profile_along(stepped(), X, count=60)
    assert len(profile.natural_places(0, 300, most=3)) == 3
    places = profile.natural_places(150, 290, most=20)
    assert places
    assert all(150 <= place <= 290 for place in places)
    assert profile.natural_places(400, 500, most=3) == []
    assert profile.natural_places(0, 300, most=0) == []


def test_natural_places_are_not_in_gaps():
    # Two blocks 100 mm apart: between them there is nothing to cut.
    part = Solid.box((100, 50, 50)).union(Solid.box((100, 50, 50), (200, 0, 0)))
    places = profile_along(part, X, count=60).natural_places(0, 300, most=10)
    assert places
    assert not any(100 <= place <= 200 for place in places)
