"""The search: least numbers of pieces derived by hand, on parts that lie square to the bed."""

import math

import numpy as np
import pytest

from splitplanner.progress import silent
from splitplanner.solid import Solid
from splitplanner.suggest import lower_bound
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.searching import mirrors_of, search
from splitplanner.suggest.standing_in import stand_in_for
from splitplanner.suggest.stations import Stations
from tests.suggest.fitting import assert_plans, fits_box
from tests.suggest.shapes import BED, PRINTER, part_of, pool_of, searched


def test_the_measure_of_fit_itself():
    # A square bar along the plan diagonal: (l + w) / sqrt 2 = 220, so 301 mm long at 10 mm wide.
    assert fits_box(Solid.box((301, 10, 10)).vertices)
    # Of no width, along the space diagonal: 399.1 mm.
    assert fits_box(Solid.box((395, 0.5, 0.5)).vertices)
    assert not fits_box(Solid.box((400, 0.5, 0.5)).vertices)
    assert not fits_box(Solid.box((221, 221, 221)).vertices)


# -- least numbers of pieces ----------------------------------------------------------------------
LEAST = [
    # 430 mm is longer than the space diagonal; halves of 215 x 200 x 240 fit.
    ("box in 2", 2),
    # The four upright edges, then all eight corners, are pairwise 430 mm apart or more.
    ("box in 4", 4),
    ("box in 8", 8),
    # Both far ends are over 399.1 mm from the outer corner and from each other: three pieces at
    # least; two legs cut apart at the corner are 340 and 400 mm long and 60 wide and do not fit,
    # but a corner with 215 mm of each leg and two ends of 185 mm do.
    ("L", 3),
    # The U's two lower corners and two leg ends are pairwise 430 mm apart or more; half of the
    # foot with half of a leg, 215 x 215 x 60, and two leg ends of 215 mm do.
    ("U", 4),
    # The ring's four outer corners are pairwise 400 mm apart or more; its quarters are 200 x 200.
    ("ring", 4),
    # Two opposite ends of a cross are 400 mm apart: two pieces at least. Cut across between the
    # arms, each half has the ends of two arms in a row, 325 mm long, and fits standing askew.
    ("cross", 2),
    # 583 mm across: two pieces at least; 250 x 300 stands 250 high along the plan diagonal of 311.
    ("plate", 2),
]


@pytest.mark.parametrize(("name", "least"), LEAST, ids=str)
def test_the_least_number_of_pieces_is_found(name, least):
    pool = pool_of(name)
    assert pool.least == least
    assert lower_bound(part_of(name), BED).pieces == least
    assert_plans(part_of(name), pool.of(least)[:2])


def test_a_part_just_over_the_bed_is_cut():
    assert searched(Solid.box((220, 220, 250))).counts == [1]
    assert searched(Solid.box((220, 220, 250.01))).least == 2
    # Of a cube of 221 mm both halves have two sides of 221: only one of them can stand upright.
    assert searched(Solid.box((221, 221, 221))).least == 3


def test_bodies_that_fit_need_no_cut():
    part = Solid.box((100, 100, 100)).union(Solid.box((100, 100, 100), (500, 0, 0)))
    (plan,) = searched(part).all
    assert plan.sketch.cuts == ()
    assert set(plan.sketch.blocks) == {"a", "b"}


def test_one_of_two_bodies_is_cut():
    part = Solid.box((430, 200, 240)).union(Solid.box((100, 100, 100), (165, 0, 500)))
    pool = searched(part)
    assert pool.least == 3
    assert_plans(part, pool.of(3)[:2])


# -- what a search returns ------------------------------------------------------------------------
def test_there_are_really_different_plans():
    # Of the L: a corner with two ends, or one end with two pieces of the rest; and one piece more.
    assert len(pool_of("L").of(3)) >= 3
    assert len(pool_of("L").of(4)) >= 1


@pytest.mark.parametrize("name", ["box in 2", "plate"])
def test_a_search_finds_the_same_again(name):
    again, before = searched(part_of(name)).all, pool_of(name).all
    assert [plan.sketch.cuts for plan in again] == [plan.sketch.cuts for plan in before]
    assert [plan.score for plan in again] == [plan.score for plan in before]


def test_every_plan_is_done_and_the_best_come_first():
    plans = pool_of("L").all
    assert all(plan.done for plan in plans)
    scores = np.array([plan.score for plan in plans])
    assert (np.diff(scores) > -1e-6).all()


def test_the_first_plans_are_offered_until_one_is_taken():
    part = part_of("box in 2")
    offered = []

    def early(plan):
        offered.append(plan)
        return len(offered) == 2

    found = search(stand_in_for(part), Costs(part, PRINTER), early, silent)
    assert len(offered) == 2
    assert all(plan.done for plan in offered)
    assert offered[0].score <= offered[1].score
    # What is offered first is a grid; the search that follows finds nothing worse.
    assert all(cut.piece is None for cut in offered[0].sketch.cuts)
    assert found.pool.all[0].score <= offered[0].score


def test_a_part_that_fits_is_not_searched_on():
    part, offered = part_of("bar"), []
    found = search(stand_in_for(part), Costs(part, PRINTER), offered.append, silent)
    assert len(found.pool.all) == 1
    assert offered == []


def test_planes_of_symmetry_are_told():
    part = part_of("L")
    found = mirrors_of(Stations(part, BED), cut_directions(part))
    # Across z, 30 mm up, but neither along a leg nor across it; the diagonal y = x is no direction
    # in which it is cut.
    normals = {tuple(round(abs(x), 3) for x in mirror.normal): mirror for mirror in found}
    assert set(normals) - {(0.707, 0.707, 0.0)} == {(0, 0, 1)}
    assert normals[0, 0, 1].offset == pytest.approx(30 + 7)


def test_progress_rises_to_the_end_and_can_stop_the_search():
    heard = []
    searched(part_of("box in 2"), report=lambda done, doing: heard.append((done, doing)))
    shares = [done for done, _ in heard]
    assert shares == sorted(shares)
    assert 0 == shares[0] < 0.5 < shares[-1] <= 1
    assert {"trying grids of planes", "trying cuts, depth 1", "moving cut 1"} <= {
        doing for _, doing in heard
    }

    def stop(done, doing):
        if "depth" in doing:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        searched(part_of("box in 2"), report=stop)


def test_a_long_tube():
    # 620 mm in two leaves a piece of 310 or more along the axis on average, 200 across. In a
    # direction at angle t from its axis a cylinder measures 310 |cos t| + 200 sin t. Of three
    # directions square to each other the squares of the cosines add up to 1, but 220 mm allows no
    # more than 0.07 and 250 no more than 0.18: no cut square to the axis gives two.
    for room, cosine in ((220, 0.07), (250, 0.18)):
        assert 310 * cosine + 200 * math.sqrt(1 - cosine**2) > room
    assert 2 * 0.07**2 + 0.18**2 < 1
    pool = pool_of("tube")
    assert pool.least == 3
    assert_plans(part_of("tube"), pool.of(3)[:1])
