"""The table of seams against what was measured, and its pins as numbers."""

import gc
import weakref

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPointF, Qt
from PySide6.QtWidgets import QDoubleSpinBox, QPushButton

from splitplanner.findings import Finding, Severity
from splitplanner.plan import PartFile, Plan
from splitplanner.window.lists.seams_table import SeamsTable, seam_lines
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.known_seams import KnownSeams, planned_seams
from tests.window.boxes import CUTS, division, figures, joint

C = QLocale(QLocale.Language.C)
FINDINGS = (Finding("a", Severity.WARNING, "One.", "S1"), Finding("b", Severity.FAULT, "Two.", "1"))


def lines(measured=True, pinned=True):
    return seam_lines(
        division(), figures() if measured else None, [joint()] if pinned else [], FINDINGS
    )


@pytest.fixture
def table(qtbot):
    made = SeamsTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 500)
    made.show_rows(lines())
    made.show()
    made.choose("S1")
    return made


def texts(table):
    return table.table.rows_model.text_of(0).split("\t")


def press(qtbot, table, text):
    button = next(b for b in table.findChildren(QPushButton) if b.text().replace("&", "") == text)
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def edit(qtbot, pins, row, column, text):
    index = pins.rows_model.index(row, column)
    pins.setFocus()
    pins.setCurrentIndex(index)
    qtbot.keyClick(pins, Qt.Key.Key_F2)
    field = pins.indexWidget(index)
    assert isinstance(field, QDoubleSpinBox)
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def test_the_figures_are_those_of_the_section():
    (line,) = lines()
    assert line.between == (1, 2)
    # A rectangle of 200 x 240 mm.
    assert line.seen + line.hidden == pytest.approx(2 * (200 + 240))
    assert line.area == pytest.approx(200 * 240)
    margin = figures().printer.edge_distance(3.0)
    assert line.room == pytest.approx((200 - 2 * margin) * (240 - 2 * margin))
    assert line.fitting == line.deep > 2
    assert (line.findings, line.worst) == (1, Severity.WARNING)


def test_pins_are_where_the_plan_has_them():
    (line,) = lines()
    frame = division().seams[0].plane
    at = frame.to_space([(pin.u, pin.v) for pin in line.pins])
    assert at == pytest.approx(np.array([pin.at for pin in joint().pins]))
    assert [pin.key for pin in line.pins] == list(range(len(joint().pins)))


def test_figures_are_written_out(table):
    pin = joint().pins[0]
    row = texts(table)
    assert row[:2] == ["S1", "1 + 2"]
    assert row[4] == "480.0 cm²"
    assert row[9:] == [f"{len(joint().pins)} pins", f"{pin.diameter:g} × {pin.length:g} mm", "1"]


def test_what_is_being_measured_is_left_open(table):
    table.show_rows(lines(measured=False, pinned=False))
    assert texts(table)[2:] == ["…"] * 7 + ["no pins", "", "1"]


def test_a_seam_is_chosen_by_the_mouse_and_shows_its_pins(qtbot, table):
    table.choose(None)
    assert not table.pins.rows_model.rows
    place = table.table.visualRect(table.table.rows_model.index(0, 1)).center()
    with qtbot.waitSignal(table.seam_chosen) as chosen:
        qtbot.mouseClick(table.table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert chosen.args == ["S1"]
    assert len(table.pins.rows_model.rows) == len(joint().pins)


@pytest.mark.parametrize(
    ("text", "signal"),
    [("Place anew", "pins_asked"), ("Remove all", "pins_removed"), ("Add pin", "pin_added")],
)
def test_buttons_ask_for_the_chosen_seam(qtbot, table, text, signal):
    with qtbot.waitSignal(getattr(table, signal)) as asked:
        press(qtbot, table, text)
    assert asked.args == ["S1"]


@pytest.mark.parametrize(
    ("key", "signal"), [(Qt.Key.Key_P, "pins_asked"), (Qt.Key.Key_Delete, "pins_removed")]
)
def test_so_do_keys(qtbot, table, key, signal):
    with qtbot.waitSignal(getattr(table, signal)) as asked:
        qtbot.keyClick(table.table, key)
    assert asked.args == ["S1"]


@pytest.mark.parametrize(("unit", "mm"), [("mm", 50.0), ("inch", 1270.0)])
def test_a_pin_is_moved_by_a_number(qtbot, table, unit, mm):
    table.set_quantities(Quantities(unit, C))
    before = lines()[0].pins[1]
    with qtbot.waitSignal(table.pin_moved) as moved:
        edit(qtbot, table.pins, 1, 1, "50")
    assert moved.args == ["S1", 1, pytest.approx(mm), before.v]
    with qtbot.waitSignal(table.pin_moved) as moved:
        edit(qtbot, table.pins, 1, 2, "50")
    assert moved.args == ["S1", 1, before.u, pytest.approx(mm)]


def test_a_number_that_is_left_as_it_is_moves_nothing(qtbot, table):
    with qtbot.assertNotEmitted(table.pin_moved):
        edit(qtbot, table.pins, 1, 1, "")


def test_letters_are_no_place(qtbot, table):
    with qtbot.assertNotEmitted(table.pin_moved):
        edit(qtbot, table.pins, 0, 1, "wide")


def test_pins_are_added_and_deleted_by_keys(qtbot, table):
    table.pins.setFocus()
    table.pins.choose(2)
    with qtbot.waitSignal(table.pin_deleted) as deleted:
        qtbot.keyClick(table.pins, Qt.Key.Key_Delete)
    assert deleted.args == ["S1", 2]
    with qtbot.waitSignal(table.pin_added) as added:
        qtbot.keyClick(table.pins, Qt.Key.Key_Insert)
    assert added.args == ["S1"]


def test_a_pin_is_deleted_by_the_button_once_it_is_chosen(qtbot, table):
    with qtbot.assertNotEmitted(table.pin_deleted):
        press(qtbot, table, "Delete pin")
    table.pins.choose(0)
    with qtbot.waitSignal(table.pin_deleted) as deleted:
        press(qtbot, table, "Delete pin")
    assert deleted.args == ["S1", 0]


def test_the_menu_offers_what_can_be_done(table):
    assert [a.text() for a in table.menu().actions() if a.text()] == [
        "Place pins anew", "Remove all pins", "Copy as text",
    ]  # fmt: skip
    table.show_rows(lines(pinned=False))
    assert not table.remove_action.isEnabled()


def test_the_table_leaves_nothing_behind(qtbot):
    table = SeamsTable()
    table.show_rows(lines())
    table.choose("S1")
    table.show()
    gone = weakref.ref(table)
    table.close()
    del table
    gc.collect()
    assert gone() is None


# -- with the plan of the chosen seam -------------------------------------------------------
@pytest.fixture
def planned(table):
    plan = Plan(PartFile("box.stl", "mm", ""), figures().printer, CUTS, (), (joint(),))
    colours = {piece.name: "#E69F00" for piece in division().pieces}
    table.resize(440, 780)
    table.show_plans(planned_seams(KnownSeams(plan, division(), figures()), plan, colours))
    table.plan.canvas.setFocus()
    return table


def test_list_and_plan_show_the_same_seam_and_pin(qtbot, planned):
    canvas = planned.plan.canvas
    places = np.array([(pin.u, pin.v) for pin in lines()[0].pins])
    assert np.array([(pin.u, pin.v) for pin in canvas.pins]) == pytest.approx(places)
    planned.pins.choose(1)
    assert planned.plan.chosen == 1
    qtbot.keyClick(canvas, Qt.Key.Key_BracketRight)
    assert planned.plan.chosen == planned.pins.chosen_key == 2
    planned.show_rows(lines())
    assert planned.plan.chosen == planned.pins.chosen_key == 2
    planned.choose(None)
    assert canvas.ground is None


def test_a_pin_is_moved_and_deleted_in_the_plan(qtbot, planned):
    canvas, before = planned.plan.canvas, lines()[0].pins[0]
    planned.pins.choose(0)
    with qtbot.waitSignal(planned.pin_moved) as moved:
        qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert moved.args[:2] == ["S1", 0]
    # A pin in a corner of its room stays in it.
    ground, edge = canvas.ground, canvas.pins[0].edge_distance
    assert moved.args[2:] == pytest.approx(ground.nearest(before.u + 0.5, before.v, edge))
    with qtbot.waitSignal(planned.pin_deleted) as deleted:
        qtbot.keyClick(canvas, Qt.Key.Key_Delete)
    assert deleted.args == ["S1", 0]


def test_a_pin_is_added_where_the_plan_is_double_clicked(qtbot, planned):
    canvas = planned.plan.canvas
    centre = canvas.scale.to_screen(*canvas.ground.middle).toPoint()
    with qtbot.waitSignal(planned.pin_added_at) as added:
        qtbot.mouseDClick(canvas, Qt.MouseButton.LeftButton, pos=centre)
    assert added.args[0] == "S1"
    assert added.args[1:] == pytest.approx(canvas.scale.to_plane(QPointF(centre)))
