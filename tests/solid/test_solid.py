"""The closed solid against closed forms; trimesh and scipy as independent references."""

import pickle

import numpy as np
import pytest
import trimesh
from scipy.spatial import ConvexHull
from shapely.geometry import Polygon

from splitplanner.errors import SolidError
from splitplanner.solid import Plane, Solid, outline_edges

UP = (0.0, 0.0, 1.0)
TURN = trimesh.transformations.rotation_matrix(0.7, (1, 2, 3), (5, 0, 0))


def ball(radius=50.0, subdivisions=4):
    mesh = trimesh.creation.icosphere(subdivisions, radius)
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def torus():
    mesh = trimesh.creation.torus(40.0, 12.0, 64, 32)
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def hollow(size, wall, corner=(0, 0, 0)):
    outer = Solid.box(np.full(3, size), corner)
    return outer.difference(Solid.box(np.full(3, size - 2 * wall), np.add(corner, wall)))


# -- figures ------------------------------------------------------------------------------------
def test_a_box():
    box = Solid.box((10, 20, 30), (1, 2, 3))
    assert box.volume == pytest.approx(6000)
    assert box.area == pytest.approx(2 * (200 + 300 + 600))
    np.testing.assert_allclose(box.bounds, [[1, 2, 3], [11, 22, 33]])
    np.testing.assert_allclose(box.centroid, (6, 12, 18))
    assert box.size == pytest.approx((100 + 400 + 900) ** 0.5)
    assert box.face_areas.sum() == pytest.approx(box.area)
    np.testing.assert_allclose(np.linalg.norm(box.face_normals, axis=1), 1)
    # Divergence theorem: the area vectors of a closed surface add up to nothing.
    np.testing.assert_allclose(box.face_areas @ box.face_normals, 0, atol=1e-9)


@pytest.mark.parametrize("sides", [3, 8, 48])
def test_a_cylinder_is_the_prism_drawn_round_its_circle(sides):
    start, end = np.array([1.0, 2, 3]), np.array([31.0, 22, 63])
    bar = Solid.cylinder(start, end, 5.0, sides)
    length = np.linalg.norm(end - start)
    # Regular polygon round a circle: area n r² tan(π/n).
    assert bar.volume == pytest.approx(sides * 25 * np.tan(np.pi / sides) * length)
    np.testing.assert_allclose(bar.centroid, (start + end) / 2, atol=1e-9)
    axis = (end - start) / length
    side = np.abs(bar.face_normals @ axis) < 0.5
    reach = np.einsum("ij,ij->i", bar.face_centroids[side] - start, bar.face_normals[side])
    np.testing.assert_allclose(reach, 5.0)


def test_a_prism_stands_on_its_plane_with_its_holes():
    plane = Plane((0.6, 0.8, 0.0), 5.0)
    frame = [(0, 0), (10, 0), (10, 10), (0, 10)], [[(2, 2), (4, 2), (4, 4), (2, 4)]]
    prism = Solid.prism(Polygon(*frame), plane, -1.0, 3.0)
    assert prism.volume == pytest.approx((100.0 - 4.0) * 4.0)
    heights = plane.height(prism.vertices)
    assert (heights.min(), heights.max()) == pytest.approx((-1.0, 3.0))
    flat = plane.to_plane(prism.vertices)
    assert np.allclose([flat.min(axis=0), flat.max(axis=0)], [[0, 0], [10, 10]], atol=1e-12)


def test_the_hull_of_points_is_closed_and_as_large_as_a_simplex():
    corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    assert Solid.hull_of(corners).volume == pytest.approx(1.0 / 6.0)


def test_the_volume_of_a_ball_comes_nearer_with_finer_faces():
    exact = 4 / 3 * np.pi * 50**3
    errors = [1 - ball(50, level).volume / exact for level in (2, 3, 4)]
    # An inscribed mesh is too small by an amount of the order of the face size squared.
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.05)
    assert errors[1] / errors[2] == pytest.approx(4, rel=0.05)
    assert 0 < errors[2] < 3e-3


def test_figures_agree_with_trimesh():
    solid = torus().transformed(TURN)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    assert solid.volume == pytest.approx(mesh.volume)
    assert solid.area == pytest.approx(mesh.area)
    np.testing.assert_allclose(solid.centroid, mesh.center_mass, atol=1e-9)
    np.testing.assert_allclose(solid.face_normals, mesh.face_normals, atol=1e-9)


def test_the_centroid_of_a_corner_and_of_a_hollow():
    _, corner = Solid.box((30, 30, 30)).split(Plane.through((12, 0, 0), (-1, -1, -1)))
    # Corner tetrahedron x + y + z <= a: V = a³/6, centroid a/4 from each face.
    assert corner.volume == pytest.approx(12**3 / 6)
    np.testing.assert_allclose(corner.centroid, (3, 3, 3))
    shell = Solid.box((10, 10, 10)).difference(Solid.box((4, 4, 4), (1, 3, 3)))
    # Moments: (1000 · 5 - 64 · 3) / (1000 - 64).
    assert shell.centroid[0] == pytest.approx((5000 - 192) / 936)


def test_the_hull_is_that_of_scipy():
    solid = torus()
    assert solid.hull.volume == pytest.approx(ConvexHull(solid.vertices).volume)


# -- cuts -----------------------------------------------------------------------------------------
@pytest.mark.parametrize("height", [5.0, 20.0, 50.0, 73.0])
def test_a_cut_ball_has_the_volume_of_its_caps(height):
    solid = ball(50.0, 5)
    below, above = solid.split(Plane(UP, 50.0 - height))
    # Spherical cap: V = π h² (3 r - h) / 3. The mesh is short of the ball by 5e-4 of it.
    whole = 4 / 3 * np.pi * 50**3
    cap = np.pi * height**2 * (150 - height) / 3
    assert above.volume == pytest.approx(cap, abs=1e-3 * whole)
    assert below.volume == pytest.approx(whole - cap, abs=1e-3 * whole)
    assert below.volume + above.volume == pytest.approx(solid.volume, rel=1e-12)


@pytest.mark.parametrize("tilt", [0, 20, 40])
def test_a_tilted_cut_of_a_bar(tilt):
    bar = Solid.cylinder((0, 0, 0), (0, 0, 100), 10.0, 40)
    outline = 40 * 100 * np.tan(np.pi / 40)
    slope = np.radians(tilt)
    plane = Plane.through((0, 0, 30), (np.sin(slope), 0, np.cos(slope)))
    below, above = bar.split(plane)
    # Prism cut by a plane: its outline's area times the height over the outline's centroid.
    assert below.volume == pytest.approx(30 * outline)
    assert above.volume == pytest.approx(70 * outline)
    assert bar.section(plane).area == pytest.approx(outline / np.cos(slope))


def test_every_tilted_cut_keeps_the_volume_and_its_sides():
    solid = torus().transformed(TURN)
    rng = np.random.default_rng(3)
    for _ in range(12):
        plane = Plane.through(solid.centroid + rng.normal(0, 10, 3), rng.normal(size=3))
        below, above = solid.split(plane)
        assert below.volume + above.volume == pytest.approx(solid.volume, rel=1e-12)
        assert plane.height(below.vertices).max() < 1e-9
        assert plane.height(above.vertices).min() > -1e-9
        area = solid.section(plane).area
        for side, facing in ((below, plane), (above, plane.flipped())):
            caps = side.polygons_of(side.faces_in(facing, 1e-6), plane)
            assert sum(cap.area for cap in caps) == pytest.approx(area, rel=1e-9)


@pytest.mark.parametrize("offset", [0.0, 30.0, -5.0, 35.0])
@pytest.mark.parametrize("move", [np.eye(4), TURN])
def test_a_plane_that_misses_or_only_touches_leaves_the_very_solid(offset, move):
    box = Solid.box((10, 20, 30)).transformed(move)
    base = move @ [0, 0, offset, 1]
    below, above = box.split(Plane.through(base[:3], move[:3, 2]))
    if offset > 15:
        assert below is box
        assert above is None
    else:
        assert below is None
        assert above is box


@pytest.mark.parametrize("move", [np.eye(4), TURN])
@pytest.mark.parametrize("flip", [False, True])
def test_a_cut_along_the_face_of_a_step_divides_cleanly(move, flip):
    step = Solid.box((40, 40, 20)).union(Solid.box((20, 40, 20), (0, 0, 20))).transformed(move)
    plane = Plane.through((move @ [0, 0, 20, 1])[:3], move[:3, 2])
    sides = step.split(plane.flipped())[::-1] if flip else step.split(plane)
    volumes = [side.volume for side in sides]
    np.testing.assert_allclose(volumes, (32000, 16000), rtol=1e-9)
    for side, size in zip(sides, (40 * 40 * 20, 20 * 40 * 20), strict=True):
        assert side.hull.volume == pytest.approx(size)


@pytest.mark.parametrize("move", [np.eye(4), TURN])
def test_a_cut_along_a_face_keeps_the_voids_on_both_sides(move):
    step = Solid.box((40, 40, 20)).union(Solid.box((20, 40, 20), (0, 0, 20)))
    voids = Solid.box((6, 7, 8), (5, 5, 5)), Solid.box((4, 5, 6), (5, 5, 30))
    plane = Plane.through((move @ [0, 0, 20, 1])[:3], move[:3, 2])
    below, above = step.difference(*voids).transformed(move).split(plane)
    assert below.volume == pytest.approx(32000 - 6 * 7 * 8)
    assert above.volume == pytest.approx(16000 - 4 * 5 * 6)


# -- bodies ---------------------------------------------------------------------------------------
def test_bodies_keep_their_voids():
    one, two = hollow(20, 2), hollow(10, 3, (30, 0, 0))
    bodies = one.union(two).bodies()
    assert [body.volume for body in bodies] == pytest.approx([20**3 - 16**3, 10**3 - 4**3])


def test_a_body_inside_the_void_of_another_is_its_own():
    outer, inner, kernel = (
        hollow(60, 5),
        hollow(30, 4, (15, 15, 15)),
        Solid.box((5, 5, 5), [27] * 3),
    )
    bodies = outer.union(inner, kernel).bodies()
    expected = [60**3 - 50**3, 30**3 - 22**3, 125]
    assert sorted(body.volume for body in bodies) == pytest.approx(sorted(expected))
    assert sum(body.volume for body in bodies) == pytest.approx(sum(expected))


def test_a_single_body_is_itself_and_the_order_is_fixed():
    shell = hollow(20, 2)
    assert shell.bodies() == (shell,)
    boxes = [Solid.box((5, 5, 5), (x, 0, 0)) for x in (40, 0, 20)]
    bodies = boxes[0].union(*boxes[1:]).bodies()
    assert [body.bounds[0, 0] for body in bodies] == [0, 20, 40]


# -- operations -----------------------------------------------------------------------------------
def test_boolean_operations_against_inclusion_and_exclusion():
    one, two = Solid.box((10, 10, 10)), Solid.box((10, 10, 10), (4, 5, 6))
    shared = 6 * 5 * 4
    assert one.intersection(two).volume == pytest.approx(shared)
    assert one.union(two).volume == pytest.approx(2000 - shared)
    assert one.difference(two).volume == pytest.approx(1000 - shared)
    assert one.intersection(Solid.box((1, 1, 1), (50, 0, 0))).is_empty


def test_a_solid_is_moved_by_a_matrix():
    box = Solid.box((10, 20, 30))
    moved = box.transformed(TURN)
    assert moved.volume == pytest.approx(6000)
    np.testing.assert_allclose(moved.centroid, (TURN @ [5, 10, 15, 1])[:3], atol=1e-9)
    np.testing.assert_allclose(box.transformed(TURN[:3]).vertices, moved.vertices)


def test_a_simplified_solid_stays_near():
    solid = ball(50, 4)
    lighter = solid.simplified(0.5)
    assert len(lighter.faces) < len(solid.faces) / 2
    assert (np.linalg.norm(lighter.vertices, axis=1) > 49).all()
    assert lighter.volume == pytest.approx(solid.volume, rel=0.03)


# -- building and keeping -------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda v, f: (v, f[1:]), "some edges do not belong to exactly two faces"),
        (lambda v, f: (v, f[:, ::-1]), "encloses no volume"),
        (lambda v, f: (np.where(v > 0, np.nan, v), f), "not finite"),
        (lambda v, f: (v, np.where(f == 7, 99, f)), "vertices that do not exist"),
        (lambda v, f: (v[:0], f[:0]), "encloses no volume"),
        (lambda v, f: (v * [1, 1, 0], f), "encloses no volume"),
    ],
)
def test_a_mesh_that_is_no_solid_is_refused_and_why(change, expected):
    box = Solid.box((1, 2, 3))
    with pytest.raises(SolidError, match=expected):
        Solid.from_arrays(*change(np.array(box.vertices), np.array(box.faces)))


def test_arrays_cannot_be_changed():
    box = Solid.box((1, 2, 3))
    for array in (box.vertices, box.faces, box.bounds, box.face_areas, box.face_normals):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


@pytest.mark.parametrize("solid", [Solid.box((1, 2, 3)), torus(), hollow(9, 1)])
def test_a_pickled_solid_is_the_same(solid):
    again = pickle.loads(pickle.dumps(solid))
    np.testing.assert_array_equal(again.vertices, solid.vertices)
    np.testing.assert_array_equal(again.faces, solid.faces)
    assert again.fingerprint == solid.fingerprint
    assert again.volume == pytest.approx(solid.volume, rel=1e-14)


def test_a_pickled_solid_that_touches_itself_is_the_same():
    # Two cubes that share an edge: its corners are there twice, and must stay so.
    solid = Solid.box((10, 10, 10)).union(Solid.box((10, 10, 10), (10, 10, 0)))
    again = pickle.loads(pickle.dumps(solid))
    assert again.fingerprint == solid.fingerprint
    assert len(again.bodies()) == len(solid.bodies())


def test_a_mask_of_faces_fits_the_pickled_solid_and_its_arrays_are_read_only():
    solid = hollow(9, 1)  # a result of a boolean operation, whose faces the kernel would reorder
    again = pickle.loads(pickle.dumps(solid))
    plane = Plane(UP, 9.0)
    np.testing.assert_array_equal(again.faces_in(plane, 1e-9), solid.faces_in(plane, 1e-9))
    with pytest.raises(ValueError, match="read-only"):
        again.vertices[0] = 0
    assert again.split(Plane(UP, 4.5))[0].volume == pytest.approx(729 / 2 - 343 / 2)


def test_the_fingerprint_tells_meshes_apart_to_a_millionth_of_a_millimetre():
    solid = ball(50, 2)
    vertices, faces = np.array(solid.vertices), np.array(solid.faces)
    again = Solid.from_arrays(vertices, faces)
    assert again.fingerprint == Solid.from_arrays(again.vertices, again.faces).fingerprint
    # Twice as large a step as the grain changes it; a thousandth of the grain does not, for
    # coordinates that are whole numbers of the grain.
    grained = Solid.from_arrays(np.round(vertices, 4), faces)
    assert Solid.from_arrays(np.round(vertices, 4) + 1e-9, faces).fingerprint == grained.fingerprint
    assert Solid.from_arrays(np.round(vertices, 4) + 2e-6, faces).fingerprint != grained.fingerprint
    assert grained.fingerprint.startswith("sha256:")
    assert len(grained.fingerprint) == 7 + 64


def test_outline_edges_bound_a_set_of_faces():
    faces = Solid.box((1, 1, 1)).faces
    assert [len(side) for side in outline_edges(faces)] == [0, 0]
    starts, ends = outline_edges(faces[:1])
    assert sorted(zip(starts, ends, strict=True)) == sorted(
        zip(faces[0], np.roll(faces[0], -1), strict=True)
    )
    assert [len(side) for side in outline_edges(faces[:0])] == [0, 0]


# -- between processes --------------------------------------------------------------------------
def test_a_reopened_solid_asks_the_kernel_only_when_it_has_to():
    solid = hollow(40, 5).difference(Solid.box((50, 10, 10), (-5, 15, 15)))
    _ = solid.hull, solid.fingerprint
    again = pickle.loads(pickle.dumps(solid))
    for name in ("volume", "area", "fingerprint"):
        assert getattr(again, name) == getattr(solid, name)
    np.testing.assert_array_equal(again.bounds, solid.bounds)
    np.testing.assert_array_equal(again.hull.vertices, solid.hull.vertices)
    np.testing.assert_array_equal(again.face_normals, solid.face_normals)
    assert "_manifold" not in vars(again)
    assert "_manifold" not in vars(again.hull)
    below, above = again.split(Plane(UP, 12.0))
    assert below.volume + above.volume == pytest.approx(solid.volume)


def test_a_reopened_solid_that_is_none_is_told_when_it_is_used():
    box = Solid.box((1, 2, 3))
    broken = Solid.reopened(box.vertices, box.faces[1:])
    with pytest.raises(SolidError, match="not a closed solid"):
        broken.split(Plane(UP, 1.0))


def test_anew_a_solid_is_cut_as_in_another_process():
    solid = ball(30.0, 3).difference(Solid.box((100, 20, 20), (-50, -10, -10)))
    here, there = solid.anew(), pickle.loads(pickle.dumps(solid))
    np.testing.assert_array_equal(here.faces, solid.faces)
    for one, other in (
        (here.simplified(0.2), there.simplified(0.2)),
        *zip(here.split(Plane(UP, 3.0)), there.split(Plane(UP, 3.0)), strict=True),
    ):
        assert one.fingerprint == other.fingerprint
    assert here.anew() is here
    assert there.anew() is there
    from_mesh = ball()
    assert from_mesh.anew() is from_mesh
