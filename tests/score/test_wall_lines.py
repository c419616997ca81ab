"""Walls against printed lines. Expected values: closed forms, and brute force over line widths."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import WorkshopError
from splitplanner.findings import Severity
from splitplanner.score import LineRule, line_widths, wall_lines
from splitplanner.solid import Plane, Solid, thickness
from splitplanner.workshop import Printer


def printer(nozzle, line_width, wall_lines=3):
    return Printer(nozzle=nozzle, line_width=line_width, wall_lines=wall_lines)


def plate(wall):
    return thickness(Solid.box((90.0, 70.0, wall)), points=3000)


@pytest.fixture(scope="module")
def stepped():
    """A plate of 2.4 mm over 60 mm and of 3.0 mm over 40 mm, 80 mm deep."""
    corners = [(0, 0), (100, 0), (100, 3), (60, 3), (60, 2.4), (0, 2.4)]
    return Solid.prism(Polygon(corners), Plane((0.0, 0.0, 1.0), 0.0), 0.0, 80.0)


@pytest.fixture(scope="module")
def hood():
    return thickness(DEMO_PARTS["rain_hood"].make(130_000))


def test_shell_of_two_lines_is_twice_the_line_width():
    # A nozzle of 0.6 mm that prints lines of 0.74 mm: walls of 1.48 mm.
    found = wall_lines(plate(1.48), printer(0.6, 0.74), lines=2)
    assert found.off == 0.0
    assert found.area == pytest.approx(2 * 90 * 70)
    assert found.best_line_width == pytest.approx(0.74)
    assert found.findings == ()
    found = wall_lines(plate(1.48), printer(0.6, 0.62), lines=2)
    assert found.off == 1.0
    assert found.best_line_width == pytest.approx(0.74)
    (finding,) = found.findings
    assert finding.kind == "walls.between_lines"
    assert finding.severity is Severity.NOTE
    assert (finding.measured, finding.unit) == (pytest.approx(1.0), "1")
    assert "walls of 1.48 mm 2.4 lines) and not 2 of them" in finding.message
    assert "print lines of 0.74 mm" in finding.message
    assert "or model these walls 1.24 mm thick" in finding.message
    assert len(finding.where)
    assert set(np.round(finding.where[:, 2], 6)) <= {0.0, 1.48}


def test_tolerance_is_a_share_of_a_line():
    # 1.48 mm with lines of 0.7 mm is 0.08 mm off: 11.4 % of a line.
    walls = plate(1.48)
    assert wall_lines(walls, printer(0.6, 0.7), lines=2, tolerance=0.12).off == 0.0
    assert wall_lines(walls, printer(0.6, 0.7), lines=2, tolerance=0.11).off == 1.0


def test_no_line_width_will_do_and_the_model_must_change():
    found = wall_lines(plate(2.4), printer(0.4, 0.45), lines=2)
    assert found.widths.whole == 0.0
    assert found.best_line_width == 0.45
    (wall,) = found.walls
    assert (wall.whole, wall.is_off) == (2, True)
    assert wall.model == pytest.approx(0.9)
    assert "print lines" not in found.findings[0].message
    assert "model these walls 0.90 mm thick" in found.findings[0].message


def test_line_width_next_to_the_one_that_is_set():
    # 2.4 mm is 6, 5 or 4 lines within 0.1 of one: 0.4 to 2.4 / 5.9, 2.4 / 5.1 to 2.4 / 4.9 ...
    found = wall_lines(plate(2.4), printer(0.4, 0.45))
    assert found.off == 1.0
    assert found.best_line_width == pytest.approx(0.48)
    assert (found.widths.least, found.widths.largest) == pytest.approx((2.4 / 5.1, 2.4 / 4.9))
    assert [width for width, _ in found.widths.others] == pytest.approx([0.4, 0.6])
    assert found.walls[0].model == pytest.approx(5 * 0.45)
    assert wall_lines(plate(2.4), printer(0.4, 0.57)).best_line_width == pytest.approx(0.6)


def test_best_line_width_against_all_others():
    random = np.random.default_rng(7)
    for trial in range(20):
        values = random.choice(random.uniform(0.3, 7.0, 12), 60) * random.normal(1, 0.01, 60)
        areas = random.uniform(0.1, 5.0, 60)
        rule = LineRule(6, 2 if trial % 4 == 3 else None, float(random.uniform(0.03, 0.2)))
        low, high = 0.4, 0.6

        def whole(width, values=values, areas=areas, rule=rule):
            counts = np.arange(1, 8) if rule.lines is None else np.array([rule.lines])
            gaps = np.abs(values[:, None] - counts * width).min(axis=1)
            return areas[gaps <= rule.tolerance * width].sum() / areas.sum()

        found = line_widths(values, areas, (low, high), rule, wanted=0.45, nearly=0.0)
        middles = (found.edges[1:] + found.edges[:-1]) / 2
        np.testing.assert_allclose([whole(w) for w in middles], found.shares, atol=1e-12)
        most = max(whole(width) for width in np.linspace(low, high, 4001))
        assert most <= found.shares.max() + 1e-12
        if most > 0:
            assert found.whole == pytest.approx(found.shares.max())
            inside = (found.best + found.least) / 2, (found.best + found.largest) / 2
            assert max(whole(width) for width in inside) == pytest.approx(found.shares.max())
        assert low <= found.least <= found.best <= found.largest <= high


def test_of_equal_line_widths_the_one_with_the_least_gaps():
    # All of it is whole from 1.23 / 2.2 to 1.17 / 1.8: there the area-weighted sum of gaps decides.
    values, areas = np.array([1.17, 1.2, 1.23]), np.array([2.0, 1.0, 1.5])
    found = line_widths(values, areas, (0.5, 0.7), LineRule(6, 2, 0.2), wanted=0.5)
    grid = np.linspace(found.least, found.largest, 20_001)
    sums = (np.abs(values[:, None] - 2 * grid) * areas[:, None]).sum(axis=0)
    assert found.best == pytest.approx(grid[sums.argmin()], abs=1e-4)


def test_shares_of_a_stepped_plate(stepped):
    # The sides of 2.4 mm have 60 / 100 of the area; 3 mm is 5 lines of 0.6, 2.4 mm is 4 of 0.6.
    walls = thickness(stepped, points=8000)
    found = wall_lines(walls, printer(0.4, 0.5))
    assert found.off == pytest.approx(0.6, abs=0.01)
    thick, thin = found.walls[1], found.walls[0]
    assert (thin.thickness, thick.thickness) == pytest.approx((2.4, 3.0))
    assert (thin.share, thick.share) == pytest.approx((0.6, 0.4), abs=0.01)
    assert (thin.lines, thin.whole, thin.is_off) == (pytest.approx(4.8), 5, True)
    assert (thick.whole, thick.is_off, thick.model) == (6, False, pytest.approx(3.0))
    assert thin.model == pytest.approx(2.5)
    assert (thin.places[:, 0] < 60.5).all()
    assert found.best_line_width == pytest.approx(0.6, abs=1e-6)
    assert wall_lines(walls, printer(0.4, 0.6)).off < 0.01


def test_histogram(stepped):
    found = wall_lines(thickness(stepped, points=8000), printer(0.4, 0.5))
    assert found.histogram.sum() == pytest.approx(found.area)
    assert len(found.edges) == len(found.histogram) + 1
    at = np.searchsorted(found.edges, [2.4, 3.0]) - 1
    assert found.histogram[at].sum() > 0.99 * found.area
    assert found.histogram[at[0]] == pytest.approx(0.6 * found.area, rel=0.02)


def test_what_is_drawn(stepped):
    found = wall_lines(thickness(stepped), printer(0.4, 0.5))
    x, y, z = stepped.face_centroids.T
    low = np.isclose(y, 2.4) & (z > 0) & (z < 80)
    high = np.isclose(y, 3.0)
    np.testing.assert_allclose(found.face_gaps[low], 2.4 - 5 * 0.5, atol=1e-9)
    np.testing.assert_allclose(found.face_gaps[high], 0.0, atol=1e-9)
    assert found.face_off[low].all()
    assert not found.face_off[high].any()
    rim = np.isclose(x, 0.0)
    assert np.isnan(found.face_gaps[rim]).all()
    assert not found.face_off[rim].any()


def test_thin_walls_are_found_with_their_place():
    # A sheet of 0.3 mm that stands on a plate of 3 mm.
    solid = Solid.box((60, 40, 3)).union(Solid.box((60, 0.3, 25), (0, 20, 2)))
    found = wall_lines(thickness(solid, points=8000), printer(0.4, 0.5))
    assert found.thin.share * found.area == pytest.approx(2 * 60 * 24, rel=0.02)
    finding = found.findings[0]
    assert (finding.kind, finding.severity) == ("walls.thin", Severity.WARNING)
    assert finding.measured == pytest.approx(0.3)
    assert finding.allowed == 0.5
    assert (finding.where[:, 2] > 3).all()
    assert "0.30 mm at the thinnest" in finding.message
    assert wall_lines(plate(0.46), printer(0.4, 0.5)).thin.share == 0.0


@pytest.mark.parametrize(
    ("wall", "off", "filled"),
    [(3.5, 0.0, 0.0), (3.72, 1.0, 0.0), (3.8, 0.0, 1.0), (31.3, 0.0, 1.0)],
)
def test_thick_walls_have_filler(wall, off, filled):
    # 3 lines of 0.5 mm on either side, and from half a line more than one between them filler.
    found = wall_lines(plate(wall), printer(0.4, 0.5))
    assert (found.off, found.filled) == (off, filled)
    if filled:
        assert found.walls[0].model == pytest.approx(wall)
        assert (found.face_gaps[np.isfinite(found.face_gaps)] == 0.0).all()


def test_solid_without_walls():
    # A steep pyramid: its sides meet at more than 45° everywhere.
    solid = Solid.hull_of([(0, 0, 0), (50, 0, 0), (0, 50, 0), (0, 0, 50)])
    walls = thickness(solid, points=100)
    found = wall_lines(walls, printer(0.4, 0.45))
    assert found.area <= 0.2 * solid.area
    assert found.findings == ()
    assert found.histogram.sum() <= found.area + 1e-9


@pytest.mark.parametrize(("nozzle", "line_width"), [(0.4, 0.45), (0.6, 0.74)])
def test_hood(hood, nozzle, line_width):
    # Walls of 2.4 mm and frames of 3.0 mm: 4 and 5 lines of 0.6 mm, for either nozzle.
    found = wall_lines(hood, printer(nozzle, line_width))
    assert found.off > 0.8
    assert found.best_line_width == pytest.approx(0.6, abs=0.002)
    assert found.walls[0].thickness == pytest.approx(2.4, rel=0.01)
    assert found.walls[1].thickness == pytest.approx(3.0, rel=0.01)
    assert wall_lines(hood, printer(nozzle, 0.6)).off < 0.02


def test_what_is_not_whole_had_better_have_filler():
    # Of 2.4 mm, 60 % of the area, and 3.2 mm: 5 lines of 0.48 mm make the first whole, as do 6 of
    # 0.4 mm; the others are 6.7 lines of 0.48 mm, and of 0.4 mm 3 on either side with room for
    # two lines of filler.
    values, areas = np.array([2.4, 3.2]), np.array([60.0, 40.0])
    found = line_widths(values, areas, (0.4, 0.6), LineRule(6), wanted=0.45)
    assert found.best == pytest.approx(0.4)
    assert found.whole == pytest.approx(0.6)


@pytest.mark.parametrize("options", [{"tolerance": 0.0}, {"tolerance": 0.5}, {"lines": 0}])
def test_wishes_without_sense(options):
    with pytest.raises(WorkshopError, match="line"):
        wall_lines(plate(2.0), printer(0.4, 0.45), **options)
