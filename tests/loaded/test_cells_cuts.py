"""Pieces in cells that are loaded and held on their cuts, and glued, against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.errors import LoadError
from splitplanner.loaded.cells_check import check_by_cells, check_uncut
from splitplanner.loaded.cells_glue import Glued, glue_share, smoothing
from splitplanner.loaded.cells_loads import LoadedParts
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.loaded.cells_spots import spot_under
from splitplanner.plan import (
    Fastening,
    Loading,
    PointLoad,
    SpreadLoad,
    cantilever,
    over_two_supports,
)
from splitplanner.solid import Plane, Solid
from splitplanner.strength import Adhesive, LayeredStiffness
from splitplanner.strength.cells import Assembly, embedded, seam_points
from tests.loaded.celled import (
    SHELF,
    STRAIGHT,
    braced,
    channel,
    joint,
    planned,
    pressed,
    solved_anew,
)
from tests.loaded.test_cells_parts import DOWN, EVEN, X

LENGTH, SIDE, CUT, SIZE = 160.0, 36.0, 80.0, 12.0
GLUE = Fastening(glue_shear=8.0, glue_peel=3.0)
SHEARED = Fastening(glue_shear=8.0, glue_peel=90.0)


def stretch(low, high):
    return Solid.box((high - low, SIDE, SIDE), (low, -SIDE / 2, -SIDE / 2))


TIGHT = stretch(0.0, CUT), stretch(CUT, LENGTH)
APART = stretch(0.0, CUT - 0.1), stretch(CUT + 0.1, LENGTH)
WIDE = stretch(0.0, CUT - 2.0), stretch(CUT + 2.0, LENGTH)
BAR = stretch(0.0, LENGTH)


@pytest.fixture(scope="module")
def models():
    even = LayeredStiffness.of(EVEN)
    return {
        solids: tuple(embedded(each, even, size=SIZE) for each in solids)
        for solids in (TIGHT, APART, WIDE)
    }


def acting(models, load):
    """Force on each piece, and the moment of all about the origin."""
    parts = LoadedParts(Assembly(models, ()), Loading(X, cantilever(0.0, load)))
    forces = np.split(parts.forces().reshape(-1, 3), [len(models[0].grid.places)])
    both = np.vstack([model.grid.places for model in models])
    return [each.sum(axis=0) for each in forces], np.cross(both, np.vstack(forces)).sum(axis=0)


# -- loads ----------------------------------------------------------------------------------
@pytest.mark.parametrize("solids", [TIGHT, APART, WIDE], ids=["tight", "glue", "wide"])
@pytest.mark.parametrize(
    "load",
    [PointLoad(CUT, DOWN), PointLoad(CUT, (0.0, -6.0, -8.0)), SpreadLoad(CUT - 2, CUT + 2, DOWN)],
    ids=["middle", "leaning", "spread"],
)
def test_a_load_on_a_cut_acts_on_both_pieces_alike(models, solids, load):
    """By symmetry half of it each; by statics all of it, in the middle."""
    (low, high), moment = acting(models[solids], load)
    force = np.array(load.force)
    assert low == pytest.approx(force / 2, abs=1e-3)
    assert low + high == pytest.approx(force, abs=1e-9)
    assert moment == pytest.approx(np.cross((CUT, 0.0, 0.0), force), abs=1e-6)


@pytest.mark.parametrize(("station", "piece"), [(0.0, 0), (LENGTH, 1), (CUT - 5.0, 0)])
def test_a_load_at_the_very_end_or_beside_a_cut_acts_on_one(models, station, piece):
    for way in (DOWN, (4.0, 0.0, 0.0)):
        load = PointLoad(station, way, at=(station, 0.0, 0.0))
        loading = Loading(X, cantilever(0.0, load))
        parts = LoadedParts(Assembly(models[TIGHT], ()), loading)
        assert [index for index, _ in parts._sections(station)] == [piece]
        found, moment = acting(models[TIGHT], load)
        assert sum(found) == pytest.approx(way, abs=1e-9)
        assert moment == pytest.approx(np.cross((station, 0.0, 0.0), way), abs=1e-6)


def test_a_force_into_a_hole_presses_on_its_rim_and_one_beside_the_part_on_nothing():
    tube = BAR.difference(Solid.cylinder((CUT, 0.0, -30.0), (CUT, 0.0, 30.0), 3.0))
    down = np.array([0.0, 0.0, -1.0])
    (spot,) = spot_under([tube], np.array([CUT, 0.0, 0.0]), down)
    assert np.hypot(spot.points[:, 0] - CUT, spot.points[:, 1]).min() >= 3.0
    assert spot.points[:, 2] == pytest.approx(SIDE / 2)
    assert spot_under([tube], np.array([CUT, SIDE / 2 + 1.0, 0.0]), down) == []


# -- supports and glue ----------------------------------------------------------------------
def glued(case, fastening=GLUE, held="fastened"):
    division, plan = planned(BAR, Plane(X, CUT), material=EVEN, fastening=fastening)
    plan = replace(plan, joints=())
    loading = Loading(X, case)
    uncut = check_uncut(division, plan, loading, size=SIZE)
    return check_by_cells(
        division, division.pieces, plan, SHELF, loading, held=held, uncut=uncut, size=SIZE
    ), uncut  # fmt: skip


@pytest.mark.parametrize(
    "case",
    [
        over_two_supports(0.0, LENGTH, PointLoad(CUT, DOWN)),
        over_two_supports(CUT, LENGTH - 2.0, PointLoad(2.0, DOWN)),
        cantilever(CUT, PointLoad(LENGTH, DOWN)),
    ],
    ids=["force", "support", "clamp"],
)
def test_a_glued_bar_loaded_or_held_on_its_cut_gives_as_one_without(case):
    found, uncut = glued(case)
    # As near as cells that lie otherwise come.
    assert found.stiffness == pytest.approx(1.0, abs=0.05)
    assert found.deflection == pytest.approx(uncut.deflection, rel=0.08)
    (seam,) = found.seams
    assert (seam.opening, seam.gaping) == (0.0, 0.0)


def test_glue_that_is_pulled_takes_stress_by_area():
    found, _ = glued(cantilever(0.0, PointLoad(LENGTH, (100.0, 0.0, 0.0))))
    (seam,) = found.seams
    assert seam.glue == pytest.approx(100.0 / SIDE**2 / 3.0, rel=0.05)
    assert seam.tension == pytest.approx(100.0, abs=1e-5)
    pressed, _ = glued(cantilever(0.0, PointLoad(LENGTH, (-100.0, 0.0, 0.0))))
    assert pressed.seams[0].glue < 0.1 * seam.glue


def test_glue_that_is_bent_takes_what_its_edge_does():
    """``6 M / a³`` at the edge, and 0.9 of it where 95 % of the square take less."""
    found, _ = glued(cantilever(0.0, PointLoad(LENGTH, moment=(0.0, 2000.0, 0.0))))
    edge = 6 * 2000.0 / SIDE**3 / 3.0
    assert found.seams[0].glue == pytest.approx(0.9 * edge, rel=0.1)


def test_glue_that_is_twisted_takes_what_a_square_does():
    """At most ``4.81 T / a³`` in the middle of its sides (Timoshenko), and from memory 0.6 of
    that and more where 95 % take less."""
    found, _ = glued(cantilever(0.0, PointLoad(LENGTH, moment=(2000.0, 0.0, 0.0))), SHEARED)
    (seam,) = found.seams
    most = 4.81 * 2000.0 / SIDE**3 / 8.0
    assert 0.6 * most < seam.glue < most
    assert seam.twist == pytest.approx(2000.0, rel=1e-6)


def test_glue_takes_what_slides_and_nothing_is_held_open():
    case = cantilever(0.0, PointLoad(LENGTH, DOWN))
    found, _ = glued(case)
    (seam,) = found.seams
    assert seam.force == pytest.approx(DOWN, abs=1e-6)
    assert seam.moment == pytest.approx((0.0, 10.0 * (LENGTH - CUT), 0.0), abs=1e-4)
    with pytest.raises(LoadError, match="held by nothing"):
        glued(case, held="open")
    with pytest.raises(LoadError, match="held by nothing"):
        glued(case, Fastening(glue_peel=3.0))


@pytest.fixture(scope="module")
def points():
    return seam_points(Plane(X, CUT), [shapely.box(-30.0, -18.0, 30.0, 18.0)])


def test_tension_and_shear_count_together(points):
    areas, nothing = points.areas, np.zeros(2 * len(points.areas))
    some = slice(0, len(areas))
    glue = Glued("S1", some, len(areas), nothing, Adhesive(8.0, 3.0), smoothing(points))
    assert glue_share(glue, areas, 0.3 * areas, np.outer((3.2, 0.0), areas)) == pytest.approx(
        np.hypot(0.1, 0.4)
    )
    assert glue_share(glue, areas, -5.0 * areas, np.outer((0.0, 0.0), areas)) == 0.0
    assert glue_share(glue, areas, -5.0 * areas, np.outer((0.0, 3.2), areas)) == pytest.approx(0.4)


def test_what_changes_evenly_is_left_and_what_goes_up_and_down_is_taken_out(points):
    flat = points.points @ points.frame[:2].T
    even = np.column_stack([2.0 + flat @ (0.3, -0.1), flat @ (0.0, 1.0)])
    smooth = smoothing(points)
    assert smooth @ even == pytest.approx(even, abs=1e-9)
    # The four points of each square in turns, as forces in stiff springs go.
    jumps = np.tile([1.0, -1.0, 1.0, -1.0], len(flat) // 4)[:, None]
    assert np.abs(smooth @ jumps).max() < 0.25


def test_glue_beside_screws_and_braces_answers_as_solving_anew_does():
    division, plan = planned(channel(85.0), STRAIGHT, fastening=GLUE)
    pieces, strips = braced(division, plan)
    found = condensed_plan(division, pieces, plan, SHELF, pressed(), braces=strips, size=12.0)
    (glue,), (own,) = found.glued, plan.joints
    moved = joint(division.seams[0], bolts=((0.0, 12.0),))
    other = joint(division.seams[0], bolts=((-22.0, 30.0), (0.0, 12.0)))
    known = found
    for held, wanted in (("fastened", own), ("braced", own), ("braced", moved), ("braced", other)):
        known = known.knowing([wanted])
        solved = known.solved(held, [wanted])
        direct, springs = solved_anew(solved)
        most = np.abs(direct).max()
        assert known.found.displacements(solved.answer) == pytest.approx(direct, abs=1e-6 * most)
        for some in (glue.contact, glue.across):
            expected = springs[some] * (known.found.gaps[some] @ direct)
            size = np.abs(expected).max()
            assert solved.answer.forces[some] == pytest.approx(expected, abs=1e-4 * size)
