"""Marks on the good side of boxes and the like, of which one face is good."""

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import WHOLE, Cut, Piece, divide
from splitplanner.score import (
    faces_on_good_side,
    good_side_figures,
    good_sides,
    measure,
    measure_piece,
    overhang,
    seen_crossings,
    supports_on,
)
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Printer

X, UP, DOWN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
PRINTER = Printer()


def looking(solid, normal, at=None):
    """Mark the faces that look along a normal, at a height along it if one is given."""
    along = solid.face_normals @ np.array(normal) > 0.999
    return along if at is None else along & (np.abs(solid.face_centroids @ normal - at) < 1e-6)


def figures_of(solid, up, good, printer=PRINTER):
    """Measure an uncut part as it prints."""
    row = measure_piece(Piece(WHOLE, 1, solid), up, printer)
    return good_side_figures(row, solid, good, printer)


def tee():
    """A T, 40 deep: a stem 10 wide and 50 high below a plate 70 x 8."""
    return Solid.box((10, 40, 55), (-5, 0, 0)).union(Solid.box((70, 40, 8), (-35, 0, 50)))


def shelter():
    """A base 60 x 40 x 5, a wall 10 x 40 on its low-x end, and a roof over all of it 50 up."""
    return Solid.box((60, 40, 5)).union(Solid.box((10, 40, 55)), Solid.box((60, 40, 5), (0, 0, 50)))


def channel():
    """A U of 60 x 50 x 40 with walls of 5, open above."""
    return Solid.box((60, 50, 40)).difference(Solid.box((50, 60, 40), (5, -5, 5)))


def test_a_good_top_lies_on_the_bed_upside_down():
    box = Solid.box((40, 30, 20))
    good = looking(box, UP)
    on_top, below = figures_of(box, UP, good), figures_of(box, DOWN, good)
    assert (on_top.contact, on_top.supports, on_top.crossings, on_top.seam) == (0, 0, 0, 0)
    assert below.contact == pytest.approx(40 * 30, rel=1e-12)
    assert below.supports == 0


@pytest.mark.parametrize(("at", "held"), [(-50.0, 2 * 30 * 40), (0.0, 0.0)])
def test_supports_hold_a_good_underside(at, held):
    # The arms of the T are 30 long on either side; its foot lies on the bed.
    solid = tee()
    found = figures_of(solid, UP, looking(solid, DOWN, at))
    assert found.held == pytest.approx(held, rel=1e-12)
    assert found.stood_on == 0
    assert found.contact == pytest.approx(10 * 40 if at == 0.0 else 0.0)


def test_supports_stand_on_a_good_floor():
    # Below the roof, beside the wall: 50 x 40; the roof's underside is not good.
    solid = shelter()
    found = figures_of(solid, UP, looking(solid, UP, 5.0))
    assert found.held == 0
    assert found.stood_on == pytest.approx(50 * 40, rel=0.01)
    both = figures_of(solid, UP, looking(solid, UP, 5.0) | looking(solid, DOWN, -50.0))
    assert both.held == pytest.approx(50 * 40, rel=1e-12)
    assert both.supports == pytest.approx(2 * 50 * 40, rel=0.01)


def test_a_floor_that_no_support_stands_on_has_no_marks():
    solid = shelter()
    assert figures_of(solid, UP, looking(solid, UP, 55.0)).supports == 0
    # A bridge needs no support.
    wide = Printer(bridge_span=60.0)
    arch = solid.union(Solid.box((10, 40, 55), (50, 0, 0)))
    assert figures_of(arch, UP, looking(arch, UP, 5.0), wide).supports == 0
    assert figures_of(arch, UP, looking(arch, UP, 5.0)).stood_on == pytest.approx(1600, rel=0.01)


def test_columns_at_a_given_distance():
    solid = shelter()
    hanging = overhang(solid, UP, 45.0, 0.0)
    for resolution, tolerance in ((2.0, 0.03), (0.5, 0.01)):
        held, stood_on = supports_on(solid, UP, hanging, looking(solid, UP, 5.0), resolution)
        assert held == 0
        assert stood_on == pytest.approx(50 * 40, rel=tolerance)


@pytest.mark.parametrize(("side", "counted"), [(5.0, 1), (60.0, 0)])
def test_strings_end_inside_a_channel(side, counted):
    # The gap between the legs ends on their inner faces, 175 layers of 0.2 mm high.
    solid = channel()
    good = looking(solid, X, side)
    found = figures_of(solid, UP, good)
    assert found.crossings == pytest.approx(counted * 35 / 0.2, rel=0.02)
    assert found.crossings == seen_crossings(solid, UP, 0.2, 0.45, solid, good)


def test_a_seam_is_seen_where_it_crosses_the_good_face():
    # A bar of 100 x 30 x 20 cut in the middle: 30 mm of the outline lie on top of it.
    bar = Solid.box((100, 30, 20))
    division = divide(bar, [Cut(Plane(X, 50.0))])
    figures = measure(division, {"1": UP, "2": DOWN}, PRINTER, looking(bar, UP))
    first, second = good_sides(figures)
    assert (first.name, second.name) == ("1", "2")
    assert first.seam == second.seam == pytest.approx(30, rel=1e-9)
    assert (first.contact, second.contact) == (0, pytest.approx(50 * 30, rel=1e-9))


def test_seams_of_other_pieces_do_not_count():
    bar = Solid.box((90, 30, 20))
    division = divide(bar, [Cut(Plane(X, 30.0)), Cut(Plane(X, 60.0))])
    ups = {piece.name: UP for piece in division.pieces}
    found = good_sides(measure(division, ups, PRINTER, looking(bar, UP)))
    # The piece in the middle has two.
    assert sorted(each.seam for each in found) == pytest.approx([30, 30, 60])


def test_cuts_holes_and_rims_are_on_no_good_side():
    bar = Solid.box((100, 30, 20))
    every = np.ones(len(bar.faces), dtype=bool)
    low = divide(bar, [Cut(Plane(X, 50.0))]).piece("1").solid
    low = low.difference(Solid.cylinder((40, 15, 10), (60, 15, 10), 3.0))
    low = low.union(Solid.box((4, 4, 4), (47, 13, 20)))
    good = faces_on_good_side(low, bar, every)
    # What is left of the bar's own surface: all of its half but the seam and the block's foot.
    own = 2 * 50 * (30 + 20) + 30 * 20 - 3 * 4
    assert low.face_areas[good].sum() == pytest.approx(own, rel=1e-6)
    assert not good[looking(low, X, 50.0)].any()


def test_good_faces_of_all_pieces_add_up_to_those_of_the_part():
    hood = DEMO_PARTS["rain_hood"].make(6000)
    seen = seen_from_outside(hood)
    division = divide(hood, [Cut(Plane(X, -50.0)), Cut(Plane((0.0, 1.0, 0.0), 10.0))])
    total = 0.0
    for piece in division.pieces:
        good = faces_on_good_side(piece.solid, hood, seen)
        total += piece.solid.face_areas[good].sum()
    assert total == pytest.approx(hood.face_areas[seen].sum(), rel=0.005)


def test_the_whole_part_has_its_own_good_side_and_wrong_masks_are_refused():
    box = Solid.box((10, 10, 10))
    good = looking(box, UP)
    assert (faces_on_good_side(box, box, good) == good).all()
    with pytest.raises(ValueError, match="12 faces, got 3"):
        faces_on_good_side(box, box, good[:3])
