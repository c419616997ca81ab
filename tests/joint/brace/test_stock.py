"""Outlines on a sheet against closed forms and against a sweep of angles."""

import numpy as np
import pytest
import shapely
from shapely import affinity

from splitplanner.findings import Severity
from splitplanner.joint.brace.stock import Sheet, best_turn, check_stock, stock_fit


def bar(length, depth):
    return shapely.box(0, 0, length, depth)


def arc(radius, depth, half):
    """A strip of an arc, as a brace over a round part."""
    angles = np.linspace(-half, half, 61)
    outer = (radius + depth) * np.column_stack([np.sin(angles), np.cos(angles)])
    inner = radius * np.column_stack([np.sin(angles), np.cos(angles)])[::-1]
    return shapely.Polygon(np.vstack([outer, inner]))


def test_a_bar_lies_straight_or_across_a_square_sheet():
    # Closed form: a bar a x b turned by 45° is (a + b) / sqrt 2 both ways.
    spare, turn = best_turn(bar(300, 20), 250, 250)
    assert spare == pytest.approx(250 - 320 / np.sqrt(2))
    assert np.degrees(turn) % 90 == pytest.approx(45)
    spare, turn = best_turn(bar(300, 20), 40, 310)
    assert spare == pytest.approx(10)
    assert np.degrees(turn) == pytest.approx(90)


@pytest.mark.parametrize("seed", range(8))
def test_the_best_turn_is_that_of_a_sweep_of_angles(seed):
    # Brute force: shapely's bounds at 36001 angles over half a turn, from which the exact one may
    # differ by no more than size times step.
    rng = np.random.default_rng(seed)
    outline = affinity.scale(shapely.MultiPoint(rng.normal(size=(9, 2))).convex_hull, 60, 12)
    width, depth = rng.uniform(60, 250, 2)
    angles = np.linspace(0, np.pi, 36001)
    points = shapely.get_coordinates(outline)
    x = points @ np.array([np.cos(angles), -np.sin(angles)])
    y = points @ np.array([np.sin(angles), np.cos(angles)])
    swept = np.minimum(width - np.ptp(x, axis=0), depth - np.ptp(y, axis=0)).max()
    spare, turn = best_turn(outline, width, depth)
    assert swept - 1e-9 <= spare <= swept + 250 * np.pi / 36000
    placed = affinity.rotate(outline, np.degrees(turn), origin=(0, 0))
    low_x, low_y, high_x, high_y = placed.bounds
    assert min(width - high_x + low_x, depth - high_y + low_y) == pytest.approx(spare)


def test_clamps_take_their_margin():
    sheet = Sheet(320, 40, margin=8)
    fit = stock_fit([bar(300, 20)], sheet)
    assert fit.fits
    assert fit.is_exact
    # The longest bar on a sheet lies along it: 304 - 300 and 24 - 20 mm.
    assert fit.spare == pytest.approx(4)
    placed = fit.lying[0].placed(bar(300, 20))
    assert shapely.box(8, 8, 312, 32).buffer(1e-9).contains(placed)
    fit, finding = check_stock([bar(300, 20)], Sheet(310, 40, margin=8))
    assert not fit.fits
    assert finding.severity is Severity.FAULT
    assert "6.0 mm are missing" in finding.message
    assert finding.measured == pytest.approx(-6)
    with pytest.raises(ValueError, match="no room"):
        Sheet(30, 200, margin=15)
    with pytest.raises(ValueError, match="no outline"):
        stock_fit([], sheet)


def test_several_bars_lie_side_by_side_with_the_gap():
    # Closed form: three bars of 20 mm and two gaps of 5 mm take 70 mm. What is told is coarse by
    # the bisection (0.5 mm) and the outlines' allowance (0.6 mm for each gap).
    bars = [bar(200, 20)] * 3
    fit = stock_fit(bars, Sheet(230, 90, margin=4, gap=5))
    assert fit.fits
    assert not fit.is_exact
    assert 12 - 2 * 0.65 - 0.5 <= fit.spare <= 12 + 1e-6
    check_lying(bars, fit, Sheet(230, 90, margin=4, gap=5))
    fit, finding = check_stock(bars, Sheet(230, 70, margin=4, gap=5))
    assert not fit.fits
    assert not fit.lying
    assert -8 - 2 * 0.65 - 0.5 <= fit.spare <= -8 + 1e-6
    assert finding.severity is Severity.FAULT


def test_arcs_nest_where_their_hulls_would_not():
    arcs = [arc(150, 14, 0.6)] * 2
    sheet = Sheet(220, 90, margin=5, gap=4)
    hulls = [one.convex_hull for one in arcs]
    assert 2 * np.ptp(shapely.get_coordinates(hulls[0])[:, 1]) > 80
    fit = stock_fit(arcs, sheet)
    assert fit.fits
    check_lying(arcs, fit, sheet)


def test_different_outlines_are_tried_in_every_order():
    outlines = [bar(60, 30), bar(180, 15), bar(100, 30)]
    sheet = Sheet(190, 62, margin=3, gap=4)
    fit = stock_fit(outlines, sheet)
    assert fit.fits
    check_lying(outlines, fit, sheet)


def check_lying(outlines, fit, sheet):
    """Hold a lie against shapely: inside the margin, and the gap between any two."""
    placed = [lying.placed(one) for one, lying in zip(outlines, fit.lying, strict=True)]
    room = shapely.box(
        sheet.margin, sheet.margin, sheet.width - sheet.margin, sheet.depth - sheet.margin
    )
    for index, one in enumerate(placed):
        assert room.buffer(1e-5).contains(one)
        for other in placed[:index]:
            assert one.distance(other) >= sheet.gap - 1e-6
