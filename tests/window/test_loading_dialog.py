"""The editor of a load case: what it takes, what it keeps, and what it tells of faults."""

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDoubleSpinBox, QLineEdit

from splitplanner.loaded import loading_words
from splitplanner.plan import (
    Fall,
    LoadCase,
    Loading,
    PointLoad,
    SpreadLoad,
    Support,
    WeightLoad,
    loads_from_text,
    loads_to_text,
)
from splitplanner.solid import Solid
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.beginnings import KINDS
from splitplanner.window.strength.loaded_part import LoadedPart
from splitplanner.window.strength.loading_dialog import LoadingDialog, free_name
from tests.window.hands import Keyboard, Mouse
from tests.window.widgets import button_called, tick

C = QLocale(QLocale.Language.C)
LOW = -50.0
"""The part does not begin at 0."""
LENGTH = 430.0
ALL = Loading(
    (0.6, 0.8, 0.0),
    LoadCase(
        "all of it",
        (Support(0.1 + 20.0, axial=True), Support(300.123456789, clamped=True, twist=False)),
        (
            PointLoad(100.0, (1 / 3, -2.0, 0.7), (0.0, 1234.5678, 0.0), (1.0, 2.0, 1 / 7)),
            SpreadLoad(40.0, 60.0, (0.0, 0.0, -12.3456)),
            WeightLoad((0.0, 0.0, -9.87654321)),
        ),
    ),
    Fall(612.345, 7.5, 880.5),
)  # fmt: skip


def part():
    """Return the part; no module keeps one for good."""
    moved = np.eye(4)
    moved[0, 3] = LOW
    return Solid.box((LENGTH, 100.0, 80.0)).transformed(moved)


def opened(qtbot, loading=None, taken=(), unit="mm"):
    made = LoadingDialog(LoadedPart(part(), (1.0, 0.0, 0.0), 42.0), loading, taken)
    qtbot.addWidget(made)
    made.set_quantities(Quantities(unit, C))
    made.show()
    assert QTest.qWaitForWindowActive(made)
    made.given = []
    made.applied.connect(made.given.append)
    return made


def named(parent, name, kind=QDoubleSpinBox):
    found = [each for each in parent.findChildren(kind) if each.accessibleName() == name]
    return next(each for each in found if each.isVisible())


def enter(box, text):
    """Write into a field in place of what stands there, and go on."""
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Tab)


# -- what it makes ----------------------------------------------------------------------------
@pytest.mark.parametrize("kind", KINDS)
def test_each_beginning_makes_sense_as_it_is(qtbot, kind):
    dialog = opened(qtbot)
    dialog.begin.setCurrentIndex(dialog.begin.findData(kind))
    dialog.begin.activated.emit(dialog.begin.currentIndex())
    assert dialog.faults == []
    said = dialog.words.text
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    (loading,) = dialog.given
    assert loading.name == kind
    assert said == loading_words(loading, LOW)
    # A file of loads refuses stations beside the part, and has to say the same.
    assert loads_from_text(loads_to_text((loading,), part())).on(part()) == (loading,)
    assert (loading.fall is not None) is (kind == "falls")


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_what_is_not_touched_stays_to_the_last_digit(qtbot, unit):
    dialog = opened(qtbot, ALL, unit=unit)
    assert dialog.faults == []
    dialog.accept()
    (loading,) = dialog.given
    assert loading.axis == ALL.axis
    assert loading.fall == ALL.fall
    assert loading.case.loads[2] == ALL.case.loads[2]
    for got, asked in zip(loading.case.loads[:2], ALL.case.loads[:2], strict=True):
        assert got.force == asked.force
    assert loading.case.loads[0].moment == ALL.case.loads[0].moment
    assert loading.case.loads[0].at == ALL.case.loads[0].at
    # Stations are counted from the low end on the way: rounding of one sum.
    stations = [each.station for each in loading.case.supports]
    assert stations == pytest.approx([each.station for each in ALL.case.supports], abs=1e-12)
    assert [each.twist for each in loading.case.supports] == [True, False]


def test_a_load_case_is_made_by_keys(qtbot):
    dialog = opened(qtbot)
    keys = Keyboard()
    enter(dialog.name, "shelf")
    first, second = (row.station for row in dialog.supports)
    enter(first, "10")
    enter(second, "420.5")
    (load,) = dialog.loads
    enter(load.station, "100")
    enter(load.force.size_box, "80.25")
    keys.tab_to(load.force.way_box.list)
    # From −z two up: −y stands two before it.
    keys.press(Qt.Key.Key_Up, times=2)
    keys.press(Qt.Key.Key_Return)
    assert dialog.given == [
        Loading(
            (1.0, 0.0, 0.0),
            LoadCase(
                "shelf",
                (Support(10.0 + LOW, axial=True), Support(420.5 + LOW)),
                (PointLoad(100.0 + LOW, (0.0, -80.25, 0.0)),),
            ),
        )
    ]


def test_rows_are_added_and_removed_by_mouse(qtbot):
    dialog = opened(qtbot)
    mouse = Mouse()
    for text in ("Add support", "Add force", "Add spread force", "Add own weight"):
        mouse.click(button_called(dialog, text))
        qtbot.wait(1)
    assert len(dialog.supports) == 3
    assert [type(row.value()) for row in dialog.loads] == [
        PointLoad, PointLoad, SpreadLoad, WeightLoad
    ]  # fmt: skip
    # Nothing that is added is a fault from the start.
    assert dialog.faults == []
    for row in (dialog.loads[0], dialog.supports[1]):
        dialog._scroll.ensureWidgetVisible(row)
        mouse.click(row._remove)
    assert len(dialog.loads) == 3
    assert len(dialog.supports) == 2
    QTest.mouseClick(button_called(dialog, "Keep it"), Qt.MouseButton.LeftButton)
    assert dialog.given[0].case.loads[-1] == WeightLoad((0.0, 0.0, -42.0))


def test_three_numbers_are_a_direction(qtbot):
    dialog = opened(qtbot)
    way = dialog.loads[0].force.way_box
    way.list.setCurrentIndex(way.list.count() - 1)
    assert dialog.faults == []
    for box, text in zip(way.numbers, ("3", "0", "-4"), strict=True):
        enter(box, text)
    enter(dialog.loads[0].force.size_box, "10")
    dialog.accept()
    assert dialog.given[0].case.loads[0].force == pytest.approx((6.0, 0.0, -8.0))


def test_a_number_that_is_still_being_typed_counts(qtbot):
    dialog = opened(qtbot)
    box = dialog.supports[0].station
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, "33")
    dialog.accept()
    assert dialog.given[0].case.supports[0].station == 33.0 + LOW


# -- faults -----------------------------------------------------------------------------------
def twice(dialog):
    enter(dialog.supports[1].station, "26")


@pytest.mark.parametrize(
    ("spoil", "mend", "words"),
    [
        (lambda d: enter(d.name, " "), lambda d: enter(d.name, "x"), "Give it a name"),
        (lambda d: enter(d.name, "other"), lambda d: enter(d.name, "x"), "is called “other”"),
        (
            lambda d: enter(d.supports[0].station, "431"),
            lambda d: enter(d.supports[0].station, "430"),
            "431.0 mm is beside the part, which is 430.0 mm",
        ),
        (twice, lambda d: enter(d.supports[1].station, "400"), "two supports are at one station"),
        (
            lambda d: d._remove(d.supports[1]),
            lambda d: tick(d.supports[0].clamped),
            "the part is not held",
        ),
        (
            lambda d: enter(d.loads[0].force.size_box, "0"),
            lambda d: enter(d.loads[0].couple.size_box, "1.5"),
            "This load is 0",
        ),
        (lambda d: d._remove(d.loads[0]), lambda d: d._add_weight(), "Nothing acts on the part"),
    ],
)
def test_a_fault_is_told_in_place_and_nothing_is_lost(qtbot, spoil, mend, words):
    dialog = opened(qtbot, taken=("other",))
    keep = button_called(dialog, "Keep it")
    spoil(dialog)
    (said,) = dialog.faults
    assert words in said
    assert not keep.isEnabled()
    dialog.accept()
    assert dialog.isVisible()
    assert dialog.given == []
    mend(dialog)
    assert dialog.faults == []
    assert keep.isEnabled()


def test_a_direction_without_length_is_told(qtbot):
    dialog = opened(qtbot)
    dialog.axis.list.setCurrentIndex(3)
    for box in dialog.axis.numbers:
        enter(box, "0")
    assert [fault for fault in dialog.faults if fault.startswith("Axis: three zeros")]


def test_a_new_one_gets_a_name_of_its_own(qtbot):
    assert opened(qtbot, taken=(KINDS[0],)).name.text() == f"{KINDS[0]} 2"
    assert free_name("a", {"a", "a 2"}) == "a 3"


def test_what_the_user_called_it_stays_whatever_it_begins_with(qtbot):
    dialog = opened(qtbot)
    enter(dialog.name, "mine")
    dialog.begin.setCurrentIndex(dialog.begin.findData("falls"))
    dialog.begin.activated.emit(0)
    assert dialog.name.text() == "mine"
    assert dialog.fall.isChecked()


def test_of_a_mass_that_falls_only_the_direction_is_asked(qtbot):
    dialog = opened(qtbot)
    dialog.begin.setCurrentIndex(dialog.begin.findData("falls"))
    dialog.begin.activated.emit(0)
    (row,) = dialog.loads
    assert row.force.size_box.isHidden()
    assert dialog.faults == []
    # Beside another load its size says what share of the whole it is.
    Mouse().click(button_called(dialog, "Add force"))
    assert not row.force.size_box.isHidden()


# -- manners ----------------------------------------------------------------------------------
def test_leaving_changes_nothing_and_leaves_nothing_behind(qtbot):
    dialog = LoadingDialog(LoadedPart(part(), (1.0, 0.0, 0.0), 42.0), ALL)
    dialog.show()
    given = []
    dialog.applied.connect(given.append)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert given == []
    gone = weakref.ref(dialog)
    del dialog
    gc.collect()
    assert gone() is None


def test_every_field_is_named_and_explained(qtbot):
    dialog = opened(qtbot, replace(ALL, fall=None))
    for kind in (QDoubleSpinBox, QLineEdit):
        for box in dialog.findChildren(kind):
            if box.objectName() != "qt_spinbox_lineedit":
                assert box.accessibleName()
                assert box.toolTip()
