"""How many beds rectangles fill: counts that can be worked out by hand."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from splitplanner.score.bed_fit import bed_fit
from splitplanner.score.bed_sharing import SPACING, bed_count, bed_room, packed
from splitplanner.workshop import Bed
from tests.score.beds import BED, CLIPPED_BED, L_BED, UP, box, free_polygon, turned

ROOM = (220.0, 220.0)


def beds(bed, *boxes, yaw=0.0):
    return bed_count([bed_fit(turned(box(*size), yaw), UP, bed) for size in boxes], bed)


def test_no_pieces_fill_no_bed():
    assert packed([], ROOM, SPACING) == 0
    assert bed_count([], BED) == 0


# Two squares and the 5 mm between them along each side: (220 - 5) / 2 = 107.5 mm.
@pytest.mark.parametrize(
    ("side", "count", "expected"),
    [(100, 4, 1), (100, 5, 2), (107.5, 4, 1), (107.51, 4, 4), (70, 9, 1), (70, 10, 2), (210, 3, 3)],
)
def test_squares_stand_in_rows(side, count, expected):
    assert beds(BED, *[(side, side, 20)] * count) == expected


def test_pieces_lie_along_either_side_and_may_be_turned():
    # Eight bars of 23 mm and their gaps take 8 x 23 + 7 x 5 = 219 mm; a ninth does not.
    assert beds(BED, *[(200, 23, 10)] * 8) == 1
    assert beds(BED, *[(23, 200, 10)] * 4, *[(200, 23, 10)] * 4, yaw=30.0) == 1
    assert beds(BED, *[(200, 23, 10)] * 9) == 2


def test_small_pieces_go_beside_a_large_one():
    # Beside 220 x 150 mm, 65 mm are left: three squares of 65 and their gaps take 205 mm.
    assert beds(BED, (220, 150, 10), *[(65, 65, 10)] * 3) == 1
    assert beds(BED, (220, 150, 10), *[(65.1, 65, 10)] * 3) == 1
    assert beds(BED, (220, 150, 10), *[(65.1, 65.1, 10)] * 3) == 2


def test_a_piece_that_fills_the_bed_to_the_micrometre_is_not_lost():
    assert beds(BED, (220.0 + 5e-7, 220.0, 10)) == 1
    assert beds(BED, (220.0 + 5e-7, 107.5, 10), (220.0, 107.5, 10)) == 1


def test_pieces_that_lie_aslant_or_do_not_fit_have_beds_of_their_own():
    # 250 x 5 mm fits a bed of 220 only near its diagonal; 400 mm do not fit at all.
    assert beds(BED, (250, 5, 10), (20, 20, 10)) == 2
    assert beds(BED, (400, 50, 10), (20, 20, 10), (20, 20, 10)) == 2
    # Too tall, though its plan would share.
    assert beds(BED, (50, 50, 251), (50, 50, 10)) == 2


def test_the_margin_is_kept_free():
    # 200 mm are left: (200 - 5) / 2 = 97.5.
    bed = Bed.rectangle(220, 220, 250, margin=10)
    assert bed_room(bed) == (200, 200)
    assert beds(bed, *[(97.5, 97.5, 20)] * 4) == 1
    assert beds(bed, *[(97.6, 97.6, 20)] * 4) == 4


def test_a_round_bed_is_shared_within_its_square():
    bed = Bed.circle(260, 250, margin=5)
    assert bed_room(bed) == pytest.approx((250 / math.sqrt(2),) * 2)
    assert beds(bed, *[(85, 85, 20)] * 4) == 1  # 175 of 176.8 mm
    assert beds(bed, *[(86, 86, 20)] * 4) == 4  # 177 mm
    # A bar of 240 mm fits the circle, but not the square.
    assert beds(bed, (240, 10, 20), (50, 50, 20)) == 2


def test_blocked_areas_and_odd_outlines_leave_their_largest_rectangle():
    # A clip in the corner from 190 mm on: 220 x 190 mm are left. An arm of the L: 300 x 100 mm.
    assert sorted(bed_room(CLIPPED_BED)) == pytest.approx([190, 220], abs=1e-5)
    assert sorted(bed_room(L_BED)) == pytest.approx([100, 300], abs=1e-5)
    assert beds(L_BED, *[(95, 95, 20)] * 3) == 1
    assert beds(L_BED, *[(95, 95, 20)] * 4) == 2
    full = Bed("rectangle", 100.0, 100.0, 50.0, blocked=(((0, 0), (100, 0), (100, 100), (0, 100)),))
    assert bed_room(full) == (0, 0)
    assert beds(full, (10, 10, 10), (10, 10, 10)) == 2


def test_a_round_bed_with_a_clip_has_a_rectangle_inside_it():
    bed = Bed("circle", 260.0, 260.0, 300.0, blocked=(((120, 240), (140, 240), (130, 262)),))
    width, depth = bed_room(bed)
    # The inscribed square clears this clip, but the search goes by few lines.
    assert 0.8 * 260**2 / 2 < width * depth <= free_polygon(bed).area
    assert math.hypot(width, depth) <= 260.0 + 0.05


@settings(max_examples=25, derandomize=True, deadline=None)
@given(st.lists(st.tuples(st.floats(5, 220), st.floats(5, 220)), min_size=1, max_size=14))
def test_the_count_lies_between_its_bounds(sides):
    rectangles = [(max(each), min(each)) for each in sides]
    found = packed(rectangles, ROOM, SPACING)
    covered = sum((long + SPACING) * (short + SPACING) for long, short in rectangles)
    # By area, and two that are both over half the room in both ways never share.
    assert found >= covered / (220 + SPACING) ** 2 - 1e-6
    assert found >= sum(short > 107.5 for _, short in rectangles)
    assert found <= len(rectangles)
