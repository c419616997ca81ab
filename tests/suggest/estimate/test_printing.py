"""How blocks would print: fits and directions against the exact measures on cut pieces."""

import numpy as np
import pytest

from splitplanner.plan import Cut, Piece, divide
from splitplanner.score import best_fit, leaning_directions, measure, measure_piece, scorecard
from splitplanner.solid import Plane, Solid, frame_of
from splitplanner.suggest.estimate import _kernels as kernels
from splitplanner.suggest.estimate import printing
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.printing import printed, reach_of
from splitplanner.workshop import Bed, Printer
from tests.suggest.shapes import ASKEW, BED, PRINTER, l_shape, placed, survey_of

X, Y, Z = np.eye(3)
CORNER = Bed.of_outline(((0, 0), (220, 0), (220, 100), (100, 100), (100, 220), (0, 220)), 250.0)


def reach(part, bed=BED):
    survey = survey_of(part, Printer(bed=bed))
    block = survey.start.blocks["whole"]
    return reach_of(block.points, survey.ups(block), survey.frames, bed)


# -- whether a block fits -------------------------------------------------------------------------
@pytest.mark.parametrize("angles", [(0, 0, 0), ASKEW], ids=str)
@pytest.mark.parametrize(
    ("size", "fits", "needs"),
    [
        ((220, 220, 250), True, 1),
        ((250, 220, 220), True, 1),
        ((220.01, 220.01, 250), False, 4),
        ((221, 100, 251), False, 2),
        # 280 mm lies across the bed at 15 mm thick: (280 + 15) / sqrt 2 = 209 mm; 330 mm leans.
        ((280, 15, 15), True, 1),
        ((330, 10, 10), True, 1),
        ((400, 5, 5), False, 2),
        # Plates lean up to 254.99 mm square at 3 mm thick (`tests.score.test_leaning`).
        ((252, 252, 3), True, 1),
        ((254.98, 254.98, 3), True, 1),
        ((255.1, 255.1, 3), False, 4),
        ((430, 430, 480), False, 8),
    ],
)
def test_boxes(size, fits, needs, angles):
    found = reach(placed(Solid.box(size), angles))
    assert found.fits == fits
    assert found.needs == needs


@pytest.mark.parametrize("bed", [Bed.circle(220, 250), CORNER], ids=["round", "L"])
def test_beds_of_other_shapes(bed):
    # On the round bed 150 x 150 has a diagonal of 212 mm; on the L's arms nothing that wide lies.
    assert reach(Solid.box((150, 150, 150)), bed).fits == (bed.kind == "circle")
    assert reach(Solid.box((90, 90, 240)), bed).fits
    assert not reach(Solid.box((160, 160, 240)), bed).fits
    assert reach(Solid.box((160, 160, 240)), bed).needs >= 2


@pytest.mark.parametrize("seed", range(6))
def test_a_yes_is_a_yes_of_the_exact_fit(seed):
    rng = np.random.default_rng(seed)
    answers = []
    for _ in range(25):
        part = placed(Solid.box(rng.uniform(20, 320, 3)), rng.uniform(0, 180, 3))
        survey = survey_of(part)
        block = survey.start.blocks["whole"]
        found = reach_of(block.points, survey.ups(block), survey.frames, BED)
        ups = np.vstack([survey.ups(block), leaning_directions(part, BED)])
        # Only bars and plates are tried leaning.
        assert found.fits <= best_fit(part, ups, BED).fits
        assert found.fits >= best_fit(part, survey.ups(block), BED).fits
        answers.append(found.fits)
    assert 3 < sum(answers) < 22


def test_least_needs_against_many_yaws():
    rng = np.random.default_rng(2)
    sides = np.array([220.0, 180.0, 250.0])
    for _ in range(20):
        points = rng.normal(size=(12, 3)) * rng.uniform(20, 120, 3)
        ups = rng.normal(size=(4, 3))
        frames = np.array([frame_of(up) for up in ups])
        found, enough = np.empty(4), np.empty(4)
        kernels.least_needs(points, frames, sides, found, enough)
        for frame, need, known in zip(frames, found, enough, strict=True):
            yaws = np.radians(np.arange(0, 180, 0.25))
            spokes = np.stack([np.cos(yaws), np.sin(yaws)])
            wide = np.ptp(points @ frame[:2].T @ spokes, axis=0)
            deep = np.roll(wide, len(yaws) // 2)
            least = np.maximum(wide / sides[0], deep / sides[1]).min()
            exact = max(least, np.ptp(points @ frame[2]) / sides[2])
            # Never more than the true need, and no more than a step of 2.5° less.
            assert exact - 0.06 * exact <= need <= exact + 1e-9
            # What is known to be enough is never less.
            assert exact - 1e-9 <= known <= exact + 0.06 * exact


def test_furthest_points():
    rng = np.random.default_rng(3)
    points, probes = rng.normal(size=(500, 3)), rng.normal(size=(40, 3))
    found = np.zeros((2, 40), dtype=np.int64)
    kernels.furthest(points, probes, found)
    along = probes @ points.T
    np.testing.assert_array_equal(found, [along.argmax(axis=1), along.argmin(axis=1)])


# -- print directions -----------------------------------------------------------------------------
def t_shape():
    return Solid.box((20, 20, 80)).union(Solid.box((100, 20, 20), (-40, 0, 80)))


def arch():
    rings = Solid.cylinder((0, 0, 0), (0, 60, 0), 90.0, 48).difference(
        Solid.cylinder((0, -1, 0), (0, 61, 0), 75.0, 48)
    )
    return rings.difference(Solid.box((200, 100, 100), (-100, -20, -100)))


def mushroom():
    return Solid.box((20, 20, 50)).union(Solid.box((100, 100, 10), (-40, -40, 50)))


@pytest.mark.parametrize("angles", [(0, 0, 0), ASKEW], ids=str)
@pytest.mark.parametrize("shape", [t_shape, arch, mushroom])
def test_the_best_direction_is_that_of_exact_measures(shape, angles):
    part = placed(shape(), angles)
    survey = survey_of(part)
    block = survey.start.blocks["whole"]
    found = survey.printed(block)
    piece = Piece("whole", 1, part)
    prices = {
        up: survey.costs.of_print(measure_piece(piece, up, PRINTER)) for up in survey.ups(block)
    }
    assert prices[found.piece.up] == pytest.approx(min(prices.values()), abs=2e-3)
    assert found.cost == pytest.approx(prices[found.piece.up], abs=0.02)
    assert len(prices) >= 2 * printing._CLOSER


@pytest.mark.parametrize("size", [(200, 150, 100), (215, 100, 60), (219, 219, 249)])
def test_the_fit_of_a_box(size):
    """Where there is room to spare it is told from the box alone, else exactly."""
    part = Solid.box(size)
    survey = survey_of(part)
    found = survey.printed(survey.start.blocks["whole"]).piece
    exact = measure_piece(Piece("whole", 1, part), found.up, PRINTER).fit
    assert found.fit.fits
    assert found.fit.height == pytest.approx(exact.height)
    assert sorted(found.fit.sides) == pytest.approx(sorted(exact.sides))
    assert found.fit.outline_area == pytest.approx(exact.outline_area)
    # A box may have more to spare askew than square.
    assert found.fit.spare <= exact.spare + 1e-6
    assert (found.fit.spare > 1.02) == (exact.spare > 1.02)


def test_a_direction_in_which_it_fits_is_taken_though_another_is_cheaper():
    # Lying, 240 x 240 needs no support but does not fit; on edge it does.
    part = Solid.cylinder((0, 0, 0), (0, 0, 20), 120.0, 64)
    survey = survey_of(part)
    found = survey.printed(survey.start.blocks["whole"])
    assert abs(found.piece.up[2]) < 1e-6
    assert found.piece.fit.fits
    piece = Piece("whole", 1, part)
    lying, upright = (
        survey.costs.of_print(measure_piece(piece, up, Printer(bed=Bed.rectangle(300, 300, 300))))
        for up in (tuple(Z), found.piece.up)
    )
    assert lying < upright


def test_a_block_that_fits_in_none_of_the_given_directions_has_no_print():
    # Too thick to be tried leaning, as plates and bars are.
    part = Solid.cylinder((0, 0, 0), (0, 0, 40), 120.0, 64)
    survey = survey_of(part)
    block = survey.start.blocks["whole"]
    found = printed(
        block, block.points, [tuple(Z)], survey.frames, survey.reach(block), survey.costs
    )
    assert found.cost == np.inf


def test_a_leaning_bar_is_printed_leaning():
    part = Solid.box((330, 10, 10))
    survey = survey_of(part)
    found = survey.printed(survey.start.blocks["whole"]).piece
    assert found.fit.fits
    assert 0.3 < abs(found.up[0]) < 0.8
    assert found.up == found.fit.up


def test_blocks_that_do_not_fit_are_printed_as_if_they_did():
    part = l_shape()
    survey = survey_of(part)
    found = survey.printed(Block(survey.ground, ()))
    assert np.isfinite(found.cost)
    assert found.piece.overhang.area == 0


@pytest.mark.parametrize("bed", [CORNER, Bed.circle(220, 250)], ids=["L", "round"])
def test_how_much_is_left_to_spare_on_other_beds(bed):
    for side, tight in ((60, False), (99.5 if bed is CORNER else 155.0, True)):
        part = Solid.box((side, side, 200))
        survey = survey_of(part, Printer(bed=bed))
        fit = survey.printed(survey.start.blocks["whole"]).piece.fit
        assert fit.fits
        assert (fit.spare < 1.01) == tight


def test_cut_faces_count_where_print_time_does():
    # In two, each half of the box has 2 (215 x 200 + 215 x 240 + 200 x 240) mm², cut face and all.
    part = Solid.box((430, 200, 240))
    survey = survey_of(part, weights={"print time": 1.0})
    estimate = survey.estimate(survey.sketch([Cut(Plane((1.0, 0.0, 0.0), 215.0))]))
    half = 2 * (215 * 200 + 215 * 240 + 200 * 240)
    assert [piece.area for piece in estimate.numbers.pieces] == pytest.approx([half, half])
    division = divide(part, estimate.sketch.cuts)
    figures = measure(division, estimate.ups, PRINTER, survey.ground.seen)
    exact = scorecard(figures, {"print time": 1.0}).total
    assert estimate.score == pytest.approx(exact, rel=5e-3)
