"""Cuts, pieces and seams against closed forms."""

import numpy as np
import pytest
import trimesh

from splitplanner.errors import CutError
from splitplanner.findings import Severity
from splitplanner.plan import WHOLE, Cut, cut_piece, divide, loose_bodies, outline_points
from splitplanner.solid import Plane, Solid
from tests.catalogue import hollow_roof

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
TURN = trimesh.transformations.rotation_matrix(0.7, (1, 2, 3), (5, 0, 0))
MOVES = pytest.mark.parametrize("move", [np.eye(4), TURN], ids=["plain", "turned"])


def moved_plane(move, normal, point):
    return Plane.through((move @ [*point, 1])[:3], move[:3, :3] @ normal)


def u_shape():
    """Two legs of 10 x 10, 40 high, on a foot of 50 x 10 x 10."""
    foot, leg = Solid.box((50, 10, 10)), Solid.box((10, 10, 40))
    return foot.union(leg, leg.transformed(np.hstack([np.eye(3), [[40], [0], [0]]])))


def assert_whole(division):
    """The pieces are closed, connected, and add up to the part."""
    total = sum(piece.solid.volume for piece in division.pieces)
    assert total == pytest.approx(division.part.volume, rel=1e-9)
    for piece in division.pieces:
        mesh = trimesh.Trimesh(piece.solid.vertices, piece.solid.faces, process=False)
        assert mesh.is_watertight
        assert len(piece.solid.bodies()) == 1
    assert [piece.number for piece in division.pieces] == list(range(1, len(division.pieces) + 1))


def test_without_cuts_the_part_is_one_piece():
    part = Solid.box((10, 20, 30))
    division = divide(part, ())
    assert [piece.name for piece in division.pieces] == [WHOLE]
    assert division.piece(WHOLE).solid is part
    assert division.seams == ()


@MOVES
def test_one_cut_of_a_box(move):
    part = Solid.box((430, 200, 240)).transformed(move)
    division = divide(part, [Cut(moved_plane(move, X, (100, 0, 0)))])
    assert_whole(division)
    assert division.piece("1").solid.volume == pytest.approx(100 * 200 * 240)
    assert division.piece("2").solid.volume == pytest.approx(330 * 200 * 240)
    (seam,) = division.seams
    assert (seam.name, seam.cut, seam.below, seam.above) == ("S1", 0, "1", "2")
    assert seam.section.area == pytest.approx(200 * 240)
    assert seam.section.length == pytest.approx(2 * (200 + 240))
    np.testing.assert_allclose(seam.section.centroid, (move @ [100, 100, 120, 1])[:3], atol=1e-6)


def test_the_tree_of_cuts_names_the_pieces():
    part = Solid.box((300, 100, 100))
    cuts = [
        Cut(Plane(X, 100.0)),
        Cut(Plane(X, 200.0), "2"),
        Cut(Plane(Y, 50.0), "2.1"),
        Cut(Plane(Z, 60.0), "2.1.2"),
    ]
    division = divide(part, cuts)
    assert_whole(division)
    assert {piece.name: piece.solid.volume for piece in division.pieces} == pytest.approx(
        {"1": 1e6, "2.2": 1e6, "2.1.1": 5e5, "2.1.2.1": 3e5, "2.1.2.2": 2e5}
    )
    contact = {(seam.cut, seam.below, seam.above): seam.section.area for seam in division.seams}
    # The first cut's face is shared by all that later cuts made of its far side.
    assert contact == pytest.approx(
        {
            (0, "1", "2.1.1"): 5000,
            (0, "1", "2.1.2.1"): 3000,
            (0, "1", "2.1.2.2"): 2000,
            (1, "2.1.1", "2.2"): 5000,
            (1, "2.1.2.1", "2.2"): 3000,
            (1, "2.1.2.2", "2.2"): 2000,
            (2, "2.1.1", "2.1.2.1"): 6000,
            (2, "2.1.1", "2.1.2.2"): 4000,
            (3, "2.1.2.1", "2.1.2.2"): 5000,
        }
    )
    assert [seam.name for seam in division.seams] == [f"S{i}" for i in range(1, 10)]


def test_a_cut_of_no_named_piece_divides_all_that_it_meets():
    division = divide(Solid.box((200, 200, 100)), [Cut(Plane(X, 100.0)), Cut(Plane(Y, 150.0))])
    assert_whole(division)
    assert {piece.name for piece in division.pieces} == {"1.1", "1.2", "2.1", "2.2"}
    assert sum(seam.section.area for seam in division.seams) == pytest.approx(2 * 200 * 100)


def test_pieces_are_numbered_along_the_part():
    part = Solid.box((100, 900, 50))
    cuts = [Cut(Plane(Y, 600.0)), Cut(Plane(Y, 300.0)), Cut(Plane(X, 50.0), "1.1")]
    division = divide(part, cuts)
    assert [piece.name for piece in division.pieces] == ["1.1.1", "1.1.2", "1.2", "2"]
    backward = divide(part, [Cut(cut.plane.flipped()) for cut in cuts[:2]])
    assert [piece.name for piece in backward.pieces] == ["2.2", "2.1", "1"]


@MOVES
def test_bodies_that_a_cut_leaves_loose_are_pieces_of_their_own(move):
    part = u_shape().transformed(move)
    division = divide(part, [Cut(moved_plane(move, Z, (0, 0, 25)))])
    assert_whole(division)
    volumes = {piece.name: piece.solid.volume for piece in division.pieces}
    assert volumes == pytest.approx({"1": 5000 + 2 * 1500, "2a": 1500, "2b": 1500})
    assert {(seam.below, seam.above) for seam in division.seams} == {("1", "2a"), ("1", "2b")}
    for seam in division.seams:
        assert seam.section.area == pytest.approx(100)


def test_a_loose_piece_can_be_cut_again():
    cuts = [Cut(Plane(Z, 25.0)), Cut(Plane(Z, 30.0), "2a")]
    names = {piece.name for piece in divide(u_shape(), cuts).pieces}
    assert names == {"1", "2a.1", "2a.2", "2b"}


def test_a_part_of_two_bodies():
    part = Solid.box((10, 10, 10)).union(Solid.box((10, 10, 10), (30, 0, 0)))
    division = divide(part, [Cut(Plane(Z, 5.0))])
    assert_whole(division)
    assert [piece.name for piece in division.pieces] == ["a.1", "a.2", "b.1", "b.2"]
    assert {(seam.below, seam.above) for seam in division.seams} == {("a.1", "a.2"), ("b.1", "b.2")}


def test_many_loose_bodies_are_told_apart_by_letters():
    boxes = [Solid.box((1, 1, 1), (3 * i, 0, 0)) for i in range(28)]
    names = list(loose_bodies("2", boxes[0].union(*boxes[1:])))
    assert names[:3] == ["2a", "2b", "2c"]
    assert names[25:] == ["2z", "2aa", "2ab"]


# -- coplanar faces ----------------------------------------------------------------------------
@MOVES
@pytest.mark.parametrize("flip", [False, True], ids=["up", "down"])
def test_a_cut_along_a_step_has_the_contact_only_as_its_seam(move, flip):
    step = Solid.box((40, 40, 20)).union(Solid.box((20, 40, 20), (0, 0, 20))).transformed(move)
    plane = moved_plane(move, Z, (0, 0, 20))
    division = divide(step, [Cut(plane.flipped() if flip else plane)])
    assert_whole(division)
    (seam,) = division.seams
    # The step's own tread, 20 x 40, lies in the plane too, but touches nothing.
    assert seam.section.area == pytest.approx(800, rel=1e-6)
    np.testing.assert_allclose(seam.section.centroid, (move @ [10, 20, 20, 1])[:3], atol=1e-5)


@MOVES
def test_a_cut_where_faces_lie_on_both_sides_of_it(move):
    # A Z: the two blocks overlap by 10 x 40; both the tread and the soffit lie in the plane.
    part = Solid.box((40, 40, 20)).union(Solid.box((40, 40, 20), (30, 0, 20))).transformed(move)
    division = divide(part, [Cut(moved_plane(move, Z, (0, 0, 20)))])
    assert_whole(division)
    assert [piece.solid.volume for piece in division.pieces] == pytest.approx([32000, 32000])
    (seam,) = division.seams
    assert seam.section.area == pytest.approx(400, rel=1e-6)


def test_a_cut_along_a_wall_of_an_inner_room():
    # A closed box, wall 5, cut along the ceiling of its inside.
    part = Solid.box((60, 60, 60)).difference(Solid.box((50, 50, 50), (5, 5, 5)))
    division = divide(part, [Cut(Plane(Z, 55.0))])
    assert_whole(division)
    assert division.piece("2").solid.volume == pytest.approx(60 * 60 * 5)
    (seam,) = division.seams
    assert seam.section.area == pytest.approx(60 * 60 - 50 * 50)
    assert len(seam.section.polygons[0].interiors) == 1


# -- any direction ------------------------------------------------------------------------------
def test_random_cuts_keep_the_volume_and_every_seam_lies_in_its_plane():
    mesh = trimesh.creation.torus(100.0, 30.0, 48, 24)
    part = Solid.from_arrays(mesh.vertices, mesh.faces)
    rng = np.random.default_rng(11)
    for _ in range(6):
        planes = [Plane.through(rng.normal(0, 30, 3), rng.normal(size=3)) for _ in range(3)]
        division = divide(part, [Cut(plane) for plane in planes])
        assert_whole(division)
        # Each cut's seams together are the section of the whole part, since every cut goes
        # through every piece that it meets.
        for index, plane in enumerate(planes):
            area = sum(seam.section.area for seam in division.seams if seam.cut == index)
            assert area == pytest.approx(part.section(plane).area, rel=1e-4)
        for seam in division.seams:
            assert seam.plane == planes[seam.cut]
            inside = seam.plane.to_space([seam.section.shape.representative_point().coords[0]])
            for name, sign in ((seam.below, 1), (seam.above, -1)):
                piece = division.piece(name).solid
                heights = seam.plane.height(piece.vertices) * sign
                assert heights.max() < 1e-6
                low, high = piece.bounds
                assert (inside > low - 1e-6).all()
                assert (inside < high + 1e-6).all()


def test_a_tube_has_a_ring_for_a_seam():
    bars = [Solid.cylinder((0, 0, -k), (0, 0, 620 + k), r, 96) for k, r in ((0, 100), (1, 97))]
    division = divide(bars[0].difference(bars[1]), [Cut(Plane(Z, 310.0))])
    (seam,) = division.seams
    # Regular polygons round a circle: area n r² tan(π/n).
    assert seam.section.area == pytest.approx(96 * (100**2 - 97**2) * np.tan(np.pi / 96))
    points = outline_points(seam.section, 2.0)
    np.testing.assert_allclose(points[:, 2], 310)
    radii = np.linalg.norm(points[:, :2], axis=1)
    outer = points[radii > 98.5]
    steps = np.linalg.norm(np.diff(outer, axis=0), axis=1)
    assert steps.max() <= 2.0 + 1e-9
    assert (np.abs(radii - 100) < 0.1).sum() + (np.abs(radii - 97) < 0.1).sum() == len(points)


# -- what goes wrong ----------------------------------------------------------------------------
def test_a_cut_that_meets_nothing_is_a_finding():
    division = divide(Solid.box((10, 10, 10)), [Cut(Plane(X, 50.0)), Cut(Plane(X, 5.0))])
    (finding,) = division.findings
    assert finding.kind == "cut.missed"
    assert finding.severity is Severity.WARNING
    np.testing.assert_allclose(finding.where, [[50, 0, 0]])
    assert finding.message.startswith("Cut 1 ")
    assert [seam.cut for seam in division.seams] == [1]


def test_a_cut_that_only_touches_a_face_meets_nothing():
    division = divide(Solid.box((10, 10, 10)), [Cut(Plane(X, 10.0)), Cut(Plane(X, 0.0))])
    assert len(division.findings) == 2
    assert len(division.pieces) == 1


def test_a_cut_of_a_named_piece_must_divide_it():
    cuts = [Cut(Plane(X, 5.0)), Cut(Plane(X, 8.0), "1")]
    with pytest.raises(CutError, match="Cut 2 does not meet piece “1”") as caught:
        divide(Solid.box((10, 10, 10)), cuts)
    assert caught.value.subject == "1"
    with pytest.raises(CutError, match=r"Cut 1 names piece “3”.*the pieces are whole"):
        divide(Solid.box((10, 10, 10)), [Cut(Plane(X, 5.0), "3")])
    with pytest.raises(CutError, match="no piece “7”"):
        divide(Solid.box((10, 10, 10)), []).piece("7")


def test_cutting_one_piece():
    box = Solid.box((10, 10, 10))
    assert cut_piece("1", box, Plane(X, 20.0)) is None
    below, above = cut_piece("1", box, Plane(X, 4.0))
    assert {name: solid.volume for name, solid in (below | above).items()} == pytest.approx(
        {"1.1": 400, "1.2": 600}
    )
    below, above = cut_piece(WHOLE, box, Plane(X, 4.0))
    assert [*below, *above] == ["1", "2"]


def test_progress_is_reported_and_can_stop_the_job():
    heard = []

    def report(done, doing):
        heard.append((done, doing))
        if len(heard) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        divide(Solid.box((10, 10, 10)), [Cut(Plane(X, 3.0)), Cut(Plane(X, 6.0))], report)
    assert heard[0] == (0.0, "cutting, plane 1 of 2")
    assert heard[1][0] == 0.5


@pytest.mark.parametrize("first", [70.0, 79.93006993006993, 82.0])
@pytest.mark.parametrize("beside", [0.0, -6e-14, -4e-14, -1.4e-14, 3e-14])
def test_films_of_rounding_are_no_pieces(first, beside):
    # Cut within rounding of its ridge, films of some 3e-14 mm come off the slopes.
    part = hollow_roof()
    cuts = [Cut(Plane(Y, first)), Cut(Plane(Y, 45.0 + beside))]
    division = divide(part, cuts)
    assert_whole(division)
    assert len(division.pieces) == 3
    # A trapezium or triangle of the outer roof less one of the hollow, 180 mm long.
    rise = 90.0 - first
    outer = rise**2 / 2
    inner = max(82.0 - first, 0.0) ** 2 / 2
    half = 45.0**2 / 2 - 37.0**2 / 2
    expected = [half, half - outer + inner, outer - inner]
    volumes = [piece.solid.volume for piece in division.pieces]
    assert sorted(volumes) == pytest.approx(sorted(180 * area for area in expected), rel=1e-9)
