"""What a plan stands of its load cases: a plain bar by hand, and what is said of it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.findings import Severity
from splitplanner.loaded import Chains, Weakest, strength_answer, ways_words
from splitplanner.loaded.holding import HeldSeam, scaled
from splitplanner.loaded.telling import GENERIC, PINS_ALONE, TWIST
from splitplanner.plan import (
    Cut,
    Fall,
    Joint,
    Loading,
    PointLoad,
    SpreadLoad,
    WeightLoad,
    cantilever,
    over_two_supports,
)
from splitplanner.solid import Plane
from splitplanner.strength import GRAVITY, TAPE_STAYS, HeldBy, Side, plastic_of, seam_load
from splitplanner.workshop import generic_materials, hardware_shelf
from tests.loaded.bars import (
    ABOUT_Y,
    ALONG,
    DEPTH,
    LENGTH,
    LYING,
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
BENDING = FORCE * LENGTH / 4
"""In the middle of a bar over two supports, N·mm."""
MIDDLE = (square_cut(100.0),)
DOWN = over_two_supports(0.0, LENGTH, PointLoad(100.0, (0.0, 0.0, -FORCE)))
PRESSED = cantilever(0.0, PointLoad(LENGTH, (-FORCE, 0.0, 0.0)), name="pressed")


def answered(cuts=MIDDLE, joints=(), cases=(DOWN,), **options):
    loadings = [each if isinstance(each, Loading) else Loading(ALONG, each) for each in cases]
    plan = plan_of(cuts, joints, loadings, **options)
    return strength_answer(cut_bar(*cuts), plan, SHELF)


def ways(answer):
    return {way.way: way for way in answer.loads[0].ways}


def test_plain_bar_over_two_supports_by_hand():
    """``F L / 4`` over the section modulus: the uncut bar, the pieces, and the seam if whole."""
    answer = answered(joints=[screwed()])
    load = answer.loads[0]
    stress = BENDING / MODULUS
    assert load.uncut.factor == pytest.approx(50.0 / stress)
    assert load.uncut.station == pytest.approx(100.0)
    assert load.diagrams.largest_stress == pytest.approx(stress)
    seam = load.planned.seams[0]
    assert seam.stress == pytest.approx(stress)
    assert seam.station == pytest.approx(100.0)
    # Both pieces have their layers along the bar, so that they stand what the uncut bar stands.
    assert [piece.share for piece in load.planned.pieces] == pytest.approx([stress / 50.0] * 2)
    assert [piece.angle for piece in load.planned.pieces] == pytest.approx([0.0, 0.0])
    assert seam.ratio == pytest.approx(seam.weakest.factor / load.uncut.factor)
    assert seam.ratio < 1.0
    assert load.planned.weakest == seam.weakest
    assert load.stands
    assert answer.findings == ()


def test_tension_of_screws_by_hand():
    """Two screws 35 mm below the pressed edge, as steel in cracked concrete.

    Pressed over x with ``b x² / 2 = n A (d - x)``, arm ``d - x / 3``: the textbook section with
    reinforcement on one side.
    """
    answer = answered(joints=[screwed()])
    stage = answer.loads[0].planned.seams[0].capacity.stages[0]
    area = 2 * SHELF.thread("M4").stress_area * 210_000.0 / 2000.0
    high = DEPTH / 2 + 15.0
    pressed = (-area + math.sqrt(area**2 + 2 * WIDTH * area * high)) / WIDTH
    pull = BENDING / (high - pressed / 3)
    assert stage.tensions == pytest.approx([pull / 2, pull / 2], rel=1e-6)


def test_fewer_things_hold_less():
    taped = replace(screwed(), pins=pinned().pins, tape=TAPE)
    # Between two loads there is bending and nothing that slides the seam.
    loads = (PointLoad(x, (0.0, 0.0, -FORCE)) for x in (50.0, 150.0))
    answer = answered(joints=[taped], cases=[over_two_supports(0.0, LENGTH, *loads)])
    found = ways(answer)
    assert list(found) == ["open", "fastened", "taped"]
    assert found["open"].weakest.factor == 0.0
    assert found["open"].seams[0].capacity is None
    assert found["open"].weakest.mode == "open"
    assert found["fastened"].seams[0].weakest.factor > 0.0
    assert found["taped"].seams[0].weakest.factor > found["fastened"].seams[0].weakest.factor
    assert TAPE_STAYS in answer.statements
    # Stages tell of every screw and pin, those too that are let go.
    for stage in found["taped"].seams[0].capacity.stages:
        assert stage.tensions.shape == (2,)
        assert stage.pin_shears.shape == (2, 2)


def test_tape_alone_takes_what_opens_and_screws_what_slides():
    """The best stage with tape: fibres in tension over the same pressed section."""
    answer = answered(joints=[replace(screwed(), tape=TAPE)])
    stages = answer.loads[0].planned.seams[0].capacity.stages
    stage = next(
        each for each in stages if each.by == ("screws", "tape") and not each.tensions.any()
    )
    # 100 N are held up by 50 N on each side of the seam: 25 N on each screw.
    assert np.linalg.norm(stage.screw_shears, axis=1) == pytest.approx([25.0, 25.0])
    fibre = next(mode for mode in stage.modes if mode.name == "tape")
    # Tape on all outlines: its pull has the bending moment about the pressed edge at the least.
    thick = 2 * 163.0 / 2.54 * 1e-3 / 2
    most = fibre.measured * thick * TAPE.length * DEPTH
    assert most > BENDING
    assert {"screw.bearing", "piece.below"} <= {mode.name for mode in stage.modes}


def test_pins_alone_hold_no_bending():
    answer = answered(joints=[pinned()])
    seam = ways(answer)["fastened"].seams[0]
    assert seam.weakest.factor == 0.0
    assert PINS_ALONE in answer.statements
    (finding,) = answer.findings
    assert finding.kind == "strength.seam"
    assert finding.severity is Severity.WARNING
    assert finding.subject == "S1"
    assert (finding.measured, finding.allowed) == (0.0, 1.0)
    assert finding.where == pytest.approx(np.array([[100.0, 0.0, 0.0]]))
    assert "pins alone hold no seam closed" in finding.message


def test_faces_that_are_pressed_need_nothing():
    """100 N on 1200 mm² of 50 MPa."""
    answer = answered(cases=[PRESSED])
    seam = ways(answer)["open"].seams[0]
    assert seam.capacity is None
    assert seam.weakest.factor == pytest.approx(50.0 * WIDTH * DEPTH / FORCE)
    assert answer.loads[0].stands


def test_a_wall_that_gives_way_beside_a_seam_is_told_by_the_number_of_its_piece():
    # The second cut divides what the first left above: 1, 2.1 and 2.2 in this order.
    cuts = (square_cut(60.0), Cut(square_cut(150.0).plane, "2"))
    answer = answered(cuts, cases=[PRESSED], ups=dict.fromkeys(("1", "2.1", "2.2"), LYING["1"]))
    way = ways(answer)["open"]
    assert way.seams[1].weakest.note == "the wall of piece 2 beside it, by its layers"
    # By what a program knows them they stay names.
    assert [each.piece for each in way.pieces] == ["1", "2.1", "2.2"]


def test_a_seam_beside_the_load_is_not_loaded():
    case = over_two_supports(0.0, 120.0, PointLoad(60.0, (0.0, 0.0, -FORCE)))
    answer = answered(cuts=[square_cut(150.0)], cases=[case])
    seam = ways(answer)["open"].seams[0]
    assert seam.weakest.mode == "unloaded"
    assert math.isinf(seam.weakest.factor)
    assert seam.ratio == 1.0


def test_layers_across_are_weaker():
    """One piece stands upright: 30 MPa instead of 50 across its layers, where they are pulled."""
    answer = answered(joints=[screwed()], ups={**LYING, "2": ALONG})
    lying, upright = answer.loads[0].planned.pieces
    stress = BENDING / MODULUS
    assert lying.share == pytest.approx(stress / 50.0)
    assert upright.share == pytest.approx(stress / 30.0)
    assert (lying.angle, upright.angle) == pytest.approx((0.0, 90.0))
    assert upright.station == pytest.approx(100.0)


def test_layers_that_fail_are_told():
    heavy = over_two_supports(0.0, LENGTH, PointLoad(100.0, (0.0, 0.0, -6000.0)))
    answer = answered(joints=[screwed()], cases=[heavy], ups={**LYING, "2": ALONG})
    found = {finding.kind: finding for finding in answer.findings}
    assert set(found) == {"strength.seam", "strength.layers"}
    assert found["strength.layers"].subject == "2"
    assert found["strength.layers"].measured == pytest.approx(30.0 / (60.0 * BENDING / MODULUS))
    assert "print it with its layers along the axis" in found["strength.layers"].message
    assert not answer.loads[0].stands


def test_a_seam_is_sent_to_where_the_part_is_bent_less():
    """To where it is bent 0.9 times as much as it holds: ``1 - (2 x / L)²`` from the middle."""

    def spread(force):
        return over_two_supports(0.0, LENGTH, SpreadLoad(0.0, LENGTH, (0.0, 0.0, -force)))

    mild = answered(joints=[screwed()], cases=[spread(1.0)])
    held = mild.loads[0].planned.seams[0].weakest.factor
    answer = answered(joints=[screwed()], cases=[spread(2.0 * held)])
    finding = next(each for each in answer.findings if each.kind == "strength.seam")
    assert finding.measured == pytest.approx(0.5, rel=1e-3)
    wanted = 0.9 * finding.measured
    away = LENGTH / 2 * math.sqrt(1.0 - wanted)
    assert "bent less" in finding.message
    said = float(finding.message.split(", as at ")[1].split(" mm")[0])
    assert abs(said - 100.0) == pytest.approx(away, abs=2.0)


def test_a_seam_that_a_constant_torque_slides_is_sent_nowhere():
    """The torque of a bar twisted at its end is the same all along it (statics)."""
    twist = cantilever(0.0, PointLoad(LENGTH, moment=(2e6, 0.0, 0.0)), name="twist")
    answer = answered(joints=[pinned()], cases=[twist])
    finding = next(each for each in answer.findings if each.kind == "strength.seam")
    assert "take more or thicker pins" in finding.message
    assert "move it" not in finding.message


def test_energy_of_a_fall():
    """``n = 1 + √(1 + 2 h / δ)`` with ``δ = W L³ / (48 E I)`` (Roark)."""
    answer = answered(joints=[screwed()], cases=[Loading(ALONG, DOWN, Fall(50.0, mass=300.0))])
    load = answer.loads[0]
    weight = 0.3 * GRAVITY
    sag = weight * LENGTH**3 / (48 * 2000.0 * ABOUT_Y)
    times = 1.0 + math.sqrt(1.0 + 2.0 * 50.0 / sag)
    assert load.impact.factor == pytest.approx(times, rel=1e-4)
    assert load.diagrams.largest_stress == pytest.approx(
        times * weight * LENGTH / 4 / MODULUS, rel=1e-4
    )
    # All that is told is of the whole load of the fall.
    assert load.planned.seams[0].stress == pytest.approx(load.diagrams.largest_stress)


def test_a_part_that_falls_itself():
    """Its own mass, stopped within 10 mm of 750: 2 (750 + 10) / 10 = 152 times its weight."""
    case = over_two_supports(0.0, LENGTH, WeightLoad((0.0, 0.0, -1.0)))
    load = answered(cases=[Loading(ALONG, case, Fall(750.0, 10.0))]).loads[0]
    mass = LENGTH * WIDTH * DEPTH * 1.2e-3
    assert load.impact.drop.mass == pytest.approx(mass, rel=5e-3)
    assert load.impact.factor == pytest.approx(152.0)
    total = 152.0 * load.impact.drop.weight
    assert np.linalg.norm(load.diagrams.moment, axis=1).max() == pytest.approx(
        total * LENGTH / 8, rel=1e-3
    )


def test_material_of_which_nothing_is_known():
    answer = answered(material=None)
    first = generic_materials()[0]
    assert answer.is_generic
    assert answer.material == first.name
    assert GENERIC.format(name=first.name) in answer.statements
    assert answer.loads[0].uncut.factor == pytest.approx(first.strength_xy / BENDING * MODULUS)
    assert not answered().is_generic


def test_load_cases_that_cannot_be_are_told_and_no_other_lost():
    beside = cantilever(0.0, PointLoad(LENGTH + 50.0, (0.0, 0.0, 1.0)), name="beside")
    answer = answered(cases=[beside, DOWN])
    assert [load.loading.name for load in answer.loads] == ["bending"]
    notes = [each for each in answer.findings if each.kind == "strength.load"]
    assert [(note.severity, note.subject) for note in notes] == [(Severity.NOTE, "beside")]


def test_a_load_case_that_loads_nothing_is_told_instead_of_figures():
    found = answered(cases=(over_two_supports(0.0, LENGTH),))
    (finding,) = found.findings
    assert (finding.kind, finding.severity) == ("strength.unloaded", Severity.WARNING)
    assert "nothing acts on it but where it is held; add a force" in finding.message


def test_hardware_that_is_missing_is_told():
    joint = screwed()
    strange = tuple(replace(each, size="M99") for each in joint.screws)
    answer = answered(joints=[replace(joint, screws=strange)])
    assert answer.loads == ()
    assert [each.kind for each in answer.findings] == ["strength.load"]
    assert answer.statements == ()


def test_nothing_to_stand():
    answer = answered(cases=[])
    assert answer.loads == answer.findings == answer.statements == ()
    assert answer.seam_ratios == {}


def test_ratios_are_the_least_of_all_cases():
    half = over_two_supports(0.0, LENGTH, PointLoad(50.0, (0.0, 0.0, -FORCE)), name="aside")
    answer = answered(joints=[screwed()], cases=[DOWN, half])
    each = [load.planned.seams[0].ratio for load in answer.loads]
    assert answer.seam_ratios == {"S1": min(each)}
    assert each[0] != each[1]


def test_a_twist_takes_the_sections_twist_into_account():
    torque = cantilever(0.0, PointLoad(LENGTH, moment=(2000.0, 0.0, 0.0)), name="twist")
    division, plan = cut_bar(*MIDDLE), plan_of(MIDDLE, [pinned()], [Loading(ALONG, torque)])
    answer = strength_answer(division, plan, SHELF)
    # 2000 N·mm on two pins 16 mm from each other.
    stage = answer.loads[0].planned.seams[0].capacity.stages[0]
    assert np.linalg.norm(stage.pin_shears, axis=1) == pytest.approx([125.0, 125.0], rel=1e-3)
    assert TWIST not in answer.statements
    assert TWIST in answered().statements


def test_sections_are_remembered():
    division = cut_bar(*MIDDLE)
    known = Chains()
    plan = plan_of(MIDDLE, (), [Loading(ALONG, DOWN)])
    first = strength_answer(division, plan, SHELF, remembered=known)
    again = strength_answer(division, plan, SHELF, remembered=known)
    assert again.loads[0].diagrams.chain is first.loads[0].diagrams.chain
    for step in range(10):
        known.of(division.part, (0.0, math.sin(step), math.cos(step)))
    assert known.of(division.part, ALONG) is not first.loads[0].diagrams.chain


def test_lengthwise_seam_by_shear_flow_on_pins():
    """``V Q / I`` all along, 375 N on two pins across it."""
    cut = (Cut(Plane((0.0, 0.0, 1.0), 0.0)),)
    pins = tuple(
        replace(each, at=(x, 0.0, 0.0), axis=(0.0, 0.0, 1.0))
        for each, x in zip(pinned().pins, (50.0, 150.0), strict=True)
    )
    answer = answered(cuts=cut, joints=[Joint("S1", pins=pins)])
    stage = answer.loads[0].planned.seams[0].capacity.stages[0]
    flow = 50.0 * (WIDTH * DEPTH / 2 * DEPTH / 4) / ABOUT_Y
    assert np.linalg.norm(stage.pin_shears, axis=1) == pytest.approx([flow * LENGTH / 2] * 2)
    assert PLASTIC.name == answer.material


def test_what_a_seam_holds_grows_with_its_load():
    """The same as worked out anew for 0.3 of the load; a seam opens at the same place."""
    joint = replace(screwed(), pins=pinned().pins, tape=TAPE)
    (seam,) = cut_bar(*MIDDLE).seams
    side = Side(plastic_of(PLASTIC), (0.0, 0.0, 1.0))
    held = HeldSeam(seam, (side, side), SHELF, HeldBy())
    load = seam_load(seam, (30.0, 0.0, -50.0), (0.0, 5000.0, 100.0))
    whole = held.capacity(joint, load)
    anew, found = held.capacity(joint, load.scaled(0.3)), scaled(whole, 0.3)
    assert found.factor == pytest.approx(whole.factor / 0.3)
    for one, other in zip(anew.stages, found.stages, strict=True):
        assert one.by == other.by
        assert one.tensions == pytest.approx(other.tensions, rel=1e-6, abs=1e-6)
        factors = [{mode.name: mode.factor for mode in stage.modes} for stage in (one, other)]
        assert factors[0] == pytest.approx(factors[1], rel=1e-6)


def test_best_of_what_is_left_of_a_joint_counts():
    """Pins take all that slides the seam, 400 N each; without them four screws take it."""
    joint = Joint("S1", pins=pinned().pins, screws=(*screwed().screws, *raised().screws))
    (seam,) = cut_bar(*MIDDLE).seams
    side = Side(plastic_of(PLASTIC), (0.0, 0.0, 1.0))
    held = HeldSeam(seam, (side, side), SHELF, HeldBy())
    load = seam_load(seam, (0.0, 100.0, 0.0), (0.0, 0.0, 0.0))
    pinned_stage, screwed_stage = held.capacity(joint, load).stages
    assert np.linalg.norm(pinned_stage.pin_shears, axis=1) == pytest.approx([50.0, 50.0])
    assert not pinned_stage.screw_shears.any()
    assert not screwed_stage.pin_shears.any()
    assert np.linalg.norm(screwed_stage.screw_shears, axis=1) == pytest.approx([25.0] * 4)
    factors = pinned_stage.factor, screwed_stage.factor
    assert held.capacity(joint, load).factor == max(factors)


def test_a_piece_that_gives_way_is_told_by_its_number_where_that_is_known():
    answer = answered(joints=[screwed()], cases=[DOWN]).loads[0]
    planned = replace(
        answer.planned, weakest=Weakest("piece", "2", "layers", 3.0, 50.0, "its layers")
    )
    load = replace(answer, ways=(*answer.ways[:-1], planned))
    assert ways_words(load, {"1": 4, "2": 5}).endswith("first gives way piece 5: its layers.")
    assert ways_words(load, {}).endswith("first gives way piece 2: its layers.")
    # A seam may be called as a piece is.
    seam = replace(planned, weakest=replace(planned.weakest, kind="seam"))
    told = ways_words(replace(load, ways=(seam,)), {"2": 5})
    assert told.endswith("first gives way seam 2: its layers.")
