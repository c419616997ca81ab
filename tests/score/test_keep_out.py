"""Seams against regions at known distances."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from splitplanner.errors import WishesError
from splitplanner.score.keep_out import (
    TOUCH,
    KeepOutBox,
    KeepOutFaces,
    KeepOutSphere,
    face_mask,
)
from splitplanner.solid import Plane, Solid

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
PART = Solid.box((200, 100, 50))


def section_at(x):
    return PART.section(Plane(X, x))


# -- balls --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("centre", "radius", "depth"),
    [
        # In the plane's own region: as deep as the plane is nearer than the radius.
        ((80, 40, 20), 30, 10),
        ((80, 40, 20), 20, None),
        ((80, 40, 20), 20.01, 0.01),
        ((100, 40, 20), 5, 5),
        # Beside the seam's rim (y = 100): by Pythagoras 20 mm along x and 15 across.
        ((80, 115, 20), 30, 5),
        ((80, 115, 20), 25, None),
        ((80, 115, 20), 24, None),
        # Beyond its corner (100, 50): 3, 4 and 12 mm make 13.
        ((112, 103, 54), 13.5, 0.5),
        ((112, 103, 54), 12.9, None),
    ],
)
def test_a_ball(centre, radius, depth):
    ball = KeepOutSphere(centre, radius)
    found = ball.crossing(section_at(100), PART)
    if depth is None:
        assert found is None
        return
    assert (found.measured, found.unit) == (pytest.approx(depth, abs=1e-9), "mm")
    # The place told is that deepest point of the seam.
    assert np.linalg.norm(found.where[0] - centre) == pytest.approx(radius - depth)
    assert found.where[0, 0] == pytest.approx(100)


def test_a_plane_through_a_ball_whose_seam_is_elsewhere():
    ball = KeepOutSphere((100, 160, 20), 30)
    assert ball.is_met(Plane(X, 90), PART)
    assert ball.crossing(section_at(90), PART) is None
    assert not ball.is_met(Plane(X, 69), PART)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(st.floats(0, 360), st.floats(0, 180)),
    st.tuples(st.floats(-20, 220), st.floats(-20, 120), st.floats(-20, 70)),
    st.floats(1, 60),
)
def test_a_ball_and_its_depth_in_any_plane(angles, centre, radius):
    turn = Rotation.from_euler("zy", angles, degrees=True).as_matrix()
    plane = Plane.through((100, 50, 25), turn[:, 2])
    section = PART.section(plane)
    # Against a fine grid of points of the plane inside the box.
    steps = np.linspace(-120, 120, 161)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    points = (100, 50, 25) + grid @ turn[:, :2].T
    points = points[((points > 0) & (points < (200, 100, 50))).all(axis=1)]
    nearest = np.linalg.norm(points - centre, axis=1).min()
    found = KeepOutSphere(centre, radius).crossing(section, PART)
    depth = 0.0 if found is None else found.measured
    # The grid's nearest point is off by at most the diagonal of a cell of 1.5 mm.
    assert depth >= radius - nearest - TOUCH
    assert depth <= max(0.0, radius - nearest + 1.5 * math.sqrt(2))


# -- boxes --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("low", "high", "area"),
    [
        ((90, 20, 10), (110, 60, 30), 40 * 20),
        # Half beyond the part's side.
        ((90, 80, 10), (110, 140, 30), 20 * 20),
        # The seam lies on a side of the box, or a hair inside.
        ((100, 20, 10), (120, 60, 30), None),
        ((80, 20, 10), (100, 60, 30), None),
        ((99.9, 20, 10), (120, 60, 30), 40 * 20),
        # The box stands on the part, or beside it, or reaches in by a hair.
        ((90, 20, 50), (110, 60, 70), None),
        ((90, 100, 0), (110, 130, 30), None),
        ((90, 20, 49.9), (110, 60, 70), 40 * 0.1),
        # All of the seam.
        ((0, -1, -1), (200, 101, 51), 100 * 50),
    ],
)
def test_a_box(low, high, area):
    found = KeepOutBox(low, high).crossing(section_at(100), PART)
    if area is None:
        assert found is None
        return
    assert (found.measured, found.unit) == (pytest.approx(area), "mm2")
    assert (np.asarray(low) - 1e-9 <= found.where[0]).all()
    assert (found.where[0] <= np.asarray(high) + 1e-9).all()


def test_a_slanting_seam_meets_a_cube_in_a_hexagon():
    # Across its space diagonal a cube of side a is cut in a regular hexagon of side a / sqrt 2.
    cube = KeepOutBox((20, 20, 10), (40, 40, 30))
    section = PART.section(Plane.through((30, 30, 20), (1, 1, 1)))
    found = cube.crossing(section, PART)
    assert found.measured == pytest.approx(3 * math.sqrt(3) / 2 * 20**2 / 2)
    # Past the corner at 60 mm along the diagonal it misses; just before it, a small triangle.
    beyond = Plane((1, 1, 1), 0).normal
    reach = (40 + 40 + 30) / math.sqrt(3)
    assert cube.crossing(PART.section(Plane(beyond, reach + 0.01)), PART) is None
    assert not cube.is_met(Plane(beyond, reach + 0.01), PART)
    # At h before a cube's corner the triangle has sides h sqrt 6: area h² 3 sqrt 3 / 2.
    triangle = cube.crossing(PART.section(Plane(beyond, reach - 1.0)), PART)
    assert triangle.measured == pytest.approx(1.5 * math.sqrt(3))


# -- faces --------------------------------------------------------------------------------------
def faces_of(solid, normal):
    return tuple(int(i) for i in np.flatnonzero(solid.face_normals @ normal > 0.99))


@pytest.mark.parametrize("normal", [(0, 0, 1), (0, -1, 0)])
def test_a_seam_over_painted_faces(normal):
    painted = KeepOutFaces(faces_of(PART, np.array(normal, float)))
    found = painted.crossing(section_at(70), PART)
    # Across the top it is 100 mm long, across a side 50.
    assert (found.measured, found.unit) == (pytest.approx(100 if normal[2] else 50), "mm")
    np.testing.assert_allclose(found.where[:, 0], 70)
    # And it is told on those faces: z = 50, or y = 0.
    np.testing.assert_allclose(found.where @ normal, 50 if normal[2] else 0, atol=1e-9)


def test_a_seam_that_does_not_run_over_the_painted_faces():
    # The ends of the part: the plane never reaches them, and a lengthwise one does.
    painted = KeepOutFaces(faces_of(PART, np.array(X)))
    assert painted.crossing(section_at(199.9), PART) is None
    assert not painted.is_met(Plane(X, 200), PART)
    along = PART.section(Plane(Z, 20.0))
    assert painted.crossing(along, PART).measured == pytest.approx(100)


def test_a_seam_may_run_along_the_rim_of_painted_faces():
    # A step: the seam at its foot runs along the crease of the painted tread and riser.
    step = Solid.box((100, 100, 20)).union(Solid.box((50, 100, 30), (0, 0, 20)))
    section = step.section(Plane(X, 50.0))
    tread = np.flatnonzero(
        (step.face_normals[:, 2] > 0.99) & (np.abs(step.face_centroids[:, 2] - 20) < 1e-9)
    )
    riser = np.flatnonzero(
        (step.face_normals[:, 0] > 0.99) & (np.abs(step.face_centroids[:, 0] - 50) < 1e-9)
    )
    painted = KeepOutFaces((*map(int, tread), *map(int, riser)))
    assert len(tread) > 0
    assert len(riser) > 0
    assert painted.crossing(section, step) is None
    over = painted.crossing(step.section(Plane(X, 50.1)), step)
    assert over.measured == pytest.approx(100)


def test_painted_faces_beside_the_seam_of_another_arm_are_left_alone():
    # A U: the plane passes through both arms, but only one of them is cut.
    part = Solid.box((200, 100, 50)).difference(Solid.box((150, 40, 60), (-1, 30, -5)))
    top = part.face_normals[:, 2] > 0.99
    near = part.intersection(Solid.box((120, 30, 50)))
    painted = KeepOutFaces(tuple(int(i) for i in np.flatnonzero(top)))
    both = painted.crossing(part.section(Plane(X, 100.0)), part)
    one = painted.crossing(near.section(Plane(X, 100.0)), part)
    assert (both.measured, one.measured) == pytest.approx((60, 30))


def test_a_light_stand_in_of_the_part_is_blocked_all_the_same():
    tube = Solid.cylinder((0, 0, 0), (100, 0, 0), 20, 96)
    light = tube.simplified(0.2)
    assert len(light.faces) < len(tube.faces)
    painted = KeepOutFaces(tuple(range(len(tube.faces))))
    section = light.section(Plane(X, 50.0))
    assert painted.crossing(section, tube, 0.5).measured == pytest.approx(
        tube.section(Plane(X, 50.0)).length, rel=0.01
    )


def test_face_numbers_of_another_part_are_refused():
    assert face_mask(PART, (0, 11)).tolist() == [True, *[False] * 10, True]
    for wrong in (12, -1):
        with pytest.raises(WishesError, match=f"faces 0 to 11.*face {wrong}"):
            face_mask(PART, (3, wrong))


@pytest.mark.parametrize(
    "make",
    [
        lambda: KeepOutSphere((0, 0, 0), 0.0),
        lambda: KeepOutSphere((0, math.nan, 0), 1.0),
        lambda: KeepOutSphere((0, 0, 0), math.inf),
        lambda: KeepOutBox((0, 0, 0), (1, 0, 1)),
        lambda: KeepOutBox((0, 0, 0), (1, math.inf, 1)),
    ],
)
def test_regions_without_size_are_refused(make):
    with pytest.raises(WishesError, match="keep-out"):
        make()
