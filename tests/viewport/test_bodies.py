"""What a line of sight meets, against trimesh, and sharp edges against what is known of shapes."""

import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.output.camera import Camera, Ray
from splitplanner.solid import Solid
from splitplanner.viewport.bodies import Mesh, Placed, first_hit

CAMERA = Camera((500.0, -700.0, 400.0), (0.0, 0.0, 60.0), (0.0, 0.0, 1.0), (200, 150))


def placed(solid, shift=(0.0, 0.0, 0.0)):
    return Placed(Mesh(solid.vertices, solid.faces), "#000000", shift)


def test_lines_of_sight_meet_what_trimesh_says():
    hood = DEMO_PARTS["rain_hood"].make(8_000)
    mesh = trimesh.Trimesh(hood.vertices, hood.faces, process=False)
    body = placed(hood)
    rays = [CAMERA.ray(x, y) for x in range(10, 200, 12) for y in range(10, 150, 12)]
    points, owners, _ = mesh.ray.intersects_location(
        [ray.start for ray in rays], [ray.direction for ray in rays], multiple_hits=True
    )
    met = 0
    for number, ray in enumerate(rays):
        theirs = points[owners == number]
        hit = first_hit(ray, [body])
        assert (hit is None) == (len(theirs) == 0)
        if hit is not None:
            met += 1
            nearest = min(np.linalg.norm(theirs - ray.start, axis=1))
            # trimesh works in single precision here.
            assert hit.distance == pytest.approx(nearest, abs=0.05)
            np.testing.assert_allclose(hit.point, ray.start + hit.distance * ray.direction)
            np.testing.assert_allclose(hit.normal, hood.face_normals[hit.face], atol=1e-9)
            assert np.dot(hit.normal, ray.direction) < 0
    assert met > 20


def test_the_nearest_body_is_met_where_it_has_been_pulled_to():
    box = Solid.box((10, 10, 10))
    ray = Ray(np.array([5.0, -100.0, 5.0]), np.array([0.0, 1.0, 0.0]))
    far, near = placed(box), placed(box, (0.0, -30.0, 0.0))
    hit = first_hit(ray, [far, near])
    assert (hit.body, hit.point, hit.normal) == (1, (5.0, -30.0, 5.0), (0.0, -1.0, 0.0))
    assert first_hit(ray, [far]).distance == pytest.approx(100)
    # Nothing behind the eye, nothing aside, nothing of no faces.
    back = Ray(ray.start, -ray.direction)
    aside = Ray(np.array([15.0, -100.0, 5.0]), ray.direction)
    empty = Placed(Mesh(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)), "#000000")
    assert first_hit(back, [far, near]) is None
    assert first_hit(aside, [far, near]) is None
    assert first_hit(ray, [empty]) is None


def test_sharp_edges_of_a_box_are_its_twelve():
    mesh = Mesh(*(lambda box: (box.vertices, box.faces))(Solid.box((10, 20, 30))))
    assert not mesh.knows_edges
    ends = mesh.vertices[mesh.sharp_edges]
    assert mesh.knows_edges
    lengths = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)
    assert sorted(lengths.round(6)) == [10.0] * 4 + [20.0] * 4 + [30.0] * 4
    np.testing.assert_allclose(mesh.bounds, [[0, 0, 0], [10, 20, 30]])
    assert len(np.unique(mesh.corners, axis=0)) == 8


def test_slivers_have_no_sharp_edges():
    # A square of two faces with a sliver of half a micrometre along one side, turned about.
    corners = np.array(
        [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0], [5, 5e-4, 4e-4]], dtype=float
    )
    faces = np.array([[0, 1, 4], [1, 2, 4], [4, 2, 3], [0, 4, 3]])
    flat = Mesh(corners, faces)
    assert len(flat.sharp_edges) == 0


@pytest.mark.parametrize(("sides", "walls"), [(8, 8), (48, 0)])
def test_an_edge_is_sharp_from_35_degrees_on(sides, walls):
    # Between walls of a prism of n sides it is 360 / n degrees; both rims are square.
    prism = Solid.cylinder((0, 0, 0), (0, 0, 50), 20, sides)
    ends = prism.vertices[Mesh(prism.vertices, prism.faces).sharp_edges]
    upright = np.abs(ends[:, 0, 2] - ends[:, 1, 2]) > 40
    assert (upright.sum(), (~upright).sum()) == (walls, 2 * sides)
