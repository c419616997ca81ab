"""Whole braces: lands, bolts and checks, on blocks by closed forms and on the rain hood."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import JointError
from splitplanner.findings import Severity, faults
from splitplanner.joint.brace.bolt_sizes import bolt_size
from splitplanner.joint.brace.building import brace_of
from splitplanner.joint.brace.checks import check_brace, tight_corners
from splitplanner.joint.brace.lands import SIDEWAYS, lands_of
from splitplanner.joint.brace.outline import profile_of, relieved, swept
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.plan import Cut, Fastening, divide
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer, hardware_shelf

SHELF = hardware_shelf()
PRINTER = Printer(bed=Bed(kind="rectangle", width=256, depth=256, height=256))
TOP = {"along": (1, 0, 0), "towards": (0, 0, 1), "offset": 0.0, "depth": 20, "stock": 4}


def screw(hold="insert", size="M3"):
    return screw_sizes(Fastening(screws=hold, screw_size=size), SHELF, PRINTER)[0]


def cuts(*stations):
    return [Cut(Plane((1.0, 0.0, 0.0), station)) for station in stations]


def wedge(fall=4.0, wall=6.0):
    """A plate 200 mm long and 60 wide whose top and bottom fall sideways by `fall`, in all."""
    half = fall / 2
    tops = [(-30, half), (30, -half)]
    return Solid.hull_of(
        [(x, y, top - down) for x in (0, 200) for y, top in tops for down in (0, wall)]
    )


def kinds(findings, severity=None):
    return {each.kind for each in findings if severity in (None, each.severity)}


# -- lands ----------------------------------------------------------------------------------
def test_a_flat_top_needs_no_land():
    box = Solid.box((200, 60, 30), (0, -30, -30))
    wish = BraceWish(**TOP, low=10, high=190)
    lands = lands_of(box, profile_of(box, wish))
    assert lands.growth.solid.is_empty
    assert lands.bare == ()


def test_a_land_fills_what_a_slope_leaves_open():
    # Closed form: the seat is as high as the top is at y = -2, the edge of the sheet; from there to
    # y = 3 the top falls by 4 in 60. The land is the triangle between, 5 x 5/15 / 2, times its
    # length; sunk in by the root it reaches that much lower, on the mm beyond the edge too, but
    # for what of that lies above the seat. Sideways it overlaps by a trace, which on a slope of
    # 1 in 15 is a fifteenth of it deeper.
    part = wedge()
    wish = BraceWish(**TOP, low=10, high=190)
    profile = profile_of(part, wish)
    lands = lands_of(part, profile)
    added = lands.growth.solid.difference(part)
    assert added.volume == pytest.approx(5 * (5 / 15) / 2 * 180, rel=1e-6)
    root = wish.root + SIDEWAYS / 15
    assert lands.growth.solid.volume == pytest.approx(
        (5 * (5 / 15) / 2 + 5 * root + (root - 1 / 30)) * 180, rel=1e-6
    )
    # Flat across, and level with the highest line under the sheet.
    assert lands.growth.solid.bounds[1, 2] == pytest.approx(2 / 15)
    assert lands.growth.beyond == 0.0


def test_a_root_longer_than_the_wall_is_told():
    part = wedge(wall=0.8)
    wish = BraceWish(**TOP, low=10, high=190, root=2.0)
    division = divide(part, cuts(100))
    findings = check_brace(division, brace_of(division, wish, screw(), SHELF))
    through = [each for each in findings if each.kind == "brace.root"]
    assert through
    assert through[0].severity is Severity.FAULT
    # At least what the land alone does: its root less the wall, on 5 mm of its width.
    assert through[0].measured > (2.0 - 0.8) * 5 * 180
    assert len(through[0].where)


def test_no_land_goes_through_a_window():
    # A window 30 x 20 mm right through a wall 6 mm thick; lands may be 15 mm high.
    part = wedge().difference(Solid.box((30, 20, 60), (60, -10, -30)))
    wish = BraceWish(**TOP, low=10, high=190)
    lands = lands_of(part, profile_of(part, wish))
    assert len(lands.bare) == 1
    low, high = lands.bare[0]
    assert low == pytest.approx(60, abs=0.1)
    assert high == pytest.approx(90, abs=0.1)
    window = Solid.box((30, 20, 60), (60, -10, -30))
    assert lands.growth.solid.intersection(window).volume < 1e-6


# -- bolts ----------------------------------------------------------------------------------
def test_a_bolt_is_as_long_as_sheet_and_thread_need():
    wish = BraceWish(**TOP, low=10, high=190)
    size = bolt_size(wish, screw(), SHELF)
    # M3 insert of 4.5 mm, washer 0.5, sheet 4: 9 mm are needed, 10 are sold; 5.5 mm stand in, and
    # the hole is 1 mm deeper. ISO 273, medium: 3.4 mm.
    assert (size.length, size.depth, size.brace_hole) == (10.0, 6.5, 3.4)
    assert size.least_edge == pytest.approx(1.2 * 3.4)
    nut = bolt_size(wish, screw("nut"), SHELF)
    # Sheet 4, boss 6, two washers of 0.5, nut 2.4 and a pitch of 0.5: 13.9 mm.
    assert (nut.depth, nut.length) == (6.0, 16.0)
    printed = bolt_size(replace(wish, is_printed=True), screw(), SHELF)
    assert printed.brace_hole == screw().clearance
    with pytest.raises(JointError, match="too narrow"):
        bolt_size(replace(wish, depth=6.0), screw(), SHELF)
    with pytest.raises(JointError, match="long enough"):
        bolt_size(replace(wish, stock=40.0), screw(), SHELF)


@pytest.mark.parametrize("hold", ["insert", "nut", "plastic"])
def test_bolts_stand_on_every_piece_of_a_slope(hold):
    division = divide(wedge(), cuts(60, 130))
    wish = BraceWish(**TOP, low=10, high=190, spacing=40)
    brace = brace_of(division, wish, screw(hold), SHELF)
    size = brace.bosses.size
    for name, (low, high) in zip(
        brace.bosses.crossed, ((10, 60), (60, 130), (130, 190)), strict=True
    ):
        stations = [bolt.station for bolt in brace.bosses.bolts if bolt.piece == name]
        assert len(stations) >= 2
        # The outermost as far out as bosses, or holes at the ends of the brace, may stand.
        assert low + min(size.radius, size.least_edge) - 1e-6 <= min(stations)
        assert min(stations) <= low + max(size.screw.spacing / 2, size.least_edge) + 2.0
        assert max(stations) <= high - min(size.radius, size.least_edge) + 1e-6
        assert np.diff(stations).max() <= 40 + 2.0
    findings = check_brace(division, brace)
    assert not faults(findings), [each.message for each in findings]
    assert not {"brace.key", "brace.nut", "brace.spacing"} & kinds(findings)
    for piece in division.pieces:
        made = brace.made(piece.name, piece.solid)
        assert len(made.bodies()) == 1
        assert made.intersection(brace.solid).volume < 1e-6
    # A hole in the brace is a cylinder through the sheet.
    plain = brace.profile.solid().volume - brace.solid.volume
    hole = np.pi / 4 * size.brace_hole**2 * wish.stock
    assert plain == pytest.approx(len(brace.bosses.bolts) * hole, rel=5e-3)


def test_bosses_beside_an_oblique_seam_stay_whole():
    # Past defect: over a seam that leans along the brace and across it bosses were cut in two.
    leaning = [Cut(Plane.through((x, 0, 0), (1, 0.35, 0.5))) for x in (70, 130)]
    division = divide(wedge(), leaning)
    brace = brace_of(division, BraceWish(**TOP, low=10, high=190), screw(), SHELF)
    findings = check_brace(division, brace)
    assert not faults(findings), [each.message for each in findings]
    assert not brace.loose
    for piece in division.pieces:
        assert sum(bolt.piece == piece.name for bolt in brace.bosses.bolts) >= 2
        for solid in brace.added[piece.name]:
            others = [other.solid for other in division.pieces if other is not piece]
            assert all(solid.intersection(other).volume < 1e-6 for other in others)


def test_a_boss_keeps_off_a_hole_through_the_wall():
    # Holes 1.2 mm wide below a boss, between the lines along which ground was looked for: a boss
    # there would fill what is behind the wall.
    wish = BraceWish(**TOP, low=10, high=190)
    plain = brace_of(divide(wedge(), cuts(100)), wish, screw(), SHELF).bosses.bolts
    # The normal of the sheet, along x towards, is -y.
    spots = [(bolt.station + 2.2, -(wish.half + 1.9)) for bolt in plain[:2]]
    holes = [Solid.cylinder((x, y, -20), (x, y, 20), 0.6) for x, y in spots]
    division = divide(wedge().difference(*holes), cuts(100))
    brace = brace_of(division, wish, screw(), SHELF)
    assert len(brace.bosses.bolts) == len(plain)
    for old, new in zip(plain[:2], brace.bosses.bolts[:2], strict=True):
        assert 0 < abs(old.station - new.station) <= 2 * brace.bosses.size.radius
    lowest = min(solid.bounds[0, 2] for solids in brace.added.values() for solid in solids)
    assert lowest > division.part.bounds[0, 2] + 1.0
    assert not faults(check_brace(division, brace))


def test_a_piece_without_room_for_two_bolts_is_told():
    division = divide(wedge(), cuts(90, 102))
    brace = brace_of(division, BraceWish(**TOP, low=10, high=190), screw(), SHELF)
    found = [each for each in check_brace(division, brace) if each.kind == "brace.bolts"]
    assert len(found) == 1
    narrow = found[0].subject
    assert division.piece(narrow).solid.extents[0] == pytest.approx(12)
    assert found[0].measured < found[0].allowed == 2


def test_bolts_too_near_an_edge_are_told():
    division = divide(wedge(), cuts(100))
    brace = brace_of(division, BraceWish(**TOP, low=10, high=190), screw(), SHELF)
    size = replace(brace.bosses.size, least_edge=9.0)
    shifted = replace(brace, bosses=replace(brace.bosses, size=size))
    found = [each for each in check_brace(division, shifted) if each.kind == "brace.edge"]
    assert len(found) == len(brace.bosses.bolts)
    # From the bolts' line to the inner edge.
    assert max(each.measured for each in found) == pytest.approx(size.line, abs=1e-2)
    wide = replace(size, screw=replace(size.screw, edge_distance=6.0), least_edge=1.0)
    shifted = replace(brace, bosses=replace(brace.bosses, size=wide))
    found = [each for each in check_brace(division, shifted) if each.kind == "brace.boss"]
    assert len(found) == len(brace.bosses.bolts)
    assert found[0].measured == pytest.approx(size.radius, rel=2e-3)


def test_a_wall_in_the_way_of_the_key_is_told():
    wall = Solid.box((200, 4, 60), (0, -18, -3))
    division = divide(wedge().union(wall), cuts(100))
    # Heads are where the cross product of both ways does not point: here towards low y.
    wish = BraceWish(**{**TOP, "along": (-1, 0, 0)}, low=-190, high=-10)
    brace = brace_of(division, wish, screw(), SHELF)
    assert "brace.key" in kinds(check_brace(division, brace), Severity.WARNING)
    # The other way round the heads are on the open side.
    turned = replace(wish, along=(1, 0, 0), low=10, high=190)
    other = brace_of(division, turned, screw(), SHELF)
    assert "brace.key" not in kinds(check_brace(division, other))


# -- corners --------------------------------------------------------------------------------
@pytest.mark.parametrize("radius", [0.0, 0.5, 1.0, 2.0])
def test_a_cutter_leaves_what_the_corner_leaves_it(radius):
    # Closed form: in a square corner of radius r a cutter of radius R leaves (√2 - 1) (R - r).
    rounded = ELL.buffer(radius, quad_segs=64).buffer(-radius, quad_segs=64) if radius else ELL
    corners = tight_corners(rounded, 6.0)
    assert len(corners) == 1
    assert corners[0].left == pytest.approx((np.sqrt(2) - 1) * (3 - radius), abs=2e-3)
    assert corners[0].radius == pytest.approx(radius, abs=0.03)
    assert np.hypot(*np.subtract(corners[0].place, 20)) < 1.5 * radius + 1e-6
    assert tight_corners(rounded, 2 * radius) == ()


def test_wide_arcs_of_many_chords_are_no_corners():
    ring = (
        shapely.Point(0, 0)
        .buffer(60, quad_segs=90)
        .difference(shapely.Point(0, 0).buffer(40, quad_segs=90))
    )
    upper = shapely.intersection(ring, shapely.box(-70, 0, 70, 70))
    assert tight_corners(upper, 10.0) == ()


ELL = shapely.Polygon([(0, 0), (80, 0), (80, 20), (20, 20), (20, 60), (0, 60)])


def test_an_inner_corner_that_it_seats_round_is_cut_a_little_beyond():
    # Closed form: a cutter that reaches into a square corner takes R (1 - sin 45°) of its sides.
    inner = shapely.box(20, 20, 80, 60)
    cut = relieved(ELL, inner, 6.0)
    assert tight_corners(cut, 6.0) == ()
    assert shapely.intersection(cut, inner).area < 1e-9
    assert shapely.difference(cut, ELL).area < 1e-9
    taken = shapely.difference(ELL, cut)
    assert taken.area > 0
    deepest = shapely.distance(shapely.points(shapely.get_coordinates(taken)), ELL.boundary).max()
    assert deepest == pytest.approx(3 * (1 - np.sin(np.pi / 4)), abs=0.05)
    assert shapely.hausdorff_distance(shapely.Point(20, 20), taken) < 6.0


def test_a_corner_of_the_outer_edge_is_left_standing():
    # Closed form: in a square corner a disc of radius R leaves (1 - π/4) R².
    filled = relieved(ELL, shapely.box(-20, -20, 0, 80), 6.0)
    assert tight_corners(filled, 6.0) == ()
    assert shapely.difference(ELL, filled).area < 1e-9
    assert filled.area - ELL.area == pytest.approx((1 - np.pi / 4) * 3.02**2, rel=0.02)


def test_an_outline_that_a_cutter_can_cut_stays_as_it_is():
    box = shapely.box(0, 0, 80, 20)
    assert shapely.equals(relieved(box, shapely.box(0, -20, 80, 0), 6.0), box)


# -- the rain hood --------------------------------------------------------------------------
@pytest.fixture(scope="module")
def hood():
    division = divide(DEMO_PARTS["rain_hood"].make(30_000), cuts(-100, 70))
    # Under the crown, beside a stringer, from the lamp's end to the rear; its heads look inwards.
    wish = BraceWish((-1, 0, 0), (0, 0, -1), 70.0, -200, 200, 20.0, 4.0)
    return division, brace_of(division, wish, screw(), SHELF)


def test_a_brace_inside_the_hood_is_bolted_to_all_pieces(hood):
    division, brace = hood
    assert set(brace.bosses.crossed) == {piece.name for piece in division.pieces}
    findings = check_brace(division, brace)
    assert not faults(findings), [each.message for each in findings]
    # Its frames are 3 mm thick and sharp: the strip is relieved on both sides of each.
    assert kinds(findings) <= {"brace.bare"}
    for piece in division.pieces:
        stations = [bolt.station for bolt in brace.bosses.bolts if bolt.piece == piece.name]
        assert len(stations) >= 2
        made = brace.made(piece.name, piece.solid)
        assert len(made.bodies()) == 1
        assert brace.solid.intersection(made).volume < 1e-6


def test_a_wider_cutter_than_was_drawn_for_leaves_corners(hood):
    division, brace = hood
    wide = replace(brace.profile, wish=replace(brace.wish, cutter=12.0))
    found = [
        each
        for each in check_brace(division, replace(brace, profile=wide))
        if each.kind == "brace.corner"
    ]
    # Where the strip passes the frames, on both sides of them.
    stations = [each.where[0, 0] for each in found]
    assert all(any(abs(at - x) < 5.0 for at in stations) for x in (-170, -75, 20, 115))
    for each in found:
        # Drawn for one of 3 mm radius, it takes that, and none of 6 mm.
        assert 3.0 - 0.05 <= each.measured < each.allowed == 6.0


def test_lands_and_bosses_stay_inside_the_hood(hood):
    # Seen from outside nothing changes: in sections along the hood, what lies under the outline as
    # seen from above is the same with lands and bosses as without.
    division, brace = hood
    added = [solid for solids in brace.added.values() for solid in solids]
    assert len(added) > 9
    assert not brace.loose
    whole = division.part.union(*added)
    assert whole.volume > division.part.volume + 5000
    for y in (-77.0, -73.1, -70.0, -67.2, -64.0, -61.5):
        plane = Plane((0.0, 1.0, 0.0), y)
        # The plane's second axis points down.
        before, after = (
            swept(shapely.transform(solid.section(plane).shape, lambda p: p * [1, -1]), -10.0)
            for solid in (division.part, whole)
        )
        assert shapely.difference(after, before).area < 1e-6
        assert shapely.intersection(after, shapely.box(-300, -20, 300, 200)).bounds[3] < 150


def test_each_piece_gets_its_own_lands(hood):
    division, brace = hood
    for piece in division.pieces:
        low, high = piece.solid.bounds
        for solid in brace.added[piece.name]:
            assert (solid.bounds[0] >= low - 1e-6).all()
            assert (solid.bounds[1] <= high + 1e-6).all()
            assert solid.intersection(piece.solid).volume > 0


def test_a_brace_on_the_outside_stands_over_the_crown(hood):
    division, _ = hood
    wish = BraceWish((1, 0, 0), (0, 0, 1), -66.0, -180, 180, 20.0, 4.0)
    brace = brace_of(division, wish, screw(), SHELF)
    assert brace.solid.bounds[0, 2] > 100
    assert not faults(check_brace(division, brace))
    for piece in division.pieces:
        assert brace.solid.intersection(brace.made(piece.name, piece.solid)).volume < 1e-6
