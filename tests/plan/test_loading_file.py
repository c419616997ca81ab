"""Files of loads: what they say, written and read back, and one clear sentence for a wrong one."""

import re

import pytest

from splitplanner.errors import LoadError, PlanFileError
from splitplanner.plan import (
    Fall,
    Loading,
    LoadSheet,
    PointLoad,
    SpreadLoad,
    WeightLoad,
    loads_from_text,
    loads_to_text,
    over_two_supports,
    read_loads,
)
from splitplanner.solid import Solid

TEXT = """
[loads."falls on its back"]
axis = "x"
supports = [{ station = 30 }, { station = 470, clamped = true }]
weight = [0, 0, -1]
fall = { height = 750, stopping = 12.5 }

[loads.pushed]
axis = [0, 3, 4]
supports = [{ station = 5 }, { station = 40 }]
forces = [{ station = 25, force = [80, 0, 0], at = [1, 2, 3], moment = [0, 0, 500] }]
spread = [{ start = 10, end = 20, force = [20, 0, 0] }]
"""
PART = Solid.box((500, 60, 40), (-100, 10, 0))


def test_stations_count_from_the_low_end_and_become_offsets_on_a_part():
    falls, pushed = loads_from_text(TEXT).on(PART)
    # By hand: the low end of the box is x = -100; along (0, .6, .8) it is 0.6 * 10.
    assert [each.station for each in falls.case.supports] == [-70.0, 370.0]
    assert [each.clamped for each in falls.case.supports] == [False, True]
    # Held along the axis by one alone, so that the other can slide.
    assert [each.axial for each in falls.case.supports] == [True, False]
    assert falls.case.loads == (WeightLoad((0.0, 0.0, -1.0)),)
    assert falls.fall == Fall(750.0, 12.5)
    assert pushed.axis == (0.0, 0.6, 0.8)
    assert pushed.case.loads == (
        PointLoad(31.0, (80.0, 0.0, 0.0), (0.0, 0.0, 500.0), (1.0, 2.0, 3.0)),
        SpreadLoad(16.0, 26.0, (20.0, 0.0, 0.0)),
    )


def test_what_is_written_is_read_back_the_same(tmp_path):
    loadings = loads_from_text(TEXT).on(PART)
    path = tmp_path / "loads.toml"
    path.write_text(loads_to_text(loadings, PART), encoding="utf-8")
    assert read_loads(path).on(PART) == loadings


def test_a_station_beside_the_part_is_told_with_its_length():
    sheet = LoadSheet((Loading((1, 0, 0), over_two_supports(0, 501, name="far")),))
    with pytest.raises(LoadError, match=r"“far”: the station 501 mm is beside .* 500\.0 mm long"):
        sheet.on(PART)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", 'has no load case; write one as a table such as [loads."falls"].'),
        ("axis = 'x'", "has a wrong entry “axis”: load cases are tables"),
        ("loads = 3", "has no load case"),
        ("[loads]\na = 3", "has a wrong entry “loads.a”: a load case is a table"),
        ("[loads.a]\naxis = 'x'", "lacks the entry “loads.a.supports”"),
        ("[loads.a]\nsupports = []", "lacks the entry “loads.a.axis”"),
        ("[loads.a]\naxis = 'x'\nsupports = []", "“loads.a”: Load case “a”: the part is not held"),
        (TEXT.replace("750", "-1"), "The height of a fall must be 0 mm or more, got -1"),
        (TEXT.replace("end = 20", "end = 1"), "must end after it starts, got 10 to 1 mm"),
        (TEXT.replace("[0, 3, 4]", "[0, 0, 0]"), "Load case “pushed” needs an axis with a length"),
        (TEXT.replace("force = [80", "newtons = [80"), "it is not known"),
        (TEXT.replace("station = 5 ", "station = 'low' "), "supports.0.station”"),
        ("loads = [", "is not valid TOML"),
    ],
)
def test_a_wrong_file_is_told_in_one_sentence(text, message):
    with pytest.raises(PlanFileError, match=re.escape(message)) as told:
        loads_from_text(text, "loads.toml")
    assert str(told.value).startswith("The file of loads loads.toml ")


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(PlanFileError, match="cannot be read: No such file"):
        read_loads(tmp_path / "none.toml")
