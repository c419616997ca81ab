"""Every fault that makes a plan unsound, provoked once, with place, measured and allowed."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import trimesh

from splitplanner.findings import Severity
from splitplanner.plan import Cut, Division, Piece, Seam, divide
from splitplanner.score import soundness, thick_enough, thin_skins
from splitplanner.score.soundness import closed
from splitplanner.solid import Plane, Section, Solid
from splitplanner.workshop import Bed, Printer
from tests.catalogue import solid_of

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bed=Bed.rectangle(220, 220, 250), line_width=0.45)
# A skin may run out over four lines, 1.8 mm.
FEATHER = 4 * 0.45


def checked(part, *cuts, printer=PRINTER):
    division = divide(part, cuts)
    return found_in(division, cuts, printer)


def found_in(division, cuts, printer=PRINTER):
    ups = {piece.name: Z for piece in division.pieces}
    return soundness(division, ups, tuple(cuts), printer)


def only(findings, kind):
    """Return the one finding, which is a fault with a place, of `kind`."""
    (finding,) = findings
    assert finding.kind == kind
    assert finding.severity is Severity.FAULT
    assert finding.message.endswith(".")
    assert len(finding.where)
    return finding


def by_hand(part, *solids):
    pieces = tuple(Piece(str(n), n, solid) for n, solid in enumerate(solids, 1))
    return Division(part, pieces, ())


# -- good plans ---------------------------------------------------------------------------------
def test_good_plans_have_no_findings():
    assert checked(Solid.box((400, 100, 100)), Cut(Plane(X, 200.0))) == ()
    assert checked(Solid.box((200, 200, 200))) == ()
    grid = [Cut(Plane(X, 215.0)), Cut(Plane(Y, 215.0))]
    assert checked(Solid.box((430, 430, 240)), *grid) == ()
    # A U of two legs that a cut tells apart, and a tube.
    legs = Solid.box((150, 30, 30)).union(
        Solid.box((30, 30, 120)), Solid.box((30, 30, 120), (120, 0, 0))
    )
    assert checked(legs, Cut(Plane(Z, 60.0))) == ()
    tube = Solid.cylinder((0, 0, 0), (0, 0, 400), 100.0, 96).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 401), 97.0, 96)
    )
    assert checked(tube, Cut(Plane(Z, 200.0))) == ()


@pytest.mark.parametrize("seed", range(3))
def test_oblique_cuts_through_a_ring_are_sound(seed):
    ring = solid_of(trimesh.creation.torus(100.0, 30.0, 48, 24))
    normal = np.random.default_rng(seed).normal(size=3)
    assert checked(ring, Cut(Plane.through((0, 0, 0), normal)), printer=big()) == ()


def big():
    return Printer(bed=Bed.rectangle(500, 500, 500))


# -- pieces -------------------------------------------------------------------------------------
def test_piece_too_large_for_the_bed():
    part = Solid.box((400, 100, 100))
    cuts = (Cut(Plane(X, 100.0)),)
    division = divide(part, cuts)
    finding = only(soundness(division, {"1": Z, "2": X}, cuts, PRINTER), "piece.bed_fit")
    assert finding.subject == "2"
    # 300 mm high on a bed of 250.
    assert (finding.measured, finding.allowed) == pytest.approx((250 / 300, 1.0))
    assert "50.0 mm too large" in finding.message
    assert sorted(map(tuple, finding.where.round(9))) == sorted(
        (x, y, z) for x in (100, 400) for y in (0, 100) for z in (0, 100)
    )


def test_sliver():
    cuts = [Cut(Plane(X, 0.3))]
    division = divide(Solid.box((200, 100, 100)), cuts)
    finding = next(f for f in found_in(division, cuts) if f.kind == "piece.sliver")
    # 2 V / A of a plate 0.3 x 100 x 100: 6000 / (2 x 10 000 + 400 x 0.3) mm.
    assert finding.measured == pytest.approx(6000 / 20120)
    assert finding.allowed == PRINTER.line_width
    assert finding.subject == "1"
    np.testing.assert_allclose(finding.where, [[0.15, 50, 50]])
    assert "0.30 mm thick" in finding.message


def test_dust():
    # A corner cut off by 1.2 mm on each edge: a tetrahedron no longer than ten lines.
    cut = Cut(Plane.through((1.2, 0, 0), (1, 1, 1)))
    finding = only(checked(Solid.box((200, 200, 200)), cut), "piece.dust")
    # V = a³ / 6, A = 3 a² / 2 + sqrt(3) a² / 2.
    assert finding.measured == pytest.approx(2 * 1.2 / 6 / (1.5 + math.sqrt(3) / 2))
    assert finding.allowed == PRINTER.line_width
    np.testing.assert_allclose(finding.where, [[0.3, 0.3, 0.3]], atol=1e-9)


def test_pieces_of_exactly_a_line_are_thick_enough():
    def thin(thickness):
        # A large plate has 2 V / A just below its thickness.
        return list(thick_enough(Piece("1", 1, Solid.box((1e4, 1e4, thickness))), 0.45))

    assert thin(0.4501) == []
    assert [finding.kind for finding in thin(0.45)] == ["piece.sliver"]


def test_loose_bodies():
    part = Solid.box((50, 50, 50)).union(Solid.box((50, 50, 50), (100, 0, 0)))
    finding = only(found_in(by_hand(part, part), ()), "piece.loose")
    assert (finding.subject, finding.measured, finding.allowed) == ("1", 2, 1)
    np.testing.assert_allclose(finding.where, [[25, 25, 25], [125, 25, 25]])


def test_a_void_is_no_loose_body():
    hollow = Solid.box((50, 50, 50)).difference(Solid.box((30, 30, 30), (10, 10, 10)))
    assert found_in(by_hand(hollow, hollow), ()) == ()


def test_open_piece():
    # No solid of the program is open, so the check is given bare faces: a box without two of its
    # triangles, and one with a face twice.
    box = trimesh.creation.box((10, 20, 30))
    broken = SimpleNamespace(vertices=box.vertices, faces=np.asarray(box.faces)[2:])
    finding = only(closed(Piece("7", 3, broken)), "piece.open")
    # trimesh counts the same open edges.
    mesh = trimesh.Trimesh(box.vertices, broken.faces, process=False)
    once = trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)
    assert finding.measured == len(once) == len(finding.where)
    middles = mesh.vertices[mesh.edges_sorted[once]].mean(axis=1)
    assert {tuple(p) for p in finding.where.round(6)} == {tuple(p) for p in middles.round(6)}
    assert (finding.subject, finding.allowed) == ("7", 0)
    assert "Piece 3" in finding.message

    doubled = SimpleNamespace(vertices=box.vertices, faces=np.vstack([box.faces, box.faces[:1]]))
    (finding,) = closed(Piece("7", 3, doubled))
    assert (finding.kind, finding.measured) == ("piece.open", 3)
    solid = Solid.box((10, 20, 30))
    vars(solid)["faces"] = solid.faces[1:]
    finding = only(found_in(by_hand(Solid.box((10, 20, 30)), solid), ()), "piece.open")
    assert finding.measured == 3

    whole = SimpleNamespace(vertices=box.vertices, faces=np.asarray(box.faces))
    assert list(closed(Piece("7", 3, whole))) == []


# -- adding up ----------------------------------------------------------------------------------
def test_a_missing_piece():
    part = Solid.box((400, 100, 100))
    cuts = (Cut(Plane(X, 150.0)), Cut(Plane(X, 300.0)))
    whole = divide(part, cuts)
    without = Division(part, tuple(p for p in whole.pieces if p.name != "2.1"), ())
    finding = only(found_in(without, cuts), "pieces.volume")
    assert (finding.measured, finding.allowed) == pytest.approx((2.5e6, 4e6))
    # The hole that it leaves reaches from 150 to 300.
    np.testing.assert_allclose(finding.where, [[225, 50, 50]])


def test_volumes_may_differ_by_a_millionth():
    part = Solid.box((100, 100, 100))

    def kinds(height):
        return [f.kind for f in found_in(by_hand(part, Solid.box((100, 100, height))), ())]

    assert kinds(100 - 0.5e-4) == []
    assert kinds(100 - 2e-4) == ["pieces.volume"]


def test_overlapping_pieces():
    # Both hold 60 of 100 mm: 20 x 100 x 50 mm³ twice. A third piece touches without overlap.
    part = Solid.box((100, 100, 50))
    division = by_hand(part, Solid.box((60, 100, 50)), Solid.box((60, 100, 50), (40, 0, 0)))
    volume, overlap = found_in(division, ())
    assert volume.kind == "pieces.volume"
    assert overlap.kind == "pieces.overlap"
    assert overlap.measured == pytest.approx(20 * 100 * 50)
    assert overlap.allowed == pytest.approx(1e-6 * part.volume)
    np.testing.assert_allclose(overlap.where, [[50, 50, 25]])


def test_overlap_is_found_where_the_volumes_add_up():
    part = Solid.box((100, 100, 50))
    division = by_hand(
        part,
        Solid.box((60, 100, 50)),
        Solid.box((40, 100, 50), (50, 0, 0)),
    )
    finding = only(found_in(division, ()), "pieces.overlap")
    assert finding.measured == pytest.approx(10 * 100 * 50)


# -- seams --------------------------------------------------------------------------------------
def stepped(skin):
    """A plate 100 x 100 with a tower of 40 x 40; its tread is `skin` above a cut at 20 mm."""
    return Solid.box((100, 100, 20 + skin)).union(Solid.box((40, 40, 60), (30, 30, 20)))


def test_thin_skin_under_a_step():
    finding = only(checked(stepped(0.2), Cut(Plane(Z, 20.0))), "seam.thin_skin")
    # All of the plate but the tower with its feather edge round it, rounded at the corners.
    kept = 40**2 + 4 * 40 * FEATHER + math.pi * FEATHER**2
    assert finding.measured == pytest.approx(100**2 - kept, rel=1e-4)
    assert finding.allowed == 4
    assert finding.subject == "S1"
    assert "piece 2" in finding.message
    (place,) = finding.where
    assert place[2] == pytest.approx(20)
    assert 0 < place[0] < 100
    assert 0 < place[1] < 100
    assert not shapely.box(30, 30, 70, 70).contains(shapely.Point(place[:2]))


def slit(low, high):
    """A block 100 x 100 x 60 with a slit, from `low` to `high` mm above a cut at 20 mm."""
    gap = Solid.box((60, 40, high - low), (20, 30, 20 + low))
    return Solid.box((100, 100, 60)).difference(gap, Solid.box((10, 40, 60), (80, 30, 20 + low)))


@pytest.mark.parametrize(
    ("low", "high"),
    [(0.15, 0.4), (0.3, 0.6), (0.2, 2.0)],
    ids=["half a line deep only", "a line deep only", "at both depths"],
)
def test_thin_skin_shows_at_either_depth(low, high):
    # The slit is open to the side by a shaft of 10 x 40, behind which the skin is as thin.
    finding = only(checked(slit(low, high), Cut(Plane(Z, 20.0))), "seam.thin_skin")
    inner = (70 - 2 * FEATHER) * (40 - 2 * FEATHER)
    assert finding.measured == pytest.approx(inner, rel=1e-3)


def test_a_gap_narrower_than_half_a_line_closes_in_the_print():
    inside = Solid.box((60, 40, 0.1), (20, 30, 20.3))
    assert checked(Solid.box((100, 100, 60)).difference(inside), Cut(Plane(Z, 20.0))) == ()


@pytest.mark.parametrize("side", [1, -1], ids=["above", "below"])
def test_thin_skin_on_either_side_and_any_direction_of_the_normal(side):
    plane = Plane((0, 0, float(side)), 20.0 * side)
    assert [f.kind for f in checked(stepped(0.2), Cut(plane))] == ["seam.thin_skin"]


def test_steps_a_line_or_more_from_the_cut_are_no_skins():
    assert checked(stepped(0.5), Cut(Plane(Z, 20.0))) == ()
    # Just below the tread the tower is cut alone: nothing thin on either side.
    assert checked(stepped(0.0), Cut(Plane(Z, 20.0))) == ()


def test_narrow_ledges_are_feather_edges():
    # A ledge of 1.5 mm all round, 0.2 mm above the cut: within the feather of four lines.
    part = Solid.box((43, 43, 20.2)).union(Solid.box((40, 40, 60), (1.5, 1.5, 0)))
    assert checked(part, Cut(Plane(Z, 20.0))) == ()


def sheared(angle):
    """A block 100 x 100 x 60 whose walls lean from the z axis by `angle` towards x."""
    matrix = np.eye(4)
    matrix[0, 2] = math.tan(math.radians(angle))
    return Solid.box((100, 100, 60)).transformed(matrix)


@pytest.mark.parametrize("angle", [0, 30, 60, -60, 70])
def test_sloping_walls_are_no_skins(angle):
    assert checked(sheared(angle), Cut(Plane(Z, 30.0)), printer=big()) == ()


def test_a_wall_that_runs_out_almost_flat_is_a_skin():
    # At 85° from the normal a line of depth runs out over 0.45 tan 85° = 5.14 mm. The walls run
    # out on one end of each side, 100 mm long.
    findings = checked(
        sheared(85), Cut(Plane(Z, 30.0)), printer=Printer(bed=Bed.rectangle(2e3, 2e3, 2e3))
    )
    assert [f.kind for f in findings] == ["seam.thin_skin"] * 2
    strip = 100 * (0.45 * math.tan(math.radians(85)) - FEATHER)
    assert [f.measured for f in findings] == pytest.approx([strip, strip], rel=1e-6)
    assert ["piece 1" in f.message for f in findings].count(True) == 1


def dome():
    ball = solid_of(trimesh.creation.icosphere(5, 100.0))
    return ball.difference(Solid.box((300, 300, 150), (-150, -150, -150)))


def test_a_dome_cut_well_below_its_top_is_sound():
    assert checked(dome(), Cut(Plane(Z, 60.0))) == ()
    assert checked(dome(), Cut(Plane(Z, 90.0))) == ()


def test_the_very_top_of_a_dome_is_a_skin():
    # 0.8 mm below the top: r² = R² - z², 12.6 mm at the cut and 8.4 mm one line higher.
    findings = checked(dome(), Cut(Plane(Z, 99.2)))
    finding = next(f for f in findings if f.kind == "seam.thin_skin")
    low, high = (math.sqrt(100**2 - z**2) for z in (99.2, 99.65))
    ring = math.pi * (low**2 - (high + FEATHER) ** 2)
    assert finding.measured == pytest.approx(ring, rel=0.05)
    assert np.hypot(*finding.where[0, :2]) == pytest.approx((low + high + FEATHER) / 2, rel=0.2)


def test_thinness_is_measured_against_the_line_width():
    division = divide(stepped(0.5), [Cut(Plane(Z, 20.0))])
    (seam,) = division.seams
    assert list(thin_skins(seam, division, 0.45)) == []
    (finding,) = thin_skins(seam, division, 0.6)
    assert "thinner than one line (0.6 mm)" in finding.message


def test_a_hook_that_cannot_be_pushed_together():
    # The lower piece is a trough whose walls reach past the upper one's seam, its floor.
    part = Solid.box((60, 60, 60))
    upper = Solid.box((40, 61, 50), (10, 0, 10)).intersection(part)
    lower = part.difference(upper)
    plane = Plane(Z, 10.0)
    seam = Seam("S1", 0, "1", "2", Section(plane, (shapely.box(10, 0, 50, 60),)))
    division = Division(part, (Piece("1", 1, lower), Piece("2", 2, upper)), (seam,))
    finding = only(found_in(division, (Cut(plane),)), "seam.blocked")
    assert (finding.measured, finding.allowed) == pytest.approx((50, 0))
    assert finding.subject == "S1"
    assert "50.00 mm past the seam" in finding.message
    np.testing.assert_allclose(finding.where, [[30, 30, 10]])


def test_a_hook_is_found_whichever_side_it_is_on():
    # The same, upside down: the piece above the plane reaches past it.
    part = Solid.box((60, 60, 60))
    lower = Solid.box((40, 61, 50), (10, 0, 0)).intersection(part)
    plane = Plane(Z, 50.0)
    seam = Seam("S1", 0, "1", "2", Section(plane, (shapely.box(10, 0, 50, 60),)))
    pieces = (Piece("1", 1, lower), Piece("2", 2, part.difference(lower)))
    finding = only(found_in(Division(part, pieces, (seam,)), (Cut(plane),)), "seam.blocked")
    assert finding.measured == pytest.approx(50)


def test_a_cut_that_met_nothing_is_passed_on():
    findings = checked(Solid.box((50, 50, 50)), Cut(Plane(X, 500.0)))
    assert [(f.kind, f.severity) for f in findings] == [("cut.missed", Severity.WARNING)]


def test_progress_rises_and_names_what_is_checked():
    heard = []
    part = Solid.box((400, 100, 100))
    cuts = (Cut(Plane(X, 200.0)),)
    soundness(divide(part, cuts), {"1": Z, "2": Z}, cuts, PRINTER, lambda *said: heard.append(said))
    assert [done for done, _ in heard] == sorted(done for done, _ in heard)
    assert [doing for _, doing in heard] == [
        "checking piece 1",
        "checking piece 2",
        "checking seam S1",
        "checking that the pieces add up",
    ]


def test_pieces_that_a_slanting_seam_keeps_apart_are_not_intersected(monkeypatch):
    part = Solid.box((100, 100, 60))
    cut = Cut(Plane.through((50, 50, 30), (1, 2, 3)))
    asked = []
    inner = Solid.intersection

    def counted(solid, *others):
        asked.append(solid)
        return inner(solid, *others)

    monkeypatch.setattr(Solid, "intersection", counted)
    assert checked(part, cut) == ()
    assert asked == []
    # By hand, so that they do overlap past the seam: the kernel tells by how much.
    below, above = part.split(cut.plane)
    longer = part.split(cut.plane.shifted(2.0))[0]
    seam = divide(part, (cut,)).seams
    pieces = (Piece("1", 1, longer), Piece("2", 2, above))
    kinds = {finding.kind for finding in found_in(Division(part, pieces, seam), (cut,))}
    assert {"pieces.volume", "pieces.overlap"} <= kinds
    assert asked
    assert longer.volume > below.volume
