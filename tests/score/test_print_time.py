"""Print times worked out by hand."""

import pytest

from splitplanner.score.print_time import print_time
from splitplanner.workshop import Printer

PRINTER = Printer(
    line_width=0.5, layer_height=0.2, wall_lines=2, infill=0.1, support_infill=0.25, flow=10.0,
    layer_seconds=4.0,
)  # fmt: skip


def box_time(x, y, z, support=0.0, printer=PRINTER):
    area = 2 * (x * y + y * z + z * x)
    return print_time(x * y * z, area, z, support, printer)


def test_a_cube_of_100_mm():
    found = box_time(100, 100, 100)
    # A skin of 1 mm on 60 000 mm², a tenth of the other 940 000 mm³, 500 layers.
    assert (found.skin, found.filling, found.layers) == pytest.approx((60e3, 94e3, 500))
    assert found.seconds == pytest.approx(154e3 / 10 + 500 * 4)
    assert found.hours == pytest.approx(17400 / 3600)


def test_the_skin_of_a_cube_is_near_to_what_an_offset_leaves():
    # Exactly 100³ - 98³ = 58 808 mm³; edges are counted twice, 12 of 100 mm with 1 mm².
    exact = 100**3 - 98**3
    assert box_time(100, 100, 100).skin == pytest.approx(exact, rel=0.025)


def test_a_thin_plate_is_solid():
    # 200 x 100 x 1.5 mm: its two skins of 1 mm would be more than there is.
    found = box_time(200, 100, 1.5)
    assert (found.skin, found.filling, found.layers) == pytest.approx((30e3, 0, 8))
    assert found.seconds == pytest.approx(3000 + 8 * 4)


def test_support_is_printed_at_its_own_density():
    plain, held = box_time(50, 50, 50), box_time(50, 50, 50, support=8000.0)
    assert held.support == pytest.approx(2000)
    assert held.seconds - plain.seconds == pytest.approx(200)


@pytest.mark.parametrize(
    ("change", "seconds"),
    [
        ({"flow": 20.0}, 154e3 / 20 + 2000),
        ({"layer_seconds": 0.0}, 154e3 / 10),
        ({"layer_height": 0.4}, 154e3 / 10 + 1000),
        ({"infill": 1.0}, 1e6 / 10 + 2000),
        ({"wall_lines": 4}, (120e3 + 88e3) / 10 + 2000),
        ({"line_width": 0.25}, (30e3 + 97e3) / 10 + 2000),
    ],
)
def test_every_setting_of_the_printer_counts(change, seconds):
    settings = {
        "line_width": 0.5, "wall_lines": 2, "infill": 0.1, "flow": 10.0, "layer_seconds": 4.0,
    }  # fmt: skip
    printer = Printer(**(settings | change))
    assert box_time(100, 100, 100, printer=printer).seconds == pytest.approx(seconds)
