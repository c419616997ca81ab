import numpy as np
import pytest
import trimesh

from splitplanner.arrays import frozen_floats
from splitplanner.solid import Solid, columns, feet_below, floor_below, frame_of


def _sphere(radius, subdivisions=4):
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius)
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def _material(grid):
    """Volume by the rays: what lies between each downward crossing and the next upward one."""
    signs = np.where(grid.upward, 1.0, -1.0)
    return grid.resolution**2 * float(signs @ grid.heights)


def test_box_on_the_grid_is_exact():
    # Closed form: every one of the 20 x 40 columns enters at 0 and leaves at 30.
    grid = columns(Solid.box((10, 20, 30)), (0, 0, 1), 0.5)
    assert np.prod(grid.shape) == 800
    assert (np.diff(grid.starts) == 2).all()
    np.testing.assert_array_equal(grid.heights.reshape(-1, 2), np.tile([0.0, 30.0], (800, 1)))
    np.testing.assert_array_equal(grid.upward.reshape(-1, 2), np.tile([False, True], (800, 1)))
    assert _material(grid) == pytest.approx(6000, rel=1e-12)


@pytest.mark.parametrize("resolution", [4.0, 2.0, 1.0])
def test_rays_through_shared_edges_and_corners_cross_one_face(resolution):
    # The box's sides are cut into squares of 2 mm with diagonals; cell centres 4 mm apart fall on
    # the corners of the squares, 2 and 1 mm apart on their diagonals.
    mesh = trimesh.creation.box((8, 8, 4)).subdivide().subdivide()
    on_corners = np.unique(np.round(mesh.vertices[:, 0] + 4, 9)) % 2 == 0
    assert on_corners.all()
    grid = columns(Solid.from_arrays(mesh.vertices, mesh.faces), (0, 0, 1), resolution)
    assert (np.diff(grid.starts) == 2).all()
    assert _material(grid) == pytest.approx(8 * 8 * 4, rel=1e-12)


@pytest.mark.parametrize("up", [(0, 0, 1), (1, 0, 0), (1, 2, 3), (-0.3, 0.2, -1)])
def test_every_column_of_a_closed_solid_leaves_as_often_as_it_enters(up):
    solid = Solid.box((30, 30, 30)).difference(_sphere(12).transformed(_moved(15, 15, 30)))
    grid = columns(solid, up, 0.3)
    ends = np.bincount(grid.cells, weights=np.where(grid.upward, 1, -1))
    assert (ends == 0).all()
    assert _material(grid) == pytest.approx(solid.volume, rel=3e-3)


def test_rays_agree_with_an_independent_ray_tracer():
    # Embree through trimesh, over the same rays.
    solid = _sphere(10, 3)
    grid = columns(solid, (0, 0, 1), 1.7)
    plan = grid.centres(np.arange(len(grid.starts) - 1))
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    origins = np.column_stack([plan, np.full(len(plan), -20.0)])
    hits, ray, _ = mesh.ray.intersects_location(
        origins @ grid.frame, np.tile([0.0, 0.0, 1.0], (len(plan), 1))
    )
    order = np.lexsort((hits[:, 2], ray))
    np.testing.assert_array_equal(grid.cells, ray[order])
    np.testing.assert_allclose(grid.heights, hits[order, 2], atol=1e-9)


def test_floor_is_the_next_surface_that_looks_up():
    shelf = Solid.box((10, 10, 2)).union(Solid.box((2, 10, 20)), Solid.box((10, 10, 2), (0, 0, 18)))
    grid = columns(shelf, (0, 0, 1), 1.0)
    four = np.flatnonzero(np.diff(grid.starts) == 4)
    assert len(four) == 80
    mine = slice(grid.starts[four[0]], grid.starts[four[0] + 1])
    floors = grid.floors()[mine]
    assert grid.heights[mine].tolist() == [0, 2, 18, 20]
    assert grid.heights[floors[2:]].tolist() == [2, 2]
    assert floors[:2].tolist() == [-1, -1]
    # The same at free points, among them one over an edge of the post and one beside the shelf.
    points = [[5, 5, 25], [5, 5, 20], [5, 5, 18], [5, 5, 1], [2, 5, 18], [11, 5, 18], [1, 5, 18]]
    expected = [20, 2, 2, -np.inf, 2, -np.inf, -np.inf]
    assert floor_below(shelf, (0, 0, 1), points).tolist() == expected


def test_floors_at_cell_centres_equal_the_grid_s():
    solid = Solid.box((30, 30, 30)).difference(_sphere(12).transformed(_moved(15, 15, 15)))
    up = np.array([0.2, -0.5, 1.0])
    grid = columns(solid, up, 0.9)
    hits = np.flatnonzero(~grid.upward)
    plan = grid.centres(grid.cells[hits])
    points = np.column_stack([plan, grid.heights[hits] - 1e-7]) @ grid.frame
    floors = grid.floors()[hits]
    expected = np.where(floors >= 0, grid.heights[floors], -np.inf)
    found = floor_below(solid, up, points)
    assert np.isfinite(expected).sum() > 50
    np.testing.assert_array_equal(np.isfinite(found), np.isfinite(expected))
    here = np.isfinite(expected)
    np.testing.assert_allclose(found[here], expected[here], atol=1e-9)


def test_a_turned_frame_gives_the_same_volume():
    angle = np.radians(20)
    turn = [[np.cos(angle), np.sin(angle), 0], [-np.sin(angle), np.cos(angle), 0], [0, 0, 1]]
    solid = Solid.box((10, 20, 30))
    grid = columns(solid, (0, 0, 1), 0.1, frame=frozen_floats(turn))
    assert _material(grid) == pytest.approx(solid.volume, rel=2e-3)


def test_a_bad_resolution_is_refused():
    solid = Solid.box((10, 20, 30))
    with pytest.raises(ValueError, match="more than 0 mm"):
        columns(solid, (0, 0, 1), 0.0)
    with pytest.raises(ValueError, match="coarser"):
        columns(solid, (0, 0, 1), 1e-4)


def _moved(x, y, z):
    matrix = np.eye(4)
    matrix[:3, 3] = x, y, z
    return matrix


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.2, -0.5, 1.0)])
def test_feet_are_the_floors_of_the_grid_s_own_columns(up):
    solid = Solid.box((30, 30, 30)).difference(_sphere(12).transformed(_moved(15, 15, 15)))
    frame = frame_of(up)
    grid = columns(solid, up, 0.7)
    bed = float((solid.vertices @ frame[2]).min())
    faces = np.flatnonzero(solid.face_normals @ frame[2] < -0.5)
    found = feet_below(solid, 0.7, frame, faces, bed)
    # The plain way: every crossing of one of the faces, and the floor below it.
    floors = grid.floors()
    for place, face in enumerate(faces):
        hits = np.flatnonzero((grid.faces == face) & ~grid.upward)
        feet = np.where(floors[hits] >= 0, grid.heights[floors[hits]], bed)
        assert found.count[place] == len(hits)
        assert found.on_solid[place] == (floors[hits] >= 0).sum()
        assert found.total[place] == pytest.approx(feet.sum())
        longest = (grid.heights[hits] - feet).max(initial=0.0)
        assert found.longest[place] == pytest.approx(longest)
    assert found.on_solid.sum() > 50
    assert (found.count > found.on_solid).any()


def test_faces_that_look_up_have_no_feet():
    box = Solid.box((10, 10, 10))
    found = feet_below(box, 1.0, np.eye(3), np.arange(12), 0.0)
    down = box.face_normals[:, 2] < -0.5
    assert found.count[down].sum() == 100
    assert not found.count[~down].any()


def test_many_crossings_in_few_columns():
    # 40 plates over each other: far more crossings than cells.
    plates = [Solid.box((3, 3, 1), (0, 0, 2 * index)) for index in range(40)]
    grid = columns(plates[0].union(*plates[1:]), (0, 0, 1), 1.0)
    assert np.diff(grid.starts).tolist() == [80] * 9
    # Closed form: the plates' faces, from low to high in every column.
    np.testing.assert_array_equal(
        grid.heights.reshape(9, 80),
        np.tile([2 * (k // 2) + k % 2 for k in range(80)], (9, 1)),
    )
