"""Plan views, held against the shadows of all triangles joined by shapely, and closed forms."""

import math

import numpy as np
import pytest
import shapely

from splitplanner.solid import Solid, frame_of, plan_view
from splitplanner.solid.plane import Plane


def shadow(solid, up):
    """All triangles seen along `up`, joined; on a grid, so that slivers do no harm."""
    flat = (solid.vertices @ frame_of(up).T)[:, :2]
    triangles = shapely.polygons(flat[solid.faces])
    return shapely.union_all(triangles[shapely.area(triangles) > 1e-9], grid_size=1e-6)


def pipe():
    return Solid.cylinder((0, 0, 0), (0, 0, 50), 20).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 51), 12)
    )


def test_a_box_covers_its_base_and_its_faces_by_their_cosines():
    box = Solid.box((30, 20, 10), (5, 6, 7))
    assert plan_view(box, (0, 0, 1)).equals(shapely.box(5, 6, 35, 26))
    up = np.array([1.0, 2.0, 3.0]) / math.sqrt(14)
    # Cauchy: every face that looks up covers its area times the cosine of its slope.
    expected = up @ [20 * 10, 30 * 10, 30 * 20]
    assert plan_view(box, up * 7).area == pytest.approx(expected, rel=1e-9)


def test_a_pipe_is_seen_through_along_its_axis_alone():
    (ring,) = plan_view(pipe(), (0, 0, -1)).geoms
    assert len(ring.interiors) == 1
    assert ring.area == pytest.approx(pipe().volume / 50, rel=1e-9)
    (side,) = plan_view(pipe(), (0, 1, 0)).geoms
    assert not side.interiors
    assert plan_view(pipe(), (0, 1, 0)).area == pytest.approx(side.convex_hull.area, rel=1e-6)


@pytest.mark.parametrize("up", [(0, 0, 1), (1, 0, 0), (1, 2, 3), (-3, 1, -2)])
def test_all_triangles_together_cover_the_same(up):
    arm = Solid.prism(
        shapely.Polygon([(0, 0), (60, 0), (60, 15), (15, 15), (15, 70), (0, 70)]),
        Plane((0, 0, 1), 0.0), 0.0, 20.0,
    )  # fmt: skip
    for solid in (pipe(), arm, arm.union(pipe().transformed(shifted(100, 0, 5)))):
        expected = shadow(solid, up)
        view = plan_view(solid, up)
        assert view.is_valid
        assert view.symmetric_difference(expected).area <= 1e-5 * expected.length


def shifted(*by):
    matrix = np.eye(4)
    matrix[:3, 3] = by
    return matrix


def test_a_direction_without_length_is_refused():
    with pytest.raises(ValueError, match="length"):
        plan_view(pipe(), (0, 0, 0))
