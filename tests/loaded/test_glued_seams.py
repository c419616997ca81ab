"""Seams by the user's own values of glue and hardware: a plain bar by hand."""

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from splitplanner.loaded import Chains, strength_answer, way_words
from splitplanner.loaded.holding import HeldSeam
from splitplanner.loaded.telling import PINS_ALONE
from splitplanner.loaded.ways import Ground
from splitplanner.plan import (
    PEEL_SHARE,
    Fastening,
    Joint,
    Loading,
    PointLoad,
    cantilever,
    over_two_supports,
)
from splitplanner.plan.fastening import ScrewClass
from splitplanner.strength import CLASSES, GLUE, TAPE_STAYS, HeldBy, Side, plastic_of, seam_load
from splitplanner.workshop import hardware_shelf
from tests.loaded.bars import (
    ALONG,
    DEPTH,
    LENGTH,
    MODULUS,
    PLASTIC,
    TAPE,
    WIDTH,
    cut_bar,
    pinned,
    plan_of,
    raised,
    screwed,
    square_cut,
)

SHELF = hardware_shelf()
FORCE = 100.0
AREA = WIDTH * DEPTH
GLUED = Fastening(glue_shear=8.0, glue_peel=3.0)
PULLED = cantilever(0.0, PointLoad(LENGTH, (FORCE, 0.0, 0.0)), name="pulled")
DOWN = over_two_supports(0.0, LENGTH, PointLoad(100.0, (0.0, 0.0, -FORCE)))
SAID = GLUE.format(share=PEEL_SHARE)
STRESS, SLIDES = FORCE * LENGTH / 4 / MODULUS, FORCE / 2 / AREA
"""In the middle of the bar over two supports: ``F L / 4 / W`` and ``V / A``, MPa."""
BENT = 1.0 / math.hypot(STRESS / 3.0, SLIDES / 8.0)
"""What `GLUED` holds of that, by the ellipse of tension and shear at the worst corner."""


MIDDLE = (square_cut(100.0),)
DIVISIONS = {cuts: cut_bar(*cuts) for cuts in (MIDDLE, (square_cut(60.0), square_cut(140.0)))}
KNOWN = Chains()


def answered(joints=(), fastening=GLUED, case=DOWN, cuts=MIDDLE, own=None):
    plan = plan_of(cuts, joints, [Loading(ALONG, case)])
    plan = replace(plan, fastening=fastening, own_fastenings=own or {})
    return strength_answer(DIVISIONS[cuts], plan, SHELF, remembered=KNOWN)


def seam(answer, way="fastened", at=0):
    return {each.way: each for each in answer.loads[0].ways}[way].seams[at]


@pytest.mark.parametrize(
    ("fastening", "peel"),
    [(GLUED, 3.0), (Fastening(glue_shear=8.0), PEEL_SHARE * 8.0)],
    ids=["given", "share"],
)
def test_a_butt_seam_in_pull_holds_what_its_glue_stands_across(fastening, peel):
    """Stress by area: ``p A / F``, whether it has pins or not."""
    for joints in ((), (pinned(),)):
        found = seam(answered(joints, fastening, PULLED))
        assert found.weakest.mode == "adhesive"
        assert found.weakest.factor == pytest.approx(peel * AREA / FORCE)


def test_a_bent_bar_holds_by_tension_and_shear_of_its_glue():
    answer = answered()
    assert [way.way for way in answer.loads[0].ways] == ["open", "fastened"]
    found = seam(answer)
    assert found.weakest.mode == "adhesive"
    assert found.weakest.factor == pytest.approx(BENT)
    assert found.ratio == pytest.approx(BENT / (50.0 / STRESS), rel=1e-6)
    assert SAID in answer.statements
    # A peel of nothing said for it is told beside its lap shear strength.
    assert "0.2 of the lap shear strength" in SAID


def test_pins_with_glue_hold_bending_and_nothing_is_said_of_pins_alone():
    answer = answered([pinned()])
    assert seam(answer).weakest.factor == pytest.approx(BENT)
    assert PINS_ALONE not in answer.statements
    bare = answered([pinned()], Fastening(glue_peel=3.0, glue_gap=0.2))
    assert seam(bare).weakest.factor == 0.0
    assert PINS_ALONE in bare.statements
    assert SAID not in bare.statements


def test_nothing_holds_an_open_seam_its_glue_neither():
    answer = answered([pinned()])
    found = seam(answer, "open")
    assert (found.weakest.factor, found.weakest.mode, found.capacity) == (0.0, "open", None)
    assert "adhesive" in seam(answer).capacity.stages[-1].by


def test_one_seam_alone_is_glued():
    """Two seams at equal bending: at 60 and 140 mm ``M = F / 2 · 60``."""
    cuts = (square_cut(60.0), square_cut(140.0))
    own = {"S2": GLUED}
    answer = answered((), Fastening(), cuts=cuts, own=own)
    first, second = (seam(answer, at=at) for at in (0, 1))
    assert first.weakest.factor == 0.0
    assert first.capacity is None
    stress = FORCE / 2 * 60.0 / MODULUS
    assert second.weakest.factor == pytest.approx(1.0 / math.hypot(stress / 3.0, SLIDES / 8.0))


def test_weak_glue_takes_nothing_from_screws_and_strong_glue_holds_without_them():
    screws = seam(answered([screwed()], Fastening())).weakest.factor
    weak = seam(answered([screwed()], Fastening(glue_shear=0.01))).weakest
    assert weak.factor == pytest.approx(screws)
    # Inserts that 1 N pulls out leave all of the load to the glue.
    inserted = tuple(replace(each, hold="insert", size="M3") for each in screwed().screws)
    loose = replace(GLUED, insert_pull_out=1.0)
    found = seam(answered([replace(screwed(), screws=inserted)], loose)).weakest
    assert (found.mode, found.factor) == ("adhesive", pytest.approx(BENT))


def test_the_force_that_pulls_an_insert_out_is_the_users():
    """Four screws about the middle share a straight pull evenly."""
    screws = tuple(
        replace(each, hold="insert", size="M3") for each in (*screwed().screws, *raised().screws)
    )
    joint = Joint("S1", screws=screws)
    given = answered([joint], Fastening(insert_pull_out=123.0), PULLED)
    assert seam(given).weakest.factor == pytest.approx(123.0 / (FORCE / 4))
    assert seam(given).weakest.mode == "screw.insert"
    estimated = {mode.name: mode for mode in seam(
        answered([joint], Fastening(), PULLED)
    ).capacity.stages[0].modes}  # fmt: skip
    assert estimated["screw.insert"].allowed > 123.0


def test_screws_are_of_the_users_property_class():
    """Proof load of M4, 8.78 mm² (ISO 898-1): 225 MPa of class 4.6, 970 MPa of class 12.9."""
    joint = Joint("S1", screws=(*screwed().screws, *raised().screws))
    for steel, proof in (("4.6", 225.0), ("12.9", 970.0)):
        found = seam(answered([joint], Fastening(screw_class=steel), PULLED))
        modes = {mode.name: mode for mode in found.capacity.stages[0].modes}
        assert modes["screw.steel"].factor == pytest.approx(8.78 * proof / (FORCE / 4), rel=1e-3)
    plan = replace(plan_of(()), fastening=Fastening(screw_class="12.9"))
    assert Ground(cut_bar(), plan, SHELF, PLASTIC, {}).held_by == HeldBy("12.9")


def test_every_class_of_known_strength_can_be_said():
    assert get_args(ScrewClass) == tuple(CLASSES)


def test_whether_tape_comes_off_is_looked_at_where_its_resin_is_known():
    joint = Joint("S1", tape=TAPE)
    unknown, known = (
        answered([joint], Fastening(resin_shear=shear), PULLED) for shear in (0.0, 10.0)
    )
    modes = [
        {mode.name for mode in seam(each, "taped").capacity.stages[0].modes}
        for each in (unknown, known)
    ]
    assert ["tape.bond" in each for each in modes] == [False, False]
    modes = [
        {mode.name for mode in seam(each, "taped").capacity.stages[-1].modes}
        for each in (unknown, known)
    ]
    assert ["tape.bond" in each for each in modes] == [False, True]
    assert TAPE_STAYS in unknown.statements
    assert TAPE_STAYS not in known.statements


def test_glue_never_makes_a_seam_weaker():
    """Under loads of any direction, and it is in no stage but its own."""
    joint = Joint("S1", pinned().pins, screwed().screws, tape=TAPE)
    (one,) = cut_bar(square_cut(100.0)).seams
    sides = (Side(plastic_of(PLASTIC), (0.0, 0.0, 1.0)),) * 2
    rng = np.random.default_rng(7)
    for _ in range(4):
        load = seam_load(one, rng.normal(size=3) * 50.0, rng.normal(size=3) * 2000.0)
        bare = HeldSeam(one, sides, SHELF, HeldBy()).capacity(joint, load)
        for shear in (0.05, 5.0):
            held = HeldSeam(one, sides, SHELF, HeldBy.of(Fastening(glue_shear=shear)))
            glued = held.capacity(joint, load)
            assert glued.factor >= bare.factor * (1.0 - 1e-9)
            for stage in glued.stages:
                has_mode = any(mode.name == "adhesive" for mode in stage.modes)
                assert has_mode == ("adhesive" in stage.by)


def test_glue_is_in_the_words_where_it_counts():
    assert way_words("fastened") == "pins and screws"
    assert way_words("fastened", True, True) == "pins, screws and glue"
    assert way_words("fastened", False, True) == "glue"
    assert way_words("taped", True, True) == "tape besides"
    for joints, fastening, told in (
        ([pinned()], GLUED, (True, True)),
        ([pinned()], Fastening(), (True, False)),
        ([], GLUED, (False, True)),
    ):
        held = answered(joints, fastening).loads[0].planned
        assert (held.has_hardware, held.is_glued) == told
    assert not answered([pinned()]).loads[0].ways[0].is_glued


def test_what_to_do_for_a_glued_seam_that_does_not_hold():
    weak = answered((), Fastening(glue_shear=0.5))
    (finding,) = weak.findings
    assert "give it screws beside its glue" in finding.message
    assert finding.measured == pytest.approx(1.0 / math.hypot(STRESS / 0.1, SLIDES / 0.5))
