"""Tilting cuts: where an odd angle is worth it, by how much, and that symmetric plans stay so."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.plan import Cut
from splitplanner.progress import silent
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.mirroring import Mirror, is_mirrored
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations
from splitplanner.suggest.tilting import Tilter, hinge_of, seams_of, worth
from tests.suggest.shapes import BED, searched, survey_of

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
WIDTH, THICK, LAND, LIP = 200.0, 20.0, 20.0, 12.0
SLOT = 10.0
ANGLE = 12.0


def slotted(half, *slots):
    """A bar along x with a lip along one edge, slotted from both sides.

    Each slot, (place, angle), leaves a land of 20 mm in the middle and runs at an angle to y. The
    lip is left whole.
    """
    bar = Solid.box((2 * half, WIDTH, THICK), (-half, -WIDTH / 2, 0))
    cutters = []
    for place, angle in slots:
        turn = math.radians(angle)
        matrix = np.eye(4)
        matrix[:2, :2] = [[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]]
        matrix[0, 3] = place
        for start in (LAND / 2, -LAND / 2 - WIDTH):
            box = Solid.box((SLOT, WIDTH, THICK + 2), (-SLOT / 2, start, -1))
            cutters.append(box.transformed(matrix))
    lip = Solid.box((2 * half, LIP, 30), (-half, WIDTH / 2 - LIP, THICK - 1))
    return bar.difference(*cutters).union(lip)


def section_at(angle):
    """Area of a section through both halves of a slot: the land, and the lip, 30 mm high.

    The land's ends are square to the slot, the lip's faces lie along x.
    """
    land = LAND * THICK / math.cos(math.radians(abs(angle) - ANGLE))
    return land + LIP * 30 / math.cos(math.radians(angle))


def improver_of(part, fixed=0):
    return Improver(Grower(survey_of(part), Stations(part, BED), Pool(), 1), fixed)


def estimate(improver, *cuts):
    survey = improver.grower.survey
    return survey.estimate(survey.sketch(cuts))


def slopes(plane):
    """Angles at which a plane leans from across x: towards y, and towards z."""
    a, b, c = plane.normal
    return math.degrees(math.atan2(b, a)), math.degrees(math.atan2(c, a))


@pytest.fixture(scope="module")
def bar():
    return slotted(215, (25.0, ANGLE))


# -- where it pays --------------------------------------------------------------------------------
def test_the_search_finds_the_slot_that_no_square_cut_passes(bar):
    # A square cut passes one half of the slot at most: it goes through 90 mm of the bar besides.
    # Axes, principal axes and flats of the part do not lie along the slot.
    assert all(
        abs(abs(slopes(Plane(tuple(n), 0.0))[0]) - ANGLE) > 3 for n in survey_of(bar).directions
    )
    best = searched(bar).all[0]
    (cut,) = best.sketch.cuts
    along, up = slopes(cut.plane)
    assert abs(along) == pytest.approx(round(abs(along)), abs=1e-9)
    # Any plane within atan(10 / 200) of the slot's own passes both halves.
    assert abs(abs(along) - ANGLE) < math.degrees(math.atan(SLOT / WIDTH))
    assert up == pytest.approx(0, abs=1e-9)
    (seam,) = best.numbers.seams
    assert seam.figures.area == pytest.approx(section_at(along), rel=1e-6)
    assert (2 * cut.plane.offset) % 1 == 0


def test_a_tilt_that_is_not_worth_it_is_left_alone():
    # Square across a box nothing is shorter.
    part = Solid.box((400, 100, 40))
    improver = improver_of(part)
    start = estimate(improver, Cut(Plane(X, 200.0)))
    assert Tilter(improver, []).tilted(start, silent) is start


def test_what_is_taken_is_worth_an_odd_plane(bar):
    improver = improver_of(bar)
    start = improver.slid(estimate(improver, Cut(Plane(X, 42.5))), silent)
    after = Tilter(improver, []).tilted(start, silent)
    assert after.score <= start.score - worth(start)
    assert after.done
    assert after.sketch.blocks.keys() == start.sketch.blocks.keys()
    # The stored numbers are those of the plan.
    assert estimate(improver, *after.sketch.cuts).score == after.score


def test_nothing_but_what_is_worth_it_goes_into_the_pool(bar):
    improver = improver_of(bar)
    pool = improver.grower.pool
    plain = improver_of(Solid.box((400, 100, 40)))
    for one, cut, grown in ((improver, 42.5, 2), (plain, 200.0, 1)):
        one.grower.pool.add(estimate(one, Cut(Plane(X, cut))))
        Tilter(one, []).run(silent)
        assert len(one.grower.pool.all) == grown
    assert pool.all[0].score < pool.all[1].score


def test_the_same_every_time(bar):
    found = []
    for _ in range(2):
        improver = improver_of(bar)
        start = estimate(improver, Cut(Plane(X, 42.5)))
        found.append(Tilter(improver, []).tilted(start, silent).sketch.cuts)
    assert found[0] == found[1]


def test_cuts_that_must_be_stay(bar):
    improver = improver_of(bar, fixed=1)
    start = estimate(improver, Cut(Plane(X, 42.5)))
    assert Tilter(improver, []).tilted(start, silent) is start


def test_without_trials_nothing_is_judged(bar):
    improver = improver_of(bar)
    start = estimate(improver, Cut(Plane(X, 42.5)))
    assert Tilter(improver, [], trials=0).tilted(start, silent) is start


def test_later_cuts_go_on_dividing_what_they_did(bar):
    improver = improver_of(bar)
    start = estimate(improver, Cut(Plane(X, 42.5)), Cut(Plane(X, -100.0), "1"))
    after = Tilter(improver, []).tilted(start, silent)
    assert set(after.sketch.blocks) == {"1.1", "1.2", "2"}
    assert after.score < start.score
    assert after.sketch.cuts[0].plane.normal != X
    assert [cut.piece for cut in after.sketch.cuts] == [None, "1"]


# -- symmetric plans ------------------------------------------------------------------------------
def test_mirror_images_are_tilted_together():
    part = slotted(265, (-75.0, ANGLE), (75.0, -ANGLE))
    improver, mirror = improver_of(part), Mirror(X, 0.0)
    start = estimate(improver, Cut(Plane(X, -57.5)), Cut(Plane(X, 57.5), "2"))
    assert is_mirrored(start.sketch, mirror)
    after = Tilter(improver, [mirror]).tilted(start, silent)
    assert after.score <= start.score - worth(start)
    assert is_mirrored(after.sketch, mirror)
    left, right = (slopes(cut.plane) for cut in after.sketch.cuts)
    assert left[0] == pytest.approx(-right[0], abs=1e-9)
    assert abs(abs(left[0]) - ANGLE) < 3
    for seam in after.numbers.seams:
        assert seam.figures.area == pytest.approx(section_at(left[0]), rel=1e-6)


def box_plan(*cuts):
    improver = improver_of(Solid.box((400, 300, 40), (-200, -150, -20)))
    return estimate(improver, *cuts)


def free_slopes(hinge):
    """Directions in which a hinge is free to slope."""
    return [axis for axis, free in zip(hinge.axes, hinge.free, strict=True) if free]


def test_a_cut_across_the_plane_of_symmetry_slopes_along_it_only():
    hinge = hinge_of(box_plan(Cut(Plane(X, 30.0))), 0, [Mirror(Y, 0.0)])
    (axis,) = free_slopes(hinge)
    assert abs(axis @ np.array(Z)) == pytest.approx(1)
    both = hinge_of(box_plan(Cut(Plane(X, 30.0))), 0, [Mirror(Y, 0.0), Mirror(Z, 0.0)])
    assert free_slopes(both) == []
    assert len(free_slopes(hinge_of(box_plan(Cut(Plane(X, 30.0))), 0, []))) == 2


def test_a_cut_in_the_plane_of_symmetry_is_not_tilted():
    assert free_slopes(hinge_of(box_plan(Cut(Plane(X, 0.0))), 0, [Mirror(X, 0.0)])) == []
    # Nor is one of two that lie in it, beside each other.
    halves = box_plan(Cut(Plane(Y, 0.0)), Cut(Plane(X, 0.0), "1"), Cut(Plane(X, 0.0), "2"))
    hinge = hinge_of(halves, 1, [Mirror(X, 0.0), Mirror(Y, 0.0)])
    assert free_slopes(hinge) == []
    assert set(hinge.ways) == {1, 2}


def test_cuts_in_one_plane_on_both_sides_of_the_middle_are_each_others_image():
    plan = box_plan(Cut(Plane(Y, 0.0)), Cut(Plane(X, 30.0), "1"), Cut(Plane(X, 30.0), "2"))
    hinge = hinge_of(plan, 1, [Mirror(Y, 0.0)])
    assert set(hinge.ways) == {1, 2}
    assert len(free_slopes(hinge)) == 2
    np.testing.assert_allclose(hinge.pivots[1], (30, -75, 0), atol=1e-9)
    cuts = hinge.turned(plan.sketch.cuts, (5, 0, 0.0))
    along = [slopes(cut.plane)[0] for cut in cuts]
    assert along[1] == pytest.approx(-along[2])
    assert abs(along[1]) == pytest.approx(5)
    # About the middles of their sections: to a half millimetre they stay where they are.
    for at in (1, 2):
        assert abs(cuts[at].plane.height(hinge.pivots[at][None])[0]) <= 0.25
    assert is_mirrored(improver_sketch(cuts), Mirror(Y, 0.0))


def improver_sketch(cuts):
    return improver_of(Solid.box((400, 300, 40), (-200, -150, -20))).grower.survey.sketch(cuts)


@pytest.mark.parametrize("other", [Plane(X, -60.0), Plane(X, -60.0).flipped()])
def test_images_lie_where_they_should_whichever_way_they_point(other):
    plan = box_plan(Cut(Plane(X, 60.0)), Cut(other, "1"))
    hinge = hinge_of(plan, 0, [Mirror(X, 0.0)])
    cuts = hinge.turned(plan.sketch.cuts, (0, 6, 3.0))
    image = Mirror(X, 0.0).image(cuts[0].plane.normal, cuts[0].plane.offset)
    side = np.sign(np.dot(image[0], other.normal))
    np.testing.assert_allclose(cuts[1].plane.normal, side * np.array(image[0]), atol=1e-12)
    assert cuts[1].plane.offset == pytest.approx(side * image[1])
    assert np.dot(cuts[1].plane.normal, other.normal) > 0.9


def test_a_cut_without_its_image_is_left_alone():
    assert hinge_of(box_plan(Cut(Plane(X, 30.0))), 0, [Mirror(X, 0.0)]) is None


# -- which seams belong to a cut ------------------------------------------------------------------
def test_seams_belong_to_the_cut_of_their_pieces():
    plan = box_plan(Cut(Plane(Y, 0.0)), Cut(Plane(X, 30.0), "1"), Cut(Plane(X, 30.0), "2"))
    assert [seam.between for seam in seams_of(plan, 1)] == [("1.1", "1.2")]
    assert [seam.between for seam in seams_of(plan, 2)] == [("2.1", "2.2")]
    assert len(seams_of(plan, 0)) == 2
    nowhere = replace(plan.sketch, cuts=(Cut(Plane(Z, 3.0)), *plan.sketch.cuts[1:]))
    assert hinge_of(replace(plan, sketch=nowhere), 0, []) is None
