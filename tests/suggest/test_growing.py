"""Growing plans: grids, and trees of cuts."""

import numpy as np
import pytest

from splitplanner.plan import divide
from splitplanner.progress import silent
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations
from tests.suggest.shapes import BED, l_shape, survey_of, u_shape

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def grower_of(part, bound=1):
    return Grower(survey_of(part), Stations(part, BED), Pool(), bound)


def test_grids_of_a_box():
    grower = grower_of(Solid.box((430, 430, 240)))
    grids = [
        sorted(
            (abs(float(np.argmax(np.abs(cut.plane.normal)))), abs(cut.plane.offset)) for cut in cuts
        )
        for cuts in grower.grids(grower.survey.start)
    ]
    # In halves both ways; and, standing, with the height across: 430 by 250 is two as well, 240 by
    # 220 is two.
    assert [(0.0, 215.0), (1.0, 215.0)] in [[(a, round(o, 6)) for a, o in grid] for grid in grids]
    assert all(len(grid) <= 3 for grid in grids)
    grower.grids_from(grower.survey.start)
    assert grower.pool.least == 4
    # Cuts of grids go through everything.
    assert all(cut.piece is None for plan in grower.pool.all for cut in plan.sketch.cuts)


def test_grids_are_evenly_spaced_however_many():
    grower = grower_of(Solid.box((700, 100, 100), (30, 0, 0)))
    grower.grids_from(grower.survey.start)
    (three,) = grower.pool.of(3)
    offsets = sorted(abs(cut.plane.offset) for cut in three.sketch.cuts)
    assert offsets == pytest.approx([30 + 700 / 3, 30 + 1400 / 3])


def test_trees_find_what_no_grid_does():
    # Of the U a grid leaves 6 pieces in three columns and two rows, or cuts feet and legs alike.
    grower = grower_of(u_shape(), bound=4)
    grower.grids_from(grower.survey.start)
    before = grower.pool.least
    heard = []
    grower.trees_from(
        grower.survey.estimate(grower.survey.start), lambda done, doing: heard.append(done)
    )
    assert grower.pool.least == 4 <= before
    assert any(cut.piece is not None for plan in grower.pool.of(4) for cut in plan.sketch.cuts)
    assert heard == sorted(heard)
    assert 0 < heard[-1] <= 1
    for plan in grower.pool.of(4):
        assert len(divide(u_shape(), plan.sketch.cuts).pieces) == 4


def test_trees_start_from_what_fits_already():
    grower = grower_of(Solid.box((100, 100, 100)))
    first = grower.survey.estimate(grower.survey.start)
    assert first.done
    grower.pool.add(first)
    assert grower.pool.counts == [1]


def test_a_block_is_cut_across_its_longest_extents():
    grower = grower_of(Solid.box((430, 200, 240)))
    block = grower.survey.start.blocks["whole"]
    normals = grower.normals(block)
    assert any(abs(normal[0]) == pytest.approx(1) for normal in normals)
    assert len(normals) <= 6
    spans = [np.ptp(block.points @ np.array(normal)) for normal in normals]
    rest = [
        np.ptp(block.points @ normal)
        for normal in grower.survey.directions
        if not any(np.allclose(normal, taken) for taken in normals)
    ]
    assert min(spans) >= max(rest, default=0.0) - 1e-6


@pytest.mark.parametrize("shape", [l_shape, u_shape])
def test_no_plan_has_many_more_pieces_than_the_least(shape):
    grower = grower_of(shape(), bound=3)
    grower.trees_from(grower.survey.estimate(grower.survey.start), silent)
    assert grower.pool.counts
    # What is found before the least is known may have more; later ones have one more at most.
    assert grower.pool.counts[0] <= 4
    planes = {plan.sketch.cuts for plan in grower.pool.all}
    assert len(planes) == len(grower.pool.all)


def test_a_plan_already_found_limits_what_is_grown():
    part = l_shape()
    free, bound = grower_of(part), grower_of(part)
    best = grower_of(part)
    best.trees_from(best.survey.estimate(best.survey.start), silent)
    bound.pool.add(best.pool.of(3)[0])
    for grower in (free, bound):
        grower.trees_from(grower.survey.estimate(grower.survey.start), silent)
    assert free.pool.least == bound.pool.least == 3
    assert max(bound.pool.counts) <= 4


def test_the_plane_through_nothing_is_no_cut():
    grower = grower_of(Solid.box((430, 200, 240)))
    assert grower.survey.sides(grower.survey.start.blocks["whole"], Plane(X, 431.0)) is None
