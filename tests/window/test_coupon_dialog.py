"""The fit coupon in the window: what is on it, its file, and what is found with it.

The file is read with trimesh, beside our own reader.
"""

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QFileDialog, QLineEdit, QListWidget

from splitplanner.joint.coupon import coupon
from splitplanner.window.dialogs.coupon_dialog import CouponDialog
from splitplanner.window.dialogs.coupon_plan import CouponPlan
from splitplanner.window.dialogs.coupon_rows import NumberBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed, Insert, Printer, hardware_shelf
from tests.window.hands import ALT, Keyboard
from tests.window.widgets import box_called, button_called

INSERT = Insert("brass M3", "M3", 4.0, 5.7, 4.6, 1.6, "its data sheet")
# One diameter, so that there is little to make.
PRINTER = Printer("bench", hole_allowances=((3.0, 0.2),))


def opened(qtbot, printer=PRINTER, inserts=(INSERT,)):
    made = CouponDialog(printer, inserts)
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", QLocale.c()))
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    made.given = []
    made.measured.connect(made.given.append)
    settle(qtbot, made)
    return made


def settle(qtbot, dialog):
    """Wait until the coupon is made."""
    plan = dialog.findChild(CouponPlan)
    qtbot.waitUntil(lambda: not plan.accessibleDescription().startswith("making"), timeout=60_000)


@pytest.fixture
def dialog(qtbot):
    return opened(qtbot)


def labels(dialog):
    return dialog.findChild(CouponPlan).accessibleDescription().partition(" mm: ")[2]


def best(dialog, label):
    (found,) = (
        each
        for each in dialog.findChildren(NumberBox)
        if each.accessibleName() == f"Best hole of row {label}" and each.isVisible()
    )
    return found


def said(dialog):
    return [(each.mark, each.text) for each in dialog.findChildren(NoteLine) if each.isVisible()]


def write(qtbot, dialog, text):
    """Type diameters in place of those that stand there, and go on with Tab."""
    line = next(
        each for each in dialog.findChildren(QLineEdit) if each.accessibleName().startswith("Dia")
    )
    line.setFocus()
    line.selectAll()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, Qt.Key.Key_Tab)
    settle(qtbot, dialog)


def press(qtbot, key):
    """Press the access key of a button, which is seen to go down for a tenth of a second."""
    Keyboard().press(key, ALT)
    qtbot.wait(200)


def enter(box, text):
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Tab)


# -- what is on it ----------------------------------------------------------------------------
def test_it_begins_with_what_was_measured_and_all_is_chosen_by_keys(dialog, qtbot):
    assert labels(dialog) == "D3, S3"
    press(qtbot, Qt.Key.Key_S)
    settle(qtbot, dialog)
    assert labels(dialog) == "D3"
    inserts = dialog.findChild(QListWidget)
    inserts.setFocus()
    QTest.keyClick(inserts, Qt.Key.Key_Space)
    settle(qtbot, dialog)
    assert labels(dialog) == "D3, I4"
    write(qtbot, dialog, "6,35; 3")
    assert labels(dialog) == "D3, D6.35, I4"
    assert said(dialog) == []


def test_without_measurements_the_usual_pins_are_on_it(qtbot):
    assert labels(opened(qtbot, Printer(), ())) == "D3, D4, D5, S3, S4, S5"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3 x", "“x” is no diameter"),
        ("", "at least one diameter or insert"),
        ("0", "must be wider than 0 mm"),
        ("nan", "must be wider than 0 mm"),
    ],
)
def test_what_is_no_diameter_is_told_and_what_was_entered_is_kept(dialog, qtbot, text, words):
    best(dialog, "D3").setValue(30)
    line = next(
        each for each in dialog.findChildren(QLineEdit) if each.accessibleName().startswith("Dia")
    )
    line.setFocus()
    line.selectAll()
    QTest.keyClick(line, Qt.Key.Key_Delete)
    write(qtbot, dialog, text)
    ((mark, told),) = said(dialog)
    assert mark is Mark.FAULT
    assert words in told
    assert not button_called(dialog, "Save STL…").isEnabled()
    assert not button_called(dialog, "Enter the best holes").isEnabled()
    write(qtbot, dialog, "3")
    assert said(dialog) == []
    assert best(dialog, "D3").number == 30


def test_a_bed_that_is_too_small_and_an_example_are_told(qtbot):
    (example,) = [each for each in hardware_shelf().inserts if each.is_example][:1]
    small = replace(PRINTER, bed=Bed.rectangle(20.0, 20.0, 50.0))
    dialog = opened(qtbot, small, (example,))
    dialog.findChild(QListWidget).item(0).setCheckState(Qt.CheckState.Checked)
    settle(qtbot, dialog)
    ((mark, text),) = said(dialog)
    assert mark is Mark.WARNING
    assert "too large for the bed" in text
    assert "is only an example" in text
    # It may be printed all the same, on another one.
    assert button_called(dialog, "Save STL…").isEnabled()


# -- its file ---------------------------------------------------------------------------------
def test_the_file_holds_the_coupon(dialog, qtbot, monkeypatch, tmp_path):
    path = tmp_path / "coupon"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    press(qtbot, Qt.Key.Key_V)
    written = path.with_suffix(".stl")
    assert said(dialog) == [(Mark.DONE, f"Written to {written}.")]
    mesh = trimesh.load(written)
    assert mesh.is_watertight
    expected = coupon(PRINTER, [3.0]).solid
    # Single precision: 1e-6 of what there is.
    assert mesh.volume == pytest.approx(expected.volume, rel=1e-5)
    assert np.allclose(mesh.bounds, expected.bounds, atol=1e-4)
    # A name that the user did not see is not written over.
    press(qtbot, Qt.Key.Key_V)
    ((mark, text),) = said(dialog)
    assert mark is Mark.FAULT
    assert "there already" in text
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: ("", ""))
    written.unlink()
    press(qtbot, Qt.Key.Key_V)
    assert list(tmp_path.iterdir()) == []


def test_it_is_told_when_it_cannot_be_written(dialog, tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    dialog.save(tmp_path / "file" / "coupon.stl")
    ((mark, text),) = said(dialog)
    assert mark is Mark.FAULT
    assert "cannot be written" in text


# -- what is found with it --------------------------------------------------------------------
def test_the_best_hole_is_entered_by_keys_and_goes_into_the_printer(dialog, qtbot):
    enter_button = button_called(dialog, "Enter the best holes")
    assert not enter_button.isEnabled()
    box = best(dialog, "D3")
    assert box.text() == "not tried"
    box.setFocus()
    # From nothing to the hole that is drawn as holes are now, then from hole to hole.
    seen = []
    for key in (Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Down):
        QTest.keyClick(box, key)
        seen.append(box.number)
    assert seen == [20, 30, 20, 10]
    for _ in range(3):
        QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.text() == "not tried"
    QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.number is None
    enter(box, "40")
    assert labels(dialog) == "D3, S3; best in D3: 40"
    assert said(dialog) == []
    press(qtbot, Qt.Key.Key_E)
    assert not dialog.isVisible()
    assert dialog.given == [replace(PRINTER, hole_allowances=((3.0, 0.4),))]


def test_a_number_that_is_still_being_typed_counts(dialog):
    box = best(dialog, "D3")
    box.setValue(10)
    box.selectAll()
    QTest.keyClicks(box, "30")
    dialog.accept()
    assert dialog.given == [replace(PRINTER, hole_allowances=((3.0, 0.3),))]


def test_leaving_changes_nothing(dialog):
    best(dialog, "D3").setValue(40)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert dialog.given == []


def test_a_number_of_an_older_coupon_is_taken_and_told(dialog):
    enter(best(dialog, "D3"), "-25")
    ((mark, text),) = said(dialog)
    assert mark is Mark.WARNING
    assert "Row D3 of this coupon has no hole -25" in text
    dialog.accept()
    assert dialog.given == [replace(PRINTER, hole_allowances=((3.0, -0.25),))]


def test_two_rows_of_one_diameter_must_not_differ(qtbot):
    dialog = opened(qtbot, replace(PRINTER, hole_allowances=((4.0, 0.2),)))
    dialog.findChild(QListWidget).item(0).setCheckState(Qt.CheckState.Checked)
    settle(qtbot, dialog)
    assert labels(dialog) == "D4, S4, I4"
    enter(best(dialog, "D4"), "30")
    enter(best(dialog, "I4"), "10")
    ((mark, text),) = said(dialog)
    assert mark is Mark.FAULT
    assert text.startswith("Rows D4 and I4 share the allowance of 4 mm")
    assert not button_called(dialog, "Enter the best holes").isEnabled()
    dialog.accept()
    assert dialog.isVisible()
    enter(best(dialog, "I4"), "30")
    assert said(dialog) == []
    dialog.accept()
    assert dialog.given == [replace(PRINTER, hole_allowances=((4.0, 0.3),))]


def test_the_best_hole_is_ringed_where_it_is(dialog):
    """Where the hole lies by the coupon's own rows, scaled to the picture, the colour changes."""
    plan = dialog.findChild(CouponPlan)

    def pixels():
        image = plan.grab().toImage()
        image = image.convertToFormat(image.Format.Format_RGB888)
        rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
        return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)

    before = pixels()
    best(dialog, "D3").setValue(50)
    rows, columns = np.nonzero((pixels() != before).any(axis=2))
    made = coupon(PRINTER, [3.0])
    (width, depth), (x, y) = made.solid.extents[:2], made.rows[0].centres[-1]
    high, wide = before.shape[:2]
    scale = min((wide - 8) / width, (high - 8) / depth)
    at = (wide / 2 + scale * (x - width / 2), high / 2 - scale * (y - depth / 2))
    assert ((columns.min() + columns.max()) / 2, (rows.min() + rows.max()) / 2) == pytest.approx(
        at, abs=3
    )
    # Its diameter is that of the hole, 3.5 mm, and 1 mm more on each side; lines are 2.5 wide.
    assert np.ptp(columns) == pytest.approx(5.5 * scale, abs=5)


def test_all_is_named_and_explained_and_reached_by_tab(dialog):
    for box in (
        *dialog.findChildren(NumberBox),
        *dialog.findChildren(QListWidget),
        *(each for each in dialog.findChildren(QLineEdit) if each.accessibleName()),
    ):
        assert box.accessibleName()
        assert box.toolTip()
    for name in ("Save STL…", "Enter the best holes", "Close"):
        assert button_called(dialog, name).toolTip()
    assert isinstance(box_called(dialog, "Slots too"), QCheckBox)
    best(dialog, "D3").setValue(20)
    names, at = set(), None
    for _ in range(20):
        QTest.keyClick(dialog.focusWidget() or dialog, Qt.Key.Key_Tab)
        at = dialog.focusWidget()
        names.add(at.accessibleName() or at.text().replace("&", ""))
    assert names == {
        "Diameters in mm", "Heat-set inserts", "Slots too", "Save STL…", "Best hole of row D3",
        "Enter the best holes", "Close",
    }  # fmt: skip


@pytest.mark.parametrize("wait", [0, 1500])
def test_it_leaves_nothing_behind(qtbot, wait):
    dialog = CouponDialog(PRINTER)
    dialog.show()
    qtbot.wait(wait)
    gone = weakref.ref(dialog)
    dialog.close()
    del dialog
    gc.collect()
    assert gone() is None
