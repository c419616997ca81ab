"""Braces that the program asks for: on the rain hood, and on shapes whose best is known."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import JointError
from splitplanner.findings import Severity
from splitplanner.joint import Maker, check_joints
from splitplanner.joint.brace.proposing import PLAIN, proposed_braces
from splitplanner.plan import Cut, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer, hardware_shelf

SHELF = hardware_shelf()
PRINTER = Printer(bed=Bed(kind="rectangle", width=256, depth=256, height=256))


def divided(part, *stations, normal=(1.0, 0.0, 0.0)):
    cuts = tuple(Cut(Plane(normal, station)) for station in stations)
    plan = Plan(PartFile("p", "mm", part.fingerprint), PRINTER, cuts)
    return divide(part, cuts), plan


def found_with(division, plan, braces, seen):
    braced = replace(plan, braces=braces)
    found = check_joints(division, braced, SHELF, seen=seen)
    return [each for each in found if each.kind.startswith("brace.")]


@pytest.fixture(scope="module")
def hood():
    division, plan = divided(DEMO_PARTS["rain_hood"].make(20_000), -100.0, 70.0)
    seen = np.ones(len(division.part.faces), dtype=bool)
    # By what the hood is: seen are faces that look away from its middle line (y, z) = (0, 20).
    middles = division.part.vertices[division.part.faces].mean(axis=1) - [0, 0, 20]
    outward = division.part.face_normals * middles * [0, 1, 1]
    seen = outward.sum(axis=1) > 0
    return division, plan, seen, proposed_braces(division, plan, 2, seen=seen, shelf=SHELF)


def test_two_aluminium_braces_inside_the_hood_have_nothing_against_them(hood):
    division, plan, seen, braces = hood
    assert [brace.name for brace in braces] == ["brace 1", "brace 2"]
    assert {(brace.metal, brace.hold, brace.is_printed) for brace in braces} == {
        ("aluminium", "nut", False)
    }
    found = found_with(division, plan, braces, seen)
    assert {each.severity for each in found} <= {Severity.NOTE}, [e.message for e in found]
    for brace in Maker().braces(division, replace(plan, braces=braces), SHELF):
        low, high = brace.solid.bounds
        # Under the crown, over both seams, above the rim.
        assert low[0] < -100 - 30
        assert high[0] > 70 + 30
        assert low[2] > 80
        assert high[2] < 150
        assert set(brace.bosses.crossed) == {piece.name for piece in division.pieces}


def test_they_are_mirror_images_as_the_hood_is(hood):
    # The hood is its own image in y = 0.
    division, plan, _, braces = hood
    one, other = (
        brace.solid for brace in Maker().braces(division, replace(plan, braces=braces), SHELF)
    )
    flip = np.diag([1.0, -1.0, 1.0])
    assert one.bounds[:, [0, 2]] == pytest.approx(other.bounds[:, [0, 2]], abs=0.5)
    assert one.centroid == pytest.approx(flip @ other.centroid, abs=0.5)
    assert abs(one.centroid[1]) > 15


def test_proposals_are_the_same_each_time():
    division, plan = divided(Solid.box((300, 40, 24)), 150.0)
    seen = np.ones(len(division.part.faces), dtype=bool)
    first, again = (proposed_braces(division, plan, 1, seen=seen, shelf=SHELF) for _ in range(2))
    assert first == again


def test_a_bar_gets_them_outside_where_no_land_is_needed():
    # A bar with a rounded back: seen from its flat sides no land is needed anywhere, from above
    # everywhere but on top.
    bar = Solid.cylinder((0, 0, 0), (300, 0, 0), 40.0, 96).intersection(
        Solid.box((400, 100, 40), (-50, -50, 0))
    )
    division, plan = divided(bar, 100.0, 200.0)
    seen = np.ones(len(bar.faces), dtype=bool)
    (brace,) = proposed_braces(division, plan, 1, seen=seen, shelf=SHELF)
    assert brace.towards == pytest.approx((0, 0, -1))
    assert abs(brace.along[0]) == pytest.approx(1.0)
    assert brace.high - brace.low > 280
    made = Maker().braces(division, replace(plan, braces=(brace,)), SHELF)[0]
    assert made.lands.growth.solid.is_empty
    assert found_with(division, plan, (brace,), seen) == []


def test_sizes_metal_and_screws_are_those_asked_for():
    division, plan = divided(Solid.box((300, 40, 24)), 150.0)
    seen = np.ones(len(division.part.faces), dtype=bool)
    like = replace(
        PLAIN, depth=15.0, stock=3.0, metal="steel", hold="insert", screw_size="M3", low=-9, high=9
    )
    (brace,) = proposed_braces(division, plan, 1, like=like, seen=seen, shelf=SHELF)
    for name in ("depth", "stock", "metal", "hold", "screw_size", "bridged"):
        assert getattr(brace, name) == getattr(like, name)
    assert brace.high - brace.low > 250


def test_without_seams_across_there_is_nothing_to_brace():
    part = Solid.box((300, 40, 24))
    seen = np.ones(len(part.faces), dtype=bool)
    for cuts in ((), (12.0,)):
        division, plan = divided(part, *cuts, normal=(0.0, 0.0, 1.0))
        assert proposed_braces(division, plan, seen=seen, shelf=SHELF) == ()


def test_where_there_is_no_room_it_is_told():
    # Of three pieces the middle one is too short for two bolts.
    division, plan = divided(Solid.box((300, 40, 24)), 150.0, 160.0)
    seen = np.ones(len(division.part.faces), dtype=bool)
    with pytest.raises(JointError, match="No place was found for 1 brace "):
        proposed_braces(division, plan, 1, seen=seen, shelf=SHELF)
    with pytest.raises(ValueError, match="at least one"):
        proposed_braces(division, plan, 0)
