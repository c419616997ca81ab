"""What has to be bought for a plan, counted by hand."""

from dataclasses import replace

import pytest

from splitplanner.output.parts_list import NeededPart, needed_parts
from splitplanner.plan import Joint, PartFile, Pin, Plan, Screw, Tape
from splitplanner.workshop import Nut, Printer, Washer, hardware_shelf

UP = (0.0, 0.0, 1.0)
PART = PartFile("part.stl", "mm", "")


def pin(diameter, length):
    return Pin((0.0, 0.0, 0.0), UP, "ISO 8734", diameter, length, diameter + 0.2, length, 9.0)


def screw(standard, size, length, hold, washers, hole=4.0):
    at = (0.0, 0.0, 0.0)
    return Screw(
        at, UP, standard, size, length, hold, 4.0, washers, 3.4, 7.5, False, 6.0, hole, 0.0, 4.2
    )


def listed(*joints, shelf=None):
    return needed_parts(Plan(PART, Printer(), joints=joints), shelf)


def test_what_is_alike_is_one_line_over_all_seams():
    one = Joint("S1", (pin(3.0, 10.0), pin(3.0, 10.0)), (screw("ISO 4762", "M3", 12.0, "nut", 2),))
    other = Joint(
        "S2",
        (pin(3.0, 10.0), pin(12.0, 40.0), pin(3.0, 16.0)),
        (
            screw("ISO 4762", "M3", 12.0, "nut", 1),
            screw("ISO 4762", "M3", 8.0, "insert", 1, hole=4.5),
            screw("own", "M2.5", 10.0, "plastic", 0),
            screw("ISO 10642", "M4", 20.0, "nut", 0),
        ),
    )
    assert listed(one, other) == (
        NeededPart("3", "ISO 8734 - 3 x 10", "dowel pin"),
        NeededPart("1", "ISO 8734 - 3 x 16", "dowel pin"),
        NeededPart("1", "ISO 8734 - 12 x 40", "dowel pin"),
        NeededPart("1", "for M3, set into holes of 4.5 mm", "heat-set insert"),
        NeededPart("2", "ISO 4032 - M3", "nut"),
        NeededPart("1", "ISO 4032 - M4", "nut"),
        NeededPart("1", "ISO 4762 - M3 x 8", "screw"),
        NeededPart("2", "ISO 4762 - M3 x 12", "screw"),
        NeededPart("1", "ISO 10642 - M4 x 20", "screw"),
        NeededPart("1", "own - M2.5 x 10", "thread-forming screw"),
        NeededPart("4", "ISO 7089 - 3", "washer"),
    )


def test_nuts_and_washers_are_called_as_on_the_shelf():
    screws = (
        screw("ISO 4762", "M3", 12.0, "nut", 2),
        screw("ISO 4762", "M4", 12.0, "nut", 1),
        # Of this size there is neither.
        screw("mine", "M7", 20.0, "nut", 1),
    )
    joint, built_in = Joint("S1", screws=screws), hardware_shelf()
    shelf = replace(
        built_in,
        nuts=(Nut("DIN 562", "M3", 5.5, 1.8, "drawer"), *built_in.nuts),
        washers=(
            Washer("fender", "M3", True, 3.2, 15.0, 1.0, "drawer"),
            Washer("DIN 433", "M4", False, 4.3, 8.0, 0.5, "drawer"),
            *built_in.washers,
        ),
    )
    named = {(part.what, part.amount, part.name) for part in listed(joint, shelf=shelf)}
    assert {each for each in named if each[0] != "screw"} == {
        ("nut", "1", "DIN 562 - M3"),
        ("nut", "1", "ISO 4032 - M4"),
        ("nut", "1", "ISO 4032 - M7"),
        # The large one is not what is put under heads.
        ("washer", "2", "ISO 7089 - 3"),
        ("washer", "1", "DIN 433 - 4"),
        ("washer", "1", "ISO 7089 - 7"),
    }
    assert listed(joint, shelf=built_in) == listed(joint)


def test_the_order_of_the_seams_changes_nothing():
    one = Joint("S1", (pin(6.0, 24.0),), (screw("ISO 4762", "M3", 12.0, "nut", 2),))
    other = Joint("S2", (pin(4.0, 16.0),), (screw("ISO 4762", "M4", 12.0, "insert", 1),))
    assert listed(one, other) == listed(other, one)
    # Smaller pins come before larger ones.
    assert [part.name for part in listed(one, other)][:2] == [
        "ISO 8734 - 4 x 16",
        "ISO 8734 - 6 x 24",
    ]


def test_nothing_is_needed_where_nothing_is_placed():
    assert listed() == ()
    assert listed(Joint("S1"), Joint("S2")) == ()


def test_tape_by_kind_and_resin_for_all_of_it():
    glass = Tape("glass", 163.0, 2, 0.5, 30.0, 400.0)
    wide = Tape("glass", 163.0, 1, 0.5, 50.0, 1000.0)
    carbon = Tape("carbon", 200.0, 3, 0.6, 30.0, 250.0)
    found = listed(
        Joint("S1", tape=glass), Joint("S2", tape=wide), Joint("S3", tape=glass),
        Joint("S4", tape=carbon), Joint("S5"),
    )  # fmt: skip
    assert [(part.amount, part.name) for part in found[:-1]] == [
        ("0.75 m", "carbon, 200 g/m², 30 mm wide"),  # 3 plies of 250 mm
        ("1.60 m", "glass, 163 g/m², 30 mm wide"),  # twice 2 plies of 400 mm
        ("1.00 m", "glass, 163 g/m², 50 mm wide"),
    ]
    assert {part.what for part in found[:-1]} == {"fibre tape"}
    # At a share of a half the resin weighs what the fibre does, at 0.6 two thirds of it; a quarter
    # more stays in pot and brush.
    areas = (2 * 2 * 0.03 * 0.4 + 0.05 * 1.0, 3 * 0.03 * 0.25)
    resin = areas[0] * 163.0 + areas[1] * 200.0 * 2 / 3
    assert float(found[-1].amount.removesuffix(" g")) == pytest.approx(1.25 * resin, abs=0.5)
    assert found[-1].what == "laminating resin"
