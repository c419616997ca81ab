"""Gaps between islands whose places are known, and which of them show."""

import numpy as np
import pytest
import shapely

from splitplanner.plan import Cut, divide
from splitplanner.score.gaps import gaps, seen_crossings
from splitplanner.score.islands import islands
from splitplanner.solid import Plane, Solid, seen_from_outside

UP, X = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
LAYER, WIDTH = 1.0, 0.45


def portal():
    """Two legs 10 x 10 x 30 mm, 80 mm apart, under a beam 10 mm high."""
    beam = Solid.box((100, 10, 10), (0, 0, 30))
    return beam.union(Solid.box((10, 10, 30)), Solid.box((10, 10, 30), (90, 0, 0)))


def facing(solid, normal, at):
    """The faces that look along x at x = `at`."""
    along = solid.face_normals[:, 0] * normal > 0.99
    return along & (np.abs(solid.face_centroids[:, 0] - at) < 1e-6)


def count(solid, seen, part=None):
    return seen_crossings(solid, UP, LAYER, WIDTH, part or solid, seen)


def test_a_gap_in_the_open_shows_in_every_layer():
    solid = portal()
    assert count(solid, seen_from_outside(solid)) == 30
    assert islands(solid, UP, LAYER, WIDTH).crossings == 30


@pytest.mark.parametrize(("normal", "at", "expected"), [(1, 10, 30), (-1, 90, 30), (-1, 0, 0)])
def test_either_end_of_a_gap_counts_but_not_what_looks_away(normal, at, expected):
    solid = portal()
    seen = facing(solid, normal, at)
    assert seen.any()
    assert count(solid, seen) == expected


def test_a_gap_within_a_closed_box_shows_to_nobody():
    # Walls of 5 mm round 50 x 50 x 50 mm, a post 40 mm high on the floor inside.
    box = Solid.box((60, 60, 60)).difference(Solid.box((50, 50, 50), (5, 5, 5)))
    box = box.union(Solid.box((10, 10, 40), (25, 25, 5)))
    # In layers of 2 mm: 30, of which the post has 20.
    assert islands(box, UP, 2.0, WIDTH).crossings == 20
    assert seen_crossings(box, UP, 2.0, WIDTH, box, seen_from_outside(box)) == 0
    everything = np.ones(len(box.faces), dtype=bool)
    assert seen_crossings(box, UP, 2.0, WIDTH, box, everything) == 20


def test_a_gap_of_a_piece_shows_on_faces_of_the_part():
    # A plate with a window, cut through the window's middle: the upper half stands on two feet
    # whose gap ends on the window's sides. Turned on its side, they are one.
    plate = Solid.box((100, 10, 60)).difference(Solid.box((80, 20, 40), (10, -5, 10)))
    pieces = divide(plate, (Cut(Plane(UP, 30.0)),)).pieces
    seen = seen_from_outside(plate)
    upper = max(pieces, key=lambda piece: piece.solid.bounds[0, 2]).solid
    assert count(upper, seen, plate) == 20
    assert seen_crossings(upper, X, LAYER, WIDTH, plate, seen) == 0


def test_of_many_layers_some_are_looked_at():
    solid = portal()
    # 400 layers, 300 of them with a gap; 120 are looked at, and 30 of the 90 with a gap.
    assert seen_crossings(solid, UP, 0.1, WIDTH, solid, seen_from_outside(solid)) == pytest.approx(
        300
    )


def test_the_share_of_gaps_that_show_is_that_of_layers_all_the_way_up():
    # A portal whose right leg is 1 mm thicker all round up to 120 mm of 300; only the thin part
    # of it is marked as seen.
    tall = Solid.box((100, 10, 10), (0, 0, 300)).union(
        Solid.box((10, 10, 300)),
        Solid.box((10, 10, 180), (90, 0, 120)),
        Solid.box((12, 12, 120), (89, -1, 0)),
    )
    upper = facing(tall, -1, 90)
    found = seen_crossings(tall, UP, 1.0, WIDTH, tall, upper)
    assert islands(tall, UP, 1.0, WIDTH).crossings == pytest.approx(300, abs=3)
    # To one of the 30 layers that are looked at, 10 mm apart.
    assert found == pytest.approx(180, abs=10.5)


def test_gaps_are_the_shortest_that_connect_all():
    # Discs in a row, 5, 3 and 9 mm apart: each to the next.
    discs = [shapely.Point(x, 0).buffer(2.0) for x in (0, 9, 16, 29)]
    ends = gaps(discs)
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    assert sorted(lengths) == pytest.approx([3, 5, 9])
    # Within a ring a disc is nearest to its inner edge.
    ring = shapely.Point(0, 0).buffer(20).difference(shapely.Point(0, 0).buffer(10))
    ((start, end),) = gaps([ring, shapely.Point(3, 0).buffer(2.0)])
    assert np.linalg.norm(end - start) == pytest.approx(5, abs=0.01)


def test_touching_islands_are_connected_by_a_gap_of_nothing():
    squares = [shapely.box(0, 0, 1, 1), shapely.box(1, 1, 2, 2), shapely.box(5, 1, 6, 2)]
    ends = gaps(squares)
    assert sorted(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)) == pytest.approx([0, 3])


def test_many_islands_are_connected_by_their_middles():
    # 10 x 10 squares of 1 mm, 3 mm from middle to middle: 99 gaps of 2 mm.
    squares = [shapely.box(x, y, x + 1, y + 1) for x in range(0, 30, 3) for y in range(0, 30, 3)]
    ends = gaps(squares)
    assert np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) == pytest.approx(np.full(99, 2.0))


def test_a_mask_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="12 faces, got 3"):
        count(Solid.box((1, 1, 1)), np.ones(3, dtype=bool))
