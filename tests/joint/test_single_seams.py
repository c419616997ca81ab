"""Seams of one plan held in different ways: each as it would be in a plan that holds all so."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.examining import Examiner
from splitplanner.findings import faults
from splitplanner.joint import Maker, assembly_of, check_joints, checking, join
from splitplanner.plan import (
    SEAM_GONE,
    Cut,
    Fastening,
    PartFile,
    Plan,
    divide,
    plan_from_text,
    plan_to_text,
    with_own_fastening,
    without_cut,
)
from splitplanner.solid import Plane, ReadPart
from splitplanner.workshop import Printer, hardware_shelf
from tests.joint.flanged import square_tube

UP = (0.0, 0.0, 1.0)
CUTS = (Cut(Plane(UP, -40.0)), Cut(Plane(UP, 40.0)))
PLAIN = Fastening(flange="never")
OTHER = Fastening(
    flange="never", register="lap", coat=0.1, glue_gap=0.2, marks="engraved", tape_plies=1,
    press_fit=True,
)  # fmt: skip


@pytest.fixture(scope="module")
def tube():
    """A square tube with walls of 15 mm in three pieces, hidden inside."""
    part, hidden = square_tube(80.0, 15.0, 240.0)
    return divide(part, CUTS), ~hidden


def plan_of(division, general, **own):
    ups = {piece.name: UP for piece in division.pieces}
    file = PartFile("tube.stl", "mm", division.part.fingerprint)
    return Plan(file, Printer(), CUTS, ups, fastening=general, own_fastenings=own)


def joined(tube, general, **own):
    division, seen = tube
    plan = plan_of(division, general, **own)
    joints, _ = join(division, plan, seen=seen)
    return plan.with_joints(joints)


def volumes(maker, division, plan):
    """By trimesh, of the pieces from the lowest to the highest."""
    pieces = maker.make(division, plan).pieces
    pieces = sorted(pieces, key=lambda piece: piece.solid.bounds[0, 2])
    meshes = [trimesh.Trimesh(p.solid.vertices, p.solid.faces, process=False) for p in pieces]
    assert all(mesh.is_watertight for mesh in meshes)
    return np.array([mesh.volume for mesh in meshes])


def test_each_seam_gets_what_it_would_get_if_all_were_held_so(tube):
    plain, other = joined(tube, PLAIN), joined(tube, OTHER)
    mixed = joined(tube, PLAIN, S2=OTHER)
    assert mixed.joint("S1") == plain.joint("S1")
    assert mixed.joint("S2") == other.joint("S2")
    assert mixed.joint("S2").register is not None
    assert mixed.joint("S1").register is None
    assert {pin.vent > 0 for pin in mixed.joint("S2").pins} == {True}
    assert {pin.vent > 0 for pin in mixed.joint("S1").pins} == {False}
    # The other way round: the general way is the other one.
    turned = joined(tube, OTHER, S1=PLAIN)
    assert turned.joints == mixed.joints
    division, seen = tube
    assert not faults(check_joints(division, mixed, seen=seen))


def test_each_end_of_a_piece_is_made_as_its_seam_wants_it(tube):
    """Coat, glue gap and mark on one seam alone: what each seam takes off a piece adds up."""
    division, _ = tube
    plans = {
        (first, second): joined(tube, PLAIN, S1=ways[first], S2=ways[second])
        for ways in ({"plain": PLAIN, "other": OTHER},)
        for first in ways
        for second in ways
    }
    maker = Maker()
    # One maker for all, with what it remembers, twice over; and new ones.
    for _ in range(2):
        made = {key: volumes(maker, division, plan) for key, plan in plans.items()}
    for key, plan in plans.items():
        np.testing.assert_allclose(volumes(Maker(), division, plan), made[key], rtol=1e-12)
    low, middle, high = zip(*(made[key] for key in sorted(made)), strict=True)
    # sorted: other/other, other/plain, plain/other, plain/plain
    assert low[0] == pytest.approx(low[1], rel=1e-12)
    assert low[2] == pytest.approx(low[3], rel=1e-12)
    assert high[0] == pytest.approx(high[2], rel=1e-12)
    assert high[1] == pytest.approx(high[3], rel=1e-12)
    assert middle[0] - middle[3] == pytest.approx(
        (middle[1] - middle[3]) + (middle[2] - middle[3]), rel=1e-6
    )
    # A coat on the face of the highest piece alone takes more than this, also beside the lap.
    assert high[3] - high[2] > 0.1 * (80.0**2 - 50.0**2)
    assert abs(low[3] - low[1]) > 1.0


def test_joints_of_equal_seams_are_made_apart_where_only_their_ways_differ(tube):
    """The same pins, and nothing but a coat on one seam: 0.1 mm off its faces and holes."""
    division, _ = tube
    plan = joined(tube, PLAIN)
    coated = with_own_fastening(plan, "S2", replace(PLAIN, coat=0.1)).with_joints(plan.joints)
    maker = Maker()
    bare, thin = volumes(maker, division, plan), volumes(maker, division, coated)
    assert thin[0] == bare[0]
    area = 80.0**2 - 50.0**2
    for less in bare[1:] - thin[1:]:
        # No less than the faces without their holes, and no more than these with all round them.
        holes = sum(pin.hole_diameter**2 for pin in plan.joint("S2").pins) * np.pi / 4
        around = sum(pin.hole_diameter * pin.depth for pin in plan.joint("S2").pins) * np.pi
        assert 0.1 * (area - holes) * 0.98 < less < 0.1 * (area + 2 * holes + 1.2 * around)


def test_screws_of_each_seam_are_turned_by_their_own_keys(tube, monkeypatch):
    """Hexagon keys of ISO 2936: 2.5 mm for M3 and 3 mm for M4 of ISO 4762."""
    nuts = Fastening(pins=False, screws="nut", flange="always")
    plan = joined(tube, nuts, S2=replace(nuts, screw_size="M4"))
    sizes = {joint.seam: {screw.size for screw in joint.screws} for joint in plan.joints}
    assert sizes == {"S1": {"M3"}, "S2": {"M4"}}
    asked = {}
    reached = checking.screws_reached

    def heard(division, joints, solids, tool, nuts):
        def reach(seam, in_place):
            asked.setdefault(seam.name, set()).add(tool)
            return reached(division, joints, solids, tool, nuts)(seam, in_place)

        return reach

    monkeypatch.setattr(checking, "screws_reached", heard)
    division, _ = tube
    made = Maker().make(division, plan)
    assembly_of(division, plan, made.pieces)
    shelf = hardware_shelf()
    for seam, flats in (("S1", 2.5), ("S2", 3.0)):
        keys = {tool.diameter for tool in asked[seam] if tool.kind == "key"}
        assert keys == {shelf.key(flats).across_corners}


def test_what_is_said_of_a_seam_goes_with_it_when_a_plan_is_examined(tube):
    division, _ = tube
    part = division.part
    examiner = Examiner(ReadPart(part, "mm", (), len(part.faces)))
    plan = plan_of(division, PLAIN, S2=replace(PLAIN, register="lap"))
    whole = examiner.examine(plan, "tube", completing=True)
    assert not faults(whole.findings)
    assert whole.plan.joint("S2").register.form == "lap"
    less = without_cut(whole.plan, 0)
    # Also where it was kept in a file before anybody had looked.
    less = plan_from_text(plan_to_text(less))
    after = examiner.examine(less, "tube", completing=True)
    assert after.plan.own_fastenings == {"S1": replace(PLAIN, register="lap")}
    assert after.plan.seams_named_by is None
    assert after.plan.joint("S1").register.form == "lap"
    assert SEAM_GONE not in {each.kind for each in after.findings}
    gone = examiner.examine(without_cut(after.plan, 0), "tube", completing=True)
    assert gone.plan.own_fastenings == {}
    assert [each.kind for each in gone.findings].count(SEAM_GONE) == 1
    again = examiner.examine(gone.plan, "tube", completing=True)
    assert SEAM_GONE not in {each.kind for each in again.findings}
