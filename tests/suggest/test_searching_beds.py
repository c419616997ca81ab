"""The search on beds with margins, round ones, and of odd outlines; and where boxes mislead it."""

import importlib
import math

import numpy as np
import pytest

from splitplanner.plan import divide
from splitplanner.score import fits_any, print_directions
from splitplanner.solid import Solid
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations
from splitplanner.workshop import Bed, Printer
from tests.suggest.fitting import assert_plans
from tests.suggest.shapes import BED, searched, survey_of

CORNER = Bed.of_outline(((0, 0), (220, 0), (220, 100), (100, 100), (100, 220), (0, 220)), 250.0)
TRIANGLE = Bed.of_outline(((0, 0), (300, 0), (150, 260)), 250.0)
POST = Bed(
    "rectangle",
    220,
    220,
    250,
    blocked=(((100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0)),),
)


def test_margin_is_kept_free():
    bed = Bed.rectangle(220, 220, 250, margin=10)
    # Halves of 215 mm no longer fit between the margins, 200 mm apart, but they stand upright:
    # 215 high on 200 x 200. A box 430 x 205 x 205 does not.
    assert searched(Solid.box((430, 200, 200)), bed).least == 2
    part = Solid.box((430, 205, 205))
    pool = searched(part, bed)
    assert pool.least > 2
    assert_plans(part, pool.of(pool.least)[:1], sizes=np.array([200.0, 200, 250]))


def test_round_bed():
    # 200 mm round, 300 high: a bar 130 x 130 stands in it (diagonal 183.8), one of 145 x 145 does
    # not (205.1) and is halved lengthwise.
    bed = Bed.circle(200, 300)
    assert searched(Solid.box((130, 130, 590)), bed).least == 2
    part = Solid.box((145, 145, 290))
    pool = searched(part, bed)
    assert pool.least == 2
    for piece in divide(part, pool.of(2)[0].sketch.cuts).pieces:
        # The smallest circle round a box is that of its corners.
        sides = np.sort(piece.solid.extents)
        assert math.hypot(*sides[:2]) <= 200 + 1e-3


@pytest.mark.parametrize("bed", [CORNER, TRIANGLE, POST], ids=["L", "triangle", "post"])
def test_a_part_that_only_fits_the_box_round_an_odd_bed_does_not_fit_it(bed):
    # 200 x 200 x 200 is larger than any free square of these beds; a bar of 90 x 90 lies on all.
    surveys = [survey_of(Solid.box(size), Printer(bed=bed)) for size in ((200,) * 3, (180, 90, 90))]
    whole, bar = (survey.reach(survey.start.blocks["whole"]) for survey in surveys)
    assert not whole.fits
    assert whole.needs >= 2
    assert (bar.fits, bar.needs) == (True, 1)


@pytest.mark.parametrize("bed", [CORNER, POST], ids=["L", "post"])
def test_odd_beds_are_searched(bed):
    # 400 mm is longer than the box of either bed is across, 399 mm; its halves stand on both.
    part = Solid.box((90, 90, 400))
    pool = searched(part, bed)
    assert pool.least == 2
    for piece in divide(part, pool.of(2)[0].sketch.cuts).pieces:
        assert fits_any(piece.solid, print_directions(piece.solid), bed)


def count_calls(monkeypatch, module, name):
    """Count the calls of a function that a module imported."""
    module = importlib.import_module(module)
    inner, calls = getattr(module, name), []

    def counted(*given):
        calls.append(name)
        return inner(*given)

    monkeypatch.setattr(module, name, counted)
    return calls


def test_few_yaws_are_tried_for_a_yes_or_no_on_an_l_shaped_bed(monkeypatch):
    quick = count_calls(monkeypatch, "splitplanner.score.yaw_window", "fits_at")
    thorough = count_calls(monkeypatch, "splitplanner.score.outline_fit", "feasible_shifts")
    legs = ((0, 0), (300, 0), (300, 150), (150, 150), (150, 300), (0, 300))
    assert searched(Solid.box((200, 200, 200)), Bed.of_outline(legs, 250.0)).least == 2
    # The search for the largest scale tries 500 yaws for each of over 200 blocks.
    assert 0 < len(quick) <= len(thorough) < 15_000


def test_few_tilts_of_a_bar_are_measured(monkeypatch):
    calls = count_calls(monkeypatch, "splitplanner.suggest.estimate.printing", "bed_fit")
    assert searched(Solid.box((210, 50, 40)), Bed.rectangle(150, 150, 150)).least == 2
    # Every block has up to 176 tilts besides its 14 directions.
    assert 0 < len(calls) < 1000


def test_an_open_frame_takes_fewer_pieces_than_a_grid_cuts_it_into():
    # The box round it takes 4 x 5 pieces, of which the frame lies in 14. Four corners of 215 mm,
    # and 470 mm in two bars between every two of them, are 12.
    frame = Solid.box((900, 900, 10)).difference(Solid.box((880, 880, 30), (10, 10, -10)))
    survey, grids = survey_of(frame), Pool()
    Grower(survey, Stations(frame, BED), grids, 1).grids_from(survey.start)
    assert grids.least == 14
    pool = searched(frame)
    assert pool.least <= 12
    assert_plans(frame, pool.of(pool.least)[:1])
