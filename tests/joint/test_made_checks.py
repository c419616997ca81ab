"""Fasteners in the pieces as they are made. Expected values: areas of circles and segments."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.examining import Examiner
from splitplanner.findings import faults
from splitplanner.joint import Maker
from splitplanner.joint.holes.made import check_made
from splitplanner.joint.keeping_clear import kept_clear
from splitplanner.plan import (
    Cut,
    Fastening,
    Joint,
    PartFile,
    Pin,
    Plan,
    Register,
    Screw,
    divide,
)
from splitplanner.score import Wishes
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Printer

X, UP = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
CUTS = (Cut(Plane(UP, 50.0)),)
PIN = Pin((60.0, 30.0, 50.0), UP, "ISO 8734", 3.0, 16.0, 3.2, 8.5, 2.6, lead_in=0.4, vent=0.6)
# M3 x 16 with a washer of 0.5 mm, in an insert: ISO 4762 and ISO 7089.
SCREW = Screw(
    (30.0, 30.0, 50.0), UP, "ISO 4762", "M3", 16.0, "insert", 6.0, 1, 3.6, 7.4, False, 10.0, 4.2,
    0.0, 4.5,
)  # fmt: skip
NUT = replace(SCREW, at=(45.0, 15.0, 50.0), hold="nut", hole=3.6, depth=6.0, nut_room=5.8)
FULL = Joint("S1", (PIN, replace(PIN, at=(85.0, 30.0, 50.0), slot=(0.4, 0.0, 0.0))), (SCREW, NUT))


def planned(*joints, cuts=CUTS, up=UP, **wanted):
    part = Solid.box((100, 60, 100))
    division = divide(part, cuts)
    ups = {piece.name: up for piece in division.pieces}
    file = PartFile("box.stl", "mm", part.fingerprint)
    return division, Plan(file, Printer(), cuts, ups, joints, fastening=Fastening(**wanted))


def made_of(division, plan):
    return {piece.name: piece.solid for piece in Maker().make(division, plan).pieces}


@pytest.mark.parametrize("up", [UP, (0.0, 1.0, 0.0)])
@pytest.mark.parametrize(
    "wanted",
    [{}, {"coat": 0.2}, {"glue_gap": 0.15, "marks": "engraved"}, {"marks": "raised", "coat": 0.1}],
)
def test_pieces_as_they_are_made_are_sound(up, wanted):
    register = Register("tongue", 3.0, 3.0, 0.2)
    division, plan = planned(replace(FULL, register=register), up=up, **wanted)
    assert check_made(division, plan, made_of(division, plan)) == ()


def segment(radius, distance):
    """Area of a circle beyond a chord."""
    half = math.acos(distance / radius)
    return radius**2 * (half - math.sin(half) * math.cos(half))


def test_what_is_gone_beside_a_hole_is_measured():
    division, plan = planned(FULL)
    made = made_of(division, plan)
    # A groove beside the pin, from 2.0 to 2.3 mm off its axis, 4 mm deep.
    groove = Solid.box((0.3, 20, 5), (62.0, 20, 49))
    made["2"] = made["2"].difference(groove)
    (finding,) = check_made(division, plan, made)
    assert (finding.kind, finding.subject) == ("joint.material_gone", "S1")
    assert "pin 1, piece “2”" in finding.message
    assert finding.where.tolist() == [list(PIN.at)]
    # What it looks at is at most 1 % narrower at its corners, and a prism of 16 sides.
    slim, wide = (4 * (segment(r, 2.0) - segment(r, 2.3)) for r in (2.6 * 0.97, 2.6))
    assert slim < finding.measured < wide
    assert finding.allowed < finding.measured
    # Of fasteners with which other things are wrong nothing is said.
    assert check_made(division, plan, made, [PIN.at]) == ()
    # A hole that comes near to the bottom of the pin's.
    made["2"] = made_of(division, plan)["2"].difference(
        Solid.box((40, 4, 0.5), (40, 28, 50 + 8.5 + 0.3))
    )
    (finding,) = check_made(division, plan, made)
    assert finding.measured == pytest.approx(math.pi * 1.6**2 * 0.5, rel=0.05)


def test_what_is_left_in_the_way_is_measured():
    division, plan = planned(FULL)
    made = made_of(division, plan)
    # A film of 0.2 mm over the pin's hole, and a plug in the way of the screw's head.
    made["1"] = made["1"].union(Solid.box((10, 10, 0.2), (55, 25, 45)))
    made["1"] = made["1"].union(Solid.box((2, 2, 2), (29, 29, 41)))
    found = check_made(division, plan, made)
    assert [finding.kind for finding in found] == ["joint.hole_blocked"] * 2
    assert [finding.measured for finding in found] == pytest.approx(
        [math.pi * 1.6**2 * 0.2, 8.0], rel=0.03
    )
    assert ["pin 1" in found[0].message, "screw 1" in found[1].message] == [True, True]


def test_a_way_to_a_head_that_runs_into_a_pin_of_another_seam_is_found():
    """The head of the screw is reached through the piece, 20 mm on through a pin's place."""
    cuts = (Cut(Plane(UP, 50.0)), Cut(Plane(X, 50.0), "1"))
    across = replace(PIN, at=(50.0, 30.0, 20.0), axis=X, length=48.0, depth=24.5)
    division, plan = planned(cuts=cuts)
    names = {seam.cut: seam.name for seam in division.seams if seam.below != "1.2"}
    joints = Joint(names[0], (), (SCREW,)), Joint(names[1], (across,))
    source = ReadPart(division.part, "mm", (), len(division.part.faces))
    result = Examiner(source).examine(plan.with_joints(joints), "box", wishes=Wishes())
    kinds = {finding.kind for finding in faults(result.findings)}
    assert "joint.material_gone" in kinds
    assert "joint.hardware_touches" not in kinds
    # Where the pin is shorter than the way is far nothing is wrong.
    short = replace(across, length=16.0, depth=8.5)
    sound = plan.with_joints((joints[0], Joint(names[1], (short,))))
    assert faults(Examiner(source).examine(sound, "box", wishes=Wishes()).findings) == ()


# -- registers beside the fasteners of other seams ------------------------------------------------
def test_what_fasteners_of_other_seams_take_of_a_seam():
    division, _ = planned()
    (seam,) = division.seams
    # 3 mm over the plane and along it: a strip twice as wide as its edge distance, round at the
    # ends; the hole goes on through the cover beyond its bottoms, 1 mm each.
    along = replace(PIN, at=(50.0, 30.0, 53.0), axis=X)
    strip = 2 * (8.5 + 1.0) * 2 * 2.6 + math.pi * 2.6**2
    assert kept_clear(Joint("S1"), seam, (along,)).area == pytest.approx(strip, rel=5e-3)
    # One square to the plane whose cover ends above it, or that is far above.
    square = replace(PIN, at=(50.0, 30.0, 50.0 + 9.5))
    assert kept_clear(Joint("S1"), seam, (square,)).area == pytest.approx(
        math.pi * 2.6**2, rel=1e-2
    )
    for away in (replace(along, at=(50.0, 30.0, 61.0)), replace(square, at=(50.0, 30.0, 71.0))):
        assert kept_clear(Joint("S1"), seam, (away,)).is_empty


@pytest.mark.parametrize("form", ["lap", "tongue", "wedge"])
def test_registers_leave_pins_of_other_seams_their_material(form):
    cuts = (Cut(Plane(UP, 50.0)), Cut(Plane(X, 50.0), "2"))
    division, plan = planned(cuts=cuts)
    across = next(seam for seam in division.seams if seam.cut == 1)
    # It lies 3 mm over the first seam, along it, and 3 mm inside.
    pin = replace(PIN, at=(50.0, 3.0, 53.0), axis=X)
    register = Register(form, 2.5, 4.0, 0.2)
    with_register = [
        Joint(seam.name, register=register) for seam in division.seams if seam.cut == 0
    ]
    plan = plan.with_joints((*with_register, Joint(across.name, (pin,))))
    made = made_of(division, plan)
    assert check_made(division, plan, made) == ()
    # By trimesh: rings of its edge distance lie in material all along.
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = 0.98 * 2.6 * np.column_stack([0 * turns, np.cos(turns), np.sin(turns)])
    for name, side in ((across.below, -1), (across.above, 1)):
        mesh = trimesh.Trimesh(made[name].vertices, made[name].faces, process=False)
        depths = side * np.linspace(0.1, 8.4, 6)[:, None, None] * np.array(X)
        assert mesh.contains((np.array(pin.at) + ring + depths).reshape(-1, 3)).all()
    # Where nothing is known of the pin they do not.
    start, end = (np.array(pin.at) + way * np.array(X) for way in (-8.5, 8.5))
    alone = made_of(division, plan.with_joints(tuple(with_register)))
    alone = {
        name: solid.difference(Solid.cylinder(start, end, 1.6)) for name, solid in alone.items()
    }
    kinds = {finding.kind for finding in check_made(division, plan, alone)}
    assert kinds == {"joint.material_gone"}
