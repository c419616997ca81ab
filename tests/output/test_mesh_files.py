"""Binary STL, read back by trimesh and by hand."""

import io
import struct

import numpy as np
import pytest
import trimesh

from splitplanner.output import printable_mesh, stl_bytes
from splitplanner.solid import Solid


def read(data):
    return trimesh.load(io.BytesIO(data), file_type="stl")


def test_a_box_is_written_as_the_format_says():
    # 80 bytes, a count, 50 bytes a facet: a box of 12 facets has 684 bytes.
    data = stl_bytes(Solid.box((10, 20, 30)))
    assert len(data) == 684
    assert not data.lower().startswith(b"solid")
    assert struct.unpack_from("<I", data, 80) == (12,)
    for index in range(12):
        *numbers, attribute = struct.unpack_from("<12fH", data, 84 + 50 * index)
        assert attribute == 0
        normal, corners = np.array(numbers[:3]), np.reshape(numbers[3:], (3, 3))
        right_hand = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        np.testing.assert_allclose(normal, right_hand / np.linalg.norm(right_hand), atol=1e-7)
        # Outward: away from the middle of the box.
        assert normal @ (corners.mean(axis=0) - [5, 10, 15]) > 0


@pytest.mark.parametrize(
    "solid",
    [
        Solid.box((10, 20, 30), (-5, 100, 1000)),
        Solid.cylinder((0, 0, 0), (100, 50, 25), 7, 64),
        Solid.box((40, 40, 40)).difference(Solid.box((20, 20, 20), (10, 10, 10))),
        Solid.box((10, 10, 10)).union(Solid.box((10, 10, 10), (10, 10, 0))),
    ],
)
def test_trimesh_reads_a_closed_mesh_of_the_same_volume(solid):
    mesh = read(stl_bytes(solid))
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-5)
    np.testing.assert_allclose(mesh.bounds, solid.bounds, rtol=1e-7)


def test_equal_solids_give_equal_bytes_and_no_minus_zero():
    one = stl_bytes(Solid.box((1, 2, 3)))
    assert one == stl_bytes(Solid.box((1, 2, 3)).transformed(np.eye(4)))
    assert one == stl_bytes(printable_mesh(Solid.box((1, 2, 3))))
    floats = np.frombuffer(one[84:], dtype=[("f", "<f4", 12), ("a", "<u2")])["f"]
    assert not (np.signbit(floats) & (floats == 0)).any()


def test_file_of_many_facets_has_its_size():
    ball = trimesh.creation.icosphere(7, 100.0)  # 327 680 facets
    mesh = printable_mesh(Solid.from_arrays(ball.vertices, ball.faces))
    data = stl_bytes(mesh)
    assert len(data) == 84 + 50 * len(ball.faces)
