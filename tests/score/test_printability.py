"""What may go wrong in a print, on solids whose tips, holes, bridges and contact are known."""

import numpy as np
import pytest
import trimesh

from splitplanner.plan import Piece
from splitplanner.score import overhang
from splitplanner.score.printability import (
    hanging_tips,
    long_bridges,
    print_findings,
    round_holes,
    thin_spots,
    warping,
)
from splitplanner.score.printability.warping import far_for
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Material, Printer

UP = (0.0, 0.0, 1.0)
PRINTER = Printer()
LAYER, LINE = PRINTER.layer_height, PRINTER.line_width
TURNS = {
    "as it stands": np.eye(3),
    "on its side": np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]]),
    "leaning": trimesh.transformations.rotation_matrix(0.7, (1, 2, 3))[:3, :3],
}


@pytest.fixture(params=TURNS)
def turn(request):
    return TURNS[request.param]


def turned(solid, turn):
    return solid.transformed(np.hstack([turn, [[3.0], [-7.0], [11.0]]]))


def tower(*arms):
    """Return a plate with a post, and arms that are united with it."""
    plate, post = Solid.box((60, 20, 2), (-5, -10, 0)), Solid.box((10, 10, 60), (-5, -5, 0))
    return plate.union(post, *arms)


def spike(x, low, high=40.0, half=10.0, flat=0.0):
    """Return a pyramid that hangs down from `high` to `low` at `x`, with a flat point."""
    corners = [(sx, sy) for sx in (-1, 1) for sy in (-1, 1)]
    top = [(x + half * sx, half * sy, high) for sx, sy in corners]
    end = [(x + flat * sx, flat * sy, low) for sx, sy in corners] if flat else [(x, 0.0, low)]
    return Solid.hull_of(top + end)


def arm(length=45.0):
    return Solid.box((length, 20, 5), (-5, -10, 39.9))


# -- tips ------------------------------------------------------------------------------------
def test_a_spike_that_hangs_free_is_a_tip_with_its_first_layer(turn):
    solid = turned(tower(arm(), spike(30.0, 20.0)), turn)
    (tip,) = hanging_tips(solid, turn @ UP, LAYER, LINE)
    assert tip.at == pytest.approx(tuple(turn @ (30.0, 0.0, 20.0) + (3, -7, 11)), abs=1e-9)
    assert tip.height == pytest.approx(20.0, abs=1e-9)
    # A square pyramid of 20 x 20 mm, 20 mm high: 0.1 mm up its side is 0.1 mm.
    assert tip.area == pytest.approx(0.01, rel=1e-6)
    assert tip.is_sharp


def test_two_spikes_are_two_tips_the_sharper_first_and_a_blunt_one_is_not_sharp():
    solid = tower(arm(), spike(20.0, 25.0, half=5.0), spike(32.0, 30.0, half=5.0, flat=2.0))
    sharp, blunt = hanging_tips(solid, UP, LAYER, LINE)
    assert (sharp.height, blunt.height) == (25.0, 30.0)
    assert (sharp.is_sharp, blunt.is_sharp) == (True, False)
    # 4 mm wide, and wider by 2 x 0.1 x 3 / 10 at half a layer.
    assert blunt.area == pytest.approx(4.06**2, rel=1e-6)


def test_an_edge_that_hangs_is_as_sharp_however_long_it_is():
    roof = Solid.hull_of([(x, y, 40.0) for x in (8, 38) for y in (-8, 8)]
                         + [(x, 0.0, 30.0) for x in (8, 38)])  # fmt: skip
    (tip,) = hanging_tips(tower(arm(), roof), UP, LAYER, LINE)
    # 30 mm long, and 0.1 mm up 2 x 0.1 x 8 / 10 wide.
    assert tip.area == pytest.approx(30 * 0.16, rel=1e-6)
    assert tip.is_sharp


@pytest.mark.parametrize(
    "solid",
    [
        Solid.box((20, 20, 20)),
        tower(),
        # An arm begins from the post, and a pit has its lowest place in material.
        Solid.box((40, 40, 20)).difference(spike(20.0, 5.0, 25.0).transformed(
            np.hstack([np.eye(3), [[0], [20], [0]]]))),
        # A step lower than a layer is the roughness of a mesh.
        tower(arm().union(Solid.box((2, 2, 1), (20, 0, 39.8)))).difference(
            Solid.box((50, 20, 10), (5, -10, 39.0)).difference(Solid.box((1, 1, 1), (1, 1, 1)))),
    ],
)  # fmt: skip
def test_what_stands_on_something_is_no_tip(solid):
    assert hanging_tips(solid, UP, LAYER, LINE) == ()


def test_an_arm_is_no_tip_but_what_hangs_from_it_is():
    low = tower(arm().union(Solid.box((3, 3, 1), (20, 0, 39.8))))
    assert hanging_tips(low, UP, LAYER, LINE) == ()
    (tip,) = hanging_tips(low, UP, 0.05, LINE)
    assert tip.area == pytest.approx(9.0)


# -- holes -----------------------------------------------------------------------------------
def drilled(*holes):
    return Solid.box((40, 30, 20)).difference(*holes)


@pytest.mark.parametrize("sides", [8, 24, 96])
def test_round_holes_are_found_whichever_way_they_go(turn, sides):
    upright = Solid.cylinder((10, 10, -1), (10, 10, 21), 0.5, sides)
    lying = Solid.cylinder((30, -1, 8), (30, 12, 8), 0.75, sides)
    leaning = Solid.cylinder((18, 10, 26), (28, 10, 6), 1.0, sides)
    found = round_holes(turned(drilled(upright, lying, leaning), turn), 3.0)
    # A hole is drawn round its circle, so that a bar of the diameter goes in.
    assert [hole.diameter for hole in found] == pytest.approx([1.0, 1.5, 2.0], abs=1e-6)
    axes = [turn @ axis for axis in ((0, 0, 1), (0, 1, 0), np.array((1, 0, -2)) / np.sqrt(5))]
    for hole, axis in zip(found, axes, strict=True):
        assert abs(float(np.dot(hole.axis, axis))) == pytest.approx(1.0, abs=1e-9)
    assert found[0].depth == pytest.approx(20.0, abs=1e-6)
    assert found[1].depth == pytest.approx(12.0, abs=1e-6)
    assert found[1].at == pytest.approx(tuple(turn @ (30, 6, 8) + (3, -7, 11)), abs=1e-6)


def test_a_teardrop_is_as_wide_as_its_circle():
    # Its roof touches the circle at 45° and meets over it.
    roof = Solid.hull_of([(x, y, z) for y in (-1, 40) for x, z in
                          ((-np.sqrt(0.5), 10 + np.sqrt(0.5)), (np.sqrt(0.5), 10 + np.sqrt(0.5)),
                           (0, 10 + np.sqrt(2)))])  # fmt: skip
    bore = Solid.cylinder((0, -1, 10), (0, 40, 10), 1.0, 48).union(roof)
    move = np.hstack([np.eye(3), [[20], [0], [0]]])
    (hole,) = round_holes(drilled(bore.transformed(move)), 3.0)
    assert hole.diameter == pytest.approx(2.0, rel=0.01)


def test_what_is_no_small_round_hole_is_not_told():
    for shape in (
        Solid.box((40, 30, 20)),
        Solid.cylinder((0, 0, 0), (0, 0, 30), 0.5, 24),
        drilled(Solid.box((1, 1, 50), (10, 10, -1))),
        drilled(Solid.cylinder((10, 10, -1), (10, 10, 21), 2.0, 48)),
        # A groove on the edge is half a hole, a slot has two halves far apart.
        drilled(Solid.cylinder((10, -1, 20), (10, 31, 20), 0.5, 48)),
        drilled(Solid.cylinder((10, 10, -1), (10, 10, 21), 0.5, 48),
                Solid.cylinder((14, 10, -1), (14, 10, 21), 0.5, 48),
                Solid.box((4, 1, 22), (10, 9.5, -1))),
    ):  # fmt: skip
        assert round_holes(shape, 3.0) == ()


# -- bridges, thin spots ---------------------------------------------------------------------
def table(gap, deep=20.0):
    """Return a plate on two walls that are `gap` apart."""
    return Solid.box((gap + 10, deep, 5), (0, 0, 15)).union(
        Solid.box((5, deep, 16)), Solid.box((5, deep, 16), (gap + 5, 0, 0))
    )


@pytest.mark.parametrize("gap", [12.0, 37.5])
def test_a_table_has_to_bridge_the_gap_between_its_walls(turn, gap):
    solid, up = turned(table(gap, 60.0), turn), turn @ UP
    hanging = overhang(solid, up, 45.0, PRINTER.bridge_span)
    (bridge,) = long_bridges(solid, up, hanging.faces)
    assert bridge.span == pytest.approx(gap, rel=1.2e-3)
    assert bridge.area == pytest.approx(gap * 60.0, rel=1e-6)
    centre = turn @ (gap / 2 + 5, 30.0, 15.0) + (3, -7, 11)
    assert bridge.at == pytest.approx(tuple(centre), abs=1e-6)
    # A printer that can do that much bridges it, whichever way it is turned.
    able = overhang(solid, up, 45.0, gap * 1.01)
    assert (able.area, able.bridged_area) == pytest.approx((0.0, gap * 60.0))


def test_an_arm_with_a_free_end_is_no_bridge():
    solid = tower(arm())
    hanging = overhang(solid, UP, 45.0, PRINTER.bridge_span)
    assert hanging.area > 100.0
    assert long_bridges(solid, UP, hanging.faces) == ()


def test_a_fin_of_less_than_a_line_is_thin_on_both_sides():
    fin = Solid.box((20, 0.3, 10), (10, 10, 20))
    spots = thin_spots(Solid.box((40, 30, 20)).union(fin), LINE)
    assert spots.thinnest == pytest.approx(0.3, abs=1e-9)
    # Both sides of 20 x 10 mm, less what belongs to its rims and its foot.
    assert spots.area == pytest.approx(400.0, rel=0.1)
    assert (spots.places[:, 2] >= 20.0).all()
    assert thin_spots(Solid.box((40, 30, 20)).union(
        Solid.box((20, 0.45, 10), (10, 10, 20))), LINE).area == 0.0  # fmt: skip


# -- contact ---------------------------------------------------------------------------------
def contact_of(solid, up=UP):
    return warping(solid, up, overhang(solid, up, 45.0, 10.0).contact, LINE)


def test_corners_of_a_long_plate_may_curl_up(turn):
    solid = turned(Solid.box((160, 80, 10)), turn)
    found = contact_of(solid, turn @ UP)
    assert found.reach == pytest.approx(np.hypot(80, 40), abs=1e-6)
    expected = [turn @ (x, y, 0.0) + (3, -7, 11) for x in (0, 160) for y in (0, 80)]
    assert np.sort(found.corners, axis=0) == pytest.approx(np.sort(expected, axis=0), abs=1e-6)
    assert found.length == pytest.approx(160.0)
    # 2 x 160 x 80 / (2 x 240).
    assert found.width == pytest.approx(160 * 80 / 240)
    assert not found.is_thin


def test_neither_a_short_plate_nor_a_round_one_nor_a_rounded_one_curls_up():
    assert len(contact_of(Solid.box((90, 90, 10))).corners) == 0
    assert len(contact_of(Solid.cylinder((0, 0, 0), (0, 0, 5), 90.0, 200)).corners) == 0
    discs = [Solid.cylinder((x, y, 0), (x, y, 10), 10.0, 96) for x in (0, 140) for y in (0, 60)]
    rounded = Solid.hull_of(np.concatenate([disc.vertices for disc in discs]))
    assert len(contact_of(rounded).corners) == 0


def test_inner_corners_do_not_curl_up_and_the_rim_of_a_shell_is_thin():
    frame = Solid.box((200, 150, 30)).difference(Solid.box((196, 146, 40), (2, 2, -1)))
    found = contact_of(frame)
    assert len(found.corners) == 0
    # 2 x 1384 mm² / (700 + 684) mm: the wall is 2 mm.
    assert found.width == pytest.approx(2.0)
    assert found.is_thin
    assert len(found.ends) == 2
    wide = Solid.box((200, 150, 30)).difference(Solid.box((150, 100, 40), (25, 25, -1)))
    assert len(contact_of(wide).corners) == 4
    assert contact_of(Solid.hull_of([(0, 0, 0), (9, 0, 9), (0, 9, 9), (-9, -9, 9)])) is None


@pytest.mark.parametrize(
    ("shrink", "far"),
    # 70 mm at 0.4 %, and so 28/shrink; what was not measured, or grew, is as usual.
    [((), 70.0), ((0.0, 0.0, 0.3), 70.0), ((-0.2, 0.0, 0.0), 70.0), ((0.4, 0.2, 0.9), 70.0),
     ((0.2, 0.1, 0.0), 140.0), ((0.3, 0.7, 0.0), 40.0), ((0.01, 0.0, 0.0), 280.0),
     ((5.0, 5.0, 5.0), 14.0)],
)  # fmt: skip
def test_corners_curl_up_nearer_to_the_middle_of_what_shrinks_more(shrink, far):
    material = Material("mine", 1.2, shrink=shrink)
    assert far_for(material) == pytest.approx(far)
    # Squares whose corners are half a millimetre nearer and further out than that.
    for reach, corners in ((far - 0.5, 0), (far + 0.5, 4)):
        solid = Solid.box((reach * np.sqrt(2.0), reach * np.sqrt(2.0), 10.0))
        hanging = overhang(solid, UP, 45.0, 10.0)
        found = print_findings(Piece("1", 1, solid), UP, hanging, PRINTER, material=material)
        warps = [each for each in found if each.kind == "print.warp"]
        assert sum(len(each.where) for each in warps) == corners
        for each in warps:
            assert each.allowed == pytest.approx(far)
            known = max(shrink[:2], default=0.0)
            said = f"the {known:g} % that mine shrinks" if known > 0 else "a usual shrink of 0.4 %"
            assert f"may curl up at {said};" in each.message
    assert far_for(None) == 70.0


# -- all of it -------------------------------------------------------------------------------
def findings_of(solid, printer=PRINTER, up=UP):
    hanging = overhang(solid, up, printer.overhang_limit, printer.bridge_span)
    found = print_findings(Piece("1.2", 4, solid), up, hanging, printer)
    assert len({each.kind for each in found}) == len(found)
    for each in found:
        assert each.subject == "1.2"
        assert each.message.startswith("Piece 4 ")
        assert each.message.count(". ") == 0
        assert len(each.where) > 0
        assert each.measured is not None
    return {each.kind: each for each in found}


def test_a_plain_block_has_nothing_to_be_told():
    assert findings_of(Solid.box((60, 40, 20))) == {}


def test_each_kind_is_told_once_for_a_piece():
    holes = [Solid.cylinder((x, 10, -1), (x, 10, 9), 0.5, 24) for x in (60, 80)]
    solid = Solid.box((180, 80, 6)).difference(*holes).union(
        table(30.0), Solid.box((20, 0.3, 10), (100, 10, 5)),
        Solid.box((10, 10, 60), (120, 40, 0)), Solid.box((40, 20, 5), (120, 35, 50)),
        spike(145.0, 35.0, 50.1, 5.0).transformed(np.hstack([np.eye(3), [[0], [45], [0]]])),
    )  # fmt: skip
    found = findings_of(solid)
    assert found.keys() == {
        "print.thin", "print.hole", "print.tip", "print.bridge", "print.warp",
    }  # fmt: skip
    assert found["print.thin"].measured == pytest.approx(0.3)
    assert found["print.hole"].measured == pytest.approx(1.0, abs=1e-6)
    assert found["print.hole"].allowed == pytest.approx(4 * 0.45)
    assert "2 round holes" in found["print.hole"].message
    assert "upright" in found["print.hole"].message
    assert found["print.tip"].where[0] == pytest.approx([145.0, 45.0, 35.0])
    assert found["print.bridge"].measured == pytest.approx(30.0, rel=1.2e-3)
    assert found["print.warp"].measured == pytest.approx(np.hypot(90, 40), rel=0.05)
    rim = Solid.box((200, 150, 30)).difference(Solid.box((196, 146, 40), (2, 2, -1)))
    assert findings_of(rim).keys() == {"print.contact"}


def test_a_plane_that_is_not_met_is_left_alone():
    # A section through nothing: the tip of a needle that ends within a layer.
    needle = tower(arm(), Solid.hull_of([(20, 0, 39.75), (19, -1, 40.2), (21, -1, 40.2),
                                         (20, 1, 40.2)]))  # fmt: skip
    assert needle.section(Plane(UP, 39.85)).area > 0.0
    assert hanging_tips(needle, UP, LAYER, LINE) == ()
