"""Dowel pins. Expected values: the pin standards, as named beside each check."""

import dataclasses
import math

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import DowelPin, dowel_pins, stock_length

# ISO 8734:1997 Table 1 (d, c, shortest, longest); two or more public tables agree on these rows.
ISO_8734 = (
    (2, 0.35, 5, 20),
    (2.5, 0.4, 6, 24),
    (3, 0.5, 8, 30),
    (4, 0.63, 10, 40),
    (5, 0.8, 12, 50),
    (6, 1.2, 14, 60),
    (8, 1.6, 18, 80),
)
# Length series of both standards; the same series stands in public tables of ISO 8752.
SERIES = {2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, *range(40, 105, 5)}
HEADER = "standard,diameter,chamfer,length_min,length_max,lengths,source\n"


def shelf(standard):
    return {pin.diameter: pin for pin in dowel_pins() if pin.standard == standard}


@pytest.mark.parametrize(("diameter", "chamfer", "shortest", "longest"), ISO_8734)
def test_iso_8734(diameter, chamfer, shortest, longest):
    pin = shelf("ISO 8734")[diameter]
    assert (pin.chamfer, pin.length_min, pin.length_max) == (chamfer, shortest, longest)
    assert "memory" not in pin.source


def test_iso_2338_length_ranges_say_they_are_from_memory():
    # ISO 2338:1997, from memory; the chamfers are left out because public tables disagree.
    pins = shelf("ISO 2338")
    assert (pins[4].length_min, pins[4].length_max) == (8, 40)
    assert (pins[6].length_min, pins[6].length_max) == (12, 60)
    assert all("memory" in pin.source for pin in pins.values())


def test_every_row_has_a_source_and_lengths_of_the_series():
    pins = dowel_pins()
    assert len({(pin.standard, pin.diameter) for pin in pins}) == len(pins) == 20
    for pin in pins:
        assert pin.source.startswith(pin.standard)
        assert set(pin.lengths) <= SERIES


def test_pins_are_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        dowel_pins()[0].diameter = 3.0


@pytest.mark.parametrize(("wanted", "got"), [(16, 16), (17, 16), (18, 16), (18.1, 20), (1, 10)])
def test_nearest_stock_length(wanted, got):
    assert stock_length(shelf("ISO 8734")[4], nearest=wanted) == got


@pytest.mark.parametrize(("wanted", "got"), [(16, 16), (16.1, 20), (1, 10)])
def test_stock_length_at_least(wanted, got):
    assert stock_length(shelf("ISO 8734")[4], at_least=wanted) == got


def test_no_pin_is_long_enough():
    with pytest.raises(WorkshopError, match="longest on the shelf is 40 mm"):
        stock_length(shelf("ISO 8734")[4], at_least=41)


def test_stock_length_wants_one_question():
    with pytest.raises(ValueError, match="either"):
        stock_length(shelf("ISO 8734")[4])


def test_own_rows_come_first(tmp_path):
    own = tmp_path / "own.csv"
    own.write_text(HEADER + "brass rod,3.2,0.3,10,40,12 20 16,my drawer\n", encoding="utf-8")
    pins = dowel_pins(own)
    assert pins[0] == DowelPin("brass rod", 3.2, 10, 40, 0.3, "my drawer", (12, 16, 20))
    assert pins[1:] == dowel_pins()


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("rod,three,0.3,10,40,12,x", "“three” in column diameter is not a number"),
        ("rod,-3,0.3,10,40,12,x", "diameter must be above 0"),
        ("rod,nan,0.3,10,40,12,x", "diameter must be above 0"),
        ("rod,3,0.3,40,10,12,x", "from a shortest"),
        ("rod,3,0.3,10,40,8 12,x", "outside its range"),
        ("rod,3,0.3,10,40,,x", "at least one length"),
        ("rod,3,1.6,10,40,12,x", "leaves no pin"),
        ("rod,3,0.3,10", "7 values"),
        ("rod,3,0.3,10,40,12,x,y", "7 values"),
    ],
)
def test_bad_rows_name_file_and_line(tmp_path, row, fault):
    own = tmp_path / "own.csv"
    own.write_text(HEADER + "rod,4,0.3,10,40,12,x\n" + row + "\n", encoding="utf-8")
    with pytest.raises(WorkshopError, match=fault) as caught:
        dowel_pins(own)
    assert str(caught.value).startswith(f"{own}, line 3: ")


def test_missing_column_and_missing_file(tmp_path):
    own = tmp_path / "own.csv"
    own.write_text("standard,diameter\nrod,3\n", encoding="utf-8")
    with pytest.raises(WorkshopError, match="line 1: column chamfer is missing"):
        dowel_pins(own)
    with pytest.raises(WorkshopError, match="cannot be read"):
        dowel_pins(tmp_path / "none.csv")


def test_four_diameters_long_is_on_the_shelf():
    # Engagement of 2 d on each side, common practice for plastics, no normative source.
    for pin in dowel_pins():
        if pin.standard == "ISO 8734" and 2 <= pin.diameter <= 6:
            assert math.isclose(stock_length(pin, nearest=4 * pin.diameter), 4 * pin.diameter)
