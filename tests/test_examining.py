"""What is kept of a plan that is examined again after a step."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.examining import Examiner, kept_joints
from splitplanner.findings import faults
from splitplanner.plan import Cut, PartFile, Plan, divide, with_plane
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Printer

# A plate, cut across and along: four pieces, and seams that end on each other. And a channel open
# below with walls of 3 mm, which hold pins on flanges alone.
PLATE = Solid.box((200.0, 200.0, 20.0))
CHANNEL = Solid.box((200.0, 60.0, 50.0)).difference(Solid.box((194.0, 54.0, 47.0), (3.0, 3.0, 0.0)))


def examined(part, cuts):
    source = ReadPart(part, "mm", (), len(part.faces))
    plan = Plan(PartFile("p.stl", "mm", part.fingerprint), Printer(), cuts)
    examiner = Examiner(source)
    return examiner, examiner.examine(plan, "p", completing=True).plan


@pytest.mark.parametrize(("part", "away"), [(PLATE, 60.0), (CHANNEL, 25.0)])
def test_what_lies_beside_its_seam_after_a_cut_was_moved_is_placed_anew(part, away):
    y = float(part.bounds[:, 1].mean())
    cuts = (Cut(Plane((1.0, 0.0, 0.0), 100.0)), Cut(Plane((0.0, 1.0, 0.0), y)))
    examiner, plan = examined(part, cuts)
    moved = with_plane(plan, 0, Plane((1.0, 0.0, 0.0), 100.0 + away))
    division = divide(part, moved.cuts)
    kept = kept_joints(division, moved)
    # The seams along the plate: one has become shorter, the other longer.
    along = [seam for seam in division.seams if abs(seam.plane.normal[1]) > 0.5]
    shorter = min(along, key=lambda seam: seam.section.area)
    longer = max(along, key=lambda seam: seam.section.area)
    assert shorter.name not in kept
    assert kept[longer.name] == plan.joint(longer.name)
    result = examiner.examine(moved, "p", completing=True)
    assert not faults(result.findings)
    for pin in result.plan.joint(shorter.name).pins:
        assert pin.at[0] > 100.0 + away


def test_a_joint_that_was_left_empty_stays_so():
    _, plan = examined(PLATE, (Cut(Plane((1.0, 0.0, 0.0), 100.0)),))
    (joint,) = plan.joints
    assert np.any([pin.at[0] for pin in joint.pins])
    bare = plan.with_joints((replace(joint, pins=()),))
    assert kept_joints(divide(PLATE, bare.cuts), bare) == {joint.seam: replace(joint, pins=())}
