"""Answers of a check by cells that is kept, against statics, the whole seam formula and itself."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.background import live_seams
from splitplanner.background.desk import KEPT_CELLS
from splitplanner.background.live_seams import KeptCells, answer_seams, keeping
from splitplanner.background.live_told import change_beyond
from splitplanner.errors import LoadError
from splitplanner.loaded.cells_hand import ByHand
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.plan import (
    Cut,
    Flange,
    Joint,
    Tape,
    with_brace,
    with_cut,
    with_joint,
    with_screw,
    with_seam_open,
    with_up,
    without_brace,
    without_pin,
    without_screw,
)
from splitplanner.solid import Plane
from splitplanner.strength import plastic_of, seam_capacity, seam_load
from splitplanner.strength.seam_values import Adhesive, HeldBy, Side
from tests.loaded.celled import (
    LENGTH,
    LOAD,
    PLASTIC,
    SHELF,
    STRAIGHT,
    braced,
    channel,
    planned,
    pressed,
    screw,
)

TIMES = 2.0
UNCUT = 0.05
PRESSED = replace(pressed(), case=replace(pressed().case, name="pressed"))
OTHER = replace(pressed(50.0), case=replace(pressed(50.0).case, name="other"))


def silent(done, doing):
    """Report to nobody."""


@pytest.fixture(scope="module")
def known():
    """The channel with two braces, condensed: seam, plan, condensed plan."""
    division, plan = planned(channel(85.0), STRAIGHT, loadings=(PRESSED,))
    pieces, braces = braced(division, plan)
    plan = replace(plan, braces=tuple(each.profile.wish for each in braces))
    found = condensed_plan(division, pieces, plan, SHELF, PRESSED, braces=braces, size=12.0)
    return division.seams[0], plan, found


@pytest.fixture
def desk(known):
    desk = {}
    keeping(desk, "pressed")(known[2], TIMES, UNCUT)
    return desk


def answered(desk, plan, without=()):
    return answer_seams(desk, silent, None, plan, "pressed", without)


# -- answers --------------------------------------------------------------------------------
def test_the_plan_as_it_was_checked_is_answered_as_the_check_did(known, desk):
    _, plan, found = known
    told = answered(desk, plan)
    expected = found.answer("braced", factor=TIMES, uncut=UNCUT)
    for state in (told.before, told.after):
        assert state.answer.sag == pytest.approx(expected.sag)
        assert state.answer.stiffness == pytest.approx(TIMES * UNCUT / expected.sag)
        assert state.seam("S1").screws == pytest.approx(expected.seams[0].screws)
        assert state.brace("left").stress == pytest.approx(expected.braces[0].stress)
    assert told.before.seam("S9") is None
    assert told.load == "pressed"


def test_another_screw_carries_what_is_beyond_the_seam(known, desk):
    # Statics: what acts on the piece above goes through the seam, without braces all of it.
    seam, plan, _ = known
    more = with_screw(without_screw(plan, "S1", 0), "S1", screw(seam.plane, 0.0, 12.0))
    told = answered(desk, more, ("left", "right"))
    after = told.after.seam("S1")
    assert len(after.screws) == len(told.after.by_hand["S1"]) == 4
    assert after.force == pytest.approx(TIMES * LOAD, abs=1e-5)
    arm = np.array([LENGTH, 0.0, 0.0]) - seam.section.centroid
    assert after.moment == pytest.approx(TIMES * np.cross(arm, LOAD), abs=1e-3)
    assert told.after.answer.braces == ()
    assert len(told.before.answer.braces) == 2


def test_a_brace_that_is_left_out_counts_as_one_that_is_deleted(known, desk):
    _, plan, _ = known
    left_out, deleted = answered(desk, plan, ("left",)), answered(desk, without_brace(plan, "left"))
    assert left_out.after.answer.sag == pytest.approx(deleted.after.answer.sag)
    assert [each.brace for each in left_out.after.answer.braces] == ["right"]
    assert left_out.after.answer.stiffness < left_out.before.answer.stiffness


def test_the_hand_figure_is_that_of_the_seam_under_the_same_load(known, desk):
    seam, plan, _ = known
    told = answered(desk, plan, ("left", "right"))
    found = told.after.seam("S1")
    side = Side(plastic_of(PLASTIC), (0.0, 0.0, 1.0))
    load = seam_load(seam, tuple(found.force.tolist()), tuple(found.moment.tolist()))
    stage = seam_capacity(seam, plan.joint("S1"), load, (side, side), SHELF).stages[0]
    factors = told.after.by_hand["S1"]
    felt = stage.tensions > 1e-6
    assert felt.any()
    assert factors[felt] == pytest.approx(found.screws[felt] / stage.tensions[felt], rel=1e-6)
    assert np.isnan(factors[~felt]).all()
    # It knows no prying, so that it is a lower bound.
    assert factors[felt].max() > 1.0


@pytest.mark.parametrize(
    "more", [{}, {"tape": Tape("glass", 163.0, 2, 0.5, 30.0, 90.0)}, {"is_glued": True}]
)
def test_pulls_by_hand_are_those_of_the_whole_seam_formula(known, desk, more):
    seam, plan, _ = known
    is_glued = more.get("is_glued", False)
    joint = replace(plan.joint("S1"), tape=more.get("tape"))
    found = answered(desk, plan, ("left", "right")).after.seam("S1")
    side = Side(plastic_of(PLASTIC), (0.0, 0.0, 1.0))
    load = seam_load(seam, tuple(found.force.tolist()), tuple(found.moment.tolist()))
    by = HeldBy(adhesive=Adhesive(5.0, 2.0) if is_glued else None)
    expected = seam_capacity(seam, joint, load, (side, side), SHELF, by).stages[-1].tensions
    pulls = ByHand(plastic_of(PLASTIC).stiffness, SHELF).pulls(seam, joint, found, is_glued)
    assert pulls == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_screws_help_a_plan_of_which_the_check_itself_knew_nothing(known):
    _, plan, found = known
    bare = replace(plan, joints=(Joint("S1"),), braces=())
    kept = KeptCells(replace(found, plan=bare, braces=()), "pressed", 1.0, UNCUT, SHELF)
    desk = {KEPT_CELLS: kept}
    with pytest.raises(LoadError, match="held by nothing"):
        answered(desk, bare)
    told = answered(desk, replace(plan, braces=()))
    assert told.before is None
    assert told.after.answer.stiffness > 0.0


def test_places_that_were_tried_do_not_pile_up(known, desk, monkeypatch):
    seam, plan, found = known
    monkeypatch.setattr(live_seams, "_MOST", 3)
    tried = [with_screw(plan, "S1", screw(seam.plane, y, 20.0)) for y in (-8.0, -4.0, 4.0, 8.0)]
    first = [answered(desk, each).after.answer.sag for each in tried]
    again = [answered(desk, each).after.answer.sag for each in tried]
    assert first == pytest.approx(again, rel=1e-9)
    # Two pins take what slides, so that a screw is one gap.
    assert desk[KEPT_CELLS]._known.found.gaps.shape[0] <= found.found.gaps.shape[0] + 4


# -- what it cannot answer ------------------------------------------------------------------
def test_nothing_is_answered_that_was_not_checked(known, desk):
    _, plan, _ = known
    assert answered({}, plan) is None
    assert answer_seams(desk, silent, None, plan, "other") is None
    assert answered(desk, with_cut(plan, Cut(Plane((1.0, 0.0, 0.0), 40.0)))) is None
    desk["shelf"] = replace(SHELF, sheet_metals=())
    assert answered(desk, plan) is None
    del desk["shelf"]
    assert answered(desk, plan) is not None
    # Another check needs the memory.
    keeping(desk, "other")
    assert answered(desk, plan) is None


def test_what_is_in_the_pieces_must_be_as_it_was(known):
    _, plan, _ = known
    plan = replace(plan, loadings=(PRESSED, OTHER))
    (own,) = plan.joints
    tape = Tape("glass", 163.0, 2, 0.5, 30.0, 90.0)
    for same in (
        plan,
        without_screw(plan, "S1", 0),
        without_pin(plan, "S1", 0),
        with_joint(plan, replace(own, tape=tape)),
        without_brace(plan, "left"),
        replace(plan, loadings=(PRESSED,), seed=7),
    ):
        assert change_beyond(plan, same, "pressed") == ""
    flange = Flange(((((0.0, 0.0), (5.0, 0.0))),), 10.0, 5.0)
    heavier = replace(PRESSED, case=replace(PRESSED.case, loads=OTHER.case.loads))
    wider = replace(plan.braces[0], depth=20.0)
    for other, words in (
        (with_joint(plan, replace(own, flange=flange)), "flange or register of S1 are others"),
        (with_seam_open(plan, "S1"), "what holds S1 is being placed anew"),
        (with_up(plan, "1", (1.0, 0.0, 0.0)), "a print direction is another"),
        (replace(plan, material=None), "the material is another"),
        (replace(plan, loadings=(heavier, OTHER)), "load case “pressed” is another"),
        (with_brace(without_brace(plan, "left"), wider), "left was not there, or ran otherwise"),
        (replace(plan, fastening=replace(plan.fastening, coat=0.2)), "printer or hardware"),
    ):
        assert words in change_beyond(plan, other, "pressed")
