"""Planes and frames."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from splitplanner.solid import Plane, frame_of

quick = settings(max_examples=100, deadline=None, derandomize=True, database=None)
directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 1e-3)
offsets = st.floats(-1e3, 1e3)
points = st.lists(st.tuples(*[st.floats(-1e3, 1e3)] * 3), min_size=1, max_size=5).map(np.array)


@quick
@given(directions)
def test_a_frame_is_right_handed_orthonormal_and_stands_the_direction_upright(direction):
    frame = frame_of(direction)
    np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-14)
    assert np.linalg.det(frame) == pytest.approx(1.0, abs=1e-13)
    length = np.linalg.norm(direction)
    np.testing.assert_allclose(frame @ direction, (0, 0, length), atol=1e-13 * length)
    np.testing.assert_array_equal(frame, frame_of(direction))


def test_the_frame_of_z_is_the_identity():
    np.testing.assert_array_equal(frame_of((0, 0, 7)), np.eye(3))


@quick
@given(directions, offsets, points)
def test_plane_coordinates_and_height_give_the_point_back(direction, offset, places):
    plane = Plane(direction, offset)
    flat = plane.to_plane(places)
    height = plane.height(places)
    back = plane.to_space(flat) + height[:, None] * np.array(plane.normal)
    np.testing.assert_allclose(back, places, atol=1e-9)
    np.testing.assert_allclose(plane.height(plane.to_space(flat)), 0, atol=1e-9)
    np.testing.assert_allclose(plane.to_plane(plane.to_space(flat)), flat, atol=1e-9)


@quick
@given(directions, offsets, st.floats(-100, 100), points)
def test_flipping_and_shifting(direction, offset, distance, places):
    plane = Plane(direction, offset)
    np.testing.assert_allclose(plane.flipped().height(places), -plane.height(places), atol=1e-9)
    assert plane.flipped().flipped() == plane
    moved = plane.shifted(distance)
    np.testing.assert_allclose(moved.height(places), plane.height(places) - distance, atol=1e-9)


@quick
@given(directions, points)
def test_a_plane_through_a_point_has_it_at_height_zero(direction, places):
    assert Plane.through(places[0], direction).height(places[:1])[0] == pytest.approx(0, abs=1e-9)


@quick
@given(directions, offsets)
def test_a_plane_made_of_a_planes_own_numbers_is_the_same_to_the_bit(direction, offset):
    plane = Plane(direction, offset)
    assert Plane(plane.normal, plane.offset) == plane
    assert np.linalg.norm(plane.normal) == pytest.approx(1.0, abs=1e-15)


def test_the_origin_is_the_nearest_point():
    # A plane through (0, 0, 5) at 45°: its distance from the origin is 5/√2.
    plane = Plane.through((0, 0, 5), (1, 0, 1))
    assert plane.offset == pytest.approx(5 / 2**0.5)
    np.testing.assert_allclose(plane.origin, (2.5, 0, 2.5))


@pytest.mark.parametrize("normal", [(0, 0, 0), (np.nan, 0, 1), (np.inf, 0, 0), (1, 0)])
def test_a_normal_that_is_no_direction_is_refused(normal):
    with pytest.raises(ValueError, match="a direction needs"):
        Plane(normal, 0.0)


@pytest.mark.parametrize("offset", [np.nan, np.inf])
def test_an_offset_that_is_no_number_is_refused(offset):
    with pytest.raises(ValueError, match="finite offset"):
        Plane((0, 0, 1), offset)
