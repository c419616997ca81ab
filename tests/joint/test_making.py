"""Pieces as they are printed, against closed forms; trimesh tells volumes, sections and inside."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from splitplanner.examining import Examiner
from splitplanner.findings import Severity
from splitplanner.joint import Maker, join
from splitplanner.joint.holes.drilling import direction_of
from splitplanner.joint.making import _without_dust
from splitplanner.plan import Cut, Fastening, Joint, PartFile, Pin, Plan, divide
from splitplanner.score import Wishes
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Printer
from tests.joint.flanged import channel
from tests.pin_holes import circle_area, holes_of

UP, DOWN, ACROSS = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
CUT = (Cut(Plane(UP, 0.0)),)
PIN = Pin((20.0, 10.0, 0.0), UP, "ISO 8734", 6.0, 24.0, 6.2, 12.5, 4.6, lead_in=0.5)
OTHER = replace(PIN, at=(-22.0, -14.0, 0.0), slot=(0.3, 0.24, 0.0))
SIDE, DEPTH, HEIGHT = 80.0, 60.0, 60.0
"""Of each half of the box, mm."""
LINE = 0.45


def planned(part, joints=(), ups=(UP, UP), cuts=CUT, **wanted):
    division = divide(part, cuts)
    directions = {piece.name: up for piece, up in zip(division.pieces, ups, strict=True)}
    file = PartFile("part.stl", "mm", part.fingerprint)
    return division, Plan(file, Printer(), cuts, directions, joints, fastening=Fastening(**wanted))


def box(joint=None, ups=(UP, UP), **wanted):
    part = Solid.box((SIDE, DEPTH, 2 * HEIGHT), (-SIDE / 2, -DEPTH / 2, -HEIGHT))
    return planned(part, () if joint is None else (joint,), ups, **wanted)


def mesh_of(piece):
    mesh = trimesh.Trimesh(piece.solid.vertices, piece.solid.faces, process=False)
    assert mesh.is_watertight
    return mesh


def volumes(made):
    assert made.findings == ()
    return [mesh_of(piece).volume for piece in made.pieces]


def cone(wide, narrow, length):
    """Volume of a frustum over similar outlines: h / 3 (A + sqrt(A a) + a)."""
    a, b = circle_area(wide), circle_area(narrow)
    return length / 3 * (a + math.sqrt(a * b) + b)


# -- a box ------------------------------------------------------------------------------------
@pytest.mark.parametrize("ups", [(UP, UP), (DOWN, UP), (ACROSS, (0.6, 0.8, 0.0))])
def test_a_box_lacks_its_pin_holes(ups):
    division, plan = box(Joint("S1", (PIN, OTHER)), ups)
    made = Maker().make(division, plan)
    assert [piece.name for piece in made.pieces] == ["1", "2"]
    for piece, cut, volume in zip(made.pieces, division.pieces, volumes(made), strict=True):
        taken = sum(hole.volume for hole in holes_of(cut, division, plan))
        # How wide the polygon is along a slot depends on how it is turned, by 1 - cos(pi / 48).
        is_level = abs(plan.up(cut.name)[2]) < 0.5
        turned = 0.0 if is_level else math.hypot(0.3, 0.24) * 6.7 * 12.5 * 0.0022
        wanted = SIDE * DEPTH * HEIGHT - taken
        assert volume == pytest.approx(wanted, rel=1e-10, abs=turned)
        assert piece.number == cut.number
        assert piece.solid.bounds == pytest.approx(cut.solid.bounds)
        # No material half way down each hole; some beyond and beside it.
        inward = -1.0 if piece.name == "1" else 1.0
        for pin in (PIN, OTHER):
            x, y, _ = pin.at
            deep, beside = inward * pin.depth, x + pin.edge_distance
            points = [(x, y, deep / 2), (x, y, 1.05 * deep), (beside, y, deep / 2)]
            assert mesh_of(piece).contains(points).tolist() == [False, True, True]


def test_a_coat_sets_faces_back_and_widens_holes():
    coat = 0.15
    division, plan = box(Joint("S1", (PIN, replace(OTHER, slot=(0.0, 0.0, 0.0)))), coat=coat)
    made = Maker().make(division, plan)
    # From the face, now 0.15 mm back, to the bottom, as much deeper: as deep as before. Of the
    # chamfer, wider by twice the coat, the first 0.15 mm are gone with the face.
    wide = 6.2 + 2 * coat
    hole = circle_area(wide) * (12.5 - (0.5 - coat)) + cone(wide + 2 * (0.5 - coat), wide, 0.35)
    wanted = SIDE * DEPTH * (HEIGHT - coat) - 2 * hole
    assert volumes(made) == pytest.approx([wanted, wanted], rel=1e-9)
    assert made.pieces[0].solid.bounds[1, 2] == pytest.approx(-coat)
    assert made.pieces[1].solid.bounds[0, 2] == pytest.approx(coat)


def test_glue_has_room_inside_of_rims():
    gap = 0.4
    division, plan = box(Joint("S1", (PIN, OTHER)), glue_gap=gap)
    made = Maker().make(division, plan)
    # A rim of two lines along the outline, and round what the pins keep.
    rim = 2 * LINE
    disc = math.pi * (4.6 + rim) ** 2
    area = (SIDE - 2 * rim) * (DEPTH - 2 * rim) - 2 * disc
    for cut, volume in zip(division.pieces, volumes(made), strict=True):
        holes = sum(hole.volume for hole in holes_of(cut, division, plan))
        taken = SIDE * DEPTH * HEIGHT - holes - volume
        # Arcs are polygons, and corners are rounded by half a line.
        assert taken == pytest.approx(area * gap / 2, rel=5e-4)
    # The rims still meet.
    assert made.pieces[0].solid.bounds[1, 2] == pytest.approx(0.0, abs=1e-9)
    section = mesh_of(made.pieces[0]).section(UP, (0.0, 0.0, -gap / 4))
    ring = SIDE * DEPTH - area - 2 * circle_area(6.2 + 1.0 - gap / 2)
    assert section.to_2D()[0].area == pytest.approx(ring, rel=2e-3)


def test_coat_and_glue_add_up():
    division, plan = box(Joint("S1"), coat=0.1, glue_gap=0.4)
    made = Maker().make(division, plan)
    inner = (SIDE - 4 * LINE) * (DEPTH - 4 * LINE)
    wanted = SIDE * DEPTH * (HEIGHT - 0.1) - inner * 0.2
    assert volumes(made) == pytest.approx([wanted, wanted], rel=1e-7)


@pytest.mark.parametrize("marks", ["engraved", "raised"])
def test_marks_are_on_both_faces(marks):
    division, plan = box(marks=marks, ups=(UP, DOWN))
    made = Maker().make(division, plan)
    letters = []
    for piece, volume, inward in zip(made.pieces, volumes(made), (-1, 1), strict=True):
        mesh = mesh_of(piece)
        cut = mesh.section(UP, (0.0, 0.0, inward * 0.2)).to_2D()[0].area
        # Letters of up to 8 mm: a few strokes of a mm of width. Below them the piece is whole.
        letters.append(SIDE * DEPTH - cut)
        assert 10.0 < letters[-1] < 600.0
        below = mesh.section(UP, (0.0, 0.0, inward * 0.9)).to_2D()[0].area
        assert below == pytest.approx(SIDE * DEPTH)
        change = volume - SIDE * DEPTH * HEIGHT
        if marks == "engraved":
            # Upright strokes, 0.4 mm deep.
            assert change == pytest.approx(-0.4 * letters[-1], rel=1e-6)
            assert piece.solid.bounds[:, 2].tolist() == [-60, 0] or inward > 0
        else:
            reach = piece.solid.bounds[1 if inward < 0 else 0, 2] * -inward
            assert reach == pytest.approx(0.4)
    one, other = made.pieces
    assert one.solid.intersection(other.solid).volume == pytest.approx(0.0, abs=1e-6)


def test_a_mark_without_room_is_noted():
    part = Solid.box((4.0, 4.0, 60.0), (0.0, 0.0, -30.0))
    made = Maker().make(*planned(part, marks="engraved"))
    assert [(each.kind, each.severity) for each in made.findings] == [
        ("mark.no_room", Severity.NOTE)
    ]
    assert made.pieces[0].solid.volume == pytest.approx(4 * 4 * 30)


# -- nothing to do, and remembering -----------------------------------------------------------
def test_a_piece_that_nothing_joins_stays_the_very_same_solid():
    division, plan = box()
    for each in (plan, plan.with_joints((Joint("S1"),))):
        made = Maker().make(division, each)
        assert made.findings == ()
        for piece, cut in zip(made.pieces, division.pieces, strict=True):
            assert piece.solid is cut.solid
    cuts = (*CUT, Cut(Plane(UP, 30.0), "2"))
    part = Solid.box((SIDE, DEPTH, 2 * HEIGHT), (-SIDE / 2, -DEPTH / 2, -HEIGHT))
    division, plan = planned(part, (Joint("S1", (PIN,)),), (UP, UP, UP), cuts)
    made = Maker().make(division, plan)
    same = [a.solid is b.solid for a, b in zip(made.pieces, division.pieces, strict=True)]
    assert same == [False, False, True]


def test_what_has_been_made_is_remembered():
    maker = Maker()
    division, plan = box(Joint("S1", (PIN, OTHER)))
    first, second = maker.make(division, plan), maker.make(division, plan)
    assert all(a.solid is b.solid for a, b in zip(first.pieces, second.pieces, strict=True))
    # Other joints and ways up give others, what the making does not depend on the same.
    moved = plan.with_joints((Joint("S1", (PIN,)),))
    turned = replace(plan, print_directions={"1": UP, "2": ACROSS})
    assert maker.make(division, moved).pieces[0].solid is not first.pieces[0].solid
    assert maker.make(division, turned).pieces[1].solid is not first.pieces[1].solid
    again = maker.make(division, replace(plan, seed=5))
    assert all(a.solid is b.solid for a, b in zip(first.pieces, again.pieces, strict=True))


def test_many_pieces_do_not_pile_up():
    maker = Maker()
    division, plan = box()
    for number in range(70):
        pin = replace(PIN, at=(number / 10, 0.0, 0.0))
        maker.make(division, plan.with_joints((Joint("S1", (pin,)),)))
    assert max(len(kept) for kept in (maker._rims, maker._registers, maker._solids)) <= 64


def test_a_piece_that_falls_in_two_is_found():
    part = Solid.box((10.0, 5.0, 60.0), (0.0, -2.5, -30.0))
    wide = replace(PIN, at=(5.0, 0.0, 0.0), hole_diameter=8.0, depth=40.0, lead_in=0.0)
    division, plan = planned(part, (Joint("S1", (wide,)),))
    made = Maker().make(division, plan)
    found = [each for each in made.findings if each.kind == "piece.loose"]
    assert [each.subject for each in found] == ["1", "2"]
    assert all(each.severity is Severity.FAULT and each.measured == 2 for each in found)
    assert all("once it is joined" in each.message for each in found)
    # A piece that was in two when it was cut is found there, and not again.
    (lower, upper) = division.pieces
    apart = replace(lower, solid=lower.solid.union(Solid.box((5, 5, 5), (50, 0, -30))))
    beside = replace(division, pieces=(apart, upper))
    assert Maker().make(beside, plan.with_joints(())).findings == ()


def test_dust_is_left_out():
    part = Solid.box((10.0, 5.0, 60.0), (0.0, -2.5, -30.0))
    # 0.05³ mm³ is rounding, 0.2³ mm³ is a crumb that is found.
    for size, left in ((0.05, 1), (0.2, 2)):
        crumb = Solid.box((size, size, size), (20.0, 0.0, 0.0))
        solid = _without_dust(part.union(crumb))
        assert len(solid.bodies()) == left
        assert solid.volume == pytest.approx(10 * 5 * 60 + (left - 1) * size**3)
    assert _without_dust(part) is part


# -- registers --------------------------------------------------------------------------------
@pytest.mark.parametrize("form", ["lap", "tongue", "studs", "wedge"])
def test_registers_stand_up_into_the_piece_above(form):
    """On walls of 15 mm: what is added stands free of the other piece, and near to it."""
    part, hidden = channel(width=120.0, depth=80.0, wall=15.0, length=100.0)
    division, plan = planned(part, register=form, pins=False)
    maker = Maker()
    joints, _ = join(division, plan, seen=~hidden, maker=maker)
    plan, register = plan.with_joints(joints), joints[0].register
    # It was made to see whether it fits the bed, and is not made again.
    bodies = maker.register(joints[0], division.seams[0], division)
    assert maker.register(joints[0], division.seams[0], division) is bodies
    assert len(maker._registers) == 1
    made = maker.make(division, plan)
    assert len(maker._registers) == 1
    below, above = made.pieces
    cut = division.pieces
    volumes(made)
    assert below.solid.bounds[1, 2] == pytest.approx(register.height)
    assert above.solid.bounds == pytest.approx(cut[1].solid.bounds)
    # Below the seam the piece is as it was, and so is the other one above the register.
    mesh = mesh_of(below)
    whole = 120 * 80 - 90 * 65
    assert mesh.section(UP, (0, 0, -1.0)).to_2D()[0].area == pytest.approx(whole)
    over = register.height + 0.5
    assert mesh_of(above).section(UP, (0, 0, over)).to_2D()[0].area == pytest.approx(whole)
    # What stands up and what is cut out for it, level by level.
    for level in np.array([0.1, 0.3, 0.6]) * register.height:
        stands = below.solid.section(Plane(UP, float(level))).shape
        around = above.solid.section(Plane(UP, float(level))).shape
        assert stands.area > 10.0
        assert stands.distance(around) >= register.gap - 1e-3
        # Of a lap and a tongue the sides are upright; others lean.
        if form in ("lap", "tongue"):
            assert stands.distance(around) == pytest.approx(register.gap, abs=0.01)
        taken = shapely.box(-60, 0, 60, 80).difference(shapely.box(-45, 0, 45, 65))
        assert stands.difference(taken.buffer(1e-3)).area < 1e-3


# -- flanges and screws -----------------------------------------------------------------------
WALL, INSIDE, TOP = 3.0, 37.0, 47.0
FOOT = 1.0
"""Where the rim ends at the open side: its lines begin there."""


def u_joined(hold=None, **wanted):
    """Join a U channel whose pieces lie on their seam, so that all holes and rims are square."""
    part, hidden = channel(length=160.0)
    division, plan = planned(part, ups=(DOWN, UP), screws=hold or "none", **wanted)
    joints, _ = join(division, plan, seen=~hidden)
    return division, plan.with_joints(joints)


def rim_shape(width):
    """The rim and its walls: a U that is thicker by the width, but for its feet."""
    wall = shapely.box(-40, 0, 40, 50).difference(shapely.box(-INSIDE, -1, INSIDE, TOP))
    opening = shapely.box(width - INSIDE, FOOT, INSIDE - width, TOP - width)
    return wall, shapely.box(-INSIDE, FOOT, INSIDE, TOP).difference(opening)


def shy(rim, thickness):
    """What a rim may lack of its closed form, mm³: 6 µm of its free faces."""
    return 0.006 * (rim.area + rim.length / 2 * thickness)


def round_hole(at, diameter):
    turns = (np.arange(48) + 0.5) * 2 * math.pi / 48
    corners = np.column_stack([np.sin(turns), np.cos(turns)]) / math.cos(math.pi / 48)
    return shapely.Polygon(np.array(at)[:2] + corners * diameter / 2)


def screw_taken(screw, is_head, flange):
    """Volume that a screw takes of one side: all round, square to the seam and to the rim's face.

    Heads and nuts take what of the rim and of the wall is beyond where they bear.
    """
    wall, rim = rim_shape(flange.width)
    through = circle_area(screw.clearance)
    if not is_head and screw.hold != "nut":
        chamfer = cone(screw.hole + 1, screw.hole, 0.5) - circle_area(screw.hole) * 0.5
        return circle_area(screw.hole) * screw.depth + chamfer * (screw.hold == "insert")
    bears = screw.seat if is_head else screw.depth
    room = round_hole(screw.at, screw.head_room)
    assert not room.intersects(wall)
    assert screw.nut_room == 0
    beyond = max(flange.thickness - bears, 0.0)
    return through * min(bears, flange.thickness) + room.intersection(rim).area * beyond


def test_a_flange_is_added_to_both_pieces():
    division, plan = u_joined()
    (joint,) = plan.joints
    _, rim = rim_shape(joint.flange.width)
    made = Maker().make(division, plan)
    wall = 80 * 50 - 74 * 47
    for cut, volume in zip(division.pieces, volumes(made), strict=True):
        holes = sum(hole.volume for hole in holes_of(cut, division, plan))
        wanted = wall * 80.0 + rim.area * joint.flange.thickness - holes
        assert wanted - shy(rim, joint.flange.thickness) <= volume <= wanted + 1e-3
    # The seam has the rims' faces now.
    contact = Maker().contact(division.seams[0], division, plan)
    assert contact.section.area == pytest.approx(wall + rim.area, abs=0.006 * rim.length / 2)
    assert contact.name == "S1"


@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_screws_take_their_holes_of_walls_of_3_mm(hold):
    division, plan = u_joined(hold)
    (joint,) = plan.joints
    assert len(joint.screws) >= 4
    _, rim = rim_shape(joint.flange.width)
    made = Maker().make(division, plan)
    wall = (80 * 50 - 74 * 47) * 80.0
    for side, cut, volume in zip((-1, 1), division.pieces, volumes(made), strict=True):
        pins = sum(hole.volume for hole in holes_of(cut, division, plan))
        screws = 0.0
        for screw in joint.screws:
            is_head = direction_of(screw, division.seams[0]) * side < 0
            screws += screw_taken(screw, is_head, joint.flange)
        wanted = wall + rim.area * joint.flange.thickness - pins - screws
        assert screws > 100.0
        # The holes together are known to 0.1 %.
        slack = 1e-3 * screws
        assert wanted - shy(rim, joint.flange.thickness) - slack <= volume <= wanted + slack


@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_screws_can_be_put_in_through_the_made_pieces(hold):
    """Bars of the screw's own size, by trimesh's rays: M3 has 3 mm, its head 5.5 mm (ISO 4762)."""
    division, plan = u_joined(hold)
    meshes = [mesh_of(piece) for piece in Maker().make(division, plan).pieces]
    turns = np.linspace(0, 2 * math.pi, 12, endpoint=False)
    ring = np.column_stack([np.cos(turns), np.sin(turns), 0 * turns])
    for screw in plan.joints[0].screws:
        axis = np.array(screw.axis)
        below = [np.array(screw.at) - axis * at for at in np.linspace(0.1, screw.seat - 0.1, 5)]
        shank = np.vstack([point + 1.5 * ring for point in below])
        start = screw.seat + 0.1
        heads = [np.array(screw.at) - axis * (start + at) for at in (0.0, 2.0, 20.0)]
        head = np.vstack([point + 2.75 * ring for point in heads])
        for mesh in meshes:
            assert not mesh.contains(np.vstack([shank, head])).any()
        # The seat is there: material just under the head's ring.
        seat = np.array(screw.at) - axis * (screw.seat - 0.2) + 2.6 * ring
        head_piece = meshes[0 if direction_of(screw, division.seams[0]) > 0 else 1]
        assert head_piece.contains(seat).all()


# -- what somebody has edited -----------------------------------------------------------------
@pytest.mark.parametrize(
    ("what", "change", "kind"),
    [
        ("screws", {"at": (0.0, 0.0, 0.0)}, "joint.edge_distance"),
        ("screws", {"at": (500.0, 0.0, 0.0)}, "joint.edge_distance"),
        ("screws", {"depth": 0.0}, "joint.size"),
        ("screws", {"axis": (0.0, 0.0, 0.0)}, "joint.size"),
        ("screws", {"standard": "own"}, "joint.not_on_shelf"),
        ("screws", {"size": "M99"}, "joint.not_on_shelf"),
        ("pins", {"hole_diameter": 0.0}, "joint.size"),
        ("pins", {"axis": (0.0, 0.0, 0.0)}, "joint.size"),
        ("flange", {"thickness": 0.0}, "joint.size"),
        ("flange", {"lines": (((500.0, 0.0), (600.0, 0.0)),)}, "flange.none"),
        ("tape", {"fibre": "straw"}, "joint.size"),
    ],
)
def test_a_plan_that_was_edited_beyond_sense_is_examined(what, change, kind):
    division, plan = u_joined("nut", tape_plies=1)
    (joint,) = plan.joints
    held = getattr(joint, what)
    if isinstance(held, tuple):
        edited = replace(joint, **{what: (replace(held[0], **change), *held[1:])})
    else:
        edited = replace(joint, **{what: replace(held, **change)})
    part = division.part
    examiner = Examiner(ReadPart(part, "mm", (), len(part.faces)))
    result = examiner.examine(plan.with_joints((edited,)), "u", wishes=Wishes())
    kinds = {each.kind for each in result.findings if each.severity is Severity.FAULT}
    assert kind in kinds
    assert result.plan.joints == (edited,)
