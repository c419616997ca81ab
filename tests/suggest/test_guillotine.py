"""The exhaustive search by bounds finds what a plain loop over all plans finds."""

import itertools

import numpy as np
import pytest

from splitplanner.errors import CutError
from splitplanner.findings import faults
from splitplanner.plan import WHOLE, Cut, divide
from splitplanner.score import measure, measure_piece, print_directions, scorecard, soundness
from splitplanner.solid import Plane
from tests.suggest.exhaust import best_of
from tests.suggest.guillotine import Bodies, Search
from tests.suggest.small_parts import BY_NAME

OFFSETS = {
    # The last two are its diagonals; the one through its corner is a mitre.
    "L": [[40.0, 70.0, 100.0], [40.0, 100.0], [15.0], [], [0.0]],
    "U": [[90.0, 100.0], [20.0], [10.0, 30.0]],
    "comb": [[86.5, 100.0], [15.0], [10.0]],
}


def printed_best(bodies, piece):
    """The figures of a piece in the direction that scores best, all tried."""
    rows = [
        measure_piece(piece, tuple(up.tolist()), bodies.printer)
        for up in print_directions(piece.solid, bodies.directions)
    ]
    rows = [row for row in rows if row.fit.fits]
    return min(rows, key=lambda row: bodies.added(pieces=[row])) if rows else None


def plain_best(bodies, offsets, count):
    """The best score of a sound plan of `count` pieces: every list of cuts, one after the other."""
    planes = [bodies.plane((axis, offset)) for axis, row in enumerate(offsets) for offset in row]
    best, pieces = np.inf, {}

    def go_on(cuts):
        nonlocal best
        try:
            division = divide(bodies.solid, cuts)
        except CutError:
            return
        if len(division.pieces) < count:
            for plane, piece in itertools.product(planes, division.pieces):
                go_on((*cuts, Cut(plane, piece.name)))
        elif len(division.pieces) == count:
            ups = {}
            for piece in division.pieces:
                key = piece.solid.fingerprint
                if key not in pieces:
                    pieces[key] = printed_best(bodies, piece)
                if pieces[key] is None:
                    return
                ups[piece.name] = pieces[key].up
            score = scorecard(measure(division, ups, bodies.printer, bodies.seen)).total
            if score < best and not faults(soundness(division, ups, cuts, bodies.printer)):
                best = score

    for plane in planes:
        go_on((Cut(plane, WHOLE),))
    return best


@pytest.mark.parametrize(("name", "count"), [("L", 3), ("U", 2), ("U", 3), ("comb", 2)])
def test_the_best_plan_is_the_one_that_a_plain_loop_finds(name, count):
    bodies = Bodies(BY_NAME[name])
    plans, note = best_of(Search(bodies, OFFSETS[name]), count)
    assert note["proved"]
    assert plans[0].score == pytest.approx(plain_best(bodies, OFFSETS[name], count), abs=1e-9)


def test_no_plan_scores_less_than_its_bound():
    bodies = Bodies(BY_NAME["L"])
    plans, _ = best_of(Search(bodies, OFFSETS["L"]), 4)
    assert len(plans) > 3
    assert all(plan.score >= plan.tree.bound - 1e-4 for plan in plans)
    # Some seams were divided by later cuts.
    assert any(plan.score > plan.tree.bound + 1e-3 for plan in plans)


def test_more_than_one_piece_where_one_cut_leaves_several_bodies():
    # A cut across the comb's teeth leaves eight of them loose.
    bodies = Bodies(BY_NAME["comb"])
    below, above = bodies.halves(bodies.root, (1, 30.0))
    assert (len(below), len(above)) == (1, 8)
    assert Plane((0.0, 1.0, 0.0), 30.0) == bodies.plane((1, 30.0))
