"""The survey: whole plans judged without cutting, against plans that are cut and measured."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.errors import CutError
from splitplanner.plan import Cut, divide
from splitplanner.score import measure, scorecard
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest.estimate.survey import key_of
from splitplanner.suggest.estimate.walls import Wall
from splitplanner.workshop import Bed, Printer
from tests.suggest.shapes import (
    BED,
    PRINTER,
    cross,
    demo,
    l_shape,
    square_ring,
    survey_of,
    u_shape,
)

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def box():
    return Solid.box((400, 100, 60))


def hood():
    return demo("rain_hood")


def lid():
    return demo("cargo_lid")


# -- sketches -------------------------------------------------------------------------------------
def random_cuts(part, rng, names):
    """A few cuts, of all pieces or of one of `names`, through the box round the part."""
    low, high = part.bounds
    for _ in range(rng.integers(1, 5)):
        normal = Rotation.random(random_state=rng).as_matrix()[0]
        if rng.random() < 0.6:
            normal = np.eye(3)[rng.integers(3)]
        point = low + (high - low) * rng.uniform(0.117, 0.883, 3)
        yield Cut(Plane.through(point, normal), rng.choice(names) if rng.random() < 0.35 else None)


@pytest.mark.parametrize("shape", [box, l_shape, u_shape, square_ring, cross, hood, lid])
def test_random_plans_have_the_pieces_that_cutting_gives(shape):
    part, rng = shape(), np.random.default_rng(17)
    survey, several = survey_of(part), 0
    for _ in range(40):
        cuts = [
            Cut(cut.plane, None if cut.piece is None else str(cut.piece))
            for cut in random_cuts(part, rng, ["1", "2", "1.1", "2.2", "2b"])
        ]
        sketch = survey.sketch(cuts)
        try:
            division = divide(part, cuts)
        except CutError:
            # It names a piece that does not exist, or that it does not meet.
            assert sketch is None
            continue
        if division.findings:
            assert sketch is None
            continue
        assert set(sketch.blocks) == set(division.by_name)
        for name, block in sketch.blocks.items():
            bounds = division.by_name[name].solid.bounds
            np.testing.assert_allclose(
                [block.points.min(axis=0), block.points.max(axis=0)], bounds, atol=1e-5
            )
        several += len(sketch.blocks) > 2
    assert several >= 5


def test_a_cut_that_divides_nothing_makes_no_sketch():
    survey = survey_of(box())
    assert survey.sketch([Cut(Plane(X, 500.0))]) is None
    assert survey.sketch([Cut(Plane(X, 400.0))]) is None
    assert survey.sketch([Cut(Plane(X, 200.0), "1")]) is None
    assert survey.sketch([Cut(Plane(X, 200.0)), Cut(Plane(X, 100.0), "2")]) is None
    start = survey.start
    assert survey.applied(start, Cut(Plane(X, -1.0))) is None
    assert set(start.blocks) == {"whole"}


def test_equal_blocks_are_the_same_however_they_came_about():
    survey = survey_of(box())
    cuts = [Cut(Plane(X, 100.0)), Cut(Plane(X, 300.0))]
    one, other = survey.sketch(cuts), survey.sketch(cuts[::-1])
    assert one.blocks["2.1"] is other.blocks["1.2"]
    assert survey.printed(one.blocks["2.1"]) is survey.printed(other.blocks["1.2"])
    assert key_of(one.blocks["1"]) != key_of(one.blocks["2.1"])


def test_the_plain_sides_of_a_cut():
    # Both legs of the U are one side, though they are two bodies.
    survey = survey_of(u_shape())
    start = survey.start.blocks["whole"]
    below, above = survey.sides(start, Plane(Y, 150.0))
    assert (below.walls, above.walls) == (
        (Wall(Plane(Y, 150.0), -1),),
        (Wall(Plane(Y, 150.0), 1),),
    )
    assert [len(side) for side in survey.halves(start, Plane(Y, 150.0))] == [1, 2]
    assert survey.sides(start, Plane(Y, 900.0)) is None
    assert survey.halves(start, Plane(Y, 900.0)) is None


# -- scores ---------------------------------------------------------------------------------------
PLANS = [
    (box, [Cut(Plane(X, 200.0))]),
    (box, [Cut(Plane(X, 200.0)), Cut(Plane.through((100, 50, 30), (0.2, 1, 0.3)), "1")]),
    (l_shape, [Cut(Plane(X, 215.0)), Cut(Plane(Y, 215.0), "1")]),
    (u_shape, [Cut(Plane(Y, 215.0)), Cut(Plane(X, 215.0), "1")]),
    (square_ring, [Cut(Plane(X, 200.0)), Cut(Plane(Y, 200.0))]),
    (hood, [Cut(Plane(X, 1.0)), Cut(Plane(Y, 3.0), "2")]),
    (hood, [Cut(Plane(Z, 77.0)), Cut(Plane(X, 3.0))]),
    (lid, [Cut(Plane(X, 5.0)), Cut(Plane(Y, 3.0))]),
]


LARGE = Printer(bed=Bed.rectangle(620, 620, 620))
WEIGHTS = [{}, {"print time": 2.0, "uneven pieces": 1.0}]


@pytest.mark.parametrize(("shape", "cuts"), PLANS)
@pytest.mark.parametrize("weights", WEIGHTS, ids=["usual", "other"])
def test_the_score_is_about_that_of_the_cut_plan(shape, cuts, weights):
    part = shape()
    survey = survey_of(part, LARGE, weights)
    estimate = survey.estimate(survey.sketch(cuts))
    division = divide(part, cuts)
    figures = measure(division, estimate.ups, LARGE, seen_from_outside(part))
    exact = scorecard(figures, weights)
    # Cut faces are not counted for how long a print takes.
    assert estimate.score == pytest.approx(exact.total, rel=0.05 if weights else 0.01, abs=0.01)
    assert (estimate.done, estimate.needs) == (True, len(division.pieces))
    pieces = survey.pieces_cost(estimate.sketch)
    assert pieces < estimate.score
    whole = survey.costs.of_whole(estimate.numbers)
    assert estimate.score == pytest.approx(pieces + estimate.seam_cost + whole)
    assert (whole > 0) == (
        "uneven pieces" in weights and len({round(p.volume) for p in estimate.numbers.pieces}) > 1
    )
    # The numbers that criteria read are named as the pieces are.
    assert {piece.name for piece in estimate.numbers.pieces} == set(division.by_name)


@pytest.mark.parametrize(("shape", "cuts"), PLANS)
@pytest.mark.parametrize("printer", [PRINTER, LARGE], ids=["too small", "large"])
def test_what_is_cheaper_is_told_whatever_is_known(shape, cuts, printer):
    known = survey_of(shape(), printer)
    estimate = known.estimate(known.sketch(cuts))
    cost = known.pieces_cost(estimate.sketch) + estimate.seam_cost
    for share, cheaper in [(0.2, False), (0.9, False), (0.999, False), (1.001, True)]:
        for survey in (known, survey_of(shape(), printer)):
            sketch = survey.sketch(cuts)
            found = survey.cheaper(sketch, share * cost)
            assert (found is not None) == cheaper
            assert found in (None, pytest.approx(cost))
            fitting = survey.cheaper(sketch, share * cost, fitting=True)
            assert (fitting is not None) == (cheaper and survey.fits(sketch))


@pytest.mark.parametrize("weights", WEIGHTS, ids=["usual", "other"])
def test_what_does_not_fit_costs_no_more_for_that(weights):
    costs = []
    for printer in (PRINTER, LARGE):
        survey = survey_of(box(), printer, weights)
        estimate = survey.estimate(survey.sketch([Cut(Plane(X, 30.0))]))
        assert estimate.done == (printer is LARGE)
        costs.append(estimate.score)
    assert costs[0] == pytest.approx(costs[1], abs=0.02)


def test_what_does_not_fit_is_told():
    survey = survey_of(box())
    start = survey.estimate(survey.start)
    assert not start.done
    # 400 mm is longer than the bed's diagonal of 399 mm; two halves do.
    assert start.needs == 2
    assert np.isfinite(start.score)
    halves = survey.estimate(survey.sketch([Cut(Plane(X, 200.0))]))
    assert (halves.done, halves.needs) == (True, 2)
    assert start.rank < halves.rank
    assert halves.rank == (round(halves.score, 6), 1)


def test_what_was_judged_before_makes_no_difference():
    cuts = [Cut(Plane(Y, 150.0)), Cut(Plane(X, 20.0), "1")]
    used, fresh = survey_of(u_shape()), survey_of(u_shape())
    for offset in (100.0, 120.0, 140.0):
        used.estimate(used.sketch([Cut(Plane(Y, offset))]))
        used.estimate(used.sketch([Cut(Plane(Y, offset)), Cut(Plane(X, 30.0), "1")]))
    first, again = (survey.estimate(survey.sketch(cuts)) for survey in (used, fresh))
    assert first.score == again.score
    assert first.ups == again.ups


def test_directions_hold_the_seams_of_a_block():
    survey = survey_of(box())
    tilted = Plane.through((200, 50, 30), (1, 0.4, 0.3))
    block = survey.sketch([Cut(tilted)]).blocks["1"]
    ups = np.array(survey.ups(block))
    for up in (tilted.normal, tuple(-value for value in tilted.normal)):
        assert np.isclose(ups @ up, 1).any()
    # No two are the same.
    cosines = ups @ ups.T - 2 * np.eye(len(ups))
    assert cosines.max() < np.cos(np.radians(0.9))


def test_frames_are_right_angled():
    survey = survey_of(l_shape())
    assert len(survey.frames) >= 2
    for frame in survey.frames:
        np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-9)


def test_the_bed_is_that_of_the_printer():
    assert survey_of(box()).costs.printer.bed == BED
