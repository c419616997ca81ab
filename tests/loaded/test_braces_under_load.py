"""What braces take: composite sections by hand, bolts by hand, and the balance of ties."""

from types import SimpleNamespace

import numpy as np
import pytest

from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.joint.brace.building import brace_of
from splitplanner.joint.brace.planned import brace_screw
from splitplanner.loaded import strength_answer
from splitplanner.loaded.brace_bolts import bolt_forces
from splitplanner.loaded.brace_loads import braced_load, braces_along
from splitplanner.loaded.seam_loads import seam_bands, seam_load_of
from splitplanner.loaded.ties import TIE, tied, ties_of
from splitplanner.loaded.ways import Ground
from splitplanner.plan import BraceWish, Loading, PointLoad, over_two_supports
from splitplanner.solid import Solid
from splitplanner.strength import diagrams, section_chain
from splitplanner.workshop import hardware_shelf
from tests.loaded.bars import (
    ABOUT_Y,
    ALONG,
    DEPTH,
    LENGTH,
    MODULUS,
    PLASTIC,
    PRINTER,
    WIDTH,
    bar,
    cut_bar,
    pinned,
    plan_of,
    screwed,
    square_cut,
)

SHELF = hardware_shelf()
FORCE = 100.0
# Between the loads there is a moment of 50 x 100 N·mm and no shear force.
PURE = over_two_supports(
    0.0, LENGTH, *(PointLoad(x, (0.0, 0.0, -FORCE)) for x in (50.0, 150.0)), name="pure"
)
MOMENT = FORCE * 50.0
STRIP, STOCK = 20.0, 4.0
STATIONS = (62.0, 92.0, 108.0, 138.0)


def sheet():
    return SHELF.sheet_metal("aluminium")


def bolt(piece, station):
    return BraceBolt(
        piece=piece, at=(station, 0.0, DEPTH / 2 + 10.0), axis=(0.0, 1.0, 0.0), station=station,
        standard="ISO 4762", size="M4", length=16.0, hold="nut", brace_hole=4.5, hole=4.5,
        depth=8.0,
    )  # fmt: skip


def strip(bolts=None, **changes):
    """Return an aluminium strip on edge on the bar, with two bolts on each of its two pieces."""
    wish = BraceWish(
        along=ALONG, towards=(0.0, 0.0, 1.0), offset=0.0, low=55.0, high=145.0, depth=STRIP,
        stock=STOCK, **changes,
    )  # fmt: skip
    if bolts is None:
        bolts = [bolt("1", x) for x in STATIONS[:2]] + [bolt("2", x) for x in STATIONS[2:]]
    return SimpleNamespace(
        profile=SimpleNamespace(wish=wish),
        solid=Solid.box((90.0, STOCK, STRIP), (55.0, -STOCK / 2, DEPTH / 2)),
        bosses=SimpleNamespace(bolts=tuple(bolts), size=SimpleNamespace(radius=6.0)),
    )


def loaded(braces, case=PURE, count=60):
    chain = section_chain(bar(), ALONG, count)
    found = diagrams(chain, case, PLASTIC.stiffness_xy, twist=False)
    along = braces_along(chain, braces, SHELF, PLASTIC)
    moduli = np.full(len(chain.positions), PLASTIC.stiffness_xy)
    return braced_load(found, along, moduli)


OWN = STOCK * STRIP**3 / 12
AREA = STOCK * STRIP


def bounds():
    """Return the shares of the strip in the bending, by hand: free slip, and none."""
    ours, theirs = 2000.0, sheet().stiffness
    loose = theirs * OWN / (theirs * OWN + ours * ABOUT_Y)
    high = DEPTH / 2 + STRIP / 2
    whole = ours * WIDTH * DEPTH + theirs * AREA
    middle = theirs * AREA * high / whole
    stiff = ours * (ABOUT_Y + WIDTH * DEPTH * middle**2)
    strips = theirs * (OWN + AREA * (high - middle) ** 2)
    return loose, strips / (stiff + strips), middle, stiff + strips


def test_shares_of_a_strip_on_a_bar_by_hand():
    """Sum of stiffnesses, and the transformed section (Gere and Goodno, composite beams)."""
    load = loaded([strip()])
    row = int(np.abs(load.found.positions - 100.0).argmin())
    loose, tight, middle, stiff = bounds()
    assert load.loose.shares[row, 0] == pytest.approx(loose, rel=1e-6)
    assert load.tight.shares[row, 0] == pytest.approx(tight, rel=1e-6)
    far = DEPTH / 2 + STRIP - middle
    assert load.tight.stress[row, 0] == pytest.approx(sheet().stiffness * MOMENT / stiff * far)
    assert load.relief[row] == pytest.approx(min(loose, tight))
    # What is left bends the bar by so much less.
    assert load.left.largest_stress == pytest.approx(MOMENT / MODULUS)
    left = np.abs(load.left.normal_stress[row]).max()
    assert left == pytest.approx((1.0 - min(loose, tight)) * MOMENT / MODULUS)


def test_a_strip_takes_its_share_between_its_bolts():
    load = loaded([strip()])
    loose = bounds()[0]
    at, share = load.found.positions, load.loose.shares[:, 0]
    assert not share[(at < STATIONS[0]) | (at > STATIONS[3])].any()
    grown = [np.interp(x, load.found.chain.positions, load.braces[0].ramp) for x in (77.0, 123.0)]
    assert grown == pytest.approx([0.5, 0.5], abs=0.01)
    inside = (at > STATIONS[1] + 2.0) & (at < STATIONS[2] - 2.0)
    assert share[inside] == pytest.approx(loose)


def test_bolts_of_a_strip_by_hand():
    """A couple of two bolts 30 mm apart, and half of the pull on each where nothing slips."""
    force = bolt_forces(loaded([strip()]), 0)
    loose, _, middle, stiff = bounds()
    modulus, high = sheet().stiffness, DEPTH / 2 + STRIP / 2
    curve = MOMENT / stiff
    pull = modulus * AREA * (high - middle) * curve
    tight = np.hypot(modulus * OWN * curve / 30.0, pull / 2)
    assert force == pytest.approx([max(tight, loose * MOMENT / 30.0)] * 4, rel=1e-6)


def test_strips_that_take_nothing():
    across = strip(bolts=[bolt("1", x) for x in STATIONS[:2]])
    single = strip(bolts=[bolt("1", 92.0), *(bolt("2", x) for x in STATIONS[2:])])
    load = loaded([across, single])
    assert not load.relief.any()
    answer = answered([across], [screwed()])
    (brace,) = answer.loads[0].planned.braces
    assert brace.weakest.mode == "idle"
    assert brace.shares == (0.0, 0.0)
    assert np.isinf(brace.weakest.factor)
    (told,) = (each for each in answer.findings if each.kind == "strength.unbraced")
    assert told.subject == "S1"
    assert "take nothing off seam S1" in told.message


def test_stress_moves_from_the_seam_into_the_strip():
    answer = answered([strip()], [screwed()])
    found = {way.way: way for way in answer.loads[0].ways}
    assert list(found) == ["open", "fastened", "braced"]
    loose, tight, *_ = bounds()
    (brace,) = found["braced"].braces
    assert brace.shares == pytest.approx(sorted((loose, tight)), rel=1e-6)
    before, after = found["fastened"].seams[0], found["braced"].seams[0]
    assert after.weakest.factor > before.weakest.factor
    assert after.relieved > 0.0
    assert "strength.unbraced" not in [each.kind for each in answer.findings]
    # Of what crosses the seam the strip takes one of its two shares, whichever slips or not.
    assert (after.relieved, after.relieved_most) == pytest.approx(sorted((loose, tight)), rel=1e-6)
    assert after.stress == pytest.approx(before.stress * (1 - min(loose, tight)), rel=1e-6)
    assert after.stress_least == pytest.approx(before.stress * (1 - max(loose, tight)), rel=1e-6)
    assert (before.relieved_most, before.stress_least) == (0.0, None)
    share = [way.pieces[0].share for way in (found["fastened"], found["braced"])]
    # Beside the strip the pieces take all, so that they fail there as before.
    assert share == pytest.approx([MOMENT / MODULUS / 50.0] * 2)
    assert brace.proof == sheet().proof_stress
    assert brace.bolt > 0.0
    assert brace.bolt_holds > 0.0


def test_a_part_holds_no_less_with_a_strip_that_lets_go():
    """Bolts 1 mm from each other are torn out long before the screws of the seam."""
    bolts = [bolt("1", x) for x in (91.0, 92.0)] + [bolt("2", x) for x in (108.0, 109.0)]
    up = over_two_supports(
        0.0, LENGTH, *(PointLoad(x, (0.0, 0.0, -20 * FORCE)) for x in (50.0, 150.0)), name="much"
    )
    answer = answered([strip(bolts)], [screwed()], up)
    found = {way.way: way for way in answer.loads[0].ways}
    (brace,) = found["braced"].braces
    assert brace.weakest.mode == "bolt.tear_out"
    assert brace.weakest.factor < found["fastened"].weakest.factor
    assert found["braced"].weakest == found["fastened"].weakest
    told = [each for each in answer.findings if each.kind == "strength.brace"]
    assert [each.measured for each in told] == [brace.weakest.factor]
    assert "further apart" in told[0].message


def answered(braces, joints, case=PURE):
    cuts = [square_cut(100.0)]
    plan = plan_of(cuts, joints, [Loading(ALONG, case)])
    return strength_answer(cut_bar(*cuts), plan, SHELF, braces=braces)


def ground():
    cuts = [square_cut(100.0)]
    return Ground(cut_bar(*cuts), plan_of(cuts, [pinned()]), SHELF, PLASTIC, {})


def test_ties_balance_what_they_take():
    """Load on the seam is what is left of it and the pull of the strip on the upper piece."""
    load, base = loaded([strip()]), ground()
    (seam,) = base.division.seams
    (tie,) = ties_of(seam, load.braces, base)
    assert tie.place == pytest.approx([100.0, 0.0, DEPTH / 2 + 10.0])
    assert tie.way == pytest.approx(ALONG)
    (bands,) = seam_bands(base.division.part, [seam], load.found.chain)
    whole = seam_load_of(bands, load.found)
    left = tied(whole, seam, [tie], 0.25)
    frame = seam.plane.frame
    gone = frame.T @ (whole.force - left.force)
    assert gone == pytest.approx([0.25 * tie.holds, 0.0, 0.0], abs=1e-9)
    turned = frame.T @ (whole.moment - left.moment)
    expected = np.cross([0.0, 0.0, DEPTH / 2 + 10.0], gone)
    assert turned == pytest.approx(expected, abs=1e-7)


def test_a_strip_ties_a_seam_that_pins_cannot_hold():
    """Loads that open the seam at the strip: its pull times the arm to the pressed edge at most."""
    up = over_two_supports(
        0.0, LENGTH, *(PointLoad(x, (0.0, 0.0, FORCE)) for x in (50.0, 150.0)), name="up"
    )
    answer = answered([strip()], [pinned()], up)
    found = {way.way: way for way in answer.loads[0].ways}
    assert found["fastened"].seams[0].weakest.factor == 0.0
    seam = found["braced"].seams[0]
    (tie,) = ties_of(ground().division.seams[0], loaded([strip()]).braces, ground())
    arm = DEPTH / 2 + 10.0 + DEPTH / 2
    most = tie.holds * arm / MOMENT
    # Less by how deep the face has to press: b x p with p up to 50 MPa, in the elastic law x / 3.
    assert 0.8 * most < seam.weakest.factor < most
    assert TIE in {mode.name for mode in seam.capacity.best.modes}
    (brace,) = found["braced"].braces
    # What the seam holds is what its bolts hold.
    assert brace.weakest.factor <= seam.weakest.factor * 1.1
    assert brace.bolt >= MOMENT / arm / 2


def test_a_real_brace_over_a_seam():
    wish = strip().profile.wish
    cuts = [square_cut(100.0)]
    plan = plan_of(cuts, [screwed()], [Loading(ALONG, PURE)])
    division = cut_bar(*cuts)
    brace = brace_of(division, wish, brace_screw(wish, SHELF, PRINTER), SHELF)
    answer = strength_answer(division, plan, SHELF, braces=[brace])
    (under,) = answer.loads[0].planned.braces
    assert under.brace == wish.name
    # The strip of above but for a clearance of 0.2 mm, and at a hole, where stress is largest.
    assert under.shares[0] == pytest.approx(min(bounds()[:2]), rel=0.15)
    assert answer.loads[0].planned.way == "braced"


def test_a_metal_that_is_not_on_the_shelf_is_told():
    answer = answered([strip(metal="unobtainium")], [screwed()])
    assert answer.loads == ()
    assert "unobtainium" in answer.findings[0].message


def test_a_printed_strip_is_of_the_material():
    load = loaded([strip(is_printed=True)])
    row = int(np.abs(load.found.positions - 100.0).argmin())
    assert load.loose.shares[row, 0] == pytest.approx(OWN / (OWN + ABOUT_Y))
