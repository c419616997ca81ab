"""Whole plans by finite cells, against statics, solving anew, symmetry and closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.errors import LoadError
from splitplanner.loaded.cells_check import check_by_cells, check_condensed
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.loaded.cells_values import bolt_factor
from splitplanner.plan import Register, Tape
from splitplanner.solid import Plane
from splitplanner.strength import plastic_of, seam_capacity, seam_load
from splitplanner.strength.seam_ground import generic_fibre, tape_stretches
from splitplanner.strength.seam_values import Side
from tests.loaded.celled import (
    BOLTS,
    LENGTH,
    LOAD,
    PLASTIC,
    SHELF,
    STRAIGHT,
    braced,
    channel,
    joint,
    planned,
    pressed,
    solved_anew,
    unlike,
)

SIZE = 12.0
LEANING = Plane((0.95, 0.2, 0.1), 0.95 * 85.0)


def condensed_channel(plane=STRAIGHT, loading=None, **others):
    division, plan = planned(channel(85.0), plane, **others)
    found = condensed_plan(division, division.pieces, plan, SHELF, loading or pressed(), size=SIZE)
    return division, plan, found


@pytest.fixture(scope="module")
def plain():
    return condensed_channel()


@pytest.fixture(scope="module")
def with_braces():
    division, plan = planned(channel(85.0), STRAIGHT)
    pieces, braces = braced(division, plan)
    found = condensed_plan(division, pieces, plan, SHELF, pressed(), braces=braces, size=SIZE)
    return division, found, braces


def beyond(seam, division, force=LOAD, at=(LENGTH, 0.0, 0.0)):
    """What acts on the piece above a seam, about its centroid, by statics."""
    return force, np.cross(np.array(at) - seam.section.centroid, force)


# -- statics --------------------------------------------------------------------------------
@pytest.mark.parametrize("plane", [STRAIGHT, LEANING])
def test_seams_carry_what_is_beyond_them(plane):
    division, _, found = condensed_channel(plane)
    (seam,) = check_condensed(found, "fastened").seams
    force, moment = beyond(division.seams[0], division)
    assert seam.force == pytest.approx(force, abs=1e-6 * 20)
    assert seam.moment == pytest.approx(moment, abs=1e-6 * 20 * LENGTH)
    assert seam.screws.min() >= 0.0
    assert seam.screws.max() > 0.0
    assert seam.opening > 0.0
    assert 0.0 < seam.gaping < 1.0
    normal = np.array(plane.normal)
    assert seam.tension == pytest.approx(force @ normal, abs=1e-5)
    assert np.hypot(seam.tension, seam.shear) == pytest.approx(20.0)


def test_three_pieces_carry_it_through_both_seams():
    planes = Plane((1.0, 0.0, 0.0), 50.0), Plane((0.97, 0.1, -0.2), 0.97 * 110.0)
    division, plan = planned(channel(50.0, 110.0), *planes)
    found = condensed_plan(division, division.pieces, plan, SHELF, pressed(), size=SIZE)
    check = check_condensed(found, "fastened")
    assert len(check.pieces) == 3
    for seam in division.seams:
        force, moment = beyond(seam, division)
        assert check.seam(seam.name).force == pytest.approx(force, abs=1e-6 * 20)
        assert check.seam(seam.name).moment == pytest.approx(moment, abs=1e-6 * 20 * LENGTH)


def test_braces_and_seam_together_carry_what_is_beyond_them(with_braces):
    division, found, braces = with_braces
    check = check_condensed(found, "braced")
    (seam,) = check.seams
    force, moment = beyond(division.seams[0], division)
    total, turned = seam.force.copy(), seam.moment.copy()
    for brace, by in zip(braces, check.braces, strict=True):
        # No force from outside acts on a brace.
        assert by.bolts.sum(axis=0) == pytest.approx(0.0, abs=1e-6)
        for bolt, push in zip(brace.bosses.bolts, by.bolts, strict=True):
            if bolt.piece == division.seams[0].above:
                total -= push
                turned -= np.cross(np.array(bolt.at) - division.seams[0].section.centroid, push)
    assert total == pytest.approx(force, abs=1e-6 * 20)
    assert turned == pytest.approx(moment, abs=1e-6 * 20 * LENGTH)
    alone = check_condensed(found, "fastened")
    assert alone.braces == ()
    assert check.sag < 0.8 * alone.sag
    # Stress moves from the seam into the braces.
    assert seam.screws.max() < 0.6 * alone.seams[0].screws.max()
    assert all(0.0 < by.stress < by.proof for by in check.braces)


# -- solving anew ---------------------------------------------------------------------------
def test_a_condensed_plan_answers_as_solving_anew_does(with_braces):
    _, found, _ = with_braces
    for held in ("fastened", "braced"):
        solved = found.solved(held)
        direct, _ = solved_anew(solved)
        assert solved.sag == pytest.approx(direct @ found.found.forces / 20.0, rel=1e-6)
        moved = found.found.displacements(solved.answer)
        assert moved == pytest.approx(direct, abs=1e-6 * np.abs(direct).max())


def test_without_cuts_it_is_the_part_as_if_printed_in_one():
    # One way condenses, the other solves the whole at once.
    division, plan = planned(channel(85.0))
    found = check_by_cells(division, division.pieces, plan, SHELF, pressed(), size=SIZE)
    whole = check_by_cells(
        division, division.pieces, plan, SHELF, pressed(), held="glued", size=SIZE
    )
    assert found.sag == pytest.approx(whole.sag, rel=1e-6)
    assert found.deflection == pytest.approx(whole.deflection, rel=1e-6)
    assert found.pieces[0].share == pytest.approx(whole.pieces[0].share, rel=1e-5, abs=1e-9)


def test_all_figures_rise_with_the_loads(plain):
    _, _, found = plain
    once, twice = (check_condensed(found, "fastened", factor=factor) for factor in (1.0, 2.0))
    assert twice.sag == pytest.approx(2 * once.sag)
    assert twice.deflection == pytest.approx(2 * once.deflection)
    assert twice.seams[0].screws == pytest.approx(2 * once.seams[0].screws)
    assert twice.pieces[0].percentiles == pytest.approx(2 * np.array(once.pieces[0].percentiles))


# -- symmetry and sense ---------------------------------------------------------------------
def test_left_and_right_of_a_symmetric_part_take_the_same(plain):
    _, _, found = plain
    check = check_condensed(found, "fastened")
    (seam,) = check.seams
    assert seam.screws[0::2] == pytest.approx(seam.screws[1::2], rel=1e-3)
    assert unlike(check) < 1e-3


def test_a_seam_is_softer_than_none_and_more_that_holds_it_makes_it_stiffer(plain):
    division, plan, found = plain
    uncut = check_by_cells(
        division, division.pieces, plan, SHELF, pressed(), held="glued", size=SIZE
    )
    four = found.answer("fastened", uncut=uncut.sag)
    assert four.stiffness < 1.0
    (own,) = plan.joints
    two = found.answer("fastened", [replace(own, screws=own.screws[:2])], uncut=uncut.sag)
    assert two.stiffness < 0.7 * four.stiffness
    assert len(two.seams[0].screws) == 2
    # Two bolts near the floor press on its edge, and have less of an arm.
    assert two.seams[0].screws.max() > 1.5 * four.seams[0].screws.max()


def test_a_seam_that_nothing_holds_is_refused(plain):
    _, _, found = plain
    with pytest.raises(LoadError, match="held by nothing"):
        found.solved("open")


def test_tape_and_register_take_their_share():
    tape = Tape("glass", 163.0, 2, 0.5, 30.0, 90.0)
    register = Register("tongue", 1.5, 1.2, 0.1)
    division, plan = planned(channel(85.0), STRAIGHT)
    (own,) = plan.joints
    lines = {"S1": (((-28.0, 1.0), (28.0, 1.0)),)}
    held = replace(own, pins=(), screws=own.screws[2:], tape=tape, register=register)
    plan = replace(plan, joints=(held,))
    found = condensed_plan(
        division, division.pieces, plan, SHELF, pressed(force=(0, 0, 20)), size=SIZE,
        tape_lines=lines,
    )  # fmt: skip
    fastened, taped = (check_condensed(found, way) for way in ("fastened", "taped"))
    assert fastened.seams[0].tape == 0.0
    # Lifted at its end the channel opens at the floor, where the tape is.
    assert taped.seams[0].tape > 10.0
    assert taped.sag < 0.7 * fastened.sag
    force, moment = beyond(division.seams[0], division, np.array([0.0, 0.0, 20.0]))
    assert taped.seams[0].force == pytest.approx(force, abs=1e-5)
    assert taped.seams[0].moment == pytest.approx(moment, abs=1e-3)


def test_tape_without_lines_is_where_the_hand_formula_has_it():
    tape = Tape("glass", 163.0, 2, 0.5, 30.0, 90.0)
    division, plan = planned(channel(85.0), STRAIGHT)
    (seam,), (own,) = division.seams, plan.joints
    taped = replace(own, tape=tape)
    plan = replace(plan, joints=(taped,))
    found = condensed_plan(division, division.pieces, plan, SHELF, pressed(), size=SIZE)
    fixings = [each.fixing for each in found.places if each.fixing.kind == "tape"]
    fibre = generic_fibre("glass")
    hand = tape_stretches(seam, taped, tape, fibre)
    # E A / l over twice a quarter of its width.
    stiff = fibre.stiffness * hand.areas.sum() / 15.0
    assert sum(each.springs[0] for each in fixings) == pytest.approx(stiff)
    pulls = np.array([each.springs[0] for each in fixings])
    middle = pulls @ np.array([each.at for each in fixings]) / pulls.sum()
    expected = seam.plane.to_space((hand.areas @ hand.places / hand.areas.sum())[None])[0]
    assert middle == pytest.approx(expected, abs=0.5)


# -- beside the hand formula ----------------------------------------------------------------
def test_screws_take_more_than_the_hand_formula_says(plain):
    division, plan, found = plain
    (seam,), plastic = division.seams, plastic_of(PLASTIC)
    side = Side(plastic, (0.0, 0.0, 1.0))
    load = seam_load(seam, (0.0, 0.0, -20.0), (0.0, 0.0, 0.0), (LENGTH, 0.0, 0.0))
    stage = seam_capacity(seam, plan.joints[0], load, (side, side), SHELF).stages[0]
    check = check_condensed(found, "fastened")
    factors = bolt_factor(check.seams[0], stage)
    assert factors.shape == (len(BOLTS),)
    pulled = int(np.argmax(stage.tensions))
    assert factors[pulled] == pytest.approx(check.seams[0].screws[pulled] / stage.tensions[pulled])
    assert factors[pulled] > 1.0
    with pytest.raises(ValueError, match="screws by cells"):
        bolt_factor(replace(check.seams[0], screws=np.zeros(1)), stage)


# -- other joints ---------------------------------------------------------------------------
def test_a_plan_that_gets_to_know_other_joints_answers_as_one_that_had_them(with_braces):
    division, found, braces = with_braces
    (seam,) = division.seams
    moved = joint(seam, bolts=((-22.0, 30.0), (20.0, 34.0), *BOLTS[:2]), pins=((0.0, 8.0),))
    known = found.knowing([moved])
    assert known.knowing([moved]) is known
    pieces, _ = braced(division, found.plan)
    plan = replace(found.plan, joints=(moved,))
    anew = condensed_plan(division, pieces, plan, SHELF, pressed(), braces=braces, size=SIZE)
    for held in ("fastened", "braced"):
        near, exact = known.answer(held, [moved]), anew.answer(held)
        assert near.sag == pytest.approx(exact.sag, rel=1e-6)
        assert near.seams[0].screws == pytest.approx(exact.seams[0].screws, rel=1e-5, abs=1e-6)
        # One pin does not keep it from turning: the screws are pushed sideways too.
        assert np.abs(exact.seams[0].pushed).max() > 0.1
        assert near.seams[0].pushed == pytest.approx(exact.seams[0].pushed, rel=1e-4, abs=1e-4)
        for one, other in zip(near.braces, exact.braces, strict=True):
            assert one.bolts == pytest.approx(other.bolts, rel=1e-5, abs=1e-5)
        check = check_condensed(known, held)
        assert check.seams[0].screws.shape == (4,)
    # Those it had it knows still; those it has not met it refuses.
    assert known.answer("fastened").sag == pytest.approx(found.answer("fastened").sag, rel=1e-9)
    with pytest.raises(LoadError, match="let them know"):
        found.answer("fastened", [moved])
    twice = known.knowing([joint(seam, bolts=((0.0, 12.0), *BOLTS))])
    assert twice.answer("fastened", [moved]).sag == pytest.approx(
        known.answer("fastened", [moved]).sag, rel=1e-9
    )
