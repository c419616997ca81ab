"""Thickness of walls. Expected values: closed forms, and trimesh by brute force."""

import math

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation
from shapely.geometry import Polygon

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.solid import Plane, Solid, WallKind, thickness

FLOOR = Plane((0.0, 0.0, 1.0), 0.0)


def share(found, chosen):
    """Which share of the surface the chosen points stand for."""
    return found.areas[chosen].sum() / found.areas.sum()


def profile(corners, length=60.0):
    """A prism of a polygon in x and y, along z."""
    return Solid.prism(Polygon(corners), FLOOR, 0.0, length)


def mesh_of(solid):
    return trimesh.Trimesh(np.array(solid.vertices), np.array(solid.faces), process=False)


def hollow_ball(outer, inner, subdivisions=4):
    """Two balls of triangles whose corners lie on spheres."""
    balls = [
        trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius)
        for radius in (outer, inner)
    ]
    solids = [Solid.from_arrays(ball.vertices, ball.faces) for ball in balls]
    return solids[0].difference(solids[1])


@pytest.mark.parametrize(("wall", "points"), [(2.4, 20_000), (0.4, 2_000), (17.0, 5_000)])
def test_plate_is_a_wall_on_its_broad_sides_up_to_the_edge(wall, points):
    found = thickness(Solid.box((120.0, 90.0, wall)), points=points)
    broad = np.isin(found.points[:, 2], (0.0, wall))
    assert (found.kinds[broad] == WallKind.WALL).all()
    np.testing.assert_allclose(found.values[broad], wall, rtol=1e-9)
    # The rim: no wall, but for corners of a plate that is as thick as it is wide, which it is not.
    assert (found.kinds[~broad] == WallKind.EDGE).all()
    area = 2 * 120 * 90
    assert found.shares[WallKind.WALL] == pytest.approx(area / (area + 2 * 210 * wall), rel=1e-9)
    assert sum(found.shares.values()) == pytest.approx(1.0)
    assert found.areas.sum() == pytest.approx(area + 2 * 210 * wall)


def test_both_measures_beside_an_edge_of_a_plate():
    # A ball that touches the broad side at e from the edge touches the side wall: its radius is e.
    found = thickness(Solid.box((40.0, 40.0, 5.0)))
    x, y, z = found.points.T
    e = np.minimum(np.minimum(x, 40 - x), np.minimum(y, 40 - y))
    broad = np.isin(z, (0.0, 5.0))
    np.testing.assert_allclose(found.ball[broad], np.minimum(2 * e[broad], 5.0), rtol=1e-9)
    np.testing.assert_allclose(found.through[broad], 5.0, rtol=1e-12)


@pytest.mark.parametrize("sides", [48, 180])
def test_tube(sides):
    # Sides of both prisms touch their circles, so that flats are 3 mm apart.
    tube = Solid.cylinder((0, 0, 0), (0, 0, 80), 50.0, sides).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 81), 47.0, sides)
    )
    found = thickness(tube)
    end = np.isin(found.points[:, 2], (0.0, 80.0))
    np.testing.assert_allclose(found.values[~end], 3.0, rtol=0.01)
    # With 48 sides the facet across, where it is the next one, leans by 7.5°.
    is_wall = found.kinds[~end] == WallKind.WALL
    assert is_wall.all() if sides == 180 else is_wall.mean() > 0.97
    assert (found.kinds[end] == WallKind.EDGE).all()


def test_hollow_ball():
    found = thickness(hollow_ball(40.0, 36.0))
    assert (found.kinds == WallKind.WALL).all()
    np.testing.assert_allclose(found.values, 4.0, rtol=0.01)


@pytest.mark.parametrize("sides", [24, 96])
def test_round_bar_is_as_thick_as_its_diameter(sides):
    # Facets beside that of a point bend away and must not stop the ball.
    found = thickness(Solid.cylinder((0, 0, 0), (0, 0, 90), 6.0, sides))
    middle = np.abs(found.points[:, 2] - 45) < 35
    np.testing.assert_allclose(found.values[middle], 12.0, rtol=0.01)
    assert (found.kinds[middle] == WallKind.WALL).all()


@pytest.mark.parametrize(
    ("angle", "kind"), [(3.0, WallKind.WALL), (8.0, WallKind.TAPER), (30.0, WallKind.TAPER)]
)
def test_wedge(angle, kind):
    # The ball that touches both sides at L from the apex has the radius L tan(α / 2), straight
    # through it is L tan α; apex cut off at 20 mm.
    tangent = math.tan(math.radians(angle))
    corners = [(20, 0), (80, 0), (80, 80 * tangent), (20, 20 * tangent)]
    found = thickness(profile(corners, 90.0))
    x, y, z = found.points.T
    inside = (x > 25) & (x < 50) & (np.abs(z - 45) < 20)
    low = inside & (y == 0.0)
    assert low.sum() > 50
    assert (found.kinds[low] == kind).all()
    expected = 2 * x[low] * math.tan(math.radians(angle / 2))
    np.testing.assert_allclose(found.values[low], expected, rtol=1e-7)
    np.testing.assert_allclose(found.through[low], x[low] * tangent, rtol=1e-7)
    # On the sloping side L runs along the slope.
    high = inside & (y > 1e-9)
    run = np.hypot(x[high], y[high])
    expected = 2 * run * math.tan(math.radians(angle / 2))
    np.testing.assert_allclose(found.values[high], expected, rtol=1e-7)


def test_sharp_wedge_is_no_wall():
    found = thickness(profile([(0, 0), (40, 0), (40, 70)]))
    x, y, z = found.points.T
    # At 60° the sides belong to no wall near the edge.
    near = (x < 8) & (y > 0) & (np.abs(z - 30) < 10)
    assert (found.kinds[near] == WallKind.EDGE).all()


@pytest.mark.parametrize("low", [1.6, 2.0, 2.9])
def test_stepped_wall(low):
    corners = [(0, 0), (80, 0), (80, 3), (40, 3), (40, low), (0, low)]
    found = thickness(profile(corners))
    x, y, z = found.points.T
    sides = (y == 0) | np.isclose(y, 3) | (np.isclose(y, low) & (x < 40))
    assert (found.kinds[sides] == WallKind.WALL).mean() > 0.99
    walls = sides & (found.kinds == WallKind.WALL)
    # Right up to the step, but for points behind it that see neither: 1 % away from it.
    expected = np.where(x < 40, low, 3.0)
    off = np.abs(found.values / expected - 1)
    assert (off[walls & (np.abs(x - 40) > 0.5)] < 0.01).all()
    assert (off[walls] < 0.01).mean() > 0.995
    assert z.min() == 0.0


def test_rib_on_a_plate():
    # A plate of 2.4 mm with a rib 3 mm thick and 12 mm high.
    plate, rib, depth = 2.4, 3.0, 12.0
    solid = Solid.box((80, plate, 60), (-40, 0, 0)).union(
        Solid.box((rib, depth, 60), (-rib / 2, plate, 0))
    )
    found = thickness(solid, points=60_000)
    x, y, z = found.points.T
    inside = (z > 4) & (z < 56)
    back = inside & (y == 0.0)
    # The ball touches both corners at the root: from (b/2)² + (t - r)² = r² it is t + b² / 4t at
    # the middle; at x from there the nearer corner stops it.
    under = back & (np.abs(x) < rib / 2)
    gap = rib / 2 - np.abs(x[under])
    np.testing.assert_allclose(found.values[under], plate + gap**2 / plate, rtol=1e-9)
    middle = back & (np.abs(x) < 1.0)
    assert middle.sum() > 20
    assert (found.kinds[middle] == WallKind.JUNCTION).all()
    plain = back & (np.abs(x) > rib / 2) & (np.abs(x) < 36)
    front = inside & np.isclose(y, plate) & (np.abs(x) < 36)
    for chosen in (plain, front):
        assert (found.kinds[chosen] == WallKind.WALL).all()
        np.testing.assert_allclose(found.values[chosen], plate, rtol=1e-9)
    flank = inside & np.isclose(np.abs(x), rib / 2) & (y > plate)
    assert (found.kinds[flank] == WallKind.WALL).all()
    np.testing.assert_allclose(found.values[flank], rib, rtol=1e-9)
    top = inside & np.isclose(y, plate + depth)
    assert (found.kinds[top] == WallKind.EDGE).all()


@pytest.mark.parametrize("width", [4.0, 6.0, 16.0])
def test_plate_under_a_boss_is_a_junction_and_no_edge(width):
    solid = Solid.box((80, 2, 80), (-40, 0, -40)).union(
        Solid.box((width, 30, width), (-width / 2, 0, -width / 2))
    )
    found = thickness(solid, points=60_000)
    x, y, z = found.points.T
    under = (y == 0) & (np.maximum(np.abs(x), np.abs(z)) < width / 4)
    assert under.sum() >= 5
    assert (found.kinds[under] == WallKind.JUNCTION).all()
    assert (found.ball[under] > 2.1).all()


def test_rounded_rim():
    # The plate of 2.4 mm ends in a half round: its ball is the plate's thickness, but no wall.
    turn = np.linspace(-math.pi / 2, math.pi / 2, 40)
    rim = np.column_stack([60 + 1.2 * np.cos(turn), 1.2 + 1.2 * np.sin(turn)])
    found = thickness(profile([(0, 0), *rim, (0, 2.4)]))
    x, y, z = found.points.T
    inside = np.abs(z - 30) < 25
    flat = inside & np.isin(y, (0.0, 2.4)) & (x > 3) & (x < 60)
    np.testing.assert_allclose(found.values[flat], 2.4, rtol=1e-3)
    assert (found.kinds[flat] == WallKind.WALL).all()
    # At h from the middle of a facet of 4.6° those that bend away by 30° stop a ball: it is less
    # by h / tan 15°, of which h = 1.2 tan 2.3° is the most.
    end = inside & (x > 60.7)
    least = 2.4 - 2 * 1.2 * math.tan(math.radians(90 / 39)) / math.tan(math.radians(15))
    assert (found.ball[end] > least).all()
    assert (found.ball[end] < 2.4 * 1.001).all()
    assert share(found, end & (found.kinds == WallKind.WALL)) < 0.5 * share(found, end)


def bracket():
    """A part of plates, holes, a slope and a tube: all its edges bend by 30° or more."""
    solid = Solid.box((50, 30, 4)).union(
        Solid.box((4, 30, 25)),
        Solid.prism(Polygon([(2, 2), (22, 2), (2, 20)]), Plane((0.0, -1.0, 0.0), -15.0), 0.0, 3.0),
        Solid.cylinder((38, 15, 0), (38, 15, 20), 9.0, 10),
    )
    return solid.difference(
        Solid.cylinder((38, 15, -1), (38, 15, 30), 6.0, 8), Solid.box((10, 8, 30), (14, 11, -2))
    )


def test_against_brute_force():
    solid = bracket()
    found, mesh = thickness(solid, points=400), mesh_of(solid)
    inward = -solid.face_normals[found.faces]
    radius = found.ball / 2
    # Nothing of the surface is inside of the ball: distances by trimesh, in plain numpy.
    _, gap, _ = trimesh.proximity.closest_point_naive(mesh, found.points + inward * radius[:, None])
    np.testing.assert_allclose(gap, radius, rtol=0, atol=1e-9)
    # A ball larger by 0.1 % has something inside.
    more = radius * 1.001
    _, gap, _ = trimesh.proximity.closest_point_naive(mesh, found.points + inward * more[:, None])
    assert (gap < more - 1e-7 * more).all()
    # Straight through: all that trimesh's own rays meet, less what lies at the start.
    tracer = trimesh.ray.ray_triangle.RayMeshIntersector(mesh)
    places, rays, _ = tracer.intersects_location(found.points + 1e-6 * inward, inward)
    runs = np.einsum("ij,ij->i", places - found.points[rays], inward[rays])
    first = np.full(len(found.points), np.inf)
    np.minimum.at(first, rays[runs > 1e-5], runs[runs > 1e-5])
    np.testing.assert_allclose(found.through, first, rtol=1e-7)


def test_balls_of_trimesh():
    # trimesh shrinks balls step by step; ours come in one. Both on a solid without blunt edges.
    solid = bracket()
    found, mesh = thickness(solid, points=400), mesh_of(solid)
    inward = -solid.face_normals[found.faces]
    _, radii = trimesh.proximity.max_tangent_sphere(
        mesh, found.points, inwards=True, normals=-inward, threshold=1e-9
    )
    near = np.abs(radii * 2 - found.ball) < 1e-3 * found.ball
    assert near.mean() > 0.97


def test_position_and_order_of_faces_do_not_matter():
    solid = bracket()
    found = thickness(solid, points=500)
    again = thickness(solid, points=500)
    assert found.values.tobytes() == again.values.tobytes()
    assert found.kinds.tobytes() == again.kinds.tobytes()
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_euler("xyz", (17, 121, -43), degrees=True).as_matrix()
    matrix[:3, 3] = 3e3, -7e3, 5e2
    corners = solid.vertices @ matrix[:3, :3].T + matrix[:3, 3]
    turn = np.random.default_rng(3).permutation(len(solid.faces))
    moved = thickness(Solid.reopened(corners, solid.faces[turn]), points=500)
    back = np.argsort(turn[moved.faces], kind="stable")
    np.testing.assert_allclose(moved.values[back], found.values, rtol=1e-6)
    np.testing.assert_array_equal(moved.kinds[back], found.kinds)


def test_no_more_than_is_wanted():
    ball = trimesh.creation.icosphere(subdivisions=3, radius=30.0)
    found = thickness(Solid.from_arrays(ball.vertices, ball.faces), most=20.0)
    assert (found.values == 20.0).all()
    assert (found.kinds == WallKind.WALL).all()
    assert found.through.min() > 55
    solid = bracket()
    every, some = thickness(solid, points=500), thickness(solid, points=500, most=3.5)
    walls = (every.kinds <= WallKind.TAPER) & (every.values < 3.5)
    assert walls.sum() > 50
    np.testing.assert_allclose(some.values[walls], every.values[walls], rtol=1e-12)
    np.testing.assert_array_equal(some.kinds[walls], every.kinds[walls])
    assert (some.values[every.values >= 3.5] == 3.5).all()


def test_what_is_drawn():
    solid = Solid.box((40.0, 40.0, 2.0))
    found = thickness(solid)
    broad = np.abs(solid.face_normals[:, 2]) > 0.5
    np.testing.assert_array_equal(found.face_kinds, np.where(broad, WallKind.WALL, WallKind.EDGE))
    np.testing.assert_allclose(found.face_values[broad], 2.0)
    np.testing.assert_array_equal(np.isnan(found.face_walls), ~broad)
    assert not found.face_values.flags.writeable
    assert not found.values.flags.writeable
    # The median of the rim's balls: e grows evenly up to half the thickness.
    assert (found.face_values[~broad] < 2.0).all()


def test_faces_without_area_are_passed():
    # A corner in the middle of an edge, which only the face on one side has: a sliver without area.
    box = Solid.box((40.0, 40.0, 2.0))
    a, b, c = box.faces[0]
    corners = np.vstack([box.vertices, (box.vertices[a] + box.vertices[b]) / 2])
    middle = len(corners) - 1
    faces = np.vstack([box.faces[1:], [[a, middle, c], [middle, b, c], [a, b, middle]]])
    found = thickness(Solid.reopened(corners, faces), points=2000)
    assert np.isnan(found.face_values[-1])
    assert found.face_kinds[-1] == -1
    assert len(faces) - 1 not in found.faces
    np.testing.assert_allclose(found.values[found.kinds == WallKind.WALL], 2.0)
    assert found.shares[WallKind.WALL] == pytest.approx(3200 / (3200 + 320))


def test_hood():
    # Drawn with a wall of 2.4 mm, frames of 3.0 and stringers of 2.4 mm.
    found = thickness(DEMO_PARTS["rain_hood"].make(130_000))
    wall = found.kinds == WallKind.WALL
    near = (np.abs(found.values / 2.4 - 1) < 0.01) | (np.abs(found.values / 3.0 - 1) < 0.01)
    assert share(found, wall) > 0.88
    assert share(found, wall & near) > 0.96 * share(found, wall)
    assert 0.005 < found.shares[WallKind.JUNCTION] < 0.05


def test_it_says_how_far_it_is_and_stops():
    solid, calls = Solid.box((40.0, 40.0, 2.0)), []
    thickness(solid, report=lambda done, doing: calls.append((done, doing)))
    done = [each for each, _ in calls]
    assert done == sorted(done)
    assert len(done) > 4
    assert 0 <= done[0] < done[-1] <= 1

    def stop(done, doing):
        if done > 0.3:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        thickness(solid, report=stop)


def test_points_by_area_stand_for_the_same_area_each():
    # A plate of 2 mm beside one of 4 mm.
    solid = Solid.box((60, 50, 2)).union(Solid.box((40, 50, 4), (60, 0, 0)))
    found = thickness(solid, points=3000, every_face=False)
    assert len(found.points) == len(found.areas) == 3000
    assert np.allclose(found.areas, solid.area / 3000)
    assert (np.diff(found.faces) >= 0).all()
    # As many on each face as it has of the area, give or take one.
    on_each = np.bincount(found.faces, minlength=len(solid.faces))
    assert (np.abs(on_each - 3000 * solid.face_areas / solid.area) <= 1 + 1e-9).all()
    # They lie on their faces.
    off = found.points - solid.face_centroids[found.faces]
    assert np.abs(np.einsum("ij,ij->i", off, solid.face_normals[found.faces])).max() < 1e-9
    is_wall = found.kinds == WallKind.WALL
    thin = is_wall & (np.abs(found.values - 2.0) < 0.01)
    assert found.areas[thin].sum() == pytest.approx(2 * 60 * 50, rel=0.03)
    every = thickness(solid, points=3000)
    for kind, share in every.shares.items():
        assert found.shares[kind] == pytest.approx(share, abs=0.01)


def test_faces_without_a_point_have_no_thickness():
    ball = Solid.from_arrays(*_ball())
    found = thickness(ball, points=50, every_face=False)
    bare = np.bincount(found.faces, minlength=len(ball.faces)) == 0
    assert bare.any()
    assert np.isnan(found.face_values[bare]).all()
    assert (found.face_kinds[bare] == -1).all()


def _ball():
    made = trimesh.creation.icosphere(subdivisions=2, radius=20.0)
    return made.vertices, made.faces
