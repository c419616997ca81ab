"""Pins and screws of a seam, placed together. Expected values: plane geometry and trimesh."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from scipy.spatial.distance import cdist, pdist
from shapely.geometry import Point

from splitplanner.joint.fasteners.distances import check_hardware
from splitplanner.joint.fasteners.mirrored import MirrorLine, mirror_line
from splitplanner.joint.fasteners.placing import place_fasteners
from splitplanner.joint.fasteners.telling import WANTING
from splitplanner.joint.holes.checks import check_free, hole_volumes_inside
from splitplanner.joint.holes.drilling import drilled, holes_in
from splitplanner.joint.pins.checks import check_pins
from splitplanner.joint.screws.access import SeamAccess, Tool
from splitplanner.plan import Cut, Fastening, Joint, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer, hardware_shelf

PRINTER, SHELF = Printer(), hardware_shelf()
UP = (0.0, 0.0, 1.0)
SCREWS_ONLY = Fastening(pins=False, screws="nut")


class Pads:
    """Heads and nuts sit 6 mm from the plane, on round pads alone."""

    def __init__(self, pads, radius=1.0, sides=(1, -1), seat=6.0):
        self.pads, self.radius, self.sides, self.seat = np.array(pads), radius, sides, seat

    def seats(self, places, side, head_room, thickest, longest_counterbore, **rest):
        near = cdist(places, self.pads).min(axis=1) <= self.radius
        here = near if side in self.sides else np.zeros(len(places), bool)
        return np.where(here, min(self.seat, thickest), np.nan)


def seam_of(part, level=None):
    level = float(part.bounds[:, 2].mean()) if level is None else level
    division = divide(part, [Cut(Plane(UP, level))])
    seam = division.seams[0]
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def plate(width=100.0, depth=9.0, thick=12.0):
    """A plate cut in half through its thickness: two flanges, and nothing beside them."""
    return Solid.box((width, depth, thick))


def channel(rim=7.0):
    """A channel with walls of 2.4 mm, and a rim of 8 mm width all along inside."""
    wall = Solid.box((100, 60, 100)).difference(Solid.box((95.2, 58, 110), (2.4, 2.4, -5)))
    rims = Solid.box((100, 60, 2 * rim), (0, 0, 50 - rim))
    return wall.union(rims.difference(Solid.box((79.2, 50, 120), (10.4, 10.4, -5))))


def access_to(seam, part, seen=None, tool=None):
    mask = np.zeros(len(part.faces), bool) if seen is None else seen
    return SeamAccess(seam, part, mask, (tool or Tool("straight", 4.0, 60.0),))


def kinds(findings):
    return [finding.kind for finding in findings]


def flat(seam, fasteners):
    return seam.plane.to_plane(np.reshape([one.at for one in fasteners], (-1, 3)))


def in_material(piece, at, along, radius, length):
    """Judge by trimesh whether rings round an axis lie in a piece."""
    mesh = trimesh.Trimesh(piece.vertices, piece.faces, process=False)
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = 0.998 * radius * np.column_stack([np.cos(turns), np.sin(turns), 0 * turns])
    depths = np.linspace(0.02, 0.999 * length, 7)[:, None, None]
    return mesh.contains((np.array(at) + ring + depths * np.array(along)).reshape(-1, 3)).all()


def assert_sound(seam, below, above, pins, screws, hold):
    """Material round every hole on both sides, distances between them, and free ways."""
    for screw in screws:
        axis = np.array(screw.axis)
        head, far = (below, above) if axis[2] > 0 else (above, below)
        assert in_material(head, screw.at, -axis, screw.edge_distance, screw.seat)
        assert in_material(far, screw.at, axis, screw.edge_distance, screw.depth)
        if hold != "nut":
            assert in_material(far, screw.at, axis, screw.hole / 2, screw.depth + 0.9)
            tip = screw.length - screw.seat - (0.5 if screw.washers else 0.0)
            assert tip <= screw.depth - 0.5
    joint = Joint(seam.name, pins=pins, screws=screws)
    assert check_pins(joint, seam, below, above) == ()
    assert check_hardware(joint) == ()
    assert hole_volumes_inside(joint, seam, below, above, PRINTER, (UP, UP)) == ()
    low, high = (
        drilled(piece, *holes_in(joint, seam, side), UP, PRINTER)
        for piece, side in ((below, -1), (above, 1))
    )
    assert check_free(joint, seam, low, high) == ()
    if len(screws) > 1:
        assert pdist(flat(seam, screws)).min() >= 9.0 - 1e-9


def test_screws_stand_on_the_pads_alone():
    part = plate()
    seam, below, above = seam_of(part)
    # The room is 100 - 2 x 2.7 mm long. Four of five pads would leave a gap of 40 mm.
    pads = [(x, 4.5) for x in (10, 30, 50, 70, 90)]
    there = seam.plane.to_plane([(x, y, 6.0) for x, y in pads])
    pins, screws, findings = place_fasteners(
        seam, below, above, PRINTER, SCREWS_ONLY, SHELF, Pads(there, 1.5, sides=(1, -1))
    )
    assert pins == ()
    assert len(screws) == 5
    apart = cdist(np.array([screw.at for screw in screws])[:, :2], pads)
    assert sorted(apart.argmin(axis=1)) == [0, 1, 2, 3, 4]
    assert apart.min(axis=1).max() <= 1.5
    assert kinds(findings) == ["joint.screws"]
    for screw in screws:
        assert (screw.seat, screw.depth, screw.at[2]) == (6.0, 6.0, 6.0)
        # 6 + 6 + 2 x 0.5 + 2.4 + 0.5 = 15.9 mm.
        assert screw.length == 16
    assert_sound(seam, below, above, pins, screws, "nut")


def test_heads_go_where_they_are_reached():
    seam, below, above = seam_of(plate(thick=14.0))
    pads = seam.plane.to_plane([(x, 4.5, 7.0) for x in (10, 30, 50, 70, 90)])
    wanted = replace(SCREWS_ONLY, screws="insert")
    for side, axis in ((1, (0, 0, -1)), (-1, (0, 0, 1))):
        _, screws, _ = place_fasteners(
            seam, below, above, PRINTER, wanted, SHELF, Pads(pads, 2.0, sides=(side,), seat=7.0)
        )
        assert len(screws) >= 4
        assert {screw.axis for screw in screws} == {axis}
        # 7 + 0.5 + 4.5 mm into the insert; the hole 1 mm deeper.
        assert {(screw.length, screw.depth) for screw in screws} == {(12, 5.5)}
        assert_sound(seam, below, above, (), screws, "insert")


def test_heads_on_both_sides_where_one_does_not_do():
    seam, below, above = seam_of(plate(thick=14.0))

    class Halves(Pads):
        def seats(self, places, side, *sizes, **rest):
            found = super().seats(places, side, *sizes, **rest)
            x = seam.plane.to_space(places)[:, 0]
            return np.where((x < 50) == (side > 0), found, np.nan)

    middle = seam.plane.to_plane([(x, 4.5, 7.0) for x in range(5, 100, 5)])
    wanted = replace(SCREWS_ONLY, screws="insert")
    access = Halves(middle, 3.0, seat=7.0)
    _, screws, findings = place_fasteners(seam, below, above, PRINTER, wanted, SHELF, access)
    for screw in screws:
        assert screw.axis == ((0, 0, -1) if screw.at[0] < 50 else (0, 0, 1))
    assert len({screw.axis for screw in screws}) == 2
    assert kinds(findings) == ["joint.screws"]


@pytest.mark.parametrize("standard", ["ISO 4762", "ISO 7380-1", "ISO 10642"])
@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_a_rim_takes_pins_and_screws(hold, standard):
    part = channel(10.0 if hold == "plastic" else 7.0)
    seam, below, above = seam_of(part, 50.0)
    wanted = Fastening(screws=hold, screw_standard=standard)
    access = access_to(seam, part)
    pins, screws, findings = place_fasteners(seam, below, above, PRINTER, wanted, SHELF, access)
    assert kinds(findings) == ["joint.keyed", "joint.screws"]
    assert len(pins) >= 2
    assert len({(screw.axis, screw.length) for screw in screws}) == 1
    assert_sound(seam, below, above, pins, screws, hold)
    # Along the middle of the rim no place is farther than half of ten diameters from a screw, but
    # for the width of the rim beside it.
    middle = [(x, 6.0, 50.0) for x in range(6, 95)] + [(6.0, y, 50.0) for y in range(6, 54)]
    apart = cdist(middle, [screw.at for screw in screws]).min(axis=1)
    assert apart.max() <= 15.0 + 4.0


def test_a_mirrored_seam_gets_mirrored_screws():
    part = channel()
    seam, below, above = seam_of(part, 50.0)
    line = mirror_line(seam, Plane((1.0, 0.0, 0.0), 50.0))
    assert line is not None
    pins, screws, findings = place_fasteners(
        seam,
        below,
        above,
        PRINTER,
        Fastening(screws="nut"),
        SHELF,
        access_to(seam, part),
        mirror=line,
    )
    assert kinds(findings) == ["joint.keyed", "joint.screws"]
    at = np.array([screw.at for screw in screws])
    images = at * [-1, 1, 1] + [100, 0, 0]
    assert cdist(images, at).min(axis=1).max() < 0.02
    assert_sound(seam, below, above, pins, screws, "nut")


def test_a_mirror_that_leaves_no_room_is_let_go():
    seam, below, above = seam_of(plate())
    pads = seam.plane.to_plane([(x, 4.5, 6.0) for x in (8, 24, 40)])
    across = MirrorLine(tuple(seam.plane.to_plane([(50.0, 4.5, 6.0)])[0]), (0.0, 1.0))
    for line in (across, MirrorLine(across.point, (1.0, 0.0))):
        _, screws, _ = place_fasteners(
            seam, below, above, PRINTER, SCREWS_ONLY, SHELF, Pads(pads), mirror=line
        )
        assert len(screws) >= 2


def test_a_solid_block_takes_bored_heads_and_pockets():
    part = Solid.box((50, 40, 80))
    seam, below, above = seam_of(part)
    wanted = Fastening(screws="nut", screw_size="M4")
    pins, screws, findings = place_fasteners(
        seam, below, above, PRINTER, wanted, SHELF, access_to(seam, part)
    )
    assert kinds(findings) == ["joint.keyed", "joint.screws"]
    assert len(screws) >= 2
    for screw in screws:
        # Four diameters under the head and under the nut; more is bored away.
        assert screw.seat == screw.depth == 16.0
        assert screw.nut_room == pytest.approx(7.2)
        # 16 + 16 + 0.8 + 3.2 + 0.7 = 36.7 mm.
        assert screw.length == 40
    assert_sound(seam, below, above, pins, screws, "nut")


def test_nothing_is_bored_through_the_good_side():
    part = Solid.box((50, 40, 80))
    seam, below, above = seam_of(part)
    top = part.face_normals[:, 2] > 0.5
    access = access_to(seam, part, top)
    wanted = Fastening(pins=False, screws="insert")
    _, screws, _ = place_fasteners(seam, below, above, PRINTER, wanted, SHELF, access)
    assert screws
    assert {screw.axis for screw in screws} == {(0, 0, 1)}
    nut, note = place_fasteners(seam, below, above, PRINTER, SCREWS_ONLY, SHELF, access)[1:]
    assert nut == ()
    assert kinds(note) == ["joint.screws_not_reached"]


def test_a_thin_wall_has_no_room():
    seam, below, above = seam_of(plate(depth=2.4))
    access = Pads(seam.plane.to_plane([(50.0, 1.2, 6.0)]), 60.0)
    _, screws, (finding,) = place_fasteners(seam, below, above, PRINTER, SCREWS_ONLY, SHELF, access)
    assert screws == ()
    assert (finding.kind, finding.severity) == ("joint.screws_no_room", "warning")
    assert finding.measured == pytest.approx(2.4, abs=0.01)
    # Clearance 3.6 mm and two lines of 0.45 mm on both sides.
    assert finding.allowed == pytest.approx(3.6 + 4 * 0.45)


def test_a_thin_plate_has_no_depth_for_a_thread():
    seam, below, above = seam_of(plate(thick=10.0))
    access = Pads(seam.plane.to_plane([(50.0, 4.5, 5.0)]), 60.0, seat=5.0)
    wanted = replace(SCREWS_ONLY, screws="plastic")
    _, screws, (finding,) = place_fasteners(seam, below, above, PRINTER, wanted, SHELF, access)
    assert screws == ()
    assert finding.kind == "joint.screws_no_room"
    # Engagement 7.5, half a diameter, and two lines beyond.
    assert finding.allowed == pytest.approx(9.9)


def test_no_driver_no_screws():
    seam, below, above = seam_of(plate())
    _, screws, (finding,) = place_fasteners(
        seam, below, above, PRINTER, SCREWS_ONLY, SHELF, Pads([(0.0, 0.0)], sides=())
    )
    assert screws == ()
    assert finding.kind == "joint.screws_not_reached"


def test_no_stocked_length():
    short = replace(
        SHELF, screws=tuple(replace(screw, lengths=(5.0, 6.0)) for screw in SHELF.screws)
    )
    seam, below, above = seam_of(plate())
    access = Pads(seam.plane.to_plane([(50.0, 4.5, 6.0)]), 60.0)
    _, screws, (finding,) = place_fasteners(seam, below, above, PRINTER, SCREWS_ONLY, short, access)
    assert screws == ()
    assert finding.kind == "joint.screws_no_length"
    assert finding.allowed == 6.0


def test_a_gap_and_a_lone_screw_are_said():
    seam, below, above = seam_of(plate())
    pads = seam.plane.to_plane([(x, 4.5, 6.0) for x in (10, 30, 50)])
    _, screws, findings = place_fasteners(
        seam, below, above, PRINTER, SCREWS_ONLY, SHELF, Pads(pads)
    )
    assert len(screws) == 3
    assert kinds(findings) == ["joint.screws", "joint.screws_gap"]
    # From the last screw, on the pad at 50 mm, to the end of the room at 97.3 mm; twice that.
    last = max(screw.at[0] for screw in screws)
    assert last == pytest.approx(50, abs=1.0)
    assert findings[1].measured == pytest.approx(2 * (97.3 - last), abs=0.5)
    assert findings[1].allowed == pytest.approx(30.0)
    _, screws, findings = place_fasteners(
        seam, below, above, PRINTER, SCREWS_ONLY, SHELF, Pads(pads[:1])
    )
    assert len(screws) == 1
    assert kinds(findings) == ["joint.screws", "joint.one_screw"]
    assert set(WANTING) >= {"joint.screws_gap", "joint.one_screw"}


def test_a_washer_needs_something_to_bear_on():
    # Washers of 9 mm on bars: chords at half the width cut two segments of the circle off.
    wide = replace(SHELF, washers=tuple(replace(one, outer=9.0) for one in SHELF.washers[2:3]))
    assert wide.washers[0].size == "M3"

    def share(width):
        half, radius = width / 2, 4.5
        segment = radius**2 * math.acos(half / radius) - half * math.sqrt(radius**2 - half**2)
        return 1 - 2 * segment / (math.pi * (radius**2 - 1.8**2))

    for width, washers in ((7.0, 2), (6.7, 2), (6.2, 0), (5.6, 0)):
        seam, below, above = seam_of(plate(depth=width))
        access = Pads(seam.plane.to_plane([(50.0, width / 2, 6.0)]), 60.0)
        _, screws, _ = place_fasteners(seam, below, above, PRINTER, SCREWS_ONLY, wide, access)
        assert (share(width) >= 0.8) == (washers == 2)
        assert {screw.washers for screw in screws} == {washers}


def test_a_head_is_not_bored_into_a_thin_wall():
    # A rim of 8 mm behind a wall of 2.4 mm that goes on for 6 mm beyond it: a head beside the wall
    # is free, one nearer would be cut into the wall and leave less of it than two lines.
    part = Solid.box((100, 20, 26)).difference(Solid.box((95.2, 30, 30), (2.4, 2.4, -24)))
    part = part.difference(Solid.box((95.2, 30, 30), (2.4, 2.4, 20)))
    part = part.difference(Solid.box((79.2, 30, 40), (10.4, 10.4, -5)))
    seam, below, above = seam_of(part, 13.0)
    _, screws, _ = place_fasteners(
        seam, below, above, PRINTER, SCREWS_ONLY, SHELF, access_to(seam, part)
    )
    assert len(screws) >= 2
    for screw in screws:
        x, y, _ = screw.at
        # The room of a washer, 7.7 mm, stays off the outer faces of the walls by 0.9 mm.
        assert min(x, 100 - x, y) - 7.7 / 2 >= 0.9 - 0.05


def test_screws_keep_off_other_seams():
    # Two cuts across each other: four bars of 15 x 15 mm.
    bar = Solid.box((30, 30, 60))
    division = divide(bar, [Cut(Plane(UP, 30.0)), Cut(Plane((1.0, 0.0, 0.0), 15.0))])
    joints = []
    wanted = Fastening(screws="insert")
    for seam in division.seams:
        below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
        others = [one for joint in joints for one in (*joint.pins, *joint.screws)]
        access = access_to(seam, bar)
        pins, screws, _ = place_fasteners(
            seam, below, above, PRINTER, wanted, SHELF, access, others
        )
        joints.append(Joint(seam.name, pins=pins, screws=screws))
    assert sum(len(joint.screws) for joint in joints) >= 2
    for index, joint in enumerate(joints):
        assert check_hardware(joint, joints[:index]) == ()


def test_one_pin_round_and_one_slotted():
    part = channel()
    seam, below, above = seam_of(part, 50.0)

    def pins_of(fastening, printer=PRINTER):
        return place_fasteners(
            seam, below, above, printer, fastening, SHELF, access_to(seam, part)
        )[0]

    first, second, *_ = pins_of(Fastening())
    assert first.slot == (0, 0, 0)
    between = np.array(second.at) - first.at
    assert np.linalg.norm(second.slot) == pytest.approx(0.3)
    assert np.linalg.norm(np.cross(second.slot, between)) == pytest.approx(0.0, abs=1e-9)
    assert first.vent == second.vent == 0
    # No longer than the allowance, if that is more; and round where none is wanted.
    wide = pins_of(Fastening(), Printer(hole_allowance=0.4))
    assert np.linalg.norm(wide[1].slot) == pytest.approx(0.4)
    assert {pin.slot for pin in pins_of(Fastening(slots=False))} == {(0, 0, 0)}
    # A groove of a third of the pin, or of 1 mm.
    for pin in pins_of(Fastening(press_fit=True)):
        assert pin.vent == pytest.approx(min(1.0, pin.diameter / 3))


def test_chamfers_where_there_is_material_for_them():
    part = Solid.box((60, 40, 80))
    seam, below, above = seam_of(part)
    access = access_to(seam, part)
    pins = place_fasteners(seam, below, above, PRINTER, Fastening(), SHELF, access)[0]
    outline = seam.section.shape.boundary
    assert len(pins) >= 2
    for pin, place in zip(pins, flat(seam, pins), strict=True):
        # What is beyond the edge distance, and half of the wall, in steps of 0.1 mm; 0.5 at most.
        wall = pin.edge_distance - pin.hole_diameter / 2
        room = outline.distance(Point(place)) - pin.edge_distance + wall / 2
        assert 0.2 <= pin.lead_in <= min(0.5, room)
        assert pin.lead_in > min(0.5, room) - 0.1
    # With lines of 0.3 mm a thin pin keeps walls of 0.6 mm: half of that.
    fine = Printer(line_width=0.3)
    narrow = Solid.box((60, 3.45, 80))
    seam, below, above = seam_of(narrow)
    thin = place_fasteners(seam, below, above, fine, Fastening(), SHELF, access_to(seam, narrow))[0]
    assert thin
    assert all(pin.lead_in == pytest.approx(0.3) for pin in thin)


def test_thinner_pins_make_room_for_screws():
    # Pins of 6 mm and 8 mm alone on the shelf, and then thin ones too: a small block.
    part = Solid.box((26, 13, 60))
    seam, below, above = seam_of(part)
    wanted = Fastening(screws="insert")
    access = access_to(seam, part)
    pins, screws, _ = place_fasteners(seam, below, above, PRINTER, wanted, SHELF, access)
    thick = replace(SHELF, dowel_pins=tuple(p for p in SHELF.dowel_pins if p.diameter >= 5))
    fewer = place_fasteners(seam, below, above, PRINTER, wanted, thick, access)[1]
    assert len(pins) == 2
    assert len(screws) > len(fewer)
    assert max(pin.diameter for pin in pins) <= 3


def test_equal_places_each_time():
    part = channel()
    seam, below, above = seam_of(part, 50.0)
    first, second = (
        place_fasteners(
            seam,
            below,
            above,
            PRINTER,
            Fastening(screws="insert"),
            SHELF,
            access_to(seam, part),
        )[:2]
        for _ in range(2)
    )
    assert first == second
