"""What is kept of a plan that is examined again after a step."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.examining import Examiner, kept_joints
from splitplanner.findings import faults
from splitplanner.plan import Cut, Division, PartFile, Plan, divide, with_plane
from splitplanner.score import Figures, layered_print, layering
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


def test_the_layers_of_the_pieces_as_they_are_printed_are_worked_out_once(monkeypatch):
    examiner, plan = examined(PLATE, (Cut(Plane((1.0, 0.0, 0.0), 100.0)),))
    handed, said = [], []
    again = examiner.examine(
        plan, "p", hand=handed.append, report=lambda done, doing: said.append(doing)
    )
    rows = again.card.figures.pieces
    for row in rows:
        # With the holes of the pins.
        assert row.volume < 100 * 200 * 20
        layers = layering(row.piece.solid, row.up, plan.printer)
        alone = layered_print(layers, plan.printer, row.support.volume)
        assert row.printed.seconds == pytest.approx(alone.seconds)
        # But for the holes, a block of 100 x 200 x 20 mm.
        height = row.fit.height
        around = 2 * (100 * 200 + 100 * 20 + 200 * 20) - 2 * 100 * 200 * 20 / height
        assert row.printed.outer_walls == pytest.approx(around * 0.45, rel=0.06)
    assert [doing for doing in said if "layers" in doing] == [
        "working out the layers of piece 1",
        "working out the layers of piece 2",
    ]
    kinds = [type(each) for each in handed]
    assert kinds == [Division, Figures, Division, Figures]
    bare, made = handed[1], handed[3]
    assert all(row.printed is None for row in bare.pieces)
    assert [row.printed for row in made.pieces] == [row.printed for row in rows]
    # Nothing is worked out that is known.
    monkeypatch.setattr("splitplanner.examining.measures.layering", None)
    known = examiner.examine(plan, "p").card.figures.pieces
    assert all(one.printed is other.printed for one, other in zip(known, rows, strict=True))
