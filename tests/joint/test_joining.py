"""Joining whole plans, on a box, on a U channel and on a tube whose sizes are known by heart."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.errors import Cancelled, WorkshopError
from splitplanner.findings import Severity
from splitplanner.joint import check_joints, check_sense, join, sensible
from splitplanner.joint.joining import _in_bosses
from splitplanner.plan import Cut, Fastening, Flange, Joint, PartFile, Pin, Plan, Seam, divide
from splitplanner.solid import Plane, Section, Solid
from splitplanner.workshop import Bed, Printer, hardware_shelf
from tests.joint.flanged import channel, square_tube

MIDDLE = (Cut(Plane((0.0, 0.0, 1.0), 0.0)),)
ENGAGEMENT = {"nut": 2.4, "insert": 4.0, "plastic": 4.0}
"""Less thread than this does not hold an M3 screw, mm: a nut of ISO 4032 is 2.4 mm high (m max),
and in inserts and plastic some 1.3 diameters are the least that is usual."""


class Case:
    """A part with its cuts, and which of its faces are seen."""

    def __init__(self, part, seen, cuts=MIDDLE, ups=None):
        self.division, self.seen = divide(part, cuts), seen
        ups = ups or {piece.name: (0.0, 0.0, 1.0) for piece in self.division.pieces}
        self.plan = Plan(PartFile("part.stl", "mm", part.fingerprint), Printer(), cuts, ups)

    def joined(self, kept=None, shelf=None, **wanted):
        plan = replace(self.plan, fastening=Fastening(**wanted))
        joints, found = join(self.division, plan, shelf, seen=self.seen, kept=kept)
        return plan.with_joints(joints), {each.kind for each in found}

    def faults(self, plan, shelf=None):
        found = check_joints(self.division, plan, shelf, seen=self.seen)
        return [each for each in found if each.severity is Severity.FAULT]


@pytest.fixture(scope="module")
def thin():
    """A U of 80 x 50 mm, its walls 3 mm thick, cut in the middle; its inside is hidden."""
    part, hidden = channel(length=160.0)
    return Case(part, ~hidden)


@pytest.fixture(scope="module")
def thick():
    """A square tube with walls of 15 mm, hidden inside."""
    part, hidden = square_tube(80.0, 15.0, 120.0)
    return Case(part, ~hidden)


@pytest.fixture(scope="module")
def block():
    """A box that is seen all round."""
    part = Solid.box((80.0, 60.0, 120.0), (-40.0, -30.0, -60.0))
    return Case(part, np.ones(len(part.faces), bool))


def length_of(flange):
    return sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in flange.lines)


# -- flanges ----------------------------------------------------------------------------------
def test_a_flange_is_there_where_walls_are_too_thin(thin, thick, block):
    plan, kinds = thin.joined()
    (joint,) = plan.joints
    assert len(joint.pins) >= 2
    assert not kinds & {"joint.no_room", "joint.one_pin"}
    # It follows the hidden side: 74 mm of the middle wall and both flanks, but not their feet.
    assert 74 + 2 * 40 < length_of(joint.flange) <= 74 + 2 * 47
    assert thin.faults(plan) == []
    for case in (thick, block):
        plan, kinds = case.joined()
        assert plan.joints[0].flange is None
        assert len(plan.joints[0].pins) >= 2
        assert case.faults(plan) == []


def test_a_flange_is_never_there_if_it_is_not_wanted(thin):
    plan, kinds = thin.joined(flange="never")
    assert plan.joints == (Joint("S1"),)
    assert kinds == {"joint.no_room"}


def test_a_flange_is_always_there_where_something_is_hidden(thin, thick, block):
    for case in (thin, thick):
        plan, _ = case.joined(flange="always")
        assert plan.joints[0].flange is not None
        assert case.faults(plan) == []
    # All round the inside of the tube, 50 mm square.
    assert length_of(plan.joints[0].flange) == pytest.approx(4 * 50.0)
    # A box has no hidden side.
    assert block.joined(flange="always")[0].joints[0].flange is None


def test_bosses_are_shorter_than_a_rim_and_hold_the_same(thin):
    rim = thin.joined(flange="always")[0].joints[0]
    plan, _ = thin.joined(flange="always", bosses=True)
    (joint,) = plan.joints
    assert joint.fasteners == rim.fasteners
    width = joint.flange.width
    # 1.5 widths to both sides of each fastener, at most.
    assert length_of(joint.flange) <= len(joint.fasteners) * 3 * width + 1e-6
    assert length_of(joint.flange) < 0.6 * length_of(rim.flange)
    assert thin.faults(plan) == []


def test_a_flange_stays_where_fasteners_of_another_seam_reach_into_it():
    flange = Flange((((0.0, 0.0), (100.0, 0.0)),), 8.0, 4.0)
    plane = Plane((0.0, 0.0, 1.0), 0.0)
    seam = Seam("S1", 0, "1", "2", Section(plane, ()))
    mine = Pin(tuple(plane.to_space([(20.0, -4.0)])[0]), plane.normal, "", 3.0, 12.0, 3.2, 6.0, 3.0)
    joint = Joint("S1", pins=(mine,), flange=flange)

    def kept(height, u):
        # Along the seam's plane, at a height over it, on the flange's own side.
        at, axis = plane.to_space([(u, -4.0)])[0] + (0, 0, height), plane.frame[0]
        other = replace(mine, at=tuple(at), axis=tuple(axis))
        return _in_bosses(joint, seam, [other]).flange.lines

    alone = (((8.0, 0.0), (32.0, 0.0)),)
    assert _in_bosses(joint, seam, []).flange.lines == alone
    # It is 12 mm long with its holes: from 64 to 76, and the boss goes on for 12 mm on both sides.
    assert kept(2.0, 70.0) == (*alone, ((52.0, 0.0), (88.0, 0.0)))
    # Its hole and the material round it begin above the flange.
    assert kept(4.0 + 3.1, 70.0) == alone


def test_bosses_without_anything_to_carry_are_not_there(thin):
    plan, _ = thin.joined(flange="always", bosses=True, pins=False)
    assert plan.joints == (Joint("S1"),)
    assert thin.faults(plan) == []


def test_a_flange_slopes_where_it_would_hang(thin):
    # The piece below prints with its seam up, so that its far face looks down; the one above not.
    flange = thin.joined()[0].joints[0].flange
    assert (flange.slope_below, flange.slope_above) == (45.0, 90.0)
    part, hidden = channel(length=160.0)
    down = Case(part, ~hidden, ups={"1": (0.0, 0.0, -1.0), "2": (0.0, 0.0, -1.0)})
    flange = down.joined()[0].joints[0].flange
    assert (flange.slope_below, flange.slope_above) == (90.0, 45.0)


# -- screws -----------------------------------------------------------------------------------
@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_screws_in_walls_of_3_mm(thin, hold):
    plan, kinds = thin.joined(screws=hold)
    (joint,) = plan.joints
    assert "joint.screws" in kinds
    assert not kinds & {"joint.one_screw", "joint.screws_gap", "joint.screws_no_room"}
    assert thin.faults(plan) == []
    assert {screw.hold for screw in joint.screws} == {hold}
    assert len(joint.screws) >= 4
    assert len(joint.pins) >= 2
    at = np.array([screw.at for screw in joint.screws])
    assert at[:, 2] == pytest.approx(0.0)
    # All in the flange: inside the U of 74 x 47 mm by half a head, and off what it leaves open.
    away = np.minimum(37.0 - np.abs(at[:, 0]), 47.0 - at[:, 1])
    width = joint.flange.width
    opening = shapely.box(width - 37.0, -99.0, 37.0 - width, 47.0 - width)
    free = shapely.distance(opening, shapely.points(at[:, :2]))
    for screw, inside, beyond in zip(joint.screws, away, free, strict=True):
        assert screw.size == "M3"
        assert inside >= screw.head_room / 2
        assert beyond >= screw.edge_distance - 1e-6
        assert screw.clearance > 3.0
        tip = screw.length - screw.seat
        assert tip - 0.55 * screw.washers >= 0  # washers of ISO 7089: 0.55 mm at the most (h max)
        if hold == "nut":
            assert tip - 0.55 * screw.washers - screw.depth >= ENGAGEMENT[hold] - 1e-6
        else:
            assert ENGAGEMENT[hold] <= tip <= screw.depth - 0.5
            assert screw.depth < joint.flange.thickness
    # Along the flange no two neighbours are further apart than ten diameters and a little, and
    # the two halves are mirrored as the part is.
    mirrored = {(round(-x, 3), round(y, 3)) for x, y, _ in at}
    assert mirrored == {(round(x, 3), round(y, 3)) for x, y, _ in at}
    pins = np.array([pin.at for pin in joint.pins])
    apart = np.linalg.norm(at[:, None] - pins[None], axis=2)
    for row, screw in zip(apart, joint.screws, strict=True):
        for distance, pin in zip(row, joint.pins, strict=True):
            assert distance > (screw.clearance + pin.hole_diameter) / 2 + 0.9


def test_screws_that_are_not_on_the_shelf_are_refused(thin):
    with pytest.raises(WorkshopError, match="M99"):
        thin.joined(screws="nut", screw_size="M99")
    bare = replace(hardware_shelf(), nuts=())
    with pytest.raises(WorkshopError, match="nut"):
        thin.joined(screws="nut", shelf=bare)


def test_hardware_that_is_gone_from_the_shelf_is_found(thin):
    plan, _ = thin.joined(screws="insert")
    shelf = hardware_shelf()
    for less, word in (
        (replace(shelf, inserts=()), "insert"),
        (replace(shelf, screws=()), "screw"),
        (replace(shelf, washers=()), "washer"),
    ):
        found = thin.faults(plan, less)
        if word == "washer" and not any(screw.washers for screw in plan.joints[0].screws):
            assert found == []
            continue
        assert {each.kind for each in found} == {"joint.not_on_shelf"}
        assert len(found) == len(plan.joints[0].screws)
        assert all(each.subject == "S1" and word in each.message.lower() for each in found)


# -- registers and tape -----------------------------------------------------------------------
@pytest.mark.parametrize("form", ["lap", "tongue", "studs", "wedge"])
def test_registers_in_thick_walls(thick, form):
    plan, kinds = thick.joined(register=form, pins=False)
    register = plan.joints[0].register
    assert register.form == form
    assert plan.joints[0].pins == ()
    assert "register.no_room" not in kinds
    assert thick.faults(plan) == []
    # Coats on both sides of the gap take twice their thickness each.
    coated = thick.joined(register=form, pins=False, coat=0.1)[0].joints[0].register
    assert coated.gap == pytest.approx(register.gap + 0.2)


def test_a_register_without_room_is_said(thin):
    plan, kinds = thin.joined(register="tongue", flange="never", pins=False)
    assert plan.joints == (Joint("S1"),)
    assert kinds == {"register.no_room"}


@pytest.mark.parametrize("form", ["lap", "tongue", "studs", "wedge"])
def test_a_register_that_makes_a_piece_too_large_for_the_bed_is_left_out(thick, form):
    # Each half of the tube is 80 x 80 x 60 mm; what stands on it is 10 mm high at most.
    def on_a_bed(height):
        printer = Printer(bed=Bed("rectangle", 100.0, 100.0, height))
        case = Case(thick.division.part, thick.seen)
        case.plan = replace(case.plan, printer=printer)
        return case.joined(register=form, pins=False)

    plan, kinds = on_a_bed(60.5)
    assert plan.joints == (Joint("S1"),)
    assert kinds == {"register.too_large"}
    plan, kinds = on_a_bed(70.5)
    assert plan.joints[0].register.form == form
    assert "register.too_large" not in kinds


def test_tape_is_as_long_as_the_hidden_outline(thin, thick, block):
    # Inside of the U and its two feet; inside of the tube; a box has no hidden side.
    lengths = ((thin, 47 + 74 + 47 + 3 + 3), (thick, 4 * 50))
    for case, length in lengths:
        tape = case.joined(tape_plies=2)[0].joints[0].tape
        assert (tape.plies, tape.fibre) == (2, "glass")
        assert tape.length == pytest.approx(length, abs=0.01)
        assert tape.width >= 30.0
    assert block.joined(tape_plies=2)[0].joints[0].tape is None


# -- what is there already, reports, stops ----------------------------------------------------
def test_what_is_kept_stays_as_it_is(thin):
    mine = Joint("S1", pins=thin.joined()[0].joints[0].pins[:1])
    plan, kinds = thin.joined(kept={"S1": mine, "S9": Joint("S9")}, screws="nut", tape_plies=1)
    assert plan.joints == (replace(mine, tape=plan.joints[0].tape),)
    assert kinds == set()


def test_reports_rise_and_a_stop_is_heard_at_each(thin):
    calls = []
    plan = replace(thin.plan, fastening=Fastening(screws="nut"))
    join(thin.division, plan, seen=thin.seen, report=lambda *call: calls.append(call))
    shares = [done for done, _ in calls]
    assert shares == sorted(shares)
    assert 0 <= shares[0] <= shares[-1] <= 1
    assert any(doing == "placing fasteners on the flange of seam S1" for _, doing in calls)

    def stop(done, doing):
        raise Cancelled("Stopped.")

    with pytest.raises(Cancelled):
        join(thin.division, plan, seen=thin.seen, report=stop)


# -- what somebody has edited -----------------------------------------------------------------
EDITS = [
    ("pins", {"axis": (0.0, 0.0, 0.0)}),
    ("pins", {"lead_in": 1000.0}),
    ("pins", {"vent": -1.0}),
    ("pins", {"slot": (50.0, 0.0, 0.0)}),
    ("screws", {"axis": (0.0, 0.0, 2.0)}),
    ("screws", {"size": ""}),
    ("screws", {"washers": 7}),
    ("screws", {"nut_room": -1.0}),
    ("flange", {"width": 0.0}),
    ("flange", {"thickness": -1.0}),
    ("flange", {"slope_above": 0.0}),
    ("flange", {"lines": (((0.0, 0.0), (0.0, 0.0)),)}),
    ("register", {"height": 0.0}),
    ("register", {"width": -1.0}),
    ("register", {"gap": -1.0}),
    ("tape", {"fibre": "straw"}),
    ("tape", {"areal_weight": 0.0}),
    ("tape", {"fibre_share": 1.0}),
    ("tape", {"plies": 0}),
]


@pytest.fixture(scope="module")
def full(thin, thick):
    """A joint with everything, each as it was placed."""
    plan, _ = thin.joined(screws="nut", tape_plies=1)
    register = thick.joined(register="lap", pins=False)[0].joints[0].register
    return replace(plan.joints[0], register=register), plan


@pytest.mark.parametrize(("what", "change"), EDITS)
def test_sizes_without_sense_are_found_and_left_out(full, what, change):
    joint, plan = full
    assert check_sense(joint) == ()
    assert sensible(plan.with_joints((joint,))).joints == (joint,)
    held = getattr(joint, what)
    if what in ("pins", "screws"):
        edited = replace(joint, **{what: (replace(held[0], **change), *held[1:])})
        left = replace(joint, **{what: held[1:]})
    else:
        edited = replace(joint, **{what: replace(held, **change)})
        left = replace(joint, **{what: None})
    assert sensible(plan.with_joints((edited,))).joints == (left,)
    (found,) = check_sense(edited)
    assert (found.kind, found.severity, found.subject) == ("joint.size", Severity.FAULT, "S1")
    name = {"pins": "pin 1", "screws": "screw 1"}.get(what, what)
    assert found.message.startswith(f"Seam S1, {name}: ")
