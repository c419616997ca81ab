"""Print times worked out by hand."""

import math
from dataclasses import replace

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.score.filament import filament_use
from splitplanner.score.layering import layering
from splitplanner.score.print_time import (
    Spent,
    bed_seconds,
    calibrated,
    layered_print,
    print_time,
)
from splitplanner.solid import Solid
from splitplanner.workshop import Material, Printer

PRINTER = Printer(
    line_width=0.5, layer_height=0.2, wall_lines=2, infill=0.1, support_infill=0.25,
    outer_speed=40.0, inner_speed=60.0, infill_speed=80.0, flow_limit=50.0, top_layers=3,
    bottom_layers=2, least_layer_seconds=0.0, layer_change_seconds=4.0,
)  # fmt: skip
"""Lines of 0.5 x 0.2 mm: 4, 6 and 8 mm³/s."""


def box_time(x, y, z, support=0.0, printer=PRINTER):
    area = 2 * (x * y + y * z + z * x)
    return print_time(x * y * z, area, z, support, printer)


def test_a_cube_of_100_mm():
    found = box_time(100, 100, 100)
    # Two lines on four sides of 100 x 100 mm; five layers of 0.2 mm; a tenth of what is left.
    assert (found.walls, found.solid, found.filling) == pytest.approx((40e3, 10e3, 95e3))
    assert found.layers == 500
    assert found.seconds == pytest.approx(20e3 / 4 + 20e3 / 6 + 105e3 / 8 + 500 * 4)
    assert found.hours == pytest.approx(found.seconds / 3600)


def test_walls_of_a_cube_are_near_to_what_an_offset_leaves():
    # Exactly 100 (100² - 98²) = 39 600 mm³; its four upright edges of 1 mm² are counted twice.
    assert box_time(100, 100, 100).walls == pytest.approx(39.6e3 + 4 * 100)


def test_a_thin_plate_is_solid():
    # 200 x 100 x 1 mm: five layers of 0.2 mm are all there is, within walls of 1 mm.
    found = box_time(200, 100, 1)
    assert found.walls == pytest.approx(600)
    assert (found.solid, found.filling) == pytest.approx((20e3 - 600, 0))
    assert found.seconds == pytest.approx(300 / 4 + 300 / 6 + 19400 / 8 + 5 * 4)


def test_nothing_takes_next_to_no_time():
    assert print_time(0.0, 0.0, 0.0, 0.0, PRINTER).seconds == pytest.approx(4)


def test_support_is_printed_at_its_own_density():
    plain, held = box_time(50, 50, 50), box_time(50, 50, 50, support=8000.0)
    assert held.support == pytest.approx(2000)
    assert held.seconds - plain.seconds == pytest.approx(2000 / 8)


LINES = 20e3 / 4 + 20e3 / 6 + 105e3 / 8
"""Seconds without the changes of layers."""


@pytest.mark.parametrize(
    ("change", "seconds"),
    [
        ({"outer_speed": 20.0}, LINES + 20e3 / 4 + 2000),
        ({"inner_speed": 120.0}, LINES - 20e3 / 12 + 2000),
        ({"infill_speed": 160.0}, LINES - 105e3 / 16 + 2000),
        ({"flow_limit": 2.0}, 145e3 / 2 + 2000),
        ({"layer_change_seconds": 0.0}, LINES),
        ({"least_layer_seconds": 60.0}, 500 * 60 + 2000),
        ({"time_factor": 1.5}, 1.5 * (LINES + 2000)),
        ({"infill": 1.0}, 5000 + 20e3 / 6 + 960e3 / 8 + 2000),
        ({"wall_lines": 1}, 5000 + (10e3 + 97e3) / 8 + 2000),
        ({"top_layers": 8}, 5000 + 20e3 / 6 + (20e3 + 94e3) / 8 + 2000),
        ({"bottom_layers": 0}, 5000 + 20e3 / 6 + (6e3 + 95.4e3) / 8 + 2000),
    ],
)
def test_every_setting_of_the_printer_counts(change, seconds):
    found = box_time(100, 100, 100, printer=replace(PRINTER, **change))
    assert found.seconds == pytest.approx(seconds)


# -- by layers --------------------------------------------------------------------------------
SLOW = Printer(
    line_width=0.5, layer_height=0.2, wall_lines=2, infill=0.2, support_infill=0.25,
    outer_speed=20.0, inner_speed=40.0, infill_speed=80.0, travel_speed=100.0, flow_limit=50.0,
    least_layer_seconds=0.0, layer_change_seconds=2.0, travel_seconds=1.5, top_layers=5,
    bottom_layers=4,
)  # fmt: skip


def layered(solid, printer=SLOW, support=0.0):
    return layered_print(layering(solid, (0, 0, 1), printer), printer, support)


def tube(radius, wall, height, sides=180):
    outer = Solid.cylinder((0, 0, 0), (0, 0, height), radius, sides)
    inner = Solid.cylinder((0, 0, -1), (0, 0, height + 1), radius - wall, sides)
    return outer.difference(inner)


def test_a_tube_of_two_lines():
    found = layered(tube(50.0, 1.0, 20.0))
    # In each layer two circles of 49.75 and 49.25 mm at 20 mm/s, then 2 s to the next.
    lines = 2 * math.pi * (49.75 + 49.25)
    assert found.layers == 100
    assert found.seconds == pytest.approx(100 * (lines / 20 + 2), rel=1e-3)
    assert found.outer_walls == pytest.approx(100 * lines * 0.5 * 0.2, rel=1e-3)
    assert found.volume == pytest.approx(found.outer_walls, rel=1e-3)
    assert (found.travels, found.crossings) == (0, 0)


def test_a_box_line_by_line():
    found = layered(Solid.box((50, 40, 10)))
    # Of 50 layers nine are solid within two lines of wall; the others have a fifth of it.
    outer, inner = 2000 - 49 * 39, 49 * 39 - 48 * 38
    within = 48 * 38
    parts = (found.outer_walls, found.inner_walls, found.solid, found.filling)
    areas = (50 * outer, 50 * inner, 9 * within, 0.2 * 41 * within)
    assert parts == pytest.approx([0.2 * area for area in areas])
    # A line of 0.5 x 0.2 mm takes 2, 4 and 8 mm³/s at these speeds.
    seconds = 0.2 * (areas[0] / 2 + areas[1] / 4 + (areas[2] + areas[3]) / 8) + 50 * 2
    assert found.seconds == pytest.approx(seconds)
    assert found.hours == pytest.approx(seconds / 3600)


def test_no_more_flows_than_the_hotend_melts():
    box = Solid.box((50, 40, 10))
    limited = layered(box, replace(SLOW, flow_limit=5.0, layer_change_seconds=0.0))
    free = layered(box, replace(SLOW, layer_change_seconds=0.0))
    # Infill at 5 instead of 8 mm³/s; walls need less.
    within = limited.solid + limited.filling
    assert limited.seconds - free.seconds == pytest.approx(within / 5 - within / 8)
    throttled = layered(box, replace(SLOW, flow_limit=1.0, layer_change_seconds=0.0))
    assert throttled.seconds == pytest.approx(throttled.volume / 1.0)


def test_small_layers_take_their_least_time():
    peg = Solid.box((4, 4, 30))
    found = layered(peg, replace(SLOW, least_layer_seconds=10.0))
    assert (found.work < 10).all()
    assert found.seconds == pytest.approx(150 * (10 + 2))
    large = layered(Solid.box((100, 100, 2)), replace(SLOW, least_layer_seconds=10.0))
    assert large.seconds == pytest.approx(large.work.sum() + 10 * 2)


def test_travels_between_two_towers():
    towers = Solid.box((10, 10, 20)).union(Solid.box((10, 10, 20), (60, 0, 0)))
    one, two = layered(Solid.box((10, 10, 20))), layered(towers)
    # 100 times 60 mm at 100 mm/s and 1.5 s lost; the change of layers is there once.
    assert two.travels == pytest.approx(6000)
    assert two.crossings == 100
    assert two.seconds == pytest.approx(2 * (one.seconds - 200) + 200 + 60 + 150)


def test_pieces_on_one_bed_share_the_changes_of_layers():
    low, high = layered(Solid.box((10, 10, 10))), layered(Solid.box((10, 10, 20)))
    together = bed_seconds([low, high], SLOW, apart=80.0)
    apart = low.seconds + high.seconds
    assert together == pytest.approx(apart - 50 * 2 + 50 * (80 / 100 + 1.5))
    assert bed_seconds([high], SLOW) == pytest.approx(high.seconds)
    assert bed_seconds([], SLOW) == 0.0
    # Where each alone has to wait for its layers to set, two take no longer than one.
    printer = replace(SLOW, least_layer_seconds=30.0)
    peg = layered(Solid.box((4, 4, 30)), printer)
    assert bed_seconds([peg, peg], printer) == pytest.approx(peg.seconds)


def test_support_is_part_of_the_layered_print():
    plain, held = (layered(Solid.box((50, 50, 50)), support=each) for each in (0.0, 8000.0))
    assert held.support == pytest.approx(2000)
    assert held.volume - plain.volume == pytest.approx(2000)
    assert held.seconds - plain.seconds == pytest.approx(2000 / 8)


WAYS = (
    Printer(),
    Printer(nozzle=0.6, line_width=0.74, wall_lines=2, time_factor=1.2),
    replace(PRINTER, flow_limit=5.0, least_layer_seconds=15.0),
)


@pytest.mark.parametrize("printer", WAYS)
@pytest.mark.parametrize(
    ("solid", "off"),
    [
        (Solid.box((200, 100, 5)), 0.06),
        (Solid.box((100, 100, 100)), 0.04),
        (Solid.box((200, 200, 240)), 0.04),
        (tube(85.0, 1.48, 100.0), 0.03),
        (tube(60.0, 20.0, 50.0), 0.03),
    ],
)
def test_the_rough_way_is_near_to_the_layers_of_a_prism(printer, solid, off):
    # Corners count twice in the rough one.
    rough = print_time(solid.volume, solid.area, solid.extents[2], 0.0, printer)
    fine = layered(solid, printer)
    assert fine.seconds == pytest.approx(rough.seconds, rel=off)
    assert fine.seconds < 1.001 * rough.seconds


@pytest.mark.parametrize("printer", WAYS)
def test_the_rough_way_is_of_some_use_for_other_shapes(printer):
    # A ring under a frustum: slopes, layers of all sizes, and a floor over air.
    dome = tube(80.0, 4.0, 10.0).union(
        Solid.hull_of(Solid.cylinder((0, 0, 10), (0, 0, 11), 80.0, 90).vertices.tolist()
                      + Solid.cylinder((0, 0, 50), (0, 0, 51), 30.0, 90).vertices.tolist())
    )  # fmt: skip
    rough = print_time(dome.volume, dome.area, dome.extents[2], 0.0, printer)
    assert layered(dome, printer).seconds == pytest.approx(rough.seconds, rel=0.25)


def test_a_shell_of_half_a_metre_and_half_a_kilogram_takes_a_day_and_a_quarter():
    # Common practice, no source: some 30 h with a nozzle of 0.6 mm. Assumed here: layers of
    # 0.2 mm, two lines of 0.74 mm, both of them seen and so at the 30 mm/s that the program starts
    # with; a round shell of 170 mm in two pieces of 250 mm, all in all 0.5 kg of PETG.
    printer = Printer(nozzle=0.6, line_width=0.74, layer_height=0.2, wall_lines=2)
    petg = Material("PETG", 1.27)
    found = layered(tube(85.0, 1.48, 250.0), printer)
    assert found.layers == 1250
    assert 2 * filament_use(found, petg, printer).mass == pytest.approx(500, rel=0.02)
    assert 2 * found.hours == pytest.approx(30, rel=0.25)
    shell = tube(85.0, 1.48, 250.0)
    rough = print_time(shell.volume, shell.area, 250.0, 0.0, printer)
    assert 2 * rough.hours == pytest.approx(30, rel=0.25)
    # With thicker layers the same shell takes less than this.
    thick = layered(tube(85.0, 1.48, 250.0), replace(printer, layer_height=0.3))
    assert thick.hours / found.hours == pytest.approx(2 / 3, rel=0.02)


# -- one known print --------------------------------------------------------------------------
def test_one_known_print_gives_both_factors():
    petg, box = Material("PETG", 1.25), Solid.box((50, 40, 10))
    made = layered(box)
    worked_out = Spent(made.hours, filament_use(made, petg, SLOW).mass)
    printer = calibrated(SLOW, worked_out, Spent(1.3 * made.hours, 0.9 * worked_out.grams))
    assert (printer.time_factor, printer.mass_factor) == pytest.approx((1.3, 0.9))
    again = layered(box, printer)
    assert again.hours == pytest.approx(1.3 * made.hours)
    assert filament_use(again, petg, printer).mass == pytest.approx(0.9 * worked_out.grams)
    # Worked out with these, the same print leaves them as they are.
    same = Spent(again.hours, filament_use(again, petg, printer).mass)
    assert calibrated(printer, same, same) == printer
    # What is not known leaves its factor alone.
    assert calibrated(printer, Spent(2.0), Spent(4.0, 80.0)).mass_factor == printer.mass_factor
    assert calibrated(printer, Spent(2.0, 90.0), Spent(4.0)).time_factor == pytest.approx(2.6)
    assert bed_seconds([again], printer) == pytest.approx(again.seconds)


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (Spent(0.0), "needs figures above 0 h, got 0 h where 2 h were worked out"),
        (Spent(math.nan), "needs figures above 0 h"),
        (Spent(120.0), "took 120 h, but without a factor it should take 2 h; see that piece"),
        (Spent(2.0, 0.1), "took 0.1 g, but without a factor it should take 100 g"),
    ],
)
def test_a_print_that_cannot_be_the_same_is_told(known, words):
    with pytest.raises(WorkshopError, match=words):
        calibrated(SLOW, Spent(2.0, 100.0), known)
