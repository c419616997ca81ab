"""Which face lies beyond each side of a face."""

import numpy as np
import pytest
import trimesh

from splitplanner.solid import Solid, neighbours_of
from tests.catalogue import solid_of


@pytest.mark.parametrize(
    "mesh",
    [
        trimesh.creation.box((10, 20, 30)),
        trimesh.creation.icosphere(subdivisions=3),
        trimesh.creation.torus(10, 3),
        # A thousand faces meet at the tip.
        trimesh.creation.cone(5, 20, sections=1000),
    ],
)
def test_neighbours_are_those_that_trimesh_finds(mesh):
    found = neighbours_of(np.asarray(mesh.faces), len(mesh.vertices))
    assert found.shape == mesh.faces.shape
    mine = {(min(a, b), max(a, b)) for a, three in enumerate(found) for b in three}
    assert mine == {tuple(sorted(pair)) for pair in mesh.face_adjacency.tolist()}
    # The face beyond a side has that side, turned round.
    for face in range(0, len(found), 7):
        for side in range(3):
            start, end = mesh.faces[face, side], mesh.faces[face, (side + 1) % 3]
            beyond = mesh.faces[found[face, side]].tolist()
            assert beyond[(beyond.index(end) + 1) % 3] == start


def test_what_is_not_closed_has_no_neighbours():
    faces = np.asarray(trimesh.creation.box((10, 20, 30)).faces)
    assert neighbours_of(faces, 8) is not None
    assert neighbours_of(faces[1:], 8) is None
    assert neighbours_of(np.vstack([faces, faces[:1]]), 8) is None
    turned = faces.copy()
    turned[0] = turned[0, ::-1]
    assert neighbours_of(turned, 8) is None


def test_a_solid_has_neighbours_where_edges_are_shared_by_number_twice():
    # Two bodies that stand edge to edge share both its ends by number.
    one = trimesh.creation.box((10, 10, 10))
    other = one.copy().apply_translation((10, 10, 0))
    mesh = trimesh.Trimesh(
        np.vstack([one.vertices, other.vertices]), np.vstack([one.faces, other.faces + 8])
    )
    mesh.merge_vertices()
    solid = Solid.reopened(mesh.vertices, mesh.faces)
    assert neighbours_of(solid.faces, len(solid.vertices)) is None
    found = solid.neighbours
    for face, three in enumerate(found):
        for side, beyond in enumerate(three):
            ends = {mesh.faces[face, side], mesh.faces[face, (side + 1) % 3]}
            assert ends <= set(mesh.faces[beyond].tolist())


def test_centroids_of_some_faces():
    solid = solid_of(trimesh.creation.icosphere(subdivisions=2))
    chosen = np.array([3, 5, 100])
    np.testing.assert_array_equal(solid.centroids_of(chosen), solid.face_centroids[chosen])
    # trimesh's own.
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    np.testing.assert_allclose(solid.face_centroids, mesh.triangles_center, atol=1e-12)
