"""Holes for pins and screws as solids. Expected values: plane and solid geometry; trimesh tells
inside from outside by its own code; shapely clips and measures outlines."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from splitplanner.joint.holes.drilling import (
    direction_of,
    drilled,
    holes_in,
    pin_hole,
    screw_bore,
    screw_holes,
)
from splitplanner.joint.holes.forms import (
    Bore,
    circle,
    form_for,
    hexagon,
    lean_of,
    roofed,
    slot,
)
from splitplanner.plan import Cut, Joint, Pin, divide
from splitplanner.plan.joints import Screw
from splitplanner.score.overhang import overhang
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PRINTER = Printer()
UP, ACROSS = (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
PIN = Pin((20.0, 30.0, 50.0), UP, "ISO 8734", 6.0, 24.0, 6.2, 12.5, 4.6)
CAP = Screw(
    (50.0, 30.0, 50.0),
    UP,
    "ISO 4762",
    "M4",
    20.0,
    "nut",
    6.0,
    1,
    4.7,
    10.0,
    False,
    7.0,
    4.7,
    7.2,
    3.6,
)
FLAT_HEAD = replace(CAP, standard="ISO 10642", is_countersunk=True, head_room=9.0)
INSERT = replace(CAP, hold="insert", depth=9.0, hole=5.6, nut_room=0.0)
PLASTIC = replace(CAP, hold="plastic", depth=10.0, hole=3.4, nut_room=0.0)

PRISM = 48 * math.tan(math.pi / 48)
"""Area of the polygon of 48 sides round a circle of radius 1."""


def bar(diameter, length):
    return PRISM * (diameter / 2) ** 2 * length


def cone(wide, narrow, length):
    """Volume of a frustum over the polygon of 48 sides: h/3 (A + sqrt(A a) + a)."""
    a, b = wide / 2, narrow / 2
    return PRISM * length / 3 * (a * a + a * b + b * b)


# -- outlines -----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("axis", "up", "lean"),
    [
        ((0, 0, 1), (0, 0, -2), 0.0),
        ((0, 0, 1), (0, 1, 1), 45.0),
        ((0, 0, 1), (3, 0, 0), 90.0),
        ((0, 0, -1), (0, math.sqrt(3), 1), 60.0),
    ],
)
def test_lean(axis, up, lean):
    assert lean_of(axis, up) == pytest.approx(lean, abs=1e-6)


def test_form_by_lie_and_printer():
    assert form_for(UP, UP, 6.2, PRINTER) == "round"
    assert form_for(UP, (0.0, -1.0, -1.0), 6.2, PRINTER) == "round"  # at the limit of 45°
    assert form_for(UP, ACROSS, 6.2, PRINTER) == "teardrop"
    # A printer that spans nothing needs the whole tip: 0.414 r, of a wall of max(0.9, d/4).
    blunt = replace(PRINTER, bridge_span=0.0)
    assert form_for(UP, ACROSS, 2.0, blunt) == "teardrop"  # takes 0.41 of 0.9
    assert form_for(UP, ACROSS, 2.4, blunt) == "bridged"  # takes 0.50 of 0.9
    assert form_for(UP, ACROSS, 6.2, blunt) == "bridged"  # takes 1.28 of 1.55
    # A hole that slopes has no bridge: at 60° the tip takes r (sin 60° / sin 45° - 1) = 0.22 r.
    assert form_for(UP, (0.0, math.sqrt(3), 1.0), 6.2, PRINTER) == "teardrop"
    assert form_for(UP, (0.0, 10.0, 1.0), 6.2, PRINTER) == "bridged"


def test_circle_is_drawn_round():
    shape = circle(5.0)
    assert shape.area == pytest.approx(PRISM * 2.5**2, rel=1e-12)
    # The largest circle inside has the radius asked for, and it reaches no higher than that.
    assert shape.exterior.distance(shapely.Point(0, 0)) == pytest.approx(2.5, rel=1e-12)
    assert shape.bounds[3] == pytest.approx(2.5, rel=1e-12)


def test_whole_teardrop():
    # Below the slopes 36 of the 48 kites r² tan(3.75°) of the polygon, above them one of tan(45°).
    shape = roofed(circle(6.0), 45.0, math.inf)
    assert shape.area == pytest.approx(9 * (36 * math.tan(math.pi / 48) + 1.0), rel=1e-9)
    assert shape.bounds[3] == pytest.approx(3 * math.sqrt(2), rel=1e-9)


@pytest.mark.parametrize("top", [3.0, 3.4, 4.1])
def test_teardrop_cut_flat(top):
    # What is cut off is a triangle: height h, and a base of 2 h / tan(45°).
    shape = roofed(circle(6.0), 45.0, top)
    cut = 3 * math.sqrt(2) - top
    whole = 9 * (36 * math.tan(math.pi / 48) + 1.0)
    assert shape.area == pytest.approx(whole - cut * cut, rel=1e-9)
    assert shape.bounds[3] == pytest.approx(top, rel=1e-12)
    assert shape.buffer(1e-9).covers(circle(6.0))


@pytest.mark.parametrize("slope", [20.0, 37.0, 60.0])
@pytest.mark.parametrize("run", [(0.0, 0.0), (1.0, 0.0), (0.0, 0.8), (0.9, 0.5)])
def test_roof_is_no_flatter_than_its_slope(slope, run):
    bare = slot(5.0, run)
    shape = roofed(bare, slope, math.inf)
    assert shape.buffer(1e-9).covers(bare)
    corners = np.array(shapely.geometry.polygon.orient(shape).exterior.coords)
    edges = np.diff(corners, axis=0)
    edges = edges[np.linalg.norm(edges, axis=1) > 1e-6]
    # The outward normal of an edge (x, y) of a ring that runs left about is (y, -x).
    angles = np.degrees(np.arctan2(np.abs(edges[:, 1]), -edges[:, 0]))
    assert angles.min() == pytest.approx(slope, abs=1e-6)


def test_bridge_is_no_longer_than_the_span():
    # At the circle's height the flat is 2 r tan(22.5°) = 0.83 r wide; a printer that spans 2 mm
    # needs it higher.
    for span, width in ((10.0, 6.2 * math.tan(math.radians(22.5))), (2.0, 2.0)):
        bore = Bore((0.0, 0.0, 0.0), UP, ACROSS, replace(PRINTER, bridge_span=span))
        corners = np.array(bore.round(6.2).exterior.coords)
        top = corners[corners[:, 1] > corners[:, 1].max() - 1e-9]
        assert np.ptp(top[:, 0]) == pytest.approx(width, rel=1e-9)
    assert corners[:, 1].max() == pytest.approx(3.1 * math.sqrt(2) - 1.0)


def test_nut_pocket():
    # A flat up is a bridge of s / sqrt(3). At 53° the limit is 28° from up, and a corner has 30°.
    assert hexagon(7.0).area == pytest.approx(math.sqrt(3) / 2 * 49, rel=1e-12)
    level = Bore((0.0, 0.0, 0.0), UP, ACROSS, PRINTER).nut(7.0)
    assert level.area == pytest.approx(math.sqrt(3) / 2 * 49, rel=1e-9)
    assert level.bounds[3] == pytest.approx(3.5)
    sloping = Bore((0.0, 0.0, 0.0), UP, (0.0, 0.8, 0.6), PRINTER).nut(7.0)
    assert sloping.area == pytest.approx(math.sqrt(3) / 2 * 49, rel=1e-9)
    assert sloping.bounds[3] == pytest.approx(7.0 / math.sqrt(3))
    # Where nothing is spanned, a limit of 60° allows the corner.
    steep = replace(PRINTER, bridge_span=0.0, overhang_limit=60.0)
    corner = Bore((0.0, 0.0, 0.0), UP, ACROSS, steep).nut(7.0)
    assert corner.bounds[3] == pytest.approx(7.0 / math.sqrt(3))


@pytest.mark.parametrize("up", [(0, 0, 1), (0, 1, 0), (1, 2, 0), (0.3, -0.5, 0.8), (1, 0, 1e-9)])
@pytest.mark.parametrize("inward", [(0, 0, 1), (0, 0, -1), (0.6, 0.0, 0.8)])
def test_outlines_stand_up(up, inward):
    # What is up in the outline is as far up in print as anything across the axis can be.
    up, inward = np.array(up) / np.linalg.norm(up), np.array(inward, float)
    bore = Bore((3.0, 4.0, 5.0), tuple(inward.tolist()), tuple(up.tolist()), PRINTER)
    tip = bore.prism(shapely.box(-0.1, 0.0, 0.1, 10.0), 0.0, 0.1)
    flat = up - inward * (up @ inward)
    direction = tip.centroid - np.array([3.0, 4.0, 5.0]) - 0.05 * inward
    assert np.linalg.norm(direction) == pytest.approx(5.0)
    if np.linalg.norm(flat) > 1e-3:
        assert direction / 5.0 @ flat == pytest.approx(np.linalg.norm(flat))
    assert bore.across(direction) == pytest.approx((0.0, 5.0), abs=1e-6)


# -- volumes ------------------------------------------------------------------------------------
def test_pin_hole_in_full():
    # 12.5 mm deep and 1 mm of mouth; a chamfer of 0.5 mm widens the first 0.5 mm and the mouth.
    plain = pin_hole(PIN, 1, UP, PRINTER)
    assert plain.volume == pytest.approx(bar(6.2, 13.5), rel=1e-9)
    led = pin_hole(replace(PIN, lead_in=0.5), 1, UP, PRINTER)
    expected = bar(7.2, 1.0) + cone(7.2, 6.2, 0.5) + bar(6.2, 12.0)
    assert led.volume == pytest.approx(expected, rel=1e-9)
    # A slot adds a box as long as it, as wide as the hole, and as deep; in the piece above alone.
    slotted = replace(PIN, slot=(0.6, 0.8, 0.0))
    wider = pin_hole(slotted, 1, UP, PRINTER).volume - plain.volume
    # (The polygon's own width that way lies between its flats' and its corners'.)
    assert 6.2 * 13.5 <= wider <= 6.2 * 13.5 / math.cos(math.pi / 48)
    assert pin_hole(slotted, -1, UP, PRINTER).volume == pytest.approx(plain.volume, rel=1e-9)


@pytest.mark.parametrize("up", [UP, ACROSS, (0.0, 1.0, 0.5)])
def test_vent_reaches_from_bottom_to_mouth(up):
    vent = replace(PIN, vent=0.8)
    extra = pin_hole(vent, 1, up, PRINTER).difference(pin_hole(PIN, 1, up, PRINTER))
    assert extra.bounds[:, 2] == pytest.approx([49.0, 62.5])
    # As wide as said and half as deep, counted from the flat side of the polygon that stands for
    # the wall; from the sides beside it, 2 r tan(3.75°) = 0.41 mm apart and 7.5° off, it is 0.195
    # mm further on each side: two triangles of 0.195² tan(7.5°) / 2.
    beside = 0.4 - 3.1 * math.tan(math.pi / 48)
    triangles = beside**2 * math.tan(math.radians(7.5))
    assert extra.volume == pytest.approx((0.8 * 0.4 + triangles) * 13.5, rel=1e-7)
    # It lies down in the print.
    down = np.array(PIN.at) - (0, 3.3, -5) if up is not UP else None
    if down is not None:
        mesh = trimesh.Trimesh(extra.vertices, extra.faces, process=False)
        assert mesh.contains([down]).all()


def test_coat_moves_every_surface_out():
    coat = 0.15
    coated = pin_hole(PIN, 1, UP, PRINTER, coat)
    assert coated.volume == pytest.approx(bar(6.5, 1.0 + 12.65), rel=1e-9)
    # Head: the seat lies 0.15 nearer to the plane. Nut: as well.
    head = screw_holes(CAP, -1, UP, PRINTER, coat, reach=20.0)
    assert head.volume == pytest.approx(bar(5.0, 1.0 + 5.85) + bar(10.3, 20.15), rel=1e-9)
    tip = screw_holes(CAP, 1, UP, PRINTER, coat, reach=20.0)
    pocket = math.sqrt(3) / 2 * 7.5**2
    assert tip.volume == pytest.approx(bar(5.0, 1.0 + 6.85) + pocket * 20.15, rel=1e-9)
    # A cone whose surface moves out by c is wider by 2 sqrt(2) c at the same height.
    sunk = screw_bore(FLAT_HEAD, -1, UP, PRINTER, coat)
    top = 9.0 + 2 * math.sqrt(2) * coat
    deep = (top - 5.0) / 2
    assert sunk.volume == pytest.approx(bar(5.0, 6.0 - deep) + cone(top, 5.0, deep), rel=1e-9)


def test_head_side():
    cap = screw_holes(CAP, -1, UP, PRINTER, reach=20.0)
    assert cap.volume == pytest.approx(bar(4.7, 7.0) + bar(10.0, 20.0), rel=1e-9)
    assert cap.bounds[:, 2] == pytest.approx([50 - 26, 51])
    # 90°: the cone is (9 - 4.7) / 2 high.
    sunk = screw_holes(FLAT_HEAD, -1, UP, PRINTER, reach=20.0)
    expected = bar(4.7, 7.0 - 2.15) + cone(9.0, 4.7, 2.15) + bar(9.0, 20.0)
    assert sunk.volume == pytest.approx(expected, rel=1e-9)


def test_tip_side():
    nut = screw_holes(CAP, 1, UP, PRINTER, reach=20.0)
    pocket = math.sqrt(3) / 2 * 7.2**2 * 20
    assert nut.volume == pytest.approx(bar(4.7, 8.0) + pocket, rel=1e-9)
    open_nut = replace(CAP, nut_room=0.0)
    spot = screw_holes(open_nut, 1, UP, PRINTER, reach=20.0)
    assert spot.volume == pytest.approx(bar(4.7, 8.0) + bar(10.0, 20.0), rel=1e-9)
    spot = screw_holes(open_nut, 1, UP, PRINTER, reach=20.0, nut_face=12.0)
    assert spot.volume == pytest.approx(bar(4.7, 8.0) + bar(12.0, 20.0), rel=1e-9)
    insert = screw_holes(INSERT, 1, UP, PRINTER)
    expected = bar(6.6, 1.0) + cone(6.6, 5.6, 0.5) + bar(5.6, 8.5)
    assert insert.volume == pytest.approx(expected, rel=1e-9)
    plastic = screw_holes(PLASTIC, 1, UP, PRINTER)
    assert plastic.volume == pytest.approx(bar(3.4, 11.0), rel=1e-9)


def test_sides_are_one_or_the_other():
    with pytest.raises(ValueError, match="side"):
        pin_hole(PIN, 0, UP, PRINTER)
    with pytest.raises(ValueError, match="side"):
        screw_holes(CAP, 2, UP, PRINTER)


# -- in a piece ---------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def block():
    division = divide(Solid.box((100, 60, 100)), [Cut(Plane(UP, 50.0))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


ALL = Joint(
    "S1",
    (
        replace(PIN, lead_in=0.5, vent=0.8, slot=(0.6, 0.0, 0.0)),
        replace(PIN, at=(35.0, 12.0, 50.0)),
    ),
    (
        CAP,
        replace(INSERT, at=(70.0, 30.0, 50.0)),
        replace(FLAT_HEAD, at=(86.0, 30.0, 50.0), axis=(0.0, 0.0, -1.0)),
    ),
)


@pytest.mark.parametrize("up", [UP, ACROSS, (1.0, -1.0, 0.5)])
def test_drilled_pieces_at_sample_points(block, up):
    """Points of each hole by its definition, told from material by trimesh's own ray test."""
    seam = block[0]
    random = np.random.default_rng(11)
    for side, piece in ((-1, block[1]), (1, block[2])):
        solid = drilled(piece, *holes_in(ALL, seam, side), up, PRINTER, reach=30.0)
        assert len(solid.bodies()) == 1
        mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
        assert mesh.is_watertight
        points = random.uniform((5, 5, 0.2), (95, 55, 49), (20000, 3))
        far = np.abs(points[:, 2])
        free, near = np.zeros(20000, bool), np.zeros(20000, bool)
        for pin in ALL.pins:
            run = np.array(pin.slot) / 2 * (side > 0)
            away = points[:, :2] - np.array(pin.at)[:2]
            off = np.hypot(np.maximum(np.abs(away[:, 0]) - run[0], 0), away[:, 1])
            free |= (off < 3.1) & (far < 12.5)
            near |= (off < 3.1 * 1.42 + 0.5) & (far < 13.1)
        for screw in ALL.screws:
            off = np.linalg.norm(points[:, :2] - np.array(screw.at)[:2], axis=1)
            if side * direction_of(screw, seam) < 0:
                wide = screw.head_room / 2
                slope = wide - (screw.seat - far) if screw.is_countersunk else 0.0
                free |= (off < np.maximum(screw.clearance / 2, slope)) & (far < screw.seat)
                free |= (off < wide) & (far > screw.seat) & (far < screw.seat + 30)
            elif screw.hold == "nut":
                wide = screw.nut_room / 2
                free |= (off < screw.clearance / 2) & (far < screw.depth)
                free |= (off < wide) & (far > screw.depth) & (far < screw.depth + 30)
            else:
                free |= (off < screw.hole / 2) & (far < screw.depth)
                wide = screw.hole / 2
            near |= (off < wide * 1.42 + 0.5) & (far < 42)
        points[:, 2] = 50.0 + side * far
        inside = mesh.contains(points)
        assert not inside[free].any()
        assert inside[~near].all()
        assert free.sum() > 100


def test_nothing_to_drill(block):
    assert drilled(block[1], [], [], UP, PRINTER) is block[1]


@pytest.mark.parametrize("limit", [45.0, 55.0, 35.0])
def test_roofed_holes_print_without_support(limit):
    """A level hole through a block: the round one hangs over, ours bridges what is left of it."""
    printer = replace(PRINTER, overhang_limit=limit)
    piece = Solid.box((30.0, 40.0, 30.0))
    bore = Bore((15.0, 0.0, 15.0), ACROSS, UP, printer)
    round_one = piece.difference(bore.prism(circle(8.0), -1.0, 41.0))
    ours = piece.difference(bore.prism(bore.round(8.0), -1.0, 41.0))
    hanging = overhang(round_one, UP, limit, printer.bridge_span)
    # Polygon sides with normals nearer to up than 90° - limit: each 2 r tan(3.75°) wide; only the
    # topmost is flat, and so a bridge.
    sides = 2 * math.floor((90 - limit - 0.011) / 7.5)
    each = 8 * math.tan(math.pi / 48) * 40
    assert hanging.area == pytest.approx(sides * each, rel=1e-6)
    found = overhang(ours, UP, limit, printer.bridge_span)
    assert found.area == 0.0
    # The flat: 2 r tan(slope / 2) wide for a circle; drawn round, it is a little wider.
    flat = 8 * math.tan(math.radians(90 - limit) / 2) * 40
    assert flat * (1 - 1e-9) <= found.bridged_area <= flat * 1.02


def test_sloping_holes_print_without_support():
    up = np.array([0.0, math.sin(math.radians(58)), math.cos(math.radians(58))])
    piece = Solid.box((30.0, 40.0, 30.0))
    for width, outline in (("round", "round"), ("nut", "nut")):
        bore = Bore((15.0, 20.0, 0.0), UP, tuple(up.tolist()), PRINTER)
        shape = getattr(bore, outline)(6.2)
        solid = piece.difference(bore.prism(shape, -1.0, 31.0))
        bare = overhang(piece, up, 45.0, 10.0)
        found = overhang(solid, up, 45.0, 10.0)
        assert found.area == pytest.approx(bare.area), width
    plain = overhang(piece.difference(bore.prism(circle(6.2), -1.0, 31.0)), up, 45.0, 10.0)
    assert plain.area > bare.area + 50


@pytest.mark.parametrize("side", [1, -1])
def test_whole_joint_prints_level_without_support(block, side):
    piece = block[2] if side > 0 else block[1]
    solid = drilled(piece, *holes_in(ALL, block[0], side), ACROSS, PRINTER, reach=60.0)
    assert overhang(solid, ACROSS, 45.0, PRINTER.bridge_span).area < 0.1
