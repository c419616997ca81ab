"""Choosing a printer or a material, and changing the user's own."""

from dataclasses import fields, replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QDoubleSpinBox,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QSpinBox,
    QTabWidget,
    QToolButton,
)

from splitplanner.errors import WorkshopError
from splitplanner.window.dialogs.bed_plan import BedPlan
from splitplanner.window.dialogs.corners import outline_of, text_of
from splitplanner.window.dialogs.coupon_dialog import CouponDialog
from splitplanner.window.dialogs.material_dialog import MaterialDialog
from splitplanner.window.dialogs.printer_dialog import PrinterDialog
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import (
    Bed,
    Material,
    Printer,
    generic_materials,
    generic_printers,
    keep_material,
    keep_printer,
    own_materials,
    own_printers,
)
from tests.window.widgets import button_called

MM = Quantities("mm", QLocale.c())
INCH = Quantities("inch", QLocale.c())
CLIP = ((0.0, 0.0), (30.0, 0.0), (30.0, 15.0), (0.0, 15.0))
KITE = ((0.0, 0.0), (200.0, 0.0), (120.0, 300.0), (0.0, 200.0))
# Figures with more digits than are shown.
TALL = Printer(
    "tall",
    Bed("rectangle", 220.0, 200.125, 250.0, 5.0, blocked=(CLIP,)),
    nozzle=0.3333333,
    overhang_limit=46.26,
    infill=0.1234,
    flow_limit=7.77,
    hole_allowance=-0.05,
)
PRINT_TIME = {
    "Outer lines": ("outer_speed", "45", 45.0),
    "Inner lines": ("inner_speed", "65", 65.0),
    "Infill speed": ("infill_speed", "95", 95.0),
    "Travel speed": ("travel_speed", "205", 205.0),
    "Flow limit": ("flow_limit", "15.5", 15.5),
    "Least layer time": ("least_layer_seconds", "12.5", 12.5),
    "Layer change": ("layer_change_seconds", "0.5", 0.5),
    "Each travel": ("travel_seconds", "0.3", 0.3),
    "Top layers": ("top_layers", "7", 7),
    "Bottom layers": ("bottom_layers", "6", 6),
    "Time factor": ("time_factor", "1.125", 1.125),
    "Mass factor": ("mass_factor", "0.955", 0.955),
}
ODD = Printer("odd", Bed.of_outline(KITE, 250.0, 4.0))


def shown(qtbot, dialog):
    qtbot.addWidget(dialog)
    dialog.set_quantities(MM)
    # A field tells of a number when the keyboard leaves it, which it can do in the active window.
    with qtbot.waitActive(dialog):
        dialog.show()
        dialog.activateWindow()
    return dialog


@pytest.fixture
def dialog(qtbot, tmp_path):
    keep_printer(tmp_path, TALL)
    keep_printer(tmp_path, ODD)
    return shown(qtbot, PrinterDialog(tmp_path, "tall"))


def field(dialog, name, kind=QDoubleSpinBox):
    (found,) = (each for each in dialog.findChildren(kind) if each.accessibleName() == name)
    return found


def enter(box, text):
    """Type into a field in place of what stands there, and go on with Tab."""
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Tab)


def write(box, text):
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)


def wipe(box):
    box.setFocus()
    box.selectAll()
    QTest.keyClick(box, Qt.Key.Key_Delete)


def press(button):
    """Press a button by the keyboard."""
    button.setFocus()
    QTest.keyClick(button, Qt.Key.Key_Space)


def said(dialog):
    return [(each.mark, each.text) for each in dialog.findChildren(NoteLine) if each.isVisible()]


def names(dialog):
    things = dialog.findChild(QListWidget)
    return [things.item(row).text() for row in range(things.count())]


def choose(dialog, name):
    things = dialog.findChild(QListWidget)
    (item,) = (each for each in things.findItems(name, Qt.MatchFlag.MatchStartsWith))
    QTest.mouseClick(
        things.viewport(), Qt.MouseButton.LeftButton, pos=things.visualItemRect(item).center()
    )


# -- choosing ---------------------------------------------------------------------------------
def test_own_ones_come_first_then_the_built_in_ones(dialog):
    built_in = [f"{printer.name}  (built in)" for printer in generic_printers()]
    assert names(dialog) == ["odd", "tall", *built_in]
    assert dialog.printer == TALL


@pytest.mark.parametrize("name", ["odd", "round 200 × 300 mm"])
def test_the_one_that_is_chosen_is_handed_on_as_it_is(dialog, qtbot, tmp_path, name):
    choose(dialog, name)
    with qtbot.waitSignal(dialog.chosen) as heard:
        QTest.keyClick(dialog, Qt.Key.Key_Return)
    (wanted,) = (each for each in (ODD, *generic_printers()) if each.name == name)
    assert heard.args == [wanted]
    assert not dialog.isVisible()
    assert own_printers(tmp_path).things == (ODD, TALL)


def test_all_is_chosen_by_keys_alone(dialog, qtbot):
    things = dialog.findChild(QListWidget)
    things.setFocus()
    QTest.keyClick(things, Qt.Key.Key_Home)
    with qtbot.waitSignal(dialog.chosen) as heard:
        QTest.keyClick(things, Qt.Key.Key_Return)
    assert heard.args == [ODD]


def test_looking_at_all_in_both_units_changes_nothing(dialog, tmp_path):
    before = {path: path.read_bytes() for path in tmp_path.rglob("*.toml")}
    for quantities in (INCH, MM, INCH):
        dialog.set_quantities(quantities)
        for name in ("odd", "tall", "round", "odd"):
            choose(dialog, name)
    assert not any("*" in name for name in names(dialog))
    dialog.accept()
    assert {path: path.read_bytes() for path in tmp_path.rglob("*.toml")} == before


def test_a_name_that_is_gone_is_no_trouble(qtbot, tmp_path):
    dialog = shown(qtbot, PrinterDialog(tmp_path, "gone"))
    assert dialog.printer == generic_printers()[0]


def test_files_that_are_wrong_are_told_of(qtbot, tmp_path):
    keep_printer(tmp_path, ODD)
    (tmp_path / "printers" / "bad.toml").write_text("nozzle = -1", encoding="utf-8")
    dialog = shown(qtbot, PrinterDialog(tmp_path, "odd"))
    ((mark, text),) = said(dialog)
    assert mark is Mark.WARNING
    assert "bad.toml" in text
    assert "the nozzle must be above 0 mm" in text


def test_the_printer_of_a_plan_that_is_nobodys_own_is_listed_too(qtbot, tmp_path):
    keep_printer(tmp_path, TALL)
    used = replace(TALL, nozzle=0.8)
    dialog = shown(qtbot, PrinterDialog(tmp_path, used))
    assert names(dialog)[:2] == ["tall  (as it is used now)", "tall"]
    assert dialog.printer == used
    # One's own may still be changed, and what is used now becomes one's own by a change.
    things = dialog.findChild(QListWidget)
    QTest.keyClick(things, Qt.Key.Key_Down)
    enter(field(dialog, "Nozzle"), "0.6")
    assert said(dialog) == []
    QTest.keyClick(things, Qt.Key.Key_Up)
    enter(field(dialog, "Line width"), "0.9")
    assert dialog.printer == replace(used, name="tall, own", line_width=0.9)
    dialog.accept()
    assert own_printers(tmp_path).things == (
        replace(TALL, nozzle=0.6),
        replace(used, name="tall, own", line_width=0.9),
    )
    again = shown(qtbot, PrinterDialog(tmp_path, replace(TALL, nozzle=0.6)))
    assert names(again)[:2] == ["tall", "tall, own"]
    assert again.printer == replace(TALL, nozzle=0.6)


# -- changing ---------------------------------------------------------------------------------
def test_every_figure_of_a_printer_can_be_changed(dialog, tmp_path):
    later = {field for field, _, _ in PRINT_TIME.values()}
    assert {each.name for each in fields(Printer)} == later | {
        "name", "bed", "nozzle", "line_width", "layer_height", "overhang_limit", "bridge_span",
        "hole_allowance", "wall_lines", "infill", "support_infill", "hole_allowances",
        "foot_width", "foot_height",
    }  # fmt: skip
    write(field(dialog, "Name of the printer", QLineEdit), "Werkbank")
    for name, text in (
        ("Width of the bed", "180.5"),
        ("Depth of the bed", "190"),
        ("Height over the bed", "200"),
        ("Margin", "2.5"),
        ("Nozzle", "0.6"),
        ("Line width", "0.66"),
        ("Layer height", "0.28"),
        ("Bridge span", "12.5"),
        ("Hole allowance", "0.15"),
        ("Bed chamfer, width", "0.25"),
        ("Bed chamfer, height", "0.4"),
        ("Overhang limit", "50"),
        ("Infill", "25"),
        ("Support infill", "10"),
    ):
        enter(field(dialog, name), text)
    walls = field(dialog, "Walls", QSpinBox)
    enter(walls, "2")
    press(button_called(dialog, "Add diameter"))
    enter(field(dialog, "Diameter of hole 1"), "3.2")
    enter(field(dialog, "Allowance of hole 1"), "0.25")
    write(field(dialog, "Blocked areas", QPlainTextEdit), "0 0; 10 0; 10,5 20")
    dialog.findChild(QTabWidget).setCurrentIndex(1)
    for name, (_, text, _) in PRINT_TIME.items():
        enter(field(dialog, name), text)
    blocked = ((0.0, 0.0), (10.0, 0.0), (10.5, 20.0))
    wanted = Printer(
        "Werkbank",
        Bed("rectangle", 180.5, 190.0, 200.0, 2.5, blocked=(blocked,)),
        0.6, 0.66, 0.28, 50.0, 12.5, 0.15, 2, 0.25, 0.1, ((3.2, 0.25),),
        **{field: value for field, _, value in PRINT_TIME.values()},
        foot_width=0.25, foot_height=0.4,
    )  # fmt: skip
    assert said(dialog) == []
    assert dialog.printer == wanted
    assert own_printers(tmp_path).things == (ODD, TALL)
    dialog.accept()
    assert own_printers(tmp_path).things == (ODD, wanted)


def test_what_was_not_touched_keeps_all_its_digits(dialog):
    enter(field(dialog, "Line width"), "0.5")
    assert dialog.printer == replace(TALL, line_width=0.5)


def test_lengths_are_entered_in_inches(dialog):
    dialog.set_quantities(INCH)
    assert field(dialog, "Width of the bed").text() == "8.661 in"
    enter(field(dialog, "Width of the bed"), "9")
    # 1 in is 25.4 mm, exactly.
    assert dialog.printer == replace(TALL, bed=replace(TALL.bed, width=228.6))
    blocked = field(dialog, "Blocked areas", QPlainTextEdit)
    assert blocked.toPlainText() == "0 0; 1.1811 0; 1.1811 0.5906; 0 0.5906"
    write(blocked, "0 0; 1 0; 1 1")
    assert dialog.printer.bed.blocked == (((0.0, 0.0), (25.4, 0.0), (25.4, 25.4)),)


def test_the_kind_of_bed_is_changed(dialog):
    kind = field(dialog, "Kind of bed", QComboBox)
    assert field(dialog, "Width of the bed").isVisible()
    kind.setFocus()
    QTest.keyClick(kind, Qt.Key.Key_Down)
    assert not field(dialog, "Width of the bed").isVisible()
    enter(field(dialog, "Diameter of the bed"), "240")
    assert dialog.printer.bed == Bed("circle", 240.0, 240.0, 250.0, 5.0, blocked=(CLIP,))
    QTest.keyClick(kind, Qt.Key.Key_Down)
    outline = field(dialog, "Outline of the bed", QPlainTextEdit)
    assert outline.isVisible()
    # It starts as the rectangle was, and may lie anywhere.
    assert outline.toPlainText() == "0 0; 220 0; 220 200.125; 0 200.125"
    write(outline, "-100 -50; 100 -50; -100 250")
    wipe(field(dialog, "Blocked areas", QPlainTextEdit))
    corners = ((0.0, 0.0), (200.0, 0.0), (0.0, 300.0))
    assert dialog.printer.bed == Bed("outline", 200.0, 300.0, 250.0, 5.0, corners)


def test_nothing_is_kept_on_cancel(dialog, tmp_path):
    enter(field(dialog, "Nozzle"), "0.8")
    assert "tall  *" in names(dialog)
    choose(dialog, "odd")
    QTest.keyClick(dialog.findChild(QListWidget), Qt.Key.Key_Delete)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert own_printers(tmp_path).things == (ODD, TALL)


def test_a_built_in_one_stays_and_the_change_makes_ones_own(dialog, tmp_path):
    choose(dialog, "220 × 220 × 250")
    assert said(dialog) == [(Mark.INFO, "Built in: what you change becomes one of your own.")]
    enter(field(dialog, "Nozzle"), "0.6")
    before = next(each for each in generic_printers() if each.name.startswith("220"))
    wanted = replace(before, name="220 × 220 × 250 mm, own", nozzle=0.6)
    assert dialog.printer == wanted
    assert said(dialog) == []
    assert "220 × 220 × 250 mm  (built in)" in names(dialog)
    dialog.accept()
    assert wanted in own_printers(tmp_path).things


def test_new_ones_and_copies_have_names_of_their_own(dialog, qtbot):
    copy, new = button_called(dialog, "Copy"), button_called(dialog, "New")
    for button in (copy, new, new):
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert names(dialog)[:5] == [
        "odd", "tall", "tall, own  *", "My printer  *", "My printer 2  *",
    ]  # fmt: skip
    assert dialog.printer == replace(Printer(), name="My printer 2")
    # The name is ready to be written over.
    QTest.keyClicks(dialog.focusWidget(), "bench")
    assert dialog.printer.name == "bench"


def test_one_is_deleted_and_a_built_in_one_cannot_be(dialog, qtbot, tmp_path):
    delete = button_called(dialog, "Delete")
    qtbot.mouseClick(delete, Qt.MouseButton.LeftButton)
    assert names(dialog)[0] == "odd"
    assert not any("tall" in name for name in names(dialog))
    assert dialog.printer == generic_printers()[0]
    assert not delete.isEnabled()
    dialog.accept()
    assert own_printers(tmp_path).things == (ODD,)


def test_a_built_in_one_comes_back_when_its_namesake_goes(qtbot, tmp_path):
    first = generic_printers()[0]
    keep_printer(tmp_path, replace(first, nozzle=0.8))
    dialog = shown(qtbot, PrinterDialog(tmp_path, first.name))
    assert names(dialog).count(f"{first.name}  (built in)") == 0
    assert dialog.printer.nozzle == 0.8
    qtbot.mouseClick(button_called(dialog, "Delete"), Qt.MouseButton.LeftButton)
    assert names(dialog).count(f"{first.name}  (built in)") == 1
    assert len(names(dialog)) == len(generic_printers())


def test_a_renamed_one_leaves_nothing_behind(dialog, tmp_path):
    write(field(dialog, "Name of the printer", QLineEdit), "high")
    dialog.accept()
    assert own_printers(tmp_path).things == (replace(TALL, name="high"), ODD)


# -- holes as they were measured ---------------------------------------------------------------
FITTED = replace(TALL, name="fitted", hole_allowances=((3.0, 0.12345678), (6.35, 0.3)))


def holes(dialog):
    """Return what the fields of the holes show, from the first to the last."""
    shown = []
    while True:
        number = len(shown) + 1
        boxes = [
            each
            for kind in ("Diameter", "Allowance")
            for each in dialog.findChildren(LengthBox)
            if each.accessibleName() == f"{kind} of hole {number}"
        ]
        if not boxes:
            return shown
        shown.append(tuple(box.text() for box in boxes))


@pytest.fixture
def fitted(qtbot, tmp_path):
    keep_printer(tmp_path, TALL)
    keep_printer(tmp_path, FITTED)
    return shown(qtbot, PrinterDialog(tmp_path, "fitted"))


def test_measured_holes_are_shown_and_kept_to_the_bit(fitted, tmp_path):
    assert holes(fitted) == [("3.00 mm", "0.12 mm"), ("6.35 mm", "0.30 mm")]
    fitted.set_quantities(INCH)
    # 25.4 mm to the inch: 0.1181 and 0.25.
    assert holes(fitted) == [("0.1181 in", "0.0049 in"), ("0.2500 in", "0.0118 in")]
    choose(fitted, "tall")
    assert holes(fitted) == []
    choose(fitted, "fitted")
    enter(field(fitted, "Infill"), "50")
    assert fitted.printer == replace(FITTED, infill=0.5)
    fitted.accept()
    assert own_printers(tmp_path).things == (replace(FITTED, infill=0.5), TALL)


def test_a_row_is_added_and_changed_and_taken_out_by_keys(fitted, tmp_path):
    press(button_called(fitted, "Add diameter"))
    # The next usual diameter, where it belongs, with the allowance that it has so far: nothing
    # changes by it. The keyboard is in it.
    assert [diameter for diameter, _ in holes(fitted)] == ["3.00 mm", "4.00 mm", "6.35 mm"]
    assert fitted.printer.hole_diameter(4.0) == pytest.approx(FITTED.hole_diameter(4.0), abs=1e-6)
    box = fitted.focusWidget()
    assert box.accessibleName() == "Diameter of hole 2"
    QTest.keyClicks(box, "5")
    QTest.keyClick(box, Qt.Key.Key_Tab)
    assert fitted.focusWidget().accessibleName() == "Allowance of hole 2"
    QTest.keyClicks(fitted.focusWidget(), "-0.05")
    QTest.keyClick(fitted.focusWidget(), Qt.Key.Key_Tab)
    assert fitted.focusWidget().accessibleName() == "Take out hole 2"
    wanted = ((3.0, 0.12345678), (5.0, -0.05), (6.35, 0.3))
    assert fitted.printer.hole_allowances == wanted
    for _ in range(3):
        QTest.keyClick(fitted.focusWidget(), Qt.Key.Key_Tab)
    assert fitted.focusWidget().accessibleName() == "Take out hole 3"
    QTest.keyClick(fitted.focusWidget(), Qt.Key.Key_Delete)
    assert fitted.printer.hole_allowances == wanted[:2]
    assert fitted.focusWidget().accessibleName() == "Take out hole 2"
    QTest.keyClick(fitted.focusWidget(), Qt.Key.Key_Space)
    assert fitted.printer.hole_allowances == wanted[:1]
    press(fitted.focusWidget())
    assert holes(fitted) == []
    assert fitted.focusWidget() is button_called(fitted, "Add diameter")
    assert "*" in names(fitted)[0]
    fitted.accept()
    assert own_printers(tmp_path).things == (replace(FITTED, hole_allowances=()), TALL)


def test_diameters_may_be_entered_in_any_order(fitted):
    enter(field(fitted, "Diameter of hole 1"), "10")
    assert said(fitted) == []
    assert fitted.printer.hole_allowances == ((6.35, 0.3), (10.0, 0.12345678))


def test_a_row_on_a_built_in_printer_makes_a_copy_and_the_keyboard_stays(qtbot, tmp_path):
    dialog = shown(qtbot, PrinterDialog(tmp_path, "180 × 180 × 180 mm"))
    press(button_called(dialog, "Add diameter"))
    assert dialog.printer.name == "180 × 180 × 180 mm, own"
    assert dialog.printer.hole_allowances == ((3.0, 0.2),)
    assert dialog.focusWidget().accessibleName() == "Diameter of hole 1"


@pytest.mark.parametrize(
    ("name", "text", "wrong"),
    [
        ("Diameter of hole 1", "0", ((0.0, 0.12345678), (6.35, 0.3))),
        ("Diameter of hole 2", "3", ((3.0, 0.12345678), (3.0, 0.3))),
        ("Allowance of hole 2", "2.5", ((3.0, 0.12345678), (6.35, 2.5))),
    ],
)
def test_a_wrong_hole_is_told_in_the_workshops_words(fitted, name, text, wrong):
    enter(field(fitted, name), text)
    told = message(lambda: replace(FITTED, hole_allowances=wrong))
    assert said(fitted) == [(Mark.FAULT, told)]
    # There is no printer to make a coupon for.
    assert not button_called(fitted, "Fit coupon…").isEnabled()
    press(button_called(fitted, "Undo"))
    assert said(fitted) == []
    assert fitted.printer == FITTED
    assert button_called(fitted, "Fit coupon…").isEnabled()


def test_many_holes_can_be_scrolled_to(qtbot, tmp_path):
    many = tuple((float(number), 0.1) for number in range(1, 13))
    dialog = shown(qtbot, PrinterDialog(tmp_path, replace(TALL, hole_allowances=many)))
    assert len(holes(dialog)) == 12
    last = field(dialog, "Take out hole 12", QToolButton)
    # By Tab, as every other: the area follows the keyboard.
    field(dialog, "Allowance of hole 12").setFocus()
    QTest.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
    assert dialog.focusWidget() is last
    assert not last.visibleRegion().isEmpty()
    assert dialog.height() < 700


def test_the_best_holes_of_a_coupon_go_into_the_printer(fitted, monkeypatch, tmp_path):
    asked = []

    def answer(coupon):
        asked.append(coupon)
        coupon.measured.emit(replace(FITTED, hole_allowances=((3.0, 0.2), (8.0, 0.4))))

    monkeypatch.setattr(CouponDialog, "exec", answer)
    press(button_called(fitted, "Fit coupon…"))
    assert len(asked) == 1
    assert holes(fitted) == [("3.00 mm", "0.20 mm"), ("8.00 mm", "0.40 mm")]
    fitted.accept()
    wanted = replace(FITTED, hole_allowances=((3.0, 0.2), (8.0, 0.4)))
    assert own_printers(tmp_path).things == (wanted, TALL)


# -- what is wrong ----------------------------------------------------------------------------
def message(make):
    with pytest.raises(WorkshopError) as caught:
        make()
    return str(caught.value)


def test_the_sentence_of_the_workshop_is_shown_in_place_and_nothing_is_lost(dialog, qtbot):
    enter(field(dialog, "Nozzle"), "0")
    assert said(dialog) == [(Mark.FAULT, message(lambda: replace(TALL, nozzle=0.0)))]
    for name in ("Use this printer", "New", "Copy"):
        assert not button_called(dialog, name).isEnabled()
    assert not dialog.findChild(QListWidget).isEnabled()
    dialog.accept()
    assert dialog.isVisible()
    enter(field(dialog, "Nozzle"), "0.5")
    assert said(dialog) == []
    assert dialog.printer == replace(TALL, nozzle=0.5)
    enter(field(dialog, "Margin"), "150")
    assert said(dialog) == [(Mark.FAULT, message(lambda: replace(TALL.bed, margin=150.0)))]
    qtbot.mouseClick(button_called(dialog, "Undo"), Qt.MouseButton.LeftButton)
    assert said(dialog) == []
    assert dialog.printer == replace(TALL, nozzle=0.5)
    assert field(dialog, "Margin").value() == 5.0


@pytest.mark.parametrize(("name", "words"), [("", "needs a name"), ("odd", "another printer")])
def test_a_name_is_needed_and_is_there_once(dialog, name, words):
    line = field(dialog, "Name of the printer", QLineEdit)
    write(line, name) if name else wipe(line)
    ((mark, text),) = said(dialog)
    assert mark is Mark.FAULT
    assert words in text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "needs at least three corners, such as: 0 0; 200 0; 0 300"),
        ("0 0; 200 0", "needs at least three corners"),
        ("0 0; 200 0; 0,300", "“0,300” is no corner; write x and y with a space between"),
        ("0 0; 200 0; 1 2 3", "“1 2 3” is no corner"),
        ("0 0; 200 0; x y", "“x y” is no corner"),
        ("0 0; 200 0; 0 nan", "too far away"),
        ("0 0; 200 0; 0 1e9", "too far away"),
        ("0 0; 200 200; 200 0; 0 200", "crosses itself"),
        ("0 0; 100 0; 200 0", "has no area"),
    ],
)
def test_an_outline_that_is_none_is_told(text, words):
    with pytest.raises(WorkshopError, match=r"^The outline.*\.$") as caught:
        outline_of(text, MM, "The outline")
    assert words in str(caught.value)


@pytest.mark.parametrize("quantities", [MM, INCH])
def test_an_outline_is_read_as_it_was_written(quantities):
    read = outline_of(text_of(KITE, quantities), quantities, "It")
    # Four places of an inch are 0.003 mm.
    assert np.allclose(read, KITE, rtol=0, atol=0.003 if quantities is INCH else 0)
    assert outline_of("0 0\n200,5 0 ;\n\n0 300;", MM, "It")[1] == (200.5, 0.0)


def test_it_is_said_when_nothing_can_be_kept(dialog, tmp_path):
    enter(field(dialog, "Nozzle"), "0.8")
    for path in (tmp_path / "printers").iterdir():
        path.unlink()
    (tmp_path / "printers").rmdir()
    (tmp_path / "printers").write_text("in the way", encoding="utf-8")
    dialog.accept()
    ((mark, text),) = said(dialog)
    assert mark is Mark.FAULT
    assert "cannot be written" in text
    assert dialog.isVisible()
    assert dialog.printer.nozzle == 0.8


def test_a_number_that_is_still_being_typed_counts(dialog, qtbot, tmp_path):
    nozzle = field(dialog, "Nozzle")
    for text, is_taken in (("0", False), ("0.6", True)):
        nozzle.setFocus()
        nozzle.selectAll()
        QTest.keyClicks(nozzle, text)
        QTest.keyClick(nozzle, Qt.Key.Key_Return)
        assert dialog.isVisible() is not is_taken
    assert own_printers(tmp_path).things == (ODD, replace(TALL, nozzle=0.6))


# -- lengths ----------------------------------------------------------------------------------
def test_a_length_is_kept_to_the_bit_until_it_is_changed(qtbot):
    box = LengthBox("Length", "A length.", digits=1)
    qtbot.addWidget(box)
    box.set_mm(33.3333333)
    for quantities in (INCH, MM):
        box.set_quantities(quantities)
        assert box.mm == 33.3333333
    with qtbot.waitSignal(box.edited):
        QTest.keyClick(box, Qt.Key.Key_Up)
    assert box.mm == pytest.approx(34.3)


# -- the drawing ------------------------------------------------------------------------------
def pixels(plan):
    """Return the picture as an array of red, green and blue."""
    image = plan.grab().toImage().convertToFormat(plan.grab().toImage().Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)


def test_the_drawing_is_to_scale_and_shows_what_is_blocked(qtbot):
    plan = BedPlan()
    qtbot.addWidget(plan)
    plan.resize(300, 300)
    plan.set_quantities(MM)
    blocked = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0))
    plan.set_bed(Bed("rectangle", 200.0, 100.0, 300.0, blocked=(blocked,)))
    plan.show()
    red, _, blue = np.moveaxis(pixels(plan), -1, 0)
    vermilion = (red > 150) & (red - blue > 60)
    rows, columns = np.nonzero(vermilion)
    wide, high = np.ptp(columns), np.ptp(rows)
    # 100 x 50 mm; lines are 1.5 pixels wide.
    assert wide / high == pytest.approx(2.0, abs=0.1)
    # It lies at the front and left: the low corner of the bed, with y running up.
    assert columns.mean() < plan.width() / 2
    assert rows.mean() > plan.height() / 2 - 20
    assert plan.accessibleDescription() == "Rectangle, 200 × 100 × 300 mm, 1 blocked area"
    plan.set_bed(None)
    red, _, blue = np.moveaxis(pixels(plan), -1, 0)
    assert not ((red > 150) & (red - blue > 60)).any()


def test_the_drawing_follows_what_is_entered(dialog):
    plan = dialog.findChild(BedPlan)
    enter(field(dialog, "Width of the bed"), "300")
    assert plan.accessibleDescription().startswith("Rectangle, 300 × 200 × 250 mm, 5.0 mm")
    write(field(dialog, "Blocked areas", QPlainTextEdit), "nonsense")
    assert plan.accessibleDescription() == ""


# -- materials --------------------------------------------------------------------------------
PETG = Material("petg", 1.2345678, 24.999, "blue")


@pytest.fixture
def materials(qtbot, tmp_path):
    keep_material(tmp_path, PETG)
    return shown(qtbot, MaterialDialog(tmp_path, "petg"))


def test_a_material_is_chosen(materials, qtbot):
    assert materials.material == PETG
    assert len(names(materials)) == 1 + len(generic_materials())
    choose(materials, "ASA")
    with qtbot.waitSignal(materials.chosen) as heard:
        qtbot.mouseClick(button_called(materials, "Use this material"), Qt.MouseButton.LeftButton)
    (asa,) = (each for each in generic_materials() if each.name.startswith("ASA"))
    assert heard.args == [asa]


def test_a_material_is_changed(materials, tmp_path):
    write(field(materials, "Note", QPlainTextEdit), "data sheet 3")
    assert materials.material == replace(PETG, note="data sheet 3")
    enter(field(materials, "Density"), "1.29")
    enter(field(materials, "Price"), "30")
    write(field(materials, "Name", QLineEdit), "PETG blau")
    wanted = Material("PETG blau", 1.29, 30.0, "data sheet 3")
    assert materials.material == wanted
    price = field(materials, "Price")
    price.setValue(0)
    assert materials.material.price == 0.0
    QTest.keyClick(price, Qt.Key.Key_Down)
    assert price.text() == "not known"
    assert materials.material == replace(wanted, price=None)
    materials.accept()
    assert own_materials(tmp_path).things == (replace(wanted, price=None),)


def test_a_density_in_another_unit_is_told(materials):
    enter(field(materials, "Density"), "1240")
    assert said(materials) == [(Mark.FAULT, message(lambda: replace(PETG, density=1240.0)))]


def test_every_field_says_what_it_is(dialog, materials):
    for each in (dialog, materials):
        for kind in (QDoubleSpinBox, QLineEdit, QPlainTextEdit, QComboBox):
            for box in each.findChildren(kind):
                # A number's own line of text is part of its box.
                if not isinstance(box.parent(), QAbstractSpinBox):
                    assert box.accessibleName()
                    assert box.toolTip()


def test_a_double_click_chooses(dialog, qtbot):
    things = dialog.findChild(QListWidget)
    with qtbot.waitSignal(dialog.chosen) as heard:
        at = things.visualItemRect(things.item(0)).center()
        QTest.mouseClick(things.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at))
        QTest.mouseDClick(things.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(at))
    assert heard.args == [ODD]
