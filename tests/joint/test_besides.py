"""Registers and tape that are added to a seam, and left out where they would not stand."""

import math

import numpy as np
import pytest

from splitplanner.joint import Maker, check_joints
from splitplanner.joint.besides import with_register, with_tape
from splitplanner.plan import Cut, Fastening, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer


def slab(lean, thick):
    """A wall of 80 x 60 mm that leans by an angle, `thick` square to itself."""
    cos, sin = math.cos(math.radians(lean)), math.sin(math.radians(lean))
    turn = np.array([[1, 0, 0, 0], [0, cos, sin, 0], [0, -sin, cos, 0]], float)
    wall = Solid.box((80, thick, 200), (0, 0, -100)).transformed(turn)
    return wall.intersection(Solid.box((80, 400, 60), (0, -200, 0)))


def seam_of(part, fastening, printer=None):
    cuts = (Cut(Plane((0.0, 0.0, 1.0), 30.0)),)
    plan = Plan(PartFile("wall.stl", "mm", ""), printer or Printer(), cuts, fastening=fastening)
    division = divide(part, cuts)
    return division.seams[0], division, plan


@pytest.mark.parametrize(("lean", "thick"), [(0.0, 6.0), (20.0, 4.0), (30.0, 5.0)])
def test_a_register_that_is_added_stands_on_the_solids(lean, thick):
    seam, division, plan = seam_of(slab(lean, thick), Fastening(register="lap"))
    joint, found = with_register(seam, division, plan, Maker())
    if joint.register is None:
        # Planned by sections alone it would leave next to nothing beside its groove.
        assert [finding.kind for finding in found] == ["register.left_out"]
        assert found[0].message.startswith("Seam S1: its register was left out, since 0.01 mm")
        assert lean > 0
    else:
        assert lean == 0
    seen = np.zeros(len(division.part.faces), bool)
    checked = check_joints(division, plan.with_joints((joint,)), seen=seen)
    assert [each.kind for each in checked if each.kind.startswith("register")] == []


def test_a_register_that_stands_out_of_the_bed_is_left_out():
    wanted = Fastening(register="lap")
    low = Printer(bed=Bed.rectangle(220.0, 220.0, 31.0))
    seam, division, plan = seam_of(slab(0.0, 6.0), wanted, low)
    joint, found = with_register(seam, division, plan, Maker())
    assert joint.register is None
    assert [finding.kind for finding in found] == ["register.too_large"]
    # What does not fit the bed without it either is not its fault.
    lower = Printer(bed=Bed.rectangle(220.0, 220.0, 20.0))
    seam, division, plan = seam_of(slab(0.0, 6.0), wanted, lower)
    assert with_register(seam, division, plan, Maker())[0].register is not None


def test_tape_is_as_long_as_the_hidden_outline():
    seam, division, plan = seam_of(slab(0.0, 6.0), Fastening(tape_plies=2))
    # The face towards +y is seen, and those at both ends.
    normals = division.part.face_normals
    seen = (normals[:, 1] > 0.5) | (np.abs(normals[:, 0]) > 0.5)
    joint = with_tape(plan.joint(seam.name), seam, division, plan, seen)
    assert joint.tape is not None
    assert joint.tape.plies == 2
    assert joint.tape.length == pytest.approx(80.0, abs=0.1)
    bare = Plan(plan.part, plan.printer, plan.cuts)
    assert with_tape(bare.joint(seam.name), seam, division, bare, seen).tape is None
