"""Drilling and checking pin holes. Expected values: plane and solid geometry."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.findings import Severity, faults
from splitplanner.joint import check_pins, end_cover, pins_apart, place_pins
from splitplanner.joint.holes.drilling import drilled, holes_in
from splitplanner.joint.holes.forms import SIDES
from splitplanner.joint.material import segment_distances
from splitplanner.plan import Cut, Joint, Pin, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PIN = Pin((20.0, 30.0, 50.0), (0.0, 0.0, 1.0), "ISO 8734", 6.0, 24.0, 6.2, 12.5, 4.6)


@pytest.fixture(scope="module")
def block():
    division = divide(Solid.box((100, 60, 100)), [Cut(Plane((0.0, 0.0, 1.0), 50.0))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def check(block, *pins):
    return check_pins(Joint("S1", pins), *block)


@pytest.mark.parametrize("side", [1, -1])
def test_drilled_volume(block, side):
    piece = block[2] if side > 0 else block[1]
    pins = [(PIN, side), (replace(PIN, at=(70.0, 30.0, 50.0)), side)]
    solid = drilled(piece, pins, [], PIN.axis, Printer())
    # A prism of n sides round a circle has area n·tan(pi/n)·r²; never less than the circle.
    circle = math.pi * 3.1**2
    prism = SIDES * math.tan(math.pi / SIDES) * 3.1**2
    removed = (piece.volume - solid.volume) / 2
    assert removed == pytest.approx(prism * 12.5, rel=1e-9)
    assert circle * 12.5 < removed < 1.002 * circle * 12.5
    assert len(solid.bodies()) == 1
    # A blind hole adds two circles of wall: 2·pi·r·depth, its bottom stands for its mouth.
    around = 2 * SIDES * math.tan(math.pi / SIDES) * 3.1 * 12.5
    assert solid.area - piece.area == pytest.approx(2 * around, rel=1e-9)


def test_drilled_pieces_leave_room_for_the_pin(block):
    seam, below, above = block
    joint, _ = place_pins(seam, below, above, Printer())
    lower, upper = (
        drilled(piece, *holes_in(joint, seam, side), PIN.axis, Printer())
        for piece, side in ((below, -1), (above, 1))
    )
    for pin in joint.pins:
        along = np.array(pin.axis) * pin.length / 2
        bar = Solid.cylinder(np.array(pin.at) - along, np.array(pin.at) + along, pin.diameter / 2)
        assert bar.intersection(lower).volume == 0.0
        assert bar.intersection(upper).volume == 0.0


def test_a_sound_joint_has_no_findings(block):
    assert check(block, PIN, replace(PIN, at=(70.0, 30.0, 50.0))) == ()


@pytest.mark.parametrize("distance", [4.5, 3.0, 0.5])
def test_pin_moved_to_the_edge(block, distance):
    findings = check(block, replace(PIN, at=(distance, 30.0, 50.0)))
    assert [finding.kind for finding in findings] == ["joint.edge_distance"] * 2
    for finding in findings:
        assert finding.severity is Severity.FAULT
        assert finding.measured == pytest.approx(distance, abs=0.01)
        assert finding.allowed == 4.6
        assert finding.where[0].tolist() == [distance, 30.0, 50.0]
    assert faults(findings) == findings


def test_pin_that_touches_its_edge_distance_is_sound(block):
    assert check(block, replace(PIN, at=(4.6, 4.6, 50.0))) == ()


def test_pin_outside(block):
    findings = check(block, replace(PIN, at=(-20.0, 30.0, 50.0)))
    assert {finding.kind for finding in findings} == {"joint.edge_distance"}
    assert findings[0].measured == pytest.approx(0.0, abs=0.01)


def test_hole_through_a_hollow(block):
    seam, below, above = block
    hollow = above.difference(Solid.box((10, 10, 10), (15, 25, 63)))
    (finding,) = check_pins(Joint("S1", (PIN,)), seam, below, hollow)
    # 13 mm of material over the seam, the hole is 12.5 mm deep.
    assert finding.kind == "joint.end_cover"
    assert finding.measured == pytest.approx(0.5, abs=0.01)
    assert finding.allowed == pytest.approx(4.6 - 3.1)
    assert f"“{seam.above}”" in finding.message


def test_hole_longer_than_the_piece():
    division = divide(Solid.box((100, 60, 60)), [Cut(Plane((0.0, 0.0, 1.0), 50.0))])
    (seam,) = division.seams
    pieces = division.piece(seam.below).solid, division.piece(seam.above).solid
    findings = check_pins(Joint("S1", (PIN,)), seam, *pieces)
    assert len(findings) == 1
    assert faults(findings)
    assert f"“{seam.above}”" in findings[0].message


def test_pins_that_touch(block):
    near = replace(PIN, at=(27.0, 30.0, 50.0))
    (finding,) = check(block, PIN, near)
    assert finding.kind == "joint.pins_touch"
    assert finding.measured == pytest.approx(7.0)
    assert finding.allowed == pytest.approx(4.6 + 3.1)
    assert check(block, PIN, replace(PIN, at=(27.71, 30.0, 50.0))) == ()


def test_pin_off_the_plane_and_leaning(block):
    (finding,) = check(block, replace(PIN, at=(20.0, 30.0, 50.2)))
    assert finding.kind == "joint.off_plane"
    assert finding.measured == pytest.approx(0.2)
    lean = (math.sin(0.1), 0.0, math.cos(0.1))
    assert next(found.kind for found in check(block, replace(PIN, axis=lean))) == "joint.off_plane"


def test_hole_too_shallow_for_the_pin(block):
    (finding,) = check(block, replace(PIN, length=30.0))
    assert (finding.kind, finding.measured, finding.allowed) == ("joint.shallow", 12.5, 15.0)


def test_pins_apart():
    # Crossing axes at a distance of 7 mm, then one beside the other's end: 3-4-5 triangle.
    across = replace(PIN, at=(20.0, 37.0, 50.0), axis=(1.0, 0.0, 0.0))
    reach = PIN.depth + end_cover(PIN)
    beyond = replace(PIN, at=(23.0, 30.0, 50.0 + 2 * reach + 4.0))
    assert pins_apart(PIN, [across, beyond]) == pytest.approx([7.0, 5.0])
    assert pins_apart(PIN, []).shape == (0,)


def test_segment_distances_against_sampling():
    random = np.random.default_rng(3)
    starts, ends = random.uniform(-10, 10, (2, 40, 3))
    start, end = random.uniform(-10, 10, (2, 3))
    share = np.linspace(0, 1, 201)[:, None]
    line = start + share * (end - start)
    measured = segment_distances(starts, ends, start, end)
    for k in range(40):
        other = starts[k] + share * (ends[k] - starts[k])
        apart = np.linalg.norm(line[:, None] - other[None], axis=2).min()
        assert measured[k] <= apart + 1e-9
        assert measured[k] == pytest.approx(apart, abs=0.1)
