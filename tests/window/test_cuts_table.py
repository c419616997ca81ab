"""Planes as numbers and back, and the table in which they are edited."""

import gc
import math
import weakref

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale, Qt
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QToolButton

from splitplanner.plan import Cut
from splitplanner.solid import Plane
from splitplanner.window.chart.cut_places import (
    ChartAxis,
    leaned,
    moved_to_station,
    place_of,
    plane_at_offset,
    plane_at_station,
)
from splitplanner.window.lists.cuts_model import (
    DIVIDES,
    LEAN,
    OFFSET,
    STATION,
    TURN,
    words_of,
)
from splitplanner.window.lists.cuts_table import CutsTable
from splitplanner.window.quantities import Quantities

C = QLocale(QLocale.Language.C)
ALONG_X = ChartAxis((1.0, 0.0, 0.0), (0.0, 20.0, 30.0), -100.0)
ASKEW = ChartAxis((0.6, 0.0, 0.8), (5.0, -7.0, 11.0), 3.0)
CUTS = (
    Cut(Plane((1.0, 0.0, 0.0), 40.0)),
    Cut(Plane.through((150.0, 20.0, 30.0), (1.0, 0.2, 0.1)), "2"),
    Cut(Plane((0.0, 1.0, 0.0), 10.0)),
)
TARGETS = ((), ("1", "2"), ("1", "2.1", "2.2"))
lengths = st.floats(-1000, 1000)
turns = st.floats(-179.9, 180)
axes = st.sampled_from([ALONG_X, ASKEW])


# ----- planes as numbers


def test_numbers_of_planes_that_are_known():
    # Station 0 is at x = -100.
    square = place_of(Plane((1.0, 0.0, 0.0), 40.0), ALONG_X)
    assert (square.station, square.lean, square.turn, square.offset) == (140.0, 0.0, 0.0, 40.0)
    assert square.is_straight
    flipped = place_of(Plane((-1.0, 0.0, 0.0), -40.0), ALONG_X)
    assert (flipped.station, flipped.lean, flipped.offset) == (140.0, 180.0, -40.0)
    # Through (0, 20, 30) of the axis at 45° towards +y, and towards +z.
    half = math.sqrt(0.5)
    to_y = place_of(Plane.through((0, 20, 30), (half, half, 0)), ALONG_X)
    assert (to_y.station, to_y.lean, to_y.turn) == pytest.approx((100.0, 45.0, 0.0))
    to_z = place_of(Plane.through((0, 20, 30), (half, 0, half)), ALONG_X)
    assert (to_z.station, to_z.lean, to_z.turn) == pytest.approx((100.0, 45.0, 90.0))


def test_a_plane_along_the_axis_has_no_station_and_keeps_its_offset_when_it_turns():
    plane = Plane((0.0, 1.0, 0.0), 10.0)
    assert math.isnan(place_of(plane, ALONG_X).station)
    assert moved_to_station(plane, 50.0, ALONG_X) == plane
    turned = leaned(plane, 90.0, 90.0, ALONG_X)
    assert turned.offset == 10.0
    assert turned.normal == pytest.approx((0.0, 0.0, 1.0))


@given(lengths, st.floats(0.01, 179.99), turns, axes)
def test_from_offset_and_angles_to_a_plane_and_back(offset, lean, turn, axis):
    place = place_of(plane_at_offset(offset, lean, turn, axis), axis)
    assert place.offset == offset
    assert place.lean == pytest.approx(lean, abs=1e-6)
    assert place.turn == pytest.approx(turn, abs=1e-4)


@given(lengths, st.one_of(st.floats(0.01, 89), st.floats(91, 179.99)), turns, axes)
def test_from_station_and_angles_to_a_plane_and_back(station, lean, turn, axis):
    place = place_of(plane_at_station(station, lean, turn, axis), axis)
    assert place.station == pytest.approx(station, abs=1e-6)
    assert place.lean == pytest.approx(lean, abs=1e-6)
    assert place.turn == pytest.approx(turn, abs=1e-4)


@given(lengths, st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda n: math.hypot(*n) > 0.1), axes)
def test_from_a_plane_to_numbers_and_back(offset, normal, axis):
    plane = Plane(normal, offset)
    place = place_of(plane, axis)
    again = plane_at_offset(place.offset, place.lean, place.turn, axis)
    assert again.offset == offset
    assert again.normal == pytest.approx(plane.normal, abs=1e-8)


@given(lengths, lengths, st.floats(0, 80), turns, axes)
def test_a_plane_leans_about_the_point_where_it_crosses_the_axis(before, offset, lean, turn, axis):
    plane = plane_at_station(before, 10.0, 20.0, axis)
    point = np.array(axis.zero) + before * np.array(axis.direction)
    assert leaned(plane, lean, turn, axis).height([point]) == pytest.approx(0.0, abs=1e-9)
    moved = moved_to_station(plane, offset, axis)
    assert moved.normal == plane.normal
    assert place_of(moved, axis).station == pytest.approx(offset, abs=1e-8)


# ----- the table


@pytest.fixture
def table(qtbot):
    made = CutsTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 300)
    made.set_axis(ALONG_X)
    made.show_cuts(CUTS, TARGETS)
    made.show()
    made.table.setFocus()
    return made


def edit(qtbot, table, row, column, text):
    index = table.model.index(row, column)
    table.table.setCurrentIndex(index)
    qtbot.keyClick(table.table, Qt.Key.Key_F2)
    field = table.table.indexWidget(index)
    assert isinstance(field, QDoubleSpinBox)
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def edited(qtbot, table, row, column, text):
    with qtbot.waitSignal(table.cut_edited) as signal:
        edit(qtbot, table, row, column, text)
    assert signal.args[0] == row
    return signal.args[1]


def test_cuts_are_written_out(table):
    texts = [table.table.rows_model.text_of(row).split("\t") for row in range(3)]
    assert texts[0] == ["1", "all it meets", "140.0 mm", "0.0°", "–", "40.0 mm"]
    assert texts[1][:5] == ["2", "piece 2", "250.0 mm", "12.6°", "26.6°"]
    assert texts[2] == ["3", "all it meets", "–", "90.0°", "0.0°", "10.0 mm"]


def test_what_a_cut_divides_is_told_by_the_numbers_that_pieces_have_now():
    # Cut by 2, then by 1 once more and by 1.2: pieces are numbered along the part.
    numbers = {"1.1": 1, "1.2.1": 2, "1.2.2": 3, "2": 4, "10": 5}
    told = [words_of(name, numbers) for name in (None, "whole", "1", "1.2", "2")]
    assert told == [
        "all it meets", "the whole part", "pieces 1 + 2 + 3", "pieces 2 + 3", "piece 4"
    ]  # fmt: skip
    # While the plan is being divided there are no numbers.
    assert words_of("1.2", {}) == "piece 1.2"


@pytest.mark.parametrize(("unit", "mm"), [("mm", 60.5), ("inch", 60.5 * 25.4)])
def test_a_station_is_edited(qtbot, table, unit, mm):
    table.set_quantities(Quantities(unit, C))
    plane = edited(qtbot, table, 1, STATION, "60.5")
    assert plane.normal == CUTS[1].plane.normal
    assert place_of(plane, ALONG_X).station == pytest.approx(mm)


def test_numbers_are_entered_as_the_locale_writes_them(qtbot, table):
    table.set_quantities(Quantities("mm", QLocale("de_DE")))
    assert table.model.index(0, STATION).data() == "140,0 mm"
    assert edited(qtbot, table, 0, OFFSET, "12,5") == Plane((1.0, 0.0, 0.0), 12.5)


def test_an_offset_is_edited(qtbot, table):
    assert edited(qtbot, table, 0, OFFSET, "-12.25") == Plane((1.0, 0.0, 0.0), -12.25)


def test_lean_and_turn_are_edited_about_the_axis(qtbot, table):
    plane = edited(qtbot, table, 0, LEAN, "30")
    assert plane.normal == pytest.approx((math.cos(math.pi / 6), 0.5, 0.0))
    assert place_of(plane, ALONG_X).station == pytest.approx(140.0)
    plane = edited(qtbot, table, 1, TURN, "-90")
    assert place_of(plane, ALONG_X).turn == pytest.approx(-90.0)
    assert place_of(plane, ALONG_X).lean == pytest.approx(place_of(CUTS[1].plane, ALONG_X).lean)


def test_what_a_plane_has_not_cannot_be_edited(table):
    editable = Qt.ItemFlag.ItemIsEditable
    model = table.model
    assert not model.index(0, TURN).flags() & editable  # square across: no turn
    assert not model.index(2, STATION).flags() & editable  # along the axis: no station
    assert model.index(1, TURN).flags() & editable
    assert model.index(1, STATION).flags() & editable
    assert not model.index(1, 0).flags() & editable


def test_a_number_that_is_left_as_it_is_changes_nothing(qtbot, table):
    with qtbot.assertNotEmitted(table.cut_edited):
        edit(qtbot, table, 1, LEAN, "")


def test_typing_a_number_edits_the_cell(qtbot, table):
    index = table.model.index(0, OFFSET)
    table.table.setCurrentIndex(index)
    qtbot.keyClick(table.table, Qt.Key.Key_7)
    field = table.table.indexWidget(index)
    with qtbot.waitSignal(table.cut_edited) as signal:
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert signal.args == [0, Plane((1.0, 0.0, 0.0), 7.0)]


def test_escape_gives_an_edit_up(qtbot, table):
    index = table.model.index(0, OFFSET)
    table.table.setCurrentIndex(index)
    with qtbot.assertNotEmitted(table.cut_edited):
        qtbot.keyClick(table.table, Qt.Key.Key_Return)
        field = table.table.indexWidget(index)
        qtbot.keyClicks(field, "99")
        qtbot.keyClick(field, Qt.Key.Key_Escape)


def test_what_a_cut_divides_is_chosen(qtbot, table):
    index = table.model.index(1, DIVIDES)
    table.table.setCurrentIndex(index)
    qtbot.keyClick(table.table, Qt.Key.Key_F2)
    box = table.table.indexWidget(index)
    assert isinstance(box, QComboBox)
    assert [box.itemData(at) for at in range(box.count())] == [None, "1", "2"]
    assert box.currentData() == "2"
    qtbot.keyClick(box, Qt.Key.Key_Up)
    with qtbot.waitSignal(table.target_edited) as signal:
        table.table.commitData(box)
    assert signal.args == [1, "1"]
    box.setCurrentIndex(0)
    with qtbot.waitSignal(table.target_edited) as signal:
        table.table.commitData(box)
    assert signal.args == [1, None]


@pytest.mark.parametrize(
    ("key", "modifier", "name"),
    [
        (Qt.Key.Key_Insert, Qt.KeyboardModifier.NoModifier, "add"),
        (Qt.Key.Key_F, Qt.KeyboardModifier.NoModifier, "flip"),
        (Qt.Key.Key_C, Qt.KeyboardModifier.NoModifier, "copy"),
        (Qt.Key.Key_M, Qt.KeyboardModifier.NoModifier, "mirror"),
        (Qt.Key.Key_Delete, Qt.KeyboardModifier.NoModifier, "delete"),
        (Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier, "earlier"),
        (Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier, "later"),
    ],
)
def test_keys_act_on_the_chosen_cut(qtbot, table, key, modifier, name):
    table.choose(1)
    with qtbot.waitSignal(table.action_asked) as asked:
        qtbot.keyClick(table.table, key, modifier)
    assert asked.args == [name, 1]


def test_buttons_act_on_the_chosen_cut_and_are_named(qtbot, table):
    table.choose(2)
    buttons = {button.accessibleName(): button for button in table.findChildren(QToolButton)}
    assert set(buttons) == {"Add", "Flip", "Copy", "Mirror", "Delete", "Make earlier", "Make later"}
    with qtbot.waitSignal(table.action_asked) as asked:
        qtbot.mouseClick(buttons["Make earlier"], Qt.MouseButton.LeftButton)
    assert asked.args == ["earlier", 2]
    assert not buttons["Make later"].isEnabled()  # it is the last


def test_without_a_chosen_cut_one_can_only_be_added(qtbot, table):
    table.choose(None)
    enabled = {name for name, action in table.actions_by_name.items() if action.isEnabled()}
    assert enabled == {"add"}
    with qtbot.waitSignal(table.action_asked) as asked:
        table.actions_by_name["add"].trigger()
    assert asked.args == ["add", -1]


def test_a_cut_is_chosen_by_the_mouse(qtbot, table):
    place = table.table.visualRect(table.model.index(2, 0)).center()
    with qtbot.waitSignal(table.cut_chosen) as chosen:
        qtbot.mouseClick(table.table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert chosen.args == [2]


def test_the_menu_offers_all_of_it(table):
    texts = [action.text() for action in table.menu().actions() if action.text()]
    assert texts == [
        "Add",
        "Flip",
        "Copy",
        "Mirror",
        "Delete",
        "Make earlier",
        "Make later",
        "Copy as text",
    ]


def test_the_table_leaves_nothing_behind(qtbot):
    table = CutsTable()
    table.show_cuts(CUTS, TARGETS)
    table.show()
    gone = weakref.ref(table)
    table.close()
    del table
    gc.collect()
    assert gone() is None
