"""The ground: sections, crossings and what of them has room, on shapes of known figures."""

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import MultiPolygon

from splitplanner.score import REFERENCE_PIN, room
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate.contacts import Contact
from splitplanner.suggest.estimate.ground import Ground
from splitplanner.suggest.estimate.walls import Wall
from tests.catalogue import solid_of
from tests.suggest.shapes import PRINTER, demo, square_ring, u_shape

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def ground_of(solid, seen=False):
    return Ground(solid, np.full(len(solid.faces), seen), PRINTER)


def length_of(crossing):
    return np.linalg.norm(crossing.segments[:, 1] - crossing.segments[:, 0], axis=1).sum()


def fine_box():
    mesh = trimesh.creation.box((80, 40, 20))
    for _ in range(3):
        mesh = mesh.subdivide()
    return solid_of(mesh)


# -- edges ----------------------------------------------------------------------------------------
@pytest.mark.parametrize("solid", [u_shape(), solid_of(trimesh.creation.torus(50, 10))])
def test_edges_and_the_faces_beside_them(solid):
    ends, beside = ground_of(solid).edges
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    wanted = {
        (frozenset(e), frozenset(f))
        for e, f in zip(
            mesh.face_adjacency_edges.tolist(), mesh.face_adjacency.tolist(), strict=True
        )
    }
    found = {
        (frozenset(e), frozenset(f)) for e, f in zip(ends.tolist(), beside.tolist(), strict=True)
    }
    assert found == wanted
    assert len(ends) == 3 * len(solid.faces) / 2


# -- crossings ------------------------------------------------------------------------------------
def test_a_crossing_is_the_outline_of_the_section():
    part = demo("rain_hood")
    ground = ground_of(part, seen=True)
    plane = Plane.through(part.centroid, (1, 0.4, 0.2))
    crossing = ground.crossing(plane)
    assert length_of(crossing) == pytest.approx(part.section(plane).length, rel=1e-6)
    np.testing.assert_allclose(plane.height(crossing.segments.reshape(-1, 3)), 0, atol=1e-9)
    # Each lies on the face it is said to cross.
    middles, corners = crossing.segments.mean(axis=1), part.vertices[part.faces[crossing.faces]]
    heights = ((middles - corners[:, 0]) * part.face_normals[crossing.faces]).sum(axis=1)
    np.testing.assert_allclose(heights, 0, atol=1e-6)
    assert crossing.seen.all()


@pytest.mark.parametrize("offset", [0.0, 10.0, 3.7])
def test_a_crossing_along_mesh_edges_comes_once(offset):
    ground = ground_of(fine_box())
    crossing = ground.crossing(Plane(X, offset))
    assert length_of(crossing) == pytest.approx(2 * (40 + 20), rel=1e-6)
    np.testing.assert_allclose(crossing.segments[:, :, 0], offset, atol=1e-12)


def test_at_a_step_the_crossing_is_that_of_the_thin_side():
    part = Solid.box((400, 80, 40)).union(Solid.box((200, 80, 20), (0, 0, 40)))
    ground = ground_of(part)
    assert ground.lies_on_face(Plane(X, 200.0))
    assert not ground.lies_on_face(Plane(X, 199.0))
    assert length_of(ground.crossing(Plane(X, 200.0))) == pytest.approx(2 * (80 + 40))
    assert length_of(ground.crossing(Plane(X, 200.0).flipped())) == pytest.approx(2 * (80 + 40))


# -- sections -------------------------------------------------------------------------------------
def test_a_section_on_a_face_is_what_both_sides_share():
    part = Solid.box((400, 80, 40)).union(Solid.box((200, 80, 20), (0, 0, 40)))
    ground = ground_of(part)
    assert ground.section(Plane(X, 200.0)).area == pytest.approx(80 * 40)
    assert ground.section(Plane(X, 200.0 - 1.0)).area == pytest.approx(80 * 60)
    # At the end of the part nothing is beyond.
    assert ground.section(Plane(X, 400.0)).is_empty


def test_a_deep_section_goes_on_to_both_sides():
    # Beside a pit from x = 100 to 120 and 20 mm deep: within two pin diameters of it only the
    # floor goes on; further off all of the section.
    part = Solid.box((300, 80, 40)).difference(Solid.box((20, 80, 20), (100, 0, 20)))
    ground, depth = ground_of(part), 2 * REFERENCE_PIN
    for away, area in ((depth + 1, 80 * 40), (depth - 1, 80 * 20)):
        assert ground.deep_section(Plane(X, 100 - away)).area == pytest.approx(area, rel=1e-3)
        assert ground.deep_section(Plane(X, 120 + away)).area == pytest.approx(area, rel=1e-3)
    assert ground.deep_section(Plane(X, 110.0)).area == pytest.approx(80 * 20, rel=1e-3)


def test_the_cap_of_a_body_is_its_face_in_the_plane():
    part = u_shape()
    above = part.split(Plane(Y, 150.0))[1].bodies()[0]
    body = ground_of(part).of_body(above)
    wall = Wall(Plane(Y, 150.0), 1)
    assert body.cap(wall).area == pytest.approx(60 * 60)
    low, high = above.bounds
    corners = wall.plane.to_plane(np.array([[low[0], 150, low[2]], [high[0], 150, high[2]]]))
    assert shapely.simplify(body.cap(wall), 1e-9).equals_exact(
        shapely.box(*corners.min(axis=0), *corners.max(axis=0)),
        1e-6,
        normalize=True,
    )
    assert body.deep_cap(wall).area == pytest.approx(60 * 60)
    assert body.cap(Wall(Plane(Y, 150.0), -1)).is_empty
    # Asked for again it is the very same.
    assert ground_of(part).of_body(above).whole.solid is part
    assert body.whole.of_body(above) is body


# -- inside or outside ----------------------------------------------------------------------------
@pytest.mark.parametrize("solid", [square_ring(), u_shape()], ids=["ring", "U"])
def test_points_inside(solid):
    rng = np.random.default_rng(5)
    points = rng.uniform(solid.bounds[0] - 20, solid.bounds[1] + 20, (200, 3))
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    ground = ground_of(solid)
    found = np.array([ground.holds(point) for point in points])
    np.testing.assert_array_equal(found, mesh.contains(points))
    assert 10 < found.sum() < 190


# -- room for pins --------------------------------------------------------------------------------
EDGE = PRINTER.edge_distance(REFERENCE_PIN)


def pins_in(polygons):
    """How many pins fit where two bodies go on for ever behind these polygons."""
    nothing = np.empty((0, 4)), np.empty(0, dtype=bool)
    return Contact(Plane((0.0, 0.0, 1.0), 0.0), polygons, *nothing, lambda: polygons, EDGE).pins(())


@pytest.mark.parametrize(
    "shape",
    [
        # Narrower than two edge distances; just wide enough for one; for two, and just not.
        shapely.box(0, 0, 100, 2 * EDGE - 0.05),
        shapely.box(0, 0, 2 * EDGE + 0.05, 2 * EDGE + 0.05),
        shapely.box(0, 0, 2 * EDGE + 3 * REFERENCE_PIN + 0.05, 2 * EDGE + 0.05),
        shapely.box(0, 0, 2 * EDGE + 3 * REFERENCE_PIN - 0.5, 2 * EDGE + 0.05),
        shapely.box(0, 0, 60, 60),
        shapely.Point(0, 0).buffer(EDGE - 0.05),
        shapely.Point(0, 0).buffer(EDGE + 0.05),
        shapely.Point(0, 0).buffer(30),
        shapely.Polygon([(0, 0), (80, 0), (0, 60)]),
        # A ring too thin; a ring wide enough; two patches with room for one each.
        shapely.Point(0, 0).buffer(40).difference(shapely.Point(0, 0).buffer(40 - 2 * EDGE + 0.1)),
        shapely.Point(0, 0).buffer(40).difference(shapely.Point(0, 0).buffer(40 - 2 * EDGE - 0.5)),
        shapely.union(
            shapely.box(0, 0, 2 * EDGE + 0.1, 2 * EDGE + 0.1),
            shapely.box(50, 0, 50 + 2 * EDGE + 0.1, 2 * EDGE + 0.1),
        ),
    ],
)
def test_room_for_pins_counted_up_to_two(shape):
    polygons = MultiPolygon(list(shapely.get_parts(shape)))
    wanted = min(room(polygons, EDGE, 3 * REFERENCE_PIN).count, 2)
    assert pins_in(polygons) == wanted


def test_the_pin_room_cases_differ():
    wide = 2 * EDGE + 0.05
    shapes = [
        shapely.box(0, 0, wide, wide - 1),
        shapely.box(0, 0, wide, wide),
        shapely.box(0, 0, 60, 60),
    ]
    assert [pins_in(MultiPolygon([shape])) for shape in shapes] == [0, 1, 2]
    assert pins_in(MultiPolygon([])) == 0
