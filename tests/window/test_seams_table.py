"""The table of seams against what was measured, and its pins as numbers."""

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDoubleSpinBox, QLabel, QPushButton

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Joint, PartFile, Plan
from splitplanner.window.lists.seams_table import SeamsTable, seam_lines
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.known_seams import KnownSeams, planned_seams
from tests.window.boxes import CUTS, division, figures, joint
from tests.window.joints import held

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
    at = frame.to_space([(pin.u, pin.v) for pin in line.fasteners])
    assert at == pytest.approx(np.array([pin.at for pin in joint().pins]))
    assert [pin.key for pin in line.fasteners] == list(range(len(joint().pins)))


def test_figures_are_written_out(table):
    pin = joint().pins[0]
    row = texts(table)
    assert row[:3] == ["S1", "1 + 2", "1"]
    assert row[5] == "480.0 cm²"
    size = f"d{pin.diameter:g} × {pin.length:g}"
    hardware = f"{len(joint().pins)} pins {pin.standard} {size}"
    assert row[10:] == [f"{len(joint().pins)} × {size}", "–", hardware, "–", "–", "–"]


def test_what_is_being_measured_is_left_open(table):
    table.show_rows(lines(measured=False, pinned=False))
    assert texts(table)[3:] == ["…"] * 7 + ["–"] * 6


def test_a_seam_is_chosen_by_the_mouse_and_shows_its_pins(qtbot, table):
    table.choose(None)
    assert not table.fasteners.rows_model.rows
    place = table.table.visualRect(table.table.rows_model.index(0, 1)).center()
    with qtbot.waitSignal(table.seam_chosen) as chosen:
        qtbot.mouseClick(table.table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert chosen.args == ["S1"]
    assert len(table.fasteners.rows_model.rows) == len(joint().pins)


@pytest.mark.parametrize(
    ("text", "signal"),
    [("Place anew", "placing_asked"), ("Remove all", "emptied"), ("Add pin", "pin_added")],
)
def test_buttons_ask_for_the_chosen_seam(qtbot, table, text, signal):
    with qtbot.waitSignal(getattr(table, signal)) as asked:
        press(qtbot, table, text)
    assert asked.args == ["S1"]


@pytest.mark.parametrize(
    ("key", "signal"),
    [
        (Qt.Key.Key_P, "placing_asked"),
        (Qt.Key.Key_Delete, "emptied"),
        (Qt.Key.Key_H, "fastening_asked"),
    ],
)
def test_so_do_keys(qtbot, table, key, signal):
    with qtbot.waitSignal(getattr(table, signal)) as asked:
        qtbot.keyClick(table.table, key)
    assert asked.args == ["S1"]


@pytest.mark.parametrize(("unit", "mm"), [("mm", 50.0), ("inch", 1270.0)])
def test_a_pin_is_moved_by_a_number(qtbot, table, unit, mm):
    table.set_quantities(Quantities(unit, C))
    before = lines()[0].fasteners[1]
    with qtbot.waitSignal(table.fastener_moved) as moved:
        edit(qtbot, table.fasteners, 1, 1, "50")
    assert moved.args == ["S1", 1, pytest.approx(mm), before.v]
    with qtbot.waitSignal(table.fastener_moved) as moved:
        edit(qtbot, table.fasteners, 1, 2, "50")
    assert moved.args == ["S1", 1, before.u, pytest.approx(mm)]


def test_a_number_that_is_left_as_it_is_moves_nothing(qtbot, table):
    with qtbot.assertNotEmitted(table.fastener_moved):
        edit(qtbot, table.fasteners, 1, 1, "")


def test_letters_are_no_place(qtbot, table):
    with qtbot.assertNotEmitted(table.fastener_moved):
        edit(qtbot, table.fasteners, 0, 1, "wide")


def test_pins_are_added_and_deleted_by_keys(qtbot, table):
    table.fasteners.setFocus()
    table.fasteners.choose(2)
    with qtbot.waitSignal(table.fastener_deleted) as deleted:
        qtbot.keyClick(table.fasteners, Qt.Key.Key_Delete)
    assert deleted.args == ["S1", 2]
    with qtbot.waitSignal(table.pin_added) as added:
        qtbot.keyClick(table.fasteners, Qt.Key.Key_Insert)
    assert added.args == ["S1"]


def test_a_pin_is_deleted_by_the_button_once_it_is_chosen(qtbot, table):
    with qtbot.assertNotEmitted(table.fastener_deleted):
        press(qtbot, table, "Delete one")
    table.fasteners.choose(0)
    with qtbot.waitSignal(table.fastener_deleted) as deleted:
        press(qtbot, table, "Delete one")
    assert deleted.args == ["S1", 0]


def test_the_menu_offers_what_can_be_done(table):
    assert [a.text().replace("&", "") for a in table.menu().actions() if a.text()] == [
        "Place anew", "Remove all", "Hold otherwise…", "Add pin", "Add screw", "Turn round",
        "Delete one", "Copy as text",
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
    places = np.array([(pin.u, pin.v) for pin in lines()[0].fasteners])
    assert np.array([(pin.u, pin.v) for pin in canvas.fasteners]) == pytest.approx(places)
    planned.fasteners.choose(1)
    assert planned.plan.chosen == 1
    qtbot.keyClick(canvas, Qt.Key.Key_BracketRight)
    assert planned.plan.chosen == planned.fasteners.chosen_key == 2
    planned.show_rows(lines())
    assert planned.plan.chosen == planned.fasteners.chosen_key == 2
    planned.choose(None)
    assert canvas.ground is None


def test_a_pin_is_moved_and_deleted_in_the_plan(qtbot, planned):
    canvas, before = planned.plan.canvas, lines()[0].fasteners[0]
    planned.fasteners.choose(0)
    with qtbot.waitSignal(planned.fastener_moved) as moved:
        qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert moved.args[:2] == ["S1", 0]
    # A pin in a corner of its room stays in it.
    ground, edge = canvas.ground, canvas.fasteners[0].edge_distance
    assert moved.args[2:] == pytest.approx(ground.nearest(before.u + 0.5, before.v, edge))
    with qtbot.waitSignal(planned.fastener_deleted) as deleted:
        qtbot.keyClick(canvas, Qt.Key.Key_Delete)
    assert deleted.args == ["S1", 0]


def test_a_pin_is_added_where_the_plan_is_double_clicked(qtbot, planned):
    canvas = planned.plan.canvas
    centre = canvas.scale.to_screen(*canvas.ground.middle).toPoint()
    with qtbot.waitSignal(planned.pin_added_at) as added:
        qtbot.mouseDClick(canvas, Qt.MouseButton.LeftButton, pos=centre)
    assert added.args[0] == "S1"
    assert added.args[1:] == pytest.approx(canvas.scale.to_plane(QPointF(centre)))


# -- screws, flange, register, tape ---------------------------------------------------------
def held_lines():
    return seam_lines(division(), figures(), [held()], FINDINGS)


def test_what_holds_a_seam_is_written_out(table):
    table.show_rows(held_lines())
    pin, count = joint().pins[0], len(joint().pins)
    size = f"d{pin.diameter:g} × {pin.length:g}"
    assert texts(table)[10:] == [
        f"{count} × {size}",
        "1 × M3 × 12 with nuts, 1 × M3 × 12 in inserts",
        f"{count} pins {pin.standard} {size}, 2 screws ISO 4762 M3 × 12, 1 nut M3, 3 washers M3, "
        "1 heat-set insert M3",
        "flange 12.0 × 4.0 mm",
        "tongue and groove 2.0 mm",
        "2 plies of glass, 30 × 400 mm",
    ]
    table.set_quantities(Quantities("inch", C))
    # Hardware is sold by mm, whatever is read in.
    assert texts(table)[10].endswith(size)
    assert texts(table)[13:] == [
        "flange 0.47 × 0.16 in", "tongue and groove 0.08 in", "2 plies of glass, 1.2 × 15.7 in",
    ]  # fmt: skip


def test_what_holds_the_chosen_seam_is_said_in_full(table):
    def heading():
        (found,) = (
            each.text()
            for each in table.findChildren(QLabel)
            if each.text().startswith(("Seam S1", "Nothing", "Choose a seam"))
        )
        return found

    table.show_rows(held_lines())
    pin, count = joint().pins[0], len(joint().pins)
    assert heading() == (
        f"Seam S1 is held by {count} × d{pin.diameter:g} × {pin.length:g}; 1 × M3 × 12 with nuts, "
        "1 × M3 × 12 in inserts; flange 12.0 × 4.0 mm; tongue and groove 2.0 mm; tape: 2 plies of "
        "glass, 30 × 400 mm."
    )
    table.set_quantities(Quantities("inch", C))
    assert "flange 0.47 × 0.16 in" in heading()
    table.show_rows(lines(pinned=False))
    assert heading() == "Nothing holds seam S1."
    table.choose(None)
    assert heading() == "Choose a seam to see what holds it."


def test_a_seam_that_is_held_in_its_own_way_says_so(table):
    def shown():
        headings = [each.text() for each in table.findChildren(QLabel)]
        return texts(table)[0], any("way of its own" in text for text in headings)

    assert shown() == ("S1", False)
    for measured in (figures(), None):
        table.show_rows(seam_lines(division(), measured, [joint()], (), {"S1"}))
        assert shown() == ("S1 (own)", True)
    table.show_rows(seam_lines(division(), figures(), [joint()], (), {"S2"}))
    assert shown() == ("S1", False)
    table.choose(None)
    assert not table.own_action.isEnabled()


def test_whole_numbers_are_lengths_too(table):
    # As they may stand in a plan that was made by a program.
    pins = tuple(replace(pin, diameter=3, length=16) for pin in joint().pins)
    table.show_rows(seam_lines(division(), figures(), [replace(joint(), pins=pins)], ()))
    assert listed(table)[0][3:5] == ["d3", "16 mm"]
    assert texts(table)[10] == f"{len(pins)} × d3 × 16"


def test_it_is_copied_as_text(table):
    table.show_rows(held_lines())
    table.table.copy()
    copied = QGuiApplication.clipboard().text().split("\t")
    assert copied == texts(table)
    assert "flange 12.0 × 4.0 mm" in copied


def listed(table):
    model = table.fasteners.rows_model
    return [model.text_of(row).split("\t") for row in range(len(model.rows))]


def test_pins_and_screws_are_listed_with_size_head_and_seat(table):
    table.show_rows(held_lines())
    pin, rows = joint().pins[0], listed(table)
    (one,) = held_lines()
    places = [(each.u, each.v) for each in one.fasteners]
    fasteners = (*joint().pins, *held().screws)
    at = division().seams[0].plane.to_space(places)
    assert at == pytest.approx(np.array([each.at for each in fasteners]))
    assert [row[0] for row in rows[-3:]] == [f"Pin {len(joint().pins)}", "Screw A", "Screw B"]
    assert rows[0][3:] == [f"d{pin.diameter:g}", f"{pin.length:g} mm", "–", "–"]
    seat = "4.0 mm"
    assert rows[-2][3:] == ["M3", "12 mm", "piece 1, nut", seat]
    assert rows[-1][3:] == ["M3", "12 mm", "piece 2, insert", seat]


def test_a_screw_is_moved_by_a_number_and_deleted_by_a_key(qtbot, table):
    table.show_rows(held_lines())
    index = len(joint().pins) + 1
    before = held_lines()[0].fasteners[index]
    with qtbot.waitSignal(table.fastener_moved) as moved:
        edit(qtbot, table.fasteners, index, 1, "50")
    assert moved.args == ["S1", index, pytest.approx(50.0), before.v]
    table.fasteners.choose(index)
    with qtbot.waitSignal(table.fastener_deleted) as deleted:
        qtbot.keyClick(table.fasteners, Qt.Key.Key_Delete)
    assert deleted.args == ["S1", index]


def test_a_seam_that_only_a_register_holds_can_be_emptied(table):
    only = Joint("S1", register=held().register)
    table.show_rows(seam_lines(division(), figures(), [only], ()))
    assert table.remove_action.isEnabled()
    assert not table.fasteners.rows_model.rows


def test_rows_are_as_tall_as_what_holds_the_seams_takes(table):
    """Of six lines only those are drawn that tell something; all are copied."""
    table.show_rows(seam_lines(division(), figures(), [joint()], FINDINGS))
    line = table.table.fontMetrics().height()
    held = len(table.table.rows_model.columns) - 1
    drawn = [each.text for each in table.table.rows_model.drawn(0, held)]
    assert len(drawn) == 2
    assert drawn[1].startswith(f"{len(joint().pins)} pins")
    low = table.table.verticalHeader().defaultSectionSize()
    assert 3 * line <= low < 4 * line
    table.show_rows(held_lines())
    assert table.table.verticalHeader().defaultSectionSize() == low + 3 * line
    assert len(texts(table)[10:]) == 6
    table.show_rows(seam_lines(division(), figures(), [], FINDINGS))
    assert [each.text for each in table.table.rows_model.drawn(0, held)] == ["–"]
