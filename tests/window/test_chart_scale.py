"""Stations and pixels, round steps, rows of pieces, places of markers. Expected: plane geometry."""

import itertools
import math

import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont, QFontMetricsF

from splitplanner.score.lying import Fit
from splitplanner.window.chart.marks import listed_marks, mark_at, placed_marks
from splitplanner.window.chart.scale import (
    ChartScale,
    decimals_of,
    round_step,
    ticks_between,
)
from splitplanner.window.chart.spans import row_count, rows_of, span_boxes
from splitplanner.window.chart.values import ALONG, CutMark, Span

WHOLE = ChartScale.whole(50.0, 850.0, -100.0, 300.0)
LANE, PLOT = QRectF(50, 0, 800, 20), QRectF(50, 20, 800, 80)


def test_the_whole_part_is_shown_with_a_little_beyond():
    assert WHOLE.is_whole
    assert 50.0 < WHOLE.pixel(-100.0) < 65.0
    assert 835.0 < WHOLE.pixel(300.0) < 850.0
    assert WHOLE.station(WHOLE.pixel(123.4)) == pytest.approx(123.4)
    assert WHOLE.pixel(101.0) - WHOLE.pixel(100.0) == pytest.approx(1 / WHOLE.mm_per_pixel)
    assert [WHOLE.clamped(value) for value in (-200.0, 7.0, 400.0)] == [-100.0, 7.0, 300.0]


def test_zooming_keeps_what_is_under_the_pointer_and_ends_at_the_whole():
    at = WHOLE.station(333.0)
    near = WHOLE.zoomed(4.0, 333.0)
    assert near.mm_per_pixel == pytest.approx(WHOLE.mm_per_pixel / 4)
    assert near.pixel(at) == pytest.approx(333.0)
    assert not near.is_whole
    assert near.zoomed(0.01, 700.0) == WHOLE
    nearest = near.zoomed(1e9, 333.0)
    assert nearest.stop - nearest.start == pytest.approx(1.0)


def test_panning_ends_where_the_part_does():
    near = WHOLE.zoomed(4.0, 400.0)
    there = near.panned(100.0)
    assert there.pixel(120.0) == pytest.approx(near.pixel(120.0) + 100.0)
    assert near.panned(1e6).start == pytest.approx(WHOLE.start)
    assert near.panned(-1e6).stop == pytest.approx(WHOLE.stop)
    assert WHOLE.panned(40.0) == WHOLE
    assert near.resized(0.0, 400.0).station(200.0) == pytest.approx(near.station(450.0))
    assert near.showing(near.start + 1.0) is near
    moved = near.showing(290.0)
    assert moved.start < 290.0 < moved.stop
    assert moved.mm_per_pixel == pytest.approx(near.mm_per_pixel)


@pytest.mark.parametrize(
    ("least", "step"),
    [(0.011, 0.02), (0.1, 0.1), (3.0, 5.0), (5.0, 5.0), (5.1, 10.0), (70.0, 100.0), (200.0, 200.0)],
)
def test_steps_are_one_two_or_five_times_a_power_of_ten(least, step):
    assert round_step(least) == pytest.approx(step)


@pytest.mark.parametrize(
    ("least", "step"),
    [(0.02, 1 / 32), (0.1, 0.125), (0.25, 0.25), (0.3, 0.5), (0.9, 1.0), (1.1, 2.0), (7.0, 10.0)],
)
def test_steps_below_an_inch_are_halved(least, step):
    assert round_step(least, halves=True) == pytest.approx(step)


def test_ticks_and_their_decimals():
    assert ticks_between(-0.5, 2.0, 0.5) == [-0.5, 0.0, 0.5, 1.0, 1.5, 2.0]
    assert ticks_between(101.0, 199.0, 100.0) == []
    assert [decimals_of(step) for step in (20.0, 0.5, 0.02, 0.125, 1 / 32)] == [0, 1, 2, 3, 5]


def span(start, stop, label="1"):
    return Span(start, stop, Fit.SQUARE, label, "#0072B2", "")


@pytest.mark.parametrize(
    ("ends", "rows"),
    [
        ([(0, 10), (10, 20), (20, 30)], [0, 0, 0]),
        ([(0, 10), (9, 20), (19, 30)], [0, 1, 0]),
        ([(9, 20), (0, 10)], [1, 0]),
        ([(0, 30), (0, 30), (0, 30), (0, 30)], [0, 1, 2, 2]),
        ([], []),
    ],
)
def test_pieces_side_by_side_lie_below_each_other(ends, rows):
    spans = [span(*pair) for pair in ends]
    assert rows_of(spans) == rows
    assert row_count(spans) == max(rows, default=0) + 1


def test_spans_are_cut_off_at_the_ends_of_the_view():
    near = WHOLE.zoomed(2.0, 450.0)
    strip = QRectF(50, 120, 800, 40)
    boxes = span_boxes([span(-100, 300), span(60, 110), span(295, 300)], near, strip)
    assert (boxes[0].left(), boxes[0].right()) == (51.0, 849.0)
    assert boxes[1].left() == pytest.approx(near.pixel(60) + 1)
    assert boxes[1].right() == pytest.approx(near.pixel(110) - 1)
    assert boxes[1].top() - boxes[0].top() == pytest.approx(20.0)
    assert boxes[2].width() == 0.0


def cut(index, station, slope=0.0, is_movable=True):
    return CutMark(index, station, slope, f"cut {index + 1}", is_movable)


@pytest.fixture
def fonts(qapp):
    return QFontMetricsF(QFont())


def test_handles_close_together_are_pushed_apart_and_stay_in_their_lane(fonts):
    cuts = [
        cut(0, 100.0),
        cut(1, 101.0),
        cut(2, 99.0),
        cut(3, 299.0),
        cut(4, 300.0),
        cut(5, -100.0),
    ]
    marks = placed_marks(cuts, WHOLE, LANE, PLOT, fonts)
    assert [mark.cut.index for mark in marks] == [5, 2, 0, 1, 3, 4]
    for one, other in itertools.pairwise(marks):
        assert one.grip.right() < other.grip.left()
    assert marks[0].grip.left() >= LANE.left()
    assert marks[-1].grip.right() <= LANE.right()
    for mark in marks:
        assert mark.line.x1() == mark.line.x2() == pytest.approx(WHOLE.pixel(mark.cut.station))


def test_handles_are_shortened_where_there_are_many_and_stay_near_their_cuts(fonts):
    few = placed_marks([cut(0, 0.0), cut(1, 50.0)], WHOLE, LANE, PLOT, fonts)
    assert [mark.name for mark in few] == ["cut 1", "cut 2"]
    many = placed_marks([cut(i, -95.0 + 19.5 * i) for i in range(21)], WHOLE, LANE, PLOT, fonts)
    assert [mark.name for mark in many] == [str(number) for number in range(1, 22)]
    away = [mark.grip.center().x() - WHOLE.pixel(mark.cut.station) for mark in many]
    assert max(map(abs, away)) < 5.0
    # Three in one place: the one in the middle stands over it, the others on either side.
    three = placed_marks([cut(i, 50.0) for i in range(3)], WHOLE, LANE, PLOT, fonts)
    assert three[1].grip.center().x() == pytest.approx(WHOLE.pixel(50.0))
    ends = three[0].grip.left() + three[2].grip.right()
    assert ends / 2 == pytest.approx(WHOLE.pixel(50.0))


@pytest.mark.parametrize("degrees", [0.0, 10.0, 35.0, 50.0])
def test_a_leaning_cut_is_drawn_leaning_through_its_station(fonts, degrees):
    (mark,) = placed_marks(
        [cut(0, 80.0, math.sin(math.radians(degrees)))], WHOLE, LANE, PLOT, fonts
    )
    line = mark.line
    assert (line.x1() + line.x2()) / 2 == pytest.approx(WHOLE.pixel(80.0))
    assert (line.y1(), line.y2()) == (PLOT.top(), PLOT.bottom())
    assert math.degrees(math.atan2(line.x1() - line.x2(), line.dy())) == pytest.approx(degrees)


def test_cuts_beyond_the_view_are_not_drawn_and_those_along_the_axis_are_listed(fonts):
    cuts = [cut(0, 80.0), cut(1, 10.0, 1.0), cut(2, math.nan, ALONG), cut(3, 500.0)]
    assert [m.cut.index for m in placed_marks(cuts, WHOLE, LANE, PLOT, fonts)] == [0]
    listed = listed_marks(cuts, QRectF(860, 20, 80, 120), fonts)
    assert [mark.cut.index for mark in listed] == [1, 2]
    assert all(mark.line is None for mark in listed)
    assert listed[0].grip.bottom() < listed[1].grip.top()


def test_the_nearest_line_is_under_the_pointer(fonts):
    marks = placed_marks([cut(0, 80.0), cut(1, 83.0), cut(2, 200.0, 0.5)], WHOLE, LANE, PLOT, fonts)
    by_index = {mark.cut.index: mark for mark in marks}
    x, y = WHOLE.pixel(80.0), PLOT.center().y()
    assert mark_at(marks, QPointF(x - 4.0, y), 110.0).cut.index == 0
    assert mark_at(marks, QPointF(x + 4.0, y), 110.0).cut.index == 1
    assert mark_at(marks, QPointF(x - 6.0, y), 110.0) is None
    assert mark_at(marks, QPointF(x, 111.0), 110.0) is None
    assert mark_at(marks, by_index[1].grip.center(), 110.0).cut.index == 1
    # Along a leaning line, and on the ruler below it at its station.
    assert mark_at(marks, by_index[2].line.pointAt(0.9), 110.0).cut.index == 2
    assert mark_at(marks, QPointF(WHOLE.pixel(200.0), 105.0), 110.0).cut.index == 2
    assert mark_at(marks, QPointF(by_index[2].line.x2(), 105.0), 110.0) is None
