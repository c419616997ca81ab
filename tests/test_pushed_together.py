"""Pieces pushed together along the order of assembly: volumes that they share, at 20 places.

Written anew here, apart from what finds the order: every piece of the moving group, and the pins
that stand in it, against every piece of the other. A pin is a steel bar of its nominal diameter.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.examining import Examiner
from splitplanner.findings import faults
from splitplanner.joint.order.finding import Step
from splitplanner.plan import Cut, Fastening, PartFile, Plan
from splitplanner.score import GoodSide, Wishes
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Printer
from tests.joint.flanged import channel

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
ALL_ROUND = Wishes()
SHARED = 1e-2
"""What is rounding where faces touch, mm³."""
# Cuts of sound plans for a bed of 220 x 220 x 250 mm.
CUTS = {
    "rain_hood": (
        Cut(Plane(X, 52.5)),
        Cut(Plane(X, -165.0), "1"),
        Cut(Plane(Y, 40.8), "1.2"),
        Cut(Plane(Y, 40.8), "2"),
    ),
    "dew_shield": (Cut(Plane(Z, 210.0)), Cut(Plane(Z, 420.0), "2")),
    "l_bracket": (Cut(Plane(X, 368.0)), Cut(Plane(X, 120.5), "1")),
}

WISHES = {"l_bracket": Wishes(good_side=GoodSide(directions=((0.0, 0.0, -1.0),)))}
"""The bracket is seen all round, and has no flange, unless somebody says from where it is seen."""


def examined(part, cuts, wishes=ALL_ROUND, **wanted):
    file = PartFile("part.stl", "mm", part.fingerprint)
    plan = Plan(file, Printer(), cuts, {}, fastening=Fastening(**wanted))
    examiner = Examiner(ReadPart(part, "mm", (), len(part.faces)))
    return examiner, examiner.examine(plan, "part", completing=True, wishes=wishes)


def bodies_of(result):
    """Return the pieces as they are printed, by name, each with the pins that stand in it."""
    bodies = {row.piece.name: [row.piece.solid] for row in result.card.figures.pieces}
    for seam in result.division.seams:
        for pin in result.plan.joint(seam.name).pins:
            half = np.array(pin.axis) * pin.length / 2
            bar = Solid.cylinder(pin.at - half, pin.at + half, pin.diameter / 2)
            bodies[seam.below].append(bar)
    return bodies


def most_shared(bodies, steps, far):
    """Return the largest volume that two groups share on the way, mm³, and the steps looked at."""
    most, looked_at = 0.0, 0
    for step in steps:
        for distance in (0.0, *np.geomspace(0.2, far, 19).tolist()):
            back = -distance * np.array(step.direction)
            matrix = np.hstack([np.eye(3), back[:, None]])
            still = [each for name in step.standing for each in bodies[name]]
            for one in (each for name in step.moving for each in bodies[name]):
                # Where not even the boxes round them meet, there is nothing that they could share.
                near = [other for other in still if boxes_meet(one.bounds + back, other.bounds)]
                moved = one.transformed(matrix) if near else one
                most = max([most, *(moved.intersection(other).volume for other in near)])
            looked_at += 1
    return most, looked_at


def boxes_meet(one, other):
    """Whether two boxes, each as its low and its high corner, have points in common."""
    return bool((one[0] <= other[1]).all() and (other[0] <= one[1]).all())


@pytest.mark.parametrize("name", CUTS)
def test_pieces_never_overlap_on_their_way_together(name):
    part = DEMO_PARTS[name].make(6_000)
    _, result = examined(
        part, CUTS[name], WISHES.get(name, ALL_ROUND), screws="insert", flange="always"
    )
    assert faults(result.findings) == ()
    joints = result.plan.joints
    assert [joint.seam for joint in joints] == [seam.name for seam in result.division.seams]
    assert all(joint.pins for joint in joints)
    held = [joint.flange is not None and len(joint.screws) > 0 for joint in joints]
    # The plain plate of the bracket has one seam with room for pins, and for nothing else.
    assert held.count(False) == (1 if name == "l_bracket" else 0)
    order = result.order
    assert len(order.steps) == len(result.division.pieces) - 1
    closed = sorted(name for step in order.steps for name in step.seams)
    assert closed == sorted(seam.name for seam in result.division.seams)
    most, looked_at = most_shared(bodies_of(result), order.steps, part.size)
    assert looked_at == 20 * len(order.steps)
    assert most < SHARED


def test_crossed_pins_are_caught_on_the_way():
    """Two pins that lean 12° towards each other: no piece slides over both."""
    part = Solid.box((100, 60, 100))
    examiner, sound = examined(part, (Cut(Plane(Z, 50.0)),))
    assert faults(sound.findings) == ()
    (joint,) = sound.plan.joints
    steps = sound.order.steps
    assert most_shared(bodies_of(sound), steps, part.size)[0] < SHARED
    lean = math.radians(12.0)
    pins = []
    for pin, way in zip(joint.pins[:2], (1.0, -1.0), strict=True):
        axis = (way * math.sin(lean), 0.0, math.cos(lean))
        pins.append(replace(pin, axis=axis, slot=(0.0, 0.0, 0.0)))
    plan = sound.plan.with_joints((replace(joint, pins=tuple(pins)),))
    crossed = examiner.examine(plan, "part", wishes=Wishes())
    kinds = {finding.kind for finding in faults(crossed.findings)}
    assert {"joint.off_plane", "assembly.conflict"} <= kinds
    (seam,) = crossed.division.seams
    step = Step((seam.above,), (seam.below,), (seam.name,), (0.0, 0.0, -1.0))
    most, _ = most_shared(bodies_of(crossed), [step], part.size)
    # Pulled up by 6 mm, its end lies 6 sin(12°) = 1.2 mm off the hole.
    assert most > 10.0
    # One of them alone goes in along itself.
    alone = {name: list(bodies) for name, bodies in bodies_of(crossed).items()}
    alone[seam.below].pop()
    along = replace(step, direction=tuple(-np.array(pins[0].axis)))
    assert most_shared(alone, [along], part.size)[0] < SHARED


@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_a_cut_through_a_wall_of_2_4_mm_carries_m3_screws_and_3_mm_pins_on_a_flange(hold):
    """A channel of 100 x 70 mm, 160 mm long and cut across; its walls are 2.4 mm thick."""
    part, _ = channel(width=100.0, depth=70.0, wall=2.4, length=160.0)
    outside = Wishes(good_side=GoodSide(directions=(X, (-1.0, 0.0, 0.0), Y)))
    _, result = examined(part, (Cut(Plane(Z, 0.0)),), outside, screws=hold)
    assert faults(result.findings) == ()
    (joint,) = result.plan.joints
    assert joint.flange is not None
    assert len(joint.pins) >= 2
    # The flange for the example of a thread-forming screw is wide enough for thicker ones.
    assert {pin.diameter for pin in joint.pins} == {4.0 if hold == "plastic" else 3.0}
    assert len(joint.screws) >= 4
    assert {screw.size for screw in joint.screws} == {"M3"}
    # They stand on the flange: their edge distance alone is more than the wall is thick.
    (seam,) = result.division.seams
    for each in joint.fasteners:
        at = shapely.Point(seam.plane.to_plane([each.at])[0])
        assert each.edge_distance > 2.4
        assert not seam.section.shape.buffer(-0.1).contains(at)
    assert most_shared(bodies_of(result), result.order.steps, part.size)[0] < SHARED
