import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.solid import (
    Plane,
    Solid,
    fibonacci_sphere,
    plane_segments,
    seen_from_outside,
    visibility,
)


def _refined(solid, edge):
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    corners, faces = trimesh.remesh.subdivide_to_size(mesh.vertices, mesh.faces, edge)
    mesh = trimesh.Trimesh(corners, faces)
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def _hood(wall=3.0):
    return Solid.box((100, 60, 40)).difference(
        Solid.box((100 - 2 * wall, 60 - 2 * wall, 60), (wall, wall, -20 - wall))
    )


def test_directions_are_even():
    # A sphere's moments: the mean direction is 0 and the mean of d d^T is 1/3 of the identity.
    d = fibonacci_sphere(128)
    np.testing.assert_allclose(np.linalg.norm(d, axis=1), 1, atol=1e-12)
    np.testing.assert_allclose(d.mean(axis=0), 0, atol=0.01)
    np.testing.assert_allclose(d.T @ d / 128, np.eye(3) / 3, atol=0.01)
    apart = d @ d.T - 3 * np.eye(128)
    # The closest two of 128 points spread evenly are about sqrt(4 pi / 128) = 0.31 apart.
    assert np.degrees(np.arccos(apart.max())) > 10


@pytest.mark.parametrize("size", [(1, 2, 3), (400, 300, 200)])
def test_box_is_seen_but_for_its_bottom(size):
    box = Solid.box(size, (7, 8, 9))
    bottom = box.face_normals[:, 2] < -0.5
    np.testing.assert_array_equal(seen_from_outside(box), ~bottom)
    assert seen_from_outside(box, below=True).all()
    # Stood on its end in use, another face is the bottom.
    end = box.face_normals[:, 0] > 0.5
    np.testing.assert_array_equal(seen_from_outside(box, up=(-1, 0, 0)), ~end)


@pytest.mark.parametrize("edge", [None, 6.0])
def test_hood_open_below_hides_its_inside(edge):
    hood = _hood() if edge is None else _refined(_hood(), edge)
    x, y, z = hood.face_centroids.T
    inner = (x > 2) & (x < 98) & (y > 2) & (y < 58) & (z < 38)
    rim = hood.face_normals[:, 2] < -0.5
    seen = seen_from_outside(hood)
    assert seen[~inner & ~rim].all()
    # Only the lowest few mm show, to a view that comes in just under the rim.
    assert not seen[inner & (z > 3)].any()
    # From underneath its ceiling shows: 94 x 54 seen through an opening 37 below, far over 10 %.
    ceiling = inner & rim
    assert ceiling.any()
    assert seen_from_outside(hood, below=True)[ceiling].mean() > 0.95


def test_closed_hollow_is_never_seen():
    hollow = Solid.box((50, 50, 50)).difference(Solid.box((40, 40, 40), (5, 5, 5)))
    away = hollow.face_centroids - 25
    inside = (np.abs(away) < 22).all(axis=1)
    assert inside.sum() == 12
    assert not seen_from_outside(hollow, below=True)[inside].any()
    assert seen_from_outside(hollow, below=True)[~inside].all()


def test_convex_ball_is_seen_all_round_by_its_slope():
    # Convex: a face sees all its open hemisphere. What counts is the part above the horizontal less
    # 10 degrees: a little more than the Lambert view factor to the sky (1 + cos tilt) / 2, which is
    # over 10 % up to a tilt of 143 degrees.
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=30)
    ball = Solid.from_arrays(mesh.vertices, mesh.faces)
    assert seen_from_outside(ball, below=True).all()
    seen = seen_from_outside(ball)
    tilt = np.degrees(np.arccos(ball.face_normals[:, 2]))
    assert seen[tilt < 140].all()
    assert not seen[tilt > 165].any()


def test_groove_is_seen_by_its_view_factor():
    # The floor of a long groove of width w and depth d sees out by sin(atan(w / 2d)) at its middle
    # (Hottel's crossed strings, two-dimensional); 10 % lies near d = 5 w.
    def floor_seen(depth):
        block = Solid.box((40, 2000, 60))
        groove = block.difference(Solid.box((2, 2020, 60), (19, -10, 60 - depth)))
        up = groove.face_normals[:, 2] > 0.5
        floor = up & (np.abs(groove.face_centroids[:, 2] - (60 - depth)) < 1e-6)
        assert floor.any()
        return seen_from_outside(groove, directions=fibonacci_sphere(2000))[floor]

    assert floor_seen(6.0).all()
    assert not floor_seen(20.0).any()


def test_many_faces_get_the_answers_of_few():
    fine = _refined(_hood(), 1.6)
    assert len(fine.faces) > 20_000
    x, y, z = fine.face_centroids.T
    inner = (x > 2) & (x < 98) & (y > 2) & (y < 58) & (z < 38)
    rim = fine.face_normals[:, 2] < -0.5
    seen = seen_from_outside(fine)
    assert seen[~inner & ~rim].all()
    assert not seen[inner & (z > 5)].any()


def test_it_reports_and_can_be_stopped():
    ball = trimesh.creation.icosphere(subdivisions=5)
    solid = Solid.from_arrays(ball.vertices, ball.faces)
    done = []
    seen_from_outside(solid, report=lambda part, _: done.append(part))
    assert len(done) > 3
    assert done == sorted(done)
    assert 0 <= done[0] <= done[-1] < 1

    def stop(part, _):
        if part > 0.3:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        seen_from_outside(solid, report=stop)


def test_plane_segments_close_the_outline_and_know_their_faces():
    box = Solid.box((10, 20, 30))
    plane = Plane.through((0, 0, 12), (0, 0, 1))
    segments, faces = plane_segments(box, plane)
    lengths = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1)
    assert lengths.sum() == pytest.approx(60)
    assert len(set(faces.tolist())) == 8
    np.testing.assert_allclose(segments[..., 2], 12)
    off = np.einsum(
        "kij,kj->ki", segments - box.face_centroids[faces][:, None], box.face_normals[faces]
    )
    np.testing.assert_allclose(off, 0, atol=1e-12)


def test_plane_in_a_face_gives_its_edges_for_both_sides():
    box = Solid.box((10, 20, 30))
    segments, faces = plane_segments(box, Plane.through((0, 0, 30), (0, 0, 1)))
    rim = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1) < 21
    sides = box.face_normals[faces][:, 2] < 0.5
    assert sides[rim].any()
    assert (~sides[rim]).any()


def test_views_that_are_saved_change_nothing(monkeypatch):
    part = DEMO_PARTS["rain_hood"].make(25_000)
    few = seen_from_outside(part)
    # All at once, as if no face were told before the last view.
    monkeypatch.setattr(visibility, "_TURNS", 1)
    np.testing.assert_array_equal(seen_from_outside(part), few)


def test_single_faces_are_looked_at_as_all_are():
    part = _refined(_hood(), 12.0)
    every = seen_from_outside(part)
    only = np.arange(len(part.faces)) % 3 == 0
    np.testing.assert_array_equal(seen_from_outside(part, only=only), every & only)
    assert not seen_from_outside(part, only=np.zeros_like(only)).any()


def test_lines_of_sight_that_do_not_count():
    # Of a box only views from in front count, which look at three of its sides and at its top.
    box = Solid.box((10, 10, 10))

    def from_in_front(points, towards):
        assert points.shape == towards.shape
        assert ((points >= 0) & (points <= 10)).all()
        return towards[:, 1] < -0.1

    normals = box.face_normals
    seen = seen_from_outside(box, counts=from_in_front)
    np.testing.assert_array_equal(seen, (normals[:, 1] < 0.5) & (normals[:, 2] > -0.5))
    assert not seen_from_outside(box, counts=lambda points, _: np.zeros(len(points), bool)).any()
