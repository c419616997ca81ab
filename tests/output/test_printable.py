"""Meshes that stay closed when numbers are cut short and equal places are joined.

Independent references: trimesh (joins equal places, then looks at the edges) and the kernel
(goes by index).
"""

import numpy as np
import pytest
import trimesh

from splitplanner.errors import ExportError
from splitplanner.findings import Severity
from splitplanner.output import printable_mesh
from splitplanner.output._touching import wedges
from splitplanner.output.printable import enclosed_volume, rounded, unmatched_edges
from splitplanner.solid import Plane, Solid

CUBE = (10.0, 10.0, 10.0)
# A turn about two axes, so that no coordinate is a round number.
TURN = np.hstack(
    [
        trimesh.transformations.rotation_matrix(0.7, (1, 2, 3))[:3, :3],
        np.array([[321.1], [123.4], [77.7]]),
    ]
)


def cubes(*corners):
    first, *rest = (Solid.box(CUBE, np.multiply(corner, 10.0)) for corner in corners)
    return first.union(*rest)


def touching_cubes():
    """Two cubes that share one edge."""
    return cubes((0, 0, 0), (1, 1, 0))


def checkerboard():
    """32 cubes of 64, each touching its neighbours along edges only."""
    grid = np.argwhere(np.indices((4, 4, 4)).sum(axis=0) % 2 == 0)
    return cubes(*grid)


def voids_that_touch():
    """A block with two hollows that share an edge."""
    block = Solid.box((50, 50, 50), (-15, -15, -15))
    return block.difference(Solid.box(CUBE), Solid.box(CUBE, (10, 10, 0)))


def pockets_that_touch():
    """A block with two blind pockets that share an edge down to their floors."""
    block = Solid.box((40, 40, 40))
    return block.difference(
        Solid.box((10, 10, 30), (10, 10, 20)), Solid.box((10, 10, 30), (20, 20, 20))
    )


def notches_that_touch():
    """A bar left of a block by two notches: two prisms that share an edge."""
    block = Solid.box((40, 40, 40))
    return block.difference(
        Solid.box((20, 20, 60), (0, 0, -10)), Solid.box((20, 20, 60), (20, 20, -10))
    )


TOUCHING = {
    "cubes": touching_cubes(),
    "checkerboard": checkerboard(),
    "voids": voids_that_touch(),
    "pockets": pockets_that_touch(),
    "notches": notches_that_touch(),
}
TOUCHING |= {f"turned {name}": solid.transformed(TURN) for name, solid in TOUCHING.items()}


def assert_closed(mesh):
    assert not unmatched_edges(mesh.faces).any()
    assert len(np.unique(mesh.vertices, axis=0)) == len(mesh.vertices)
    assert np.array_equal(mesh.vertices, mesh.vertices.astype(np.float32).astype(float))
    assert sorted(np.unique(mesh.faces)) == list(range(len(mesh.vertices)))
    joined = trimesh.Trimesh(mesh.vertices, mesh.faces, process=True)
    assert joined.is_watertight
    assert joined.is_winding_consistent
    assert Solid.from_arrays(mesh.vertices, mesh.faces).volume == pytest.approx(
        mesh.volume, rel=1e-9
    )


@pytest.mark.parametrize(
    "solid",
    [
        Solid.box((10, 20, 30)),
        Solid.cylinder((1, 2, 3), (30, 20, 60), 12.3, 97),
        Solid.box((100, 100, 30)).difference(Solid.box((60, 60, 10), (20, 20, 10))),
        Solid.box((240.1, 3.3, 7.7)).transformed(TURN),
    ],
)
def test_a_plain_solid_keeps_its_mesh(solid):
    mesh = printable_mesh(solid)
    assert_closed(mesh)
    assert mesh.faces.shape == solid.faces.shape
    np.testing.assert_allclose(mesh.vertices, solid.vertices, rtol=2**-24, atol=5e-7)
    assert [finding.kind for finding in mesh.findings] in ([], ["output.volume"])
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-5)


@pytest.mark.parametrize("name", TOUCHING)
def test_a_solid_that_touches_itself_is_moved_apart(name):
    solid = TOUCHING[name]
    plain = trimesh.Trimesh(solid.vertices, solid.faces, process=True)
    assert not plain.is_watertight, "the case must be one that joining spoils"
    mesh = printable_mesh(solid, "1.2")
    assert_closed(mesh)
    assert mesh.volume < solid.volume
    # One new corner a wedge, at most 0.01 mm into the material: a pyramid on the two faces.
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-4)
    finding = next(found for found in mesh.findings if found.kind == "output.touching")
    assert finding.subject == "1.2"
    assert finding.severity is Severity.NOTE
    assert len(finding.where) == finding.measured


def test_where_it_was_moved_apart_is_told_and_by_how_little():
    mesh = printable_mesh(touching_cubes())
    finding = next(found for found in mesh.findings if found.kind == "output.touching")
    np.testing.assert_allclose(finding.where, [[10, 10, 5]])
    middle = mesh.vertices[np.abs(mesh.vertices - [10, 10, 5]).max(axis=1) < 1]
    # Along the bisectors of the two cubes, 1e-4 mm each way.
    np.testing.assert_allclose(
        np.sort(middle[:, :2], axis=0) - 10, np.array([[-1, -1], [1, 1]]) * 1e-4 / 2**0.5, atol=1e-6
    )
    # Closed form: each cube loses a pyramid over the two triangles at the edge, of area 50 each,
    # and each new corner lies 1e-4/√2 below both: V = 2 cubes · 2 · 50 · 1e-4/√2 / 3.
    lost = 2000 - mesh.volume
    assert lost == pytest.approx(4 * 50 * 1e-4 / 2**0.5 / 3, rel=0.02)


def test_solids_that_touch_at_a_corner_or_beside_each_other_are_left_alone():
    for solid in (cubes((0, 0, 0), (1, 1, 1)), cubes((0, 0, 0), (1, 1, 0.5))):
        mesh = printable_mesh(solid)
        assert_closed(mesh)
        assert mesh.findings == ()


def test_a_skin_that_rounding_flattens_stays_closed():
    # A block with a skin 1e-7 mm thick round it: less than the last decimal.
    solid = Solid.box((10, 10, 10)).union(Solid.box((20, 20, 1e-7), (-5, -5, 0)))
    mesh = printable_mesh(solid)
    assert_closed(mesh)
    assert mesh.volume == pytest.approx(1000, rel=1e-9)


def test_a_cut_that_leaves_slivers_stays_closed():
    # A ball of 5120 faces, cut 1e-7 mm from its corners: faces far smaller than the decimals.
    ball = trimesh.creation.icosphere(4, 100.0)
    solid = Solid.from_arrays(ball.vertices, ball.faces)
    heights = np.unique(np.round(ball.vertices[:, 2], 9))
    for height in heights[[40, 60, 80]]:
        for side in solid.split(Plane((0.0, 0.0, 1.0), height + 1e-7)):
            mesh = printable_mesh(side)
            assert_closed(mesh)
            assert mesh.volume == pytest.approx(side.volume, rel=1e-6)


def test_a_volume_that_single_precision_changes_is_told():
    # Two faces 2.4 mm apart at 200 mm, where numbers are 1.5e-5 mm apart (IEEE 754 binary32).
    solid = Solid.box((2.4, 50, 50), (200.123456, 0, 0))
    mesh = printable_mesh(solid, "3")
    (finding,) = mesh.findings
    single = np.float32([200.123456, 202.523456]).astype(float)
    assert finding.kind == "output.volume"
    assert finding.measured == pytest.approx(abs((single[1] - single[0]) / 2.4 - 1), rel=1e-6)
    assert finding.allowed == 1e-6


def test_what_cannot_be_closed_is_refused_with_the_piece_named():
    with pytest.raises(ExportError, match=r"Piece “2\.1”") as caught:
        printable_mesh(Solid.box((10, 10, 1e-8)), "2.1")
    assert caught.value.subject == "2.1"
    assert len(caught.value.findings) == 1


def test_equal_solids_give_equal_meshes():
    one, other = (printable_mesh(checkerboard().transformed(TURN)) for _ in range(2))
    assert np.array_equal(one.vertices, other.vertices)
    assert np.array_equal(one.faces, other.faces)


# -- the steps ----------------------------------------------------------------------------------
def test_corners_are_rounded_joined_and_kept_in_order():
    vertices = np.array([[5, 0, 0], [0, 0, 0], [0, 5, 0], [-1e-9, 0, -0.0], [0, 0, 5], [9, 9, 9]])
    faces = np.array([[1, 2, 0], [3, 0, 4], [1, 4, 2], [0, 2, 4], [0, 1, 3]])
    at, tris = rounded(vertices.astype(float), faces)
    assert at.tolist() == [[5, 0, 0], [0, 0, 0], [0, 5, 0], [0, 0, 5]]
    assert not np.signbit(at).any()
    assert tris.tolist() == [[1, 2, 0], [1, 0, 3], [1, 3, 2], [0, 2, 3]]
    assert not unmatched_edges(tris).any()
    assert enclosed_volume(at, tris) == pytest.approx(125 / 6)


def test_faces_and_their_reverses_cancel_one_by_one():
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 0], [0, 0, 1.0]])
    once, reverse, other = [0, 1, 2], [2, 1, 3], [0, 1, 4]
    kept = rounded(vertices, np.array([once, reverse, other]))[1]
    assert kept.tolist() == [[0, 1, 2]]  # `other`, with its corners counted anew
    kept = rounded(vertices, np.array([once, once, reverse]))[1]
    assert kept.tolist() == [[0, 1, 2]]
    kept = rounded(vertices, np.array([reverse, once, reverse, [1, 3, 2]]))[1]
    assert len(kept) == 2


def test_edges_without_exactly_one_partner_are_found():
    closed = Solid.box(CUBE).faces
    assert not unmatched_edges(closed).any()
    assert unmatched_edges(closed[1:]).sum() == 3
    turned = np.array(closed)
    turned[0] = turned[0, ::-1]
    assert unmatched_edges(turned).sum() == 6
    assert unmatched_edges(np.vstack([closed, closed])).all()


def face(degrees, sign):
    return (np.radians(degrees), sign, (int(degrees), sign))


def spans(around):
    return sorted((a[2][0], b[2][0]) for a, b in wedges(around))


def test_faces_round_an_edge_are_paired_across_the_material():
    quarters = [face(90, 1), face(180, -1), face(0, -1), face(270, 1)]
    assert spans(quarters) == [(0, 90), (180, 270)]
    assert spans([face(a, -s) for a, s in ((0, -1), (90, 1), (180, -1), (270, 1))]) == [
        (90, 180),
        (270, 0),
    ]
    six = [face(60 * k, -1 if k % 2 else 1) for k in range(6)]
    assert spans(six) == [(60, 120), (180, 240), (300, 0)]


def test_a_crack_or_a_fin_of_no_thickness_is_not_mixed_up():
    # Material from 0 to 90 with a crack at 45: two wedges side by side, not one in the other.
    assert spans([face(0, -1), face(45, -1), face(45, 1), face(90, 1)]) == [(0, 45), (45, 90)]
    # Material from 0 to 90 and a fin at 180.
    assert spans([face(0, -1), face(90, 1), face(180, 1), face(180, -1)]) == [(0, 90), (180, 180)]


def test_faces_that_rounding_pushed_through_each_other_are_still_paired():
    pairs = wedges([face(0, -1), face(10, -1), face(20, 1), face(30, 1)])
    assert sorted((a[2][0], b[2][0]) for a, b in pairs) == [(0, 30), (10, 20)]
