"""Seams held in their own way after cuts were changed: by where they lie on a plain bar."""

import numpy as np
import pytest

from splitplanner.findings import Severity
from splitplanner.plan import (
    SEAM_GONE,
    Cut,
    Fastening,
    Joint,
    PartFile,
    Plan,
    divide,
    with_cut,
    with_cut_at,
    with_cut_copied,
    with_cut_flipped,
    with_cuts,
    with_fastening,
    with_fastenings,
    with_own_fastening,
    with_own_followed,
    with_plane,
    with_targets_there,
    without_cut,
)
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

BAR = Solid.box((300.0, 100.0, 100.0))
X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
LAP, BARE = Fastening(register="lap"), Fastening(pins=False)
TWO = (Cut(Plane(X, 100.0)), Cut(Plane(X, 200.0)))


def plan_of(cuts=TWO, **own):
    return Plan(PartFile("bar.stl", "mm", "f"), Printer(), cuts, own_fastenings=own)


def followed(plan):
    """The seams held in their own way, by their middle, and what is said of the others."""
    division = divide(BAR, plan.cuts)
    after, found = with_own_followed(plan, division)
    assert after.seams_named_by is None
    assert (after.cuts, after.joints) == (plan.cuts, plan.joints)
    middles = {seam.name: tuple(np.round(seam.section.centroid, 3)) for seam in division.seams}
    return {middles[name]: own for name, own in after.own_fastenings.items()}, found


PLAN = plan_of(S2=LAP)
AT_200 = (200.0, 50.0, 50.0)


@pytest.mark.parametrize(
    "plan",
    [
        PLAN,
        with_cut_at(PLAN, 0, 1),
        without_cut(PLAN, 0),
        with_cut_flipped(PLAN, 1),
        with_cut_flipped(with_cut_flipped(PLAN, 1), 1),
        with_cut_copied(PLAN, 1, 50.0),
        with_cut(PLAN, Plane(X, 30.0)),
        with_cuts(PLAN, (Cut(Plane(X, 30.0)), *TWO)),
        with_plane(PLAN, 0, Plane(X, 30.0)),
        # Past the one that is held in its own way.
        with_plane(PLAN, 0, Plane(X, 270.0)),
        # One step after the other, before anybody has looked.
        without_cut(with_cut(with_cut_at(PLAN, 1, 0), Plane(X, 250.0)), 1),
        with_cuts(without_cut(without_cut(PLAN, 1), 0), (TWO[1],)),
    ],
)
def test_a_seam_that_stays_where_it_is_stays_as_it_is_held(plan):
    assert followed(plan) == ({AT_200: LAP}, ())


@pytest.mark.parametrize(
    ("plane", "middle"),
    [
        (Plane(X, 210.0), (210.0, 50.0, 50.0)),
        (Plane(X, 50.0), (50.0, 50.0, 50.0)),
        (Plane.through((210.0, 50.0, 50.0), (1.0, 0.3, 0.0)), (210.0, 50.0, 50.0)),
        (Plane.through((200.0, 50.0, 50.0), (-1.0, 0.0, 0.2)), (200.0, 50.0, 50.0)),
    ],
)
def test_the_seam_of_a_cut_that_is_moved_or_tilted_goes_with_it(plane, middle):
    assert followed(with_plane(PLAN, 1, plane)) == ({middle: LAP}, ())


def test_all_parts_of_a_seam_that_is_divided_are_held_as_it_was():
    both = with_cut(plan_of(S1=BARE, S2=LAP), Plane(Z, 30.0))
    assert followed(both) == (
        {(x, 50.0, z): own for x, own in ((100.0, BARE), (200.0, LAP)) for z in (15.0, 65.0)},
        (),
    )


@pytest.mark.parametrize(("z", "own"), [(30.0, LAP), (70.0, BARE)])
def test_seams_that_become_one_are_held_as_the_largest_of_them(z, own):
    """Piece by piece: S1 and S2 are below and above the plane z, by the numbers of the pieces."""
    cuts = (TWO[0], Cut(Plane(Z, z)))
    seams = divide(BAR, cuts).seams
    lower, upper = sorted(seams[:2], key=lambda seam: seam.section.centroid[2])
    plan = plan_of(cuts, **{lower.name: BARE, upper.name: LAP})
    gone = lower.name if z < 50.0 else upper.name
    kept, (found,) = followed(without_cut(plan, 1))
    assert kept == {(100.0, 50.0, 50.0): own}
    assert (found.kind, found.severity) == (SEAM_GONE, Severity.NOTE)
    assert f"seam {gone} was held otherwise" in found.message


def test_what_is_gone_is_said_in_one_sentence():
    kept, (found,) = followed(without_cut(plan_of(S1=BARE, S2=LAP), 1))
    assert kept == {(100.0, 50.0, 50.0): BARE}
    assert found.message.count(".") == 1
    assert "seam S2 was" in found.message
    kept, (found,) = followed(with_cuts(plan_of(S1=BARE, S2=LAP), ()))
    assert kept == {}
    assert "seams S1, S2 were" in found.message
    assert found.message.count(".") == 1


def test_a_new_plane_of_other_cuts_is_no_moved_one():
    # One cut less and one more: that of another number is not taken for it.
    plan = with_cut(without_cut(PLAN, 1), Plane(Z, 50.0))
    kept, (found,) = followed(plan)
    assert kept == {}
    assert "seam S2 was" in found.message


def test_earlier_cuts_that_cannot_be_made_name_nothing():
    wrong = (Cut(Plane(X, 100.0)), Cut(Plane(X, 200.0), "9"))
    kept, (found,) = followed(with_targets_there(plan_of(wrong, S2=LAP), BAR))
    assert kept == {}
    assert found.kind == SEAM_GONE


# -- steps ------------------------------------------------------------------------------------
def test_cuts_are_remembered_only_while_names_depend_on_them():
    assert with_cut(plan_of(), Plane(X, 30.0)).seams_named_by is None
    moved = with_plane(PLAN, 0, Plane(X, 30.0))
    assert moved.seams_named_by == TWO
    assert with_plane(moved, 1, Plane(X, 220.0)).seams_named_by == TWO
    assert with_plane(moved, 0, TWO[0].plane) == PLAN
    assert with_own_fastening(moved, "S2", None).seams_named_by is None


def test_only_seams_that_are_held_otherwise_now_are_open():
    joints = (Joint("S1"), Joint("S2"), Joint("S3"))
    plan = plan_of(S2=LAP).with_joints(joints)
    own = with_own_fastening(plan, "S1", BARE)
    assert own.joints == joints[1:]
    assert (own.fastening_of("S1"), own.fastening_of("S2"), own.fastening_of("S3")) == (
        BARE, LAP, Fastening(),
    )  # fmt: skip
    assert with_own_fastening(own, "S1", None).with_joints(joints) == plan
    # S2 follows in all but its register, so that it is open too.
    coated = with_fastening(plan, Fastening(coat=0.1))
    assert coated.joints == ()
    assert coated.fastening_of("S2") == Fastening(coat=0.1, register="lap")
    lapped = with_fastening(plan, LAP)
    assert lapped.joints == (Joint("S2"),)
    assert with_fastenings(plan, plan.fastenings) == plan
