"""Screws set by hand, on a U channel with a flange. Expected: plane geometry, trimesh."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.errors import JointError, WorkshopError
from splitplanner.findings import Severity
from splitplanner.joint import Maker, check_joints, join, screw_by_hand
from splitplanner.plan import (
    Cut,
    Fastening,
    PartFile,
    Plan,
    divide,
    with_other_screw,
    with_screw,
    with_screw_at,
    with_screw_turned,
)
from splitplanner.solid import Plane
from splitplanner.workshop import Printer, hardware_shelf
from tests.joint.flanged import channel

SHELF = hardware_shelf()
CUTS = (Cut(Plane((0.0, 0.0, 1.0), 0.0)),)


class Case:
    """A U of 80 x 50 mm with walls of 3 mm, cut in the middle, with pins and a flange for M3."""

    def __init__(self, screws="nut"):
        part, hidden = channel(length=160.0)
        self.division, self.seen, self.maker = divide(part, CUTS), ~hidden, Maker()
        (self.seam,) = self.division.seams
        ups = {piece.name: (0.0, 0.0, 1.0) for piece in self.division.pieces}
        wanted = Fastening(screws=screws)
        plan = Plan(
            PartFile("u.stl", "mm", part.fingerprint), Printer(), CUTS, ups, fastening=wanted
        )
        (joint,), _ = join(self.division, plan, seen=self.seen, maker=self.maker)
        self.full = plan.with_joints((joint,))
        # The flange and the pins are kept, so that there is room for screws.
        self.plan = plan.with_joints((replace(joint, screws=()),))

    @property
    def joint(self):
        return self.plan.joint("S1")

    def flat(self, fastener):
        return tuple(self.seam.plane.to_plane([fastener.at])[0].tolist())

    def set(self, plan=None, seam="S1", shelf=SHELF, **where):
        plan = plan or self.plan
        return screw_by_hand(
            self.division, plan, seam, shelf, seen=self.seen, maker=self.maker, **where
        )

    def faults(self, plan):
        found = check_joints(self.division, plan, SHELF, seen=self.seen, maker=self.maker)
        return [each for each in found if each.severity is Severity.FAULT]

    def is_in_material(self, screw):
        """Judge by trimesh whether a ring round the hole is material as far as head and nut."""
        turns = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
        ring = 0.99 * screw.edge_distance * np.column_stack([np.cos(turns), np.sin(turns)])
        around = np.hstack([ring, np.zeros((24, 1))]) + screw.at
        solids = self.maker.rimmed(self.division, self.plan)
        up = np.array(self.seam.plane.normal)
        is_up = float(up @ screw.axis) > 0
        for name, side, reaches in (
            (self.seam.below, -1, screw.seat if is_up else screw.depth),
            (self.seam.above, 1, screw.depth if is_up else screw.seat),
        ):
            mesh = trimesh.Trimesh(solids[name].vertices, solids[name].faces, process=False)
            for depth in np.linspace(0.05, 0.99 * reaches, 6):
                if not mesh.contains(around + side * depth * up).all():
                    return False
        return True


@pytest.fixture(scope="module")
def case():
    return Case()


def assert_holds(screw):
    """Check the stack of an M3 screw with a nut of ISO 4032 (m max 2.4 mm) by its parts."""
    washer = 0.5  # ISO 7089, M3
    grip = screw.seat + screw.depth + screw.washers * washer
    assert (screw.size, screw.hold) == ("M3", "nut")
    assert screw.length >= grip + 2.4
    # The next shorter one on the shelf would not reach through.
    shorter = [each for each in SHELF.screw("ISO 4762", "M3").lengths if each < screw.length]
    assert max(shorter) < grip + 2.4 + 0.5


def test_a_screw_goes_where_there_is_most_room(case):
    screw = case.set()
    assert_holds(screw)
    assert case.is_in_material(screw)
    assert case.faults(with_screw(case.plan, "S1", screw)) == []
    again = case.set(with_screw(case.plan, "S1", screw))
    # Beside the first one and the pins, by three thread diameters and more.
    for other in (screw, *case.joint.pins):
        assert np.linalg.norm(np.subtract(again.at, other.at)) > 9.0


def test_a_screw_stands_at_the_place_that_is_given(case):
    place = case.flat(case.full.joint("S1").screws[0])
    screw = case.set(place=place)
    assert case.flat(screw) == pytest.approx(place)
    assert_holds(screw)
    assert case.is_in_material(screw)
    assert case.faults(with_screw(case.plan, "S1", screw)) == []
    # Not asked for, but one with a nut is set.
    without = replace(case.plan, fastening=Fastening(screws="none"))
    assert case.set(without, place=place) == screw


def test_it_is_as_the_fastening_wants_it():
    case = Case("insert")
    screw = case.set(place=case.flat(case.full.joint("S1").screws[0]))
    assert screw.hold == "insert"
    assert screw.hole == Printer().hole_diameter(SHELF.insert("M3").hole_diameter)
    # Its tip ends before the bottom.
    assert screw.length - screw.seat < screw.depth
    assert case.is_in_material(screw)


def test_a_moved_screw_keeps_its_kind_and_side(case):
    first = case.full.joint("S1").screws[0]
    plan = with_screw(case.plan, "S1", case.set(place=case.flat(first)))
    far = case.full.joint("S1").screws[-1]
    # The plan wants other screws by now.
    moved = replace(
        with_screw_at(plan, "S1", 0, np.array(far.at)), fastening=Fastening(screws="insert")
    )
    screw = case.set(moved, index=0)
    assert screw.at == pytest.approx(far.at)
    assert_holds(screw)
    assert screw.axis == plan.joint("S1").screws[0].axis
    assert case.faults(with_other_screw(moved, "S1", 0, screw)) == []


def test_a_turned_screw_has_its_head_in_the_other_piece(case):
    plan = with_screw(case.plan, "S1", case.set())
    turned = with_screw_turned(plan, "S1", 0)
    screw = case.set(turned, index=0)
    before = plan.joint("S1").screws[0]
    assert np.dot(screw.axis, before.axis) == pytest.approx(-1.0)
    assert np.linalg.norm(np.subtract(screw.at, before.at)) <= 0.3
    assert_holds(screw)
    assert case.is_in_material(screw)
    assert case.faults(with_other_screw(turned, "S1", 0, screw)) == []


def test_where_none_stands_it_is_said_why(case):
    with pytest.raises(JointError, match=r"wall is at most|from the edge and needs") as refused:
        case.set(place=(1000.0, 0.0))
    assert refused.value.subject == "S1"
    with pytest.raises(JointError, match="too near to a pin or a screw"):
        case.set(case.full, place=case.flat(case.full.joint("S1").screws[0]))
    with pytest.raises(JointError, match="no seam “S9”"):
        case.set(seam="S9")


def test_a_place_hardly_outside_of_the_room_is_in_it(case):
    screw = case.set()
    room = np.array(case.flat(screw))
    middle = np.array(case.flat(case.joint.pins[0]))
    way = (room - middle) / np.linalg.norm(room - middle)
    near = case.set(place=tuple((room + 0.1 * way).tolist()))
    assert np.linalg.norm(np.array(case.flat(near)) - room) <= 0.1 + 1e-6
    assert case.is_in_material(near)


def test_what_the_shelf_has_not_is_said(case):
    wanted = replace(case.plan, fastening=Fastening(screws="nut", screw_size="M7"))
    with pytest.raises(WorkshopError, match="M7"):
        case.set(wanted)
