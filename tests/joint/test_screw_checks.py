"""Checks of screws and of what is drilled for them. Expected values: plane and solid geometry."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.findings import Severity
from splitplanner.joint.fasteners.distances import bars_of, check_hardware
from splitplanner.joint.holes.checks import check_free, hole_volumes_inside
from splitplanner.joint.holes.drilling import drilled, holes_in
from splitplanner.joint.pins.checks import pins_apart
from splitplanner.joint.pins.details import as_pins
from splitplanner.joint.screws.checks import ScrewFit, check_screws, tip_distance
from splitplanner.plan import Cut, Joint, Pin, divide
from splitplanner.plan.joints import Screw
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PRINTER = Printer()
UP, ACROSS = (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
UPS = (UP, UP)
# M3 x 16 with a washer: ISO 4762 (head 5.5), ISO 7089 (7 x 0.5), ISO 4032 (5.5 x 2.4).
CAP = Screw(
    (30.0, 30.0, 50.0),
    UP,
    "ISO 4762",
    "M3",
    16.0,
    "nut",
    6.0,
    1,
    3.6,
    7.4,
    False,
    6.0,
    3.6,
    5.8,
    3.5,
)
FIT = ScrewFit(bearing=7.0, nut_bearing=5.5, washer=0.5, nut_height=2.4, engagement=6.0)
INSERT = replace(CAP, hold="insert", depth=10.0, hole=4.2, nut_room=0.0)
SUNK = replace(CAP, is_countersunk=True, head_room=6.9, washers=0)
PIN = Pin((60.0, 30.0, 50.0), UP, "ISO 8734", 3.0, 16.0, 3.2, 8.5, 2.6)


def split(part):
    division = divide(part, [Cut(Plane(UP, 50.0))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


@pytest.fixture(scope="module")
def bar():
    """A bar of 100 x 60, 6 mm of it on each side of the seam, as flanges are."""
    return split(Solid.box((100, 60, 12), (0, 0, 44)))


@pytest.fixture(scope="module")
def block():
    return split(Solid.box((100, 60, 100)))


def check(pieces, *screws, fit=FIT, ups=UPS, coat=0.0):
    seam, below, above = pieces
    joint = Joint(seam.name, (), screws)
    return check_screws(joint, seam, below, above, PRINTER, [fit] * len(screws), ups, coat)


def kinds(findings):
    return [finding.kind for finding in findings]


@pytest.mark.parametrize("up", [UP, ACROSS])
def test_sound_screws(bar, block, up):
    flipped = replace(CAP, at=(60.0, 30.0, 50.0), axis=(0.0, 0.0, -1.0))
    assert check(bar, CAP, flipped, ups=(up, up)) == ()
    assert check(bar, replace(SUNK, length=20.0), ups=(up, up)) == ()
    assert check(block, INSERT, replace(INSERT, hold="plastic", hole=2.6), ups=(up, up)) == ()


def test_a_fit_for_each_screw(bar):
    seam, below, above = bar
    with pytest.raises(ValueError, match="zip"):
        check_screws(Joint("S1", (), (CAP,)), seam, below, above, PRINTER, [], UPS)


@pytest.mark.parametrize("distance", [3.4, 2.0])
def test_edge_distance_is_measured(bar, distance):
    findings = check(bar, replace(CAP, at=(distance, 30.0, 50.0)))
    edges = [finding for finding in findings if finding.kind == "joint.edge_distance"]
    assert len(edges) == 2
    for finding in edges:
        assert finding.severity is Severity.FAULT
        assert finding.measured == pytest.approx(distance, abs=0.01)
        assert finding.allowed == 3.5
        assert finding.where[0].tolist() == [distance, 30.0, 50.0]
    assert "joint.edge_distance" not in kinds(check(bar, replace(CAP, at=(3.5, 30.0, 50.0))))


def test_flange_thinner_than_the_grip():
    # Above the flange ends after 4 mm, so nothing holds the nut at 6 mm.
    seam, below, above = split(Solid.box((100, 60, 10), (0, 0, 44)))
    findings = check_screws(Joint("S1", (), (CAP,)), seam, below, above, PRINTER, [FIT], UPS)
    assert kinds(findings) == ["joint.edge_distance", "joint.seat"]
    assert all(f"“{seam.above}”" in finding.message for finding in findings)
    assert findings[0].measured == 0.0


def test_share_that_bears(bar):
    """Material is missing beside a line: what is left of the ring, by circular segments."""
    seam, below, above = bar
    at, distance, edge = 30.0, 2.0, 1.9
    notch = below.difference(Solid.box((50, 60, 12), (at + distance, 0, 40)))

    def segment(radius):
        half = math.acos(distance / radius)
        return radius**2 * (half - math.sin(half) * math.cos(half))

    ring = math.pi * (3.5**2 - 1.8**2)
    share = 1 - segment(3.5) / ring
    screw = replace(CAP, edge_distance=edge)
    (finding,) = check((seam, notch, above), screw)
    assert finding.kind == "joint.seat"
    assert finding.measured == pytest.approx(share, abs=0.003)
    assert finding.allowed == 0.8
    # Lying across the print, the hole's roof takes of the ring too: two corners, between the
    # circle and what touches it at 45° and at the top. Areas by kites,
    # as for the teardrop cut flat:
    prism = math.tan(math.pi / 48)
    roof = 1.8**2 * (36 * prism + 1.0 - (math.sqrt(2) - 1) ** 2 - 48 * prism)
    (level,) = check((seam, notch, above), screw, ups=(ACROSS, UP))
    lost = finding.measured - level.measured
    assert lost == pytest.approx(roof / (48 * prism * (3.5**2 - 1.8**2)), rel=1e-3)
    # A head of 5.5 mm on the same place rests on enough.
    assert 1 - segment(2.75) / (math.pi * (2.75**2 - 1.8**2)) > 0.8
    assert check((seam, notch, above), screw, fit=replace(FIT, bearing=5.5, washer=0.0)) == ()


def test_countersunk_head_over_an_edge(bar):
    """Half a cone bears where the material ends at its axis."""
    seam, below, above = bar
    half = below.difference(Solid.box((50, 60, 3), (30, 0, 43.5)))
    findings = check((seam, half, above), replace(SUNK, length=20.0, edge_distance=1.9))
    seat = next(finding for finding in findings if finding.kind == "joint.seat")
    # The cone is 1.65 mm high, all of it in the 2.5 mm that are gone on one side.
    assert seat.measured == pytest.approx(0.5, abs=0.01)


def test_end_cover():
    # 10.5 mm above the seam, a hole of 10 mm: 0.5 of two lines of 0.45 mm are left.
    pieces = split(Solid.box((100, 60, 60.5)))
    (finding,) = check(pieces, INSERT)
    assert finding.kind == "joint.end_cover"
    assert finding.measured == pytest.approx(0.5, abs=0.01)
    assert finding.allowed == pytest.approx(0.9)
    assert check(split(Solid.box((100, 60, 61))), INSERT) == ()
    # A coat of 0.2 mm makes the hole deeper.
    (finding,) = check(split(Solid.box((100, 60, 61))), INSERT, coat=0.2)
    assert finding.measured == pytest.approx(0.8, abs=0.01)


def test_length(bar, block):
    # 16 - 6 - 0.5 = 9.5 beyond the seam; in a hole of 10 mm that is the most.
    assert tip_distance(INSERT, FIT) == pytest.approx(9.5)
    assert check(block, INSERT) == ()
    (finding,) = check(block, replace(INSERT, depth=9.9))
    assert (finding.kind, finding.measured) == ("joint.screw_bottoms", pytest.approx(9.5))
    assert finding.allowed == pytest.approx(9.4)
    # Without the washer it goes 0.5 mm further.
    assert kinds(check(block, replace(INSERT, washers=0))) == ["joint.screw_bottoms"]
    # 12 - 6.5 = 5.5 of thread, 6 are wanted.
    (finding,) = check(block, replace(INSERT, length=12.0))
    assert (finding.kind, finding.allowed) == ("joint.screw_short", 6.0)
    assert finding.measured == pytest.approx(5.5)
    # A nut of 2.4 at 6 mm: 8.4, and 8.9 with a washer below it; the tip is at 9.5, or 7.5.
    assert check(bar, replace(CAP, washers=2)) == ()
    (finding,) = check(bar, replace(CAP, washers=2, length=14.0))
    assert (finding.kind, finding.allowed) == ("joint.screw_short", pytest.approx(8.9))
    # The length of a countersunk screw counts from its top.
    assert tip_distance(replace(SUNK, washers=1), FIT) == pytest.approx(10.0)


def test_stance(bar):
    (finding,) = check(bar, replace(CAP, at=(30.0, 30.0, 50.3)))
    assert (finding.kind, finding.measured) == ("joint.off_plane", pytest.approx(0.3))
    lean = (math.sin(0.1), 0.0, math.cos(0.1))
    (finding,) = check(bar, replace(CAP, axis=lean))
    assert finding.kind == "joint.off_plane"
    assert "5.73°" in finding.message


@pytest.mark.parametrize(
    "change",
    [
        {"seat": 0.0},
        {"length": -1.0},
        {"head_room": 3.6},
        {"edge_distance": 1.8},
        {"depth": 0.0},
        {"is_countersunk": True, "head_room": 17.0},
    ],
)
def test_sizes_that_no_screw_has(bar, change):
    (finding,) = check(bar, replace(CAP, **change))
    assert finding.kind == "joint.size"
    assert finding.measured <= finding.allowed
    # The other checks leave it alone.
    joint = Joint("S1", (), (replace(CAP, seat=0.0), CAP))
    assert check_hardware(joint) == ()
    assert hole_volumes_inside(joint, *bar, PRINTER, UPS) == ()


# -- drilled ------------------------------------------------------------------------------------
FULL = Joint(
    "S1",
    (replace(PIN, lead_in=0.4, vent=0.6, slot=(0.5, 0.0, 0.0)),),
    (
        CAP,
        replace(INSERT, at=(45.0, 30.0, 50.0), axis=(0.0, 0.0, -1.0)),
        replace(SUNK, at=(80.0, 30.0, 50.0), length=20.0),
    ),
)


@pytest.mark.parametrize("up", [UP, ACROSS, (0.5, 1.0, 0.2)])
def test_drilled_joint_is_free(block, up):
    seam, below, above = block
    assert hole_volumes_inside(FULL, seam, below, above, PRINTER, (up, up)) == ()
    lower, upper = (
        drilled(piece, *holes_in(FULL, seam, side), up, PRINTER, reach=20.0)
        for piece, side in ((below, -1), (above, 1))
    )
    assert check_free(FULL, seam, lower, upper, reach=20.0) == ()


def test_what_is_not_drilled_blocks(block):
    seam, below, above = block
    joint = Joint("S1", (PIN,))
    findings = check_free(joint, seam, below, above)
    assert kinds(findings) == ["joint.hole_blocked"] * 2
    for finding in findings:
        assert finding.measured == pytest.approx(math.pi * 1.6**2 * 8.5, rel=1e-2)
    # 20 mm are cleared for the head, and 30 are asked for: 10 mm of the 7.4 mm way are left.
    joint = Joint("S1", (), (INSERT,))
    lower, upper = (
        drilled(piece, *holes_in(joint, seam, side), UP, PRINTER, reach=20.0)
        for piece, side in ((below, -1), (above, 1))
    )
    (finding,) = check_free(joint, seam, lower, upper, reach=30.0)
    assert finding.measured == pytest.approx(math.pi * 3.7**2 * 10, rel=1e-2)
    assert f"“{seam.below}”" in finding.message


def test_pins_beside_what_stands_for_a_screw_keep_the_distance_that_is_checked():
    # As near as its stand-ins allow along x, a pin keeps what `check_hardware` asks for.
    for screw in (CAP, INSERT, SUNK):
        stand_ins = as_pins(screw, 5.0)
        for apart in np.arange(1.0, 20.0, 0.25):
            pin = replace(PIN, at=(screw.at[0] + apart, *screw.at[1:]))
            asked = [pin.edge_distance + other.edge_distance for other in stand_ins]
            if (pins_apart(pin, stand_ins) >= asked).all():
                break
        found = check_hardware(Joint("S1", (pin,)), [Joint("S2", (), (screw,))], reach=5.0)
        assert found == ()
        assert apart < 19.0


@pytest.mark.parametrize("screw", [SUNK, CAP])
def test_a_bearing_face_may_be_uneven_by_microns(block, screw):
    # A flange is a little lower in places: stretches of it differ by up to 0.01 mm.
    seam, below, above = block
    joint = Joint("S1", (), (screw,))
    for lower, expected in ((0.008, []), (0.05, ["joint.hole_volume"])):
        under = below.split(Plane((0.0, 0.0, 1.0), 50.0 - screw.seat + lower))[1]
        findings = hole_volumes_inside(joint, seam, under, above, PRINTER, UPS)
        assert kinds(findings) == expected


def test_hole_that_breaks_out(block):
    seam, below, above = block
    # Half of a hole whose axis lies on the edge.
    joint = Joint("S1", (replace(PIN, at=(60.0, 0.0, 50.0)),))
    findings = hole_volumes_inside(joint, seam, below, above, PRINTER, UPS)
    assert kinds(findings) == ["joint.hole_volume"] * 2
    for finding in findings:
        assert finding.measured == pytest.approx(finding.allowed / 2, rel=1e-6)
    # A slot 1 mm long that runs out of a side by 0.1 mm, in the piece above alone.
    joint = Joint("S1", (replace(PIN, at=(2.0, 30.0, 50.0), slot=(1.0, 0.0, 0.0)),))
    (finding,) = hole_volumes_inside(joint, seam, below, above, PRINTER, UPS)
    assert f"“{seam.above}”" in finding.message
    half = math.acos(1.5 / 1.6)
    lost = 1.6**2 * (half - math.sin(half) * math.cos(half)) * 8.5
    assert finding.allowed - finding.measured == pytest.approx(lost, rel=0.1)


# -- distances ----------------------------------------------------------------------------------
def test_distances_in_a_joint():
    # The hole's wall: 3.5 - 1.8 = 1.7; head room of 7.4 beside a hole of 3.2 with a wall of 1.0.
    def apart(distance, *screws):
        pin = replace(PIN, at=(30.0 + distance, 30.0, 50.0))
        return check_hardware(Joint("S1", (pin,), screws or (CAP,)))

    # Holes: 1.8 + 1.6 + 1.7 = 5.1; the pin's hole is deeper than the seat: 3.7 + 1.6 + 1.0 = 6.3.
    (finding,) = apart(5.0)
    assert (finding.measured, finding.allowed) == (pytest.approx(5.0), pytest.approx(6.3))
    assert "screw 1 and pin 1" in finding.message
    assert apart(6.31) == ()
    # A shorter pin ends before the seat.
    short = replace(PIN, at=(35.2, 30.0, 50.0), depth=2.0)
    far = Joint("S1", (short,), (CAP,))
    # 5.2 across and 6 - 3 = 3 along: 6.003 from the head's way; 6.3 are wanted.
    (finding,) = check_hardware(far)
    assert finding.measured == pytest.approx(math.hypot(5.2, 3.0))
    assert check_hardware(replace(far, pins=(replace(short, depth=1.0),))) == ()


def test_heads_do_not_touch():
    beside = replace(CAP, at=(37.3, 30.0, 50.0))
    (finding,) = check_hardware(Joint("S1", (), (CAP, beside)))
    assert finding.measured == pytest.approx(7.3)
    # Head beside head 7.4; the hole beside the head's way 3.7 + 1.8 + 1.7 = 7.2.
    assert finding.allowed == pytest.approx(7.4)
    assert check_hardware(Joint("S1", (), (CAP, replace(CAP, at=(37.41, 30.0, 50.0))))) == ()


def test_other_joints():
    # Another seam square to this one: its pin crosses the way to the head, 40 mm out.
    across = Joint("S2", (replace(PIN, at=(30.0, 33.0, 10.0), axis=(1.0, 0.0, 0.0)),))
    joint = Joint("S1", (), (CAP,))
    (finding,) = check_hardware(joint, [across])
    assert "pin 1 of seam S2" in finding.message
    assert (finding.measured, finding.allowed) == (pytest.approx(3.0), pytest.approx(6.3))
    # Not where the way ends before it.
    assert check_hardware(joint, [across], reach=20.0) == ()
    # Two heads that look at each other over one way are no fault.
    facing = Joint("S2", (), (replace(CAP, at=(30.0, 30.0, 0.0), axis=(0.0, 0.0, -1.0)),))
    assert check_hardware(joint, [facing], reach=20.0) == ()
    # Pins of two joints.
    pins = Joint("S1", (replace(PIN, at=(30.0, 30.0, 12.0)),))
    (finding,) = check_hardware(pins, [across])
    assert finding.allowed == pytest.approx(1.6 + 1.6 + 1.0)


def test_bars_enclose_what_is_drilled(block):
    """Every corner of the drilled holes lies within the bars, but for their mouths."""
    seam, below, above = block
    joint = Joint("S1", (PIN,), (CAP, replace(INSERT, at=(45.0, 30.0, 50.0))))
    bars = [bar for fastener in (*joint.pins, *joint.screws) for bar in bars_of(fastener, 20.0)]
    for piece, side in ((below, -1), (above, 1)):
        solid = drilled(piece, *holes_in(joint, seam, side), UP, PRINTER, reach=20.0)
        holes = piece.difference(solid)
        depths = np.abs(holes.vertices[:, 2] - 50.0)
        for point in holes.vertices[depths > 0.6]:
            gaps = []
            for bar in bars:
                run = bar.end - bar.start
                share = np.clip((point - bar.start) @ run / (run @ run), 0, 1)
                gaps.append(np.linalg.norm(point - bar.start - share * run) - bar.radius * 1.003)
            assert min(gaps) < 1e-6
