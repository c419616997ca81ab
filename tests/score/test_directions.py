"""Candidate print directions against shapes whose faces and axes are known."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.score.directions import print_directions
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

BED = Bed.rectangle(220.0, 220.0, 250.0)
SIX = [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)]


def turned(solid, rotation):
    return solid.transformed(np.hstack([rotation.as_matrix(), np.zeros((3, 1))]))


def nearest(directions, wanted):
    """Angle from `wanted` to the nearest of `directions`, degrees (exact for small angles too)."""
    wanted = np.asarray(wanted, float) / np.linalg.norm(wanted)
    crosses = np.linalg.norm(np.cross(directions, wanted), axis=1)
    return float(np.degrees(np.arctan2(crosses, directions @ wanted)).min())


def tetrahedron():
    # Corner of a cube: three faces of area 1/2 · 30², the slanted one sqrt(3) times as large.
    corners = 30.0 * np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
    return Solid.from_arrays(corners, [(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)])


def test_box_has_its_six_faces_largest_first():
    directions = print_directions(Solid.box((30, 20, 10)))
    assert len(directions) == 6
    # Areas 600, 300 and 200 mm²: it lies on a z face, then on a y face, then on an x face.
    np.testing.assert_allclose(
        np.abs(directions), np.eye(3)[[2, 2, 1, 1, 0, 0]], rtol=0, atol=1e-12
    )


def test_piece_can_lie_on_the_slanted_face_of_its_hull():
    directions = print_directions(tetrahedron())
    # Up is away from the face: -(1, 1, 1) / sqrt 3, and that face is the largest.
    np.testing.assert_allclose(directions[0], -np.ones(3) / np.sqrt(3.0), rtol=0, atol=1e-12)
    for wanted in SIX:
        assert nearest(directions, wanted) < 1e-6


def test_notch_does_not_hide_the_face_of_the_hull():
    notched = Solid.box((40, 40, 40)).difference(Solid.box((20, 60, 20), (10, -10, 30)))
    assert nearest(print_directions(notched), (0, 0, -1)) < 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_tilted_box_gets_directions_in_which_it_lies_flat(seed):
    rotation = Rotation.random(random_state=seed)
    directions = print_directions(turned(Solid.box((90, 60, 20)), rotation))
    for axis in SIX:
        assert nearest(directions, rotation.apply(axis)) < 1e-6
        assert nearest(directions, axis) < 1.0


def test_extra_directions_come_in_both_senses():
    directions = print_directions(Solid.box((30, 20, 10)), [(1.0, 2.0, 5.0)])
    assert nearest(directions, (1, 2, 5)) < 1e-9
    assert nearest(directions, (-1, -2, -5)) < 1e-9
    assert len(directions) == 8


def test_directions_are_unit_vectors_apart_by_a_degree_and_limited():
    ball = Solid.cylinder((0, 0, 0), (3, 4, 12), 10.0, sides=90)
    for most in (1, 7, 40):
        directions = print_directions(ball, [(1, 1, 0)], most)
        assert 1 <= len(directions) <= most
        np.testing.assert_allclose(np.linalg.norm(directions, axis=1), 1.0, rtol=0, atol=1e-12)
        cosines = directions @ directions.T - 2.0 * np.eye(len(directions))
        assert cosines.max() <= np.cos(np.radians(1.0))
        assert not directions.flags.writeable
    # The ends of the bar and the bar's axis are the same direction.
    assert nearest(print_directions(ball), (3, 4, 12)) < 1e-6
    assert nearest(print_directions(ball), (-3, -4, -12)) < 1e-6


def test_directions_do_not_depend_on_the_order_of_the_faces():
    solid = tetrahedron()
    shuffled = Solid.from_arrays(solid.vertices, np.roll(solid.faces[::-1], 1, axis=1))
    np.testing.assert_allclose(
        print_directions(solid), print_directions(shuffled), rtol=0, atol=1e-12
    )


@pytest.mark.parametrize("most", [0, -3])
def test_no_direction_at_all_is_refused(most):
    with pytest.raises(ValueError, match="at least one"):
        print_directions(Solid.box((1, 1, 1)), most=most)
