"""Stand-ins: lighter, and nowhere further from the part than they say."""

import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Solid, seen_from_outside
from splitplanner.suggest.standing_in import TOLERANCES, TRIANGLES, stand_in_for
from tests.catalogue import ringed_ball, solid_of


def mesh_of(solid):
    return trimesh.Trimesh(solid.vertices, solid.faces, process=False)


def distance_to(solid, point):
    """Distance of a point from a surface: the least of those from all its triangles (trimesh)."""
    triangles = solid.vertices[solid.faces]
    # Only triangles whose boxes come near are looked at closely.
    low, high = triangles.min(axis=1), triangles.max(axis=1)
    near = ((low < point + 1.0) & (high > point - 1.0)).all(axis=1)
    found = triangles[near]
    if not len(found):
        return np.inf
    closest = trimesh.triangles.closest_point(found, np.broadcast_to(point, (len(found), 3)))
    return float(np.linalg.norm(closest - point, axis=1).min())


def test_the_distance_itself():
    box = Solid.box((10, 10, 10))
    assert distance_to(box, np.array([5.0, 5.0, 10.5])) == pytest.approx(0.5)
    assert distance_to(box, np.array([10.3, 10.4, 5.0])) == pytest.approx(0.5)
    assert distance_to(box, np.array([5.0, 5.0, 19.0])) == np.inf


def test_a_light_part_stands_for_itself():
    part = Solid.box((430, 200, 240))
    standing = stand_in_for(part)
    assert standing.solid is part
    assert standing.tolerance == 0
    np.testing.assert_array_equal(standing.seen, seen_from_outside(part))


def rough_ball():
    """A ball with waves of a tenth of a millimetre: none of its triangles can be spared easily."""
    ball = trimesh.creation.icosphere(5, 60.0)
    rng = np.random.default_rng(4)
    vertices = ball.vertices * (1 + rng.uniform(-1e-3, 1e-3, (len(ball.vertices), 1)))
    return solid_of(trimesh.Trimesh(vertices, ball.faces, process=False))


@pytest.mark.parametrize(
    "make",
    [
        lambda: ringed_ball(60.0),
        rough_ball,
        lambda: DEMO_PARTS["rain_hood"].make(30_000),
        lambda: DEMO_PARTS["garden_heron"].make(30_000),
    ],
    ids=["ball", "rough ball", "hood", "heron"],
)
def test_a_stand_in_keeps_near_the_part(make):
    """Both ways: points sampled on either surface (trimesh), and nearest points on the other."""
    part = make()
    assert len(part.faces) > TRIANGLES
    standing = stand_in_for(part)
    light = standing.solid
    assert len(light.faces) < 0.8 * len(part.faces)
    assert standing.tolerance in TOLERANCES
    for one, other in ((part, light), (light, part)):
        points, _ = trimesh.sample.sample_surface(mesh_of(one), 120, seed=1)
        assert max(distance_to(other, point) for point in points) <= standing.tolerance + 1e-6
    assert len(standing.seen) == len(light.faces)
    assert light.volume == pytest.approx(part.volume, rel=0.02)
    assert mesh_of(light).is_watertight


def test_no_coarser_than_needed():
    # A finely divided box needs no more than the first tolerance.
    mesh = trimesh.creation.box((300, 120, 120))
    for _ in range(5):
        mesh = mesh.subdivide()
    part = solid_of(mesh)
    assert len(part.faces) > TRIANGLES
    standing = stand_in_for(part)
    assert standing.tolerance == TOLERANCES[0]
    assert len(standing.solid.faces) == 12
    assert standing.solid.volume == pytest.approx(part.volume)
