"""Factors of a printer by a print that is known, in its dialogs, by hand calculation."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QLocale, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QLineEdit,
    QListWidget,
    QTabWidget,
)

from splitplanner.background.known_prints import work_out_print
from splitplanner.errors import ReadError
from splitplanner.output import save_stl
from splitplanner.progress import silent
from splitplanner.solid import Solid
from splitplanner.window.dialogs.known_print_dialog import (
    KnownPiece,
    KnownPrintDialog,
    KnownPrints,
)
from splitplanner.window.dialogs.printer_dialog import PrinterDialog
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Material, Printer, keep_printer, own_printers
from tests.window.widgets import button_called

MM = Quantities("mm", QLocale.c())
# All at 1 mm³/s, and nothing lost; so a block takes as many seconds as it has mm³, twice.
PRINTER = Printer(
    "bench", flow_limit=1.0, least_layer_seconds=0.0, layer_change_seconds=0.0, outer_speed=100.0,
    inner_speed=100.0, infill=1.0, time_factor=2.0,
)  # fmt: skip
PETG = Material("PETG", 1.25)
BLOCK = Solid.box((30.0, 20.0, 10.0))
"""6000 mm³: 1.667 h and 7.5 g."""
PIECE = KnownPiece("Piece 1 of this plan", BLOCK, (0.0, 0.0, 1.0))


class Asked:
    """Works prints out at once, or when it is told to; keeps what was asked."""

    def __init__(self, is_late=False):
        self.is_late, self.given, self.answers = is_late, [], []

    def __call__(self, what, up, printer, is_held, answered, failed):
        self.given.append((what, up, is_held))

        def answer():
            try:
                made = work_out_print({}, silent, print, what, up, printer, is_held)
            except ReadError as fault:
                failed(fault)
            else:
                answered(made)

        self.answers.append(answer)
        if not self.is_late:
            answer()


def opened(qtbot, ask, material=PETG):
    made = KnownPrintDialog(PRINTER, KnownPrints(material, [PIECE], ask))
    qtbot.addWidget(made)
    made.set_quantities(MM)
    made.taken = []
    made.found.connect(made.taken.append)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    return made


def box(dialog, name, kind=QDoubleSpinBox):
    (found,) = (each for each in dialog.findChildren(kind) if each.accessibleName() == name)
    return found


def enter(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Tab)


def press(dialog, name):
    QTest.mouseClick(button_called(dialog, name), Qt.MouseButton.LeftButton)


def said(dialog):
    note = dialog.findChild(NoteLine)
    return note.mark, note.text


def test_both_factors_of_a_piece(qtbot):
    ask = Asked()
    dialog = opened(qtbot, ask)
    box(dialog, "What was printed", QComboBox).setCurrentIndex(1)
    assert not box(dialog, "Model file", QLineEdit).isEnabled()
    assert not button_called(dialog, "Use these factors").isEnabled()
    enter(box(dialog, "It took, hours"), "2.5")
    enter(box(dialog, "It weighed"), "9")
    press(dialog, "Find the factors")
    assert ask.given == [(BLOCK, (0.0, 0.0, 1.0), True)]
    assert said(dialog) == (
        Mark.INFO,
        "Worked out 1 h 40 min, it took 2 h 30 min: a factor of 1.500 for time. "
        "Worked out 7.5 g, it weighed 9.0 g: a factor of 1.200 for mass.",
    )
    press(dialog, "Use these factors")
    (found,) = dialog.taken
    assert (found.time_factor, found.mass_factor) == pytest.approx((1.5, 1.2), rel=1e-3)
    assert replace(found, time_factor=2.0, mass_factor=1.0) == PRINTER
    assert not dialog.isVisible()


def test_one_figure_of_a_file_that_lay_on_its_side(qtbot, tmp_path):
    save_stl(BLOCK, tmp_path / "block.stl")
    ask = Asked()
    dialog = opened(qtbot, ask, material=None)
    assert not box(dialog, "It weighed").isEnabled()
    enter(box(dialog, "It took, hours"), "5")
    press(dialog, "Find the factors")
    assert said(dialog) == (Mark.FAULT, "Choose the file of the model that you printed.")
    box(dialog, "Model file", QLineEdit).setText(str(tmp_path / "block.stl"))
    box(dialog, "Up on the bed", QComboBox).setCurrentIndex(3)
    dialog.findChild(QCheckBox).setChecked(False)
    press(dialog, "Find the factors")
    assert ask.given == [(tmp_path / "block.stl", (-1.0, 0.0, 0.0), False)]
    assert said(dialog)[1] == (
        "Worked out 1 h 40 min, it took 5 h 00 min: a factor of 3.000 for time."
    )
    press(dialog, "Use these factors")
    assert dialog.taken[0].mass_factor == 1.0


def test_what_is_wrong_is_one_sentence_and_gives_no_factor(qtbot, tmp_path):
    ask = Asked()
    dialog = opened(qtbot, ask)
    press(dialog, "Find the factors")
    assert said(dialog) == (
        Mark.FAULT,
        "Enter the hours that it took, or what it weighed, or both.",
    )
    enter(box(dialog, "It took, hours"), "90")
    box(dialog, "Model file", QLineEdit).setText(str(tmp_path / "none.stl"))
    press(dialog, "Find the factors")
    mark, text = said(dialog)
    assert mark is Mark.FAULT
    assert "none.stl" in text
    box(dialog, "What was printed", QComboBox).setCurrentIndex(1)
    press(dialog, "Find the factors")
    mark, text = said(dialog)
    assert mark is Mark.FAULT
    assert "took 90 h, but without a factor it should take 1.67 h" in text
    assert not button_called(dialog, "Use these factors").isEnabled()
    dialog.accept()
    assert dialog.taken == []
    assert dialog.isVisible()


def test_an_answer_to_what_was_asked_before_is_dropped(qtbot):
    ask = Asked(is_late=True)
    dialog = opened(qtbot, ask)
    box(dialog, "What was printed", QComboBox).setCurrentIndex(1)
    enter(box(dialog, "It took, hours"), "2.5")
    press(dialog, "Find the factors")
    assert said(dialog) == (Mark.INFO, "Working it out…")
    assert not button_called(dialog, "Find the factors").isEnabled()
    enter(box(dialog, "It took, hours"), "3.5")
    ask.answers[0]()
    assert not button_called(dialog, "Use these factors").isEnabled()
    press(dialog, "Find the factors")
    ask.answers[1]()
    assert "it took 3 h 30 min" in said(dialog)[1]
    dialog.reject()
    ask.answers[1]()
    assert dialog.taken == []


def test_factors_go_into_the_printer_that_is_kept(qtbot, tmp_path):
    keep_printer(tmp_path, PRINTER)
    known = KnownPrints(PETG, [PIECE], Asked())
    dialog = PrinterDialog(tmp_path, "bench", None, known)
    qtbot.addWidget(dialog)
    dialog.set_quantities(MM)
    dialog.show()
    dialog.findChild(QTabWidget).setCurrentIndex(1)

    def fill():
        asking = QApplication.activeModalWidget()
        assert isinstance(asking, KnownPrintDialog)
        box(asking, "What was printed", QComboBox).setCurrentIndex(1)
        box(asking, "It took, hours").setValue(2.5)
        press(asking, "Find the factors")
        press(asking, "Use these factors")

    QTimer.singleShot(0, fill)
    press(dialog, "A print you know…")
    assert box(dialog, "Time factor").value() == pytest.approx(1.5)
    dialog.accept()
    (kept,) = own_printers(tmp_path).things
    assert kept.time_factor == pytest.approx(1.5, rel=1e-3)
    assert replace(kept, time_factor=2.0) == PRINTER


def test_it_is_not_offered_where_nobody_works_it_out(qtbot, tmp_path):
    dialog = PrinterDialog(tmp_path)
    qtbot.addWidget(dialog)
    assert not button_called(dialog, "A print you know…").isEnabled()
    assert dialog.findChild(QListWidget).count()
