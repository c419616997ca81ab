"""Sizes of screws that somebody has edited.

Expected values: ISO 273 (M3: 3.2 and 3.6; M4: 4.3 and 4.8 mm), ISO 4762 (M3: head 5.68 over its
knurl), ISO 10642, ISO 4032 (M3: 5.5 over flats), ISO 7089 (M3: 7 mm), each with the hole allowance
of 0.2 mm where something is drawn.
"""

import math
from dataclasses import replace

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.findings import Severity
from splitplanner.joint.screws.fits import fit_of
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.screws.sizes_checks import check_screw_sizes
from splitplanner.plan import Fastening, Joint, Screw
from splitplanner.workshop import Printer, hardware_shelf

PRINTER, SHELF = Printer(), hardware_shelf()
UP = (0.0, 0.0, 1.0)
# M3 with a washer and a nut in a pocket.
NUT = Screw(
    (0.0, 0.0, 0.0), UP, "ISO 4762", "M3", 16.0, "nut", 6.0, 1, 3.6, 7.7, False, 6.0, 3.6, 5.7, 5.0
)
OPEN = replace(NUT, nut_room=0.0)
INSERT = replace(NUT, hold="insert", washers=0, depth=10.0, hole=4.2, nut_room=0.0)
PLASTIC = replace(
    INSERT, hold="plastic", standard="example thread-forming screw 3", hole=2.75, clearance=3.5
)
SUNK = replace(INSERT, standard="ISO 10642", is_countersunk=True, head_room=6.92)


def found(*screws):
    return check_screw_sizes(Joint("S1", (), screws), SHELF, PRINTER)


@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
@pytest.mark.parametrize("standard", SHELF.screw_standards)
def test_screws_as_they_are_placed_have_sizes_that_suit(hold, standard):
    seen = 0
    for size in SHELF.screw_sizes(standard):
        if hold != "nut" and size != "M3":
            continue
        wanted = Fastening(screws=hold, screw_standard=standard, screw_size=size)
        for each in screw_sizes(wanted, SHELF, PRINTER):
            far = 2 * each.diameter if hold == "nut" else math.nan
            seat = each.least_seat + 2.0
            for hardware in list(each.fits(seat, far))[:2]:
                assert found(each.screw((0.0, 0.0, 0.0), UP, hardware)) == ()
                seen += 1
    assert seen >= 1


@pytest.mark.parametrize(
    ("screw", "change", "kind", "measured", "allowed"),
    [
        (NUT, {"clearance": 3.1}, "joint.clearance", 3.1, 3.4),
        (NUT, {"clearance": 3.9}, "joint.clearance", 3.9, 3.8),
        (OPEN, {"size": "M4"}, "joint.clearance", 3.6, 4.5),
        (PLASTIC, {"clearance": 3.0}, "joint.clearance", 3.0, 3.4),
        # Half of the 0.5 mm that the example insert is wider than its hole, and of the thread.
        (INSERT, {"hole": 4.5}, "joint.thread_hole", 4.5, 4.2 + 0.25),
        (INSERT, {"hole": 3.9}, "joint.thread_hole", 3.9, 4.2 - 0.25),
        (PLASTIC, {"hole": 3.1}, "joint.thread_hole", 3.1, 2.75 + 0.225),
        (PLASTIC, {"hole": 2.0}, "joint.thread_hole", 2.0, 2.75 - 0.225),
        (INSERT, {"depth": 4.0}, "joint.insert_depth", 4.0, 4.5),
        (INSERT, {"is_countersunk": True}, "joint.countersink", 1.0, 0.0),
        (PLASTIC, {"is_countersunk": True}, "joint.countersink", 1.0, 0.0),
        (SUNK, {"is_countersunk": False}, "joint.countersink", 0.0, 1.0),
        (SUNK, {"washers": 1}, "joint.washers", 1.0, 0.0),
        (INSERT, {"washers": 2}, "joint.washers", 2.0, 1.0),
        (INSERT, {"head_room": 5.7}, "joint.head_room", 5.7, 5.68 + 0.2),
        (NUT, {"head_room": 7.0}, "joint.head_room", 7.0, 7.0 + 0.2),
        (SUNK, {"head_room": 5.5}, "joint.head_room", 5.5, 5.54 + 0.2),
        (NUT, {"nut_room": 5.4}, "joint.nut_room", 5.4, 5.5),
        (NUT, {"nut_room": 6.5}, "joint.nut_room", 6.5, 2 * 5.5 / math.sqrt(3)),
        # A washer of 7 mm has no room in a pocket of 5.7 mm.
        (NUT, {"washers": 2}, "joint.nut_room", 5.7, 7.0),
        # Open nuts have the room of heads: 6.35 mm over corners.
        (
            replace(OPEN, washers=0),
            {"head_room": 6.0},
            "joint.nut_room",
            6.0,
            2 * 5.5 / math.sqrt(3) + 0.2,
        ),
        # The insert's data sheet wants 2.25 mm of wall round its hole of 4 mm.
        (INSERT, {"edge_distance": 4.0}, "joint.printer_edge", 4.0, 4.25),
        (PLASTIC, {"edge_distance": 3.5}, "joint.printer_edge", 3.5, 3.75),
        (NUT, {"edge_distance": 3.9}, "joint.printer_edge", 3.9, 5.7 / math.sqrt(3) + 0.9),
    ],
)
def test_sizes_that_do_not_suit(screw, change, kind, measured, allowed):
    assert found(screw) == ()
    findings = [each for each in found(replace(screw, **change)) if each.kind == kind]
    (finding,) = findings
    assert finding.severity is Severity.FAULT
    assert finding.measured == pytest.approx(measured)
    assert finding.allowed == pytest.approx(allowed)
    assert finding.where.tolist() == [[0.0, 0.0, 0.0]]
    assert finding.message.startswith("Seam S1, screw 1: ")
    assert finding.message.endswith(".")


def test_a_head_that_would_sink_into_its_hole_wants_a_washer():
    # An own screw with a head hardly wider than its hole: 4.2 mm and 3.6 mm leave 0.3 mm.
    slim = replace(SHELF.screw("ISO 4762", "M3"), bearing_diameter=4.2)
    shelf = replace(SHELF, screws=(slim, *SHELF.screws))
    (finding,) = check_screw_sizes(Joint("S1", (), (INSERT,)), shelf, PRINTER)
    assert (finding.kind, finding.allowed) == ("joint.bearing", PRINTER.line_width)
    assert finding.measured == pytest.approx(0.3)
    with_washer = replace(INSERT, washers=1, head_room=7.7)
    assert check_screw_sizes(Joint("S1", (), (with_washer,)), shelf, PRINTER) == ()


def test_lengths_that_are_not_sold():
    (finding,) = found(replace(INSERT, length=17.0))
    assert (finding.kind, finding.severity) == ("joint.not_stocked", Severity.WARNING)
    assert (finding.measured, finding.allowed) == (17.0, 16.0)


def test_screws_are_told_apart_and_what_has_no_size_is_left_to_others():
    findings = found(replace(INSERT, seat=0.0, clearance=2.0), INSERT, replace(INSERT, hole=4.6))
    assert [finding.kind for finding in findings] == ["joint.thread_hole"]
    assert "screw 3" in findings[0].message


def test_every_screw_that_is_checked_has_its_thread_on_the_shelf():
    shelf = replace(SHELF, threads=())
    with pytest.raises(WorkshopError, match="There is no thread M3"):
        fit_of(INSERT, shelf)
