"""Proposals against the best plans there are, found by looking at all: `tests.suggest.exhaust`."""

import json
from functools import cache

import numpy as np
import pytest

from splitplanner.findings import faults
from splitplanner.plan import Cut, divide
from splitplanner.score import measure, scorecard, soundness
from splitplanner.solid import Plane, seen_from_outside
from splitplanner.suggest import lower_bound, suggest
from tests.suggest.exhaust import STORE
from tests.suggest.small_parts import BY_NAME, SMALL_PARTS

STORED = json.loads(STORE.read_text(encoding="utf-8"))
NAMES = [part.name for part in SMALL_PARTS]
BOUND_TOO_LOW = {
    # The bound sees distances and volumes. What rules out one piece here is the bed's width.
    "cross": 1,
    "ring": 1,
}
each_part = pytest.mark.parametrize("name", NAMES)


@cache
def suggestion(name):
    part = BY_NAME[name]
    return suggest(part.solid, part.file, part.printer)


def test_the_set_is_large_and_small_parts_are_small():
    assert len(SMALL_PARTS) >= 30
    assert list(STORED) == NAMES
    counts = [len(part.solid.faces) for part in SMALL_PARTS]
    assert min(counts) < 20
    assert max(counts) <= 600
    assert all(len(part.solid.bodies()) == 1 for part in SMALL_PARTS)


@each_part
def test_a_proposal_has_the_least_number_of_pieces(name):
    counts = [len(proposal.draft.division.pieces) for proposal in suggestion(name).proposals]
    assert min(counts) == BY_NAME[name].least


@each_part
def test_the_best_proposal_is_within_2_percent_of_the_best_there_is(name):
    best = suggestion(name).proposals[0].draft.card.total
    assert best <= 1.02 * STORED[name]["best_score"] + 1e-6


@each_part
def test_the_lower_bound_is_reported_and_mostly_met(name):
    part = BY_NAME[name]
    bound = suggestion(name).bound
    assert bound == lower_bound(part.solid, part.bed)
    assert bound.pieces == BOUND_TOO_LOW.get(name, part.least)
    assert bound.reason


@each_part
def test_the_stored_plan_is_sound_and_scores_what_is_stored(name):
    part, entry = BY_NAME[name], STORED[name]
    solid, printer = part.solid, part.printer
    assert entry["bed"] == str(part.bed)
    cuts = tuple(
        Cut(Plane.through(point_of(cut), cut["normal"]), cut["piece"]) for cut in entry["best_cuts"]
    )
    division = divide(solid, cuts)
    ups = {piece: tuple(up) for piece, up in entry["print_directions"].items()}
    assert len(division.pieces) == entry["best_pieces"] >= part.least
    assert not faults(soundness(division, ups, cuts, printer))
    figures = measure(division, ups, printer, seen_from_outside(solid))
    # Normals and directions are stored to 1e-6.
    assert scorecard(figures).total == pytest.approx(entry["best_score"], abs=1e-3)


def point_of(cut):
    """A point of a stored cut's plane."""
    return tuple(cut["offset"] * axis for axis in cut["normal"])


@each_part
def test_the_stored_search_is_of_this_part_and_proved(name):
    part, entry = BY_NAME[name], STORED[name]
    assert part.solid.volume == pytest.approx(entry["volume"], rel=1e-6)
    assert part.solid.area == pytest.approx(entry["area"], rel=1e-6)
    assert entry["directions"] == np.round(part.directions, 6).tolist()
    by_count = {int(count): score for count, score in entry["best_by_pieces"].items()}
    # Fewer pieces are ruled out by the part; more by what every piece adds, or were looked at.
    assert min(by_count) == part.least
    assert by_count[entry["best_pieces"]] == min(by_count.values()) == entry["best_score"]
    searched = {search["pieces"] for search in entry["searches"]}
    last = min(entry["best_pieces"] + 1, entry["too_many_pieces"] - 1)
    assert set(range(part.least, last + 1)) <= searched
    assert min(entry["finer_steps"]) <= 1.0
    for search in entry["searches"]:
        # Where too many plans score the same, what was not scored is no more than 2 % better.
        assert search["proved"] or search["bound"] >= 0.98 * entry["best_score"]
