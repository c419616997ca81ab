"""Triangles in plane polygons, against shapely: their areas, and where they lie."""

import pytest
import shapely
from shapely.geometry import Point, Polygon, box

from splitplanner.solid import triangles_in

TOUCHING = Polygon(box(0, 0, 10, 10).exterior, [[(0, 5), (4, 3), (4, 7)]])
"""A hole that touches the outline in a corner of its own."""
SHAPES = {
    "box": box(0, 0, 10, 10),
    "tube": Point(0, 0).buffer(9.0).difference(Point(1, 0).buffer(6.0)),
    "holes": box(0, 0, 9, 9).difference(shapely.union_all([box(1, 1, 3, 3), box(5, 5, 8, 8)])),
    "touching": TOUCHING,
    "in line": Polygon([(x, 0) for x in range(9)] + [(8, 1e-9), (0, 1e-9)]),
    "two holes that meet": Polygon(
        box(0, 0, 10, 10).exterior, [[(2, 2), (5, 2), (5, 5)], [(5, 5), (8, 5), (8, 8)]]
    ),
}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("way", [1, -1])
def test_triangles_fill_a_polygon(name, way):
    shape = SHAPES[name]
    turned = Polygon(shape.exterior.coords[::way], [ring.coords[::way] for ring in shape.interiors])
    points, triangles = triangles_in(turned)
    corners = points[triangles]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2.0
    assert (areas > 0.0).all()
    assert areas.sum() == pytest.approx(shape.area, rel=1e-9)
    # Within it, each point once, and none but its own corners.
    assert shape.buffer(1e-6).covers(shapely.MultiPoint(corners.mean(axis=1)))
    known = {tuple(corner) for corner in shapely.get_coordinates(shape)}
    assert {tuple(point) for point in points} == known
    assert len(points) == len(known)
