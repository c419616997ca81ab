"""Hours, filament and spools in the whole window, with its real processes."""

import json
import math

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QComboBox, QDoubleSpinBox

from splitplanner.score import layered_print, layering
from splitplanner.window.dialogs.export_dialog import ExportChoice
from splitplanner.window.dialogs.known_print_dialog import KnownPrintDialog
from splitplanner.window.dialogs.printer_dialog import PrinterDialog
from tests.window.widgets import button_called


@pytest.fixture
def cut(desk, model):
    """A box of 430 x 100 x 80 mm with a cut in the middle that is examined."""
    desk.begin(model)
    desk.window.workshop.use_spool(None)
    desk.window.commands["add"].trigger()
    desk.settle()
    return desk


def kinds(desk):
    return [finding.kind for finding in desk.session.findings]


def test_hours_and_filament_of_the_pieces_as_they_are_printed(cut):
    session, rows = cut.session, cut.window.pieces.table.rows_model.rows
    material, printer = cut.window.workshop.material, session.plan.printer
    volumes = []
    for row, figures in zip(rows, session.figures.pieces, strict=True):
        layers = layering(figures.piece.solid, figures.up, printer)
        alone = layered_print(layers, printer, figures.support.volume)
        assert row.hours == pytest.approx(alone.hours)
        assert row.mass == pytest.approx(alone.volume / 1000 * material.density)
        volumes.append(alone.volume)
    grams = sum(volumes) / 1000 * material.density
    words = cut.window.pieces.totals.words
    assert words.startswith("All 2 pieces: ")
    assert f"{grams / 1000:.2f} kg" in words.replace(",", ".") or f"{grams:.0f} g" in words
    spools = math.ceil(grams / material.spool_mass)
    assert f"It takes {spools} new spool" in words


def test_what_is_left_on_the_spool_is_told_kept_and_exported(cut, tmp_path):
    window = cut.window
    before = kinds(cut)
    box = window.pieces.totals.findChild(QDoubleSpinBox)
    box.setValue(40.0)
    window.tables_link.refresh()
    assert "is not enough" in window.pieces.totals.words
    # No piece can be printed from it alone; of some even a whole spool may hold too little.
    assert "filament.spools" in kinds(cut)
    short = [kinds(cut).count(f"filament.{which}_spool") for which in ("started", "full")]
    assert sum(short) == len(cut.session.figures.pieces)
    name = window.workshop.material.name
    assert window.settings.spool_left(name) == 40.0
    # Of the list as of the session.
    assert set(kinds(cut)) <= {each.kind for each in window.findings.model.findings}
    folder = tmp_path / "out"
    window.export.ask()
    window.export.write(ExportChoice(folder, False, False, False, True))
    cut.until(lambda: (folder / "scorecard.json").exists())
    cut.settle()
    record = json.loads((folder / "scorecard.json").read_text(encoding="utf-8"))
    assert record["printing"]["spool_left"] == 40.0
    # Files are by beds, and so is what is said there: both pieces may share one.
    told = [each["message"] for each in record["findings"] if each["kind"].startswith("filament.")]
    assert [each for each in told if each.startswith("Bed 1 (piece")]
    # In the window pieces are on beds of their own until they were put together.
    assert not any(each.message in told for each in cut.session.findings)
    window.right.setCurrentWidget(window.beds.parentWidget())

    def said(findings):
        return [each.message for each in findings if each.kind.startswith("filament.")]

    cut.until(lambda: said(cut.session.findings) == told)
    assert said(window.findings.model.findings) == told
    box.setValue(box.minimum())
    window.tables_link.refresh()
    assert set(kinds(cut)) - set(before) <= {"filament.full_spool"}
    assert window.settings.spool_left(name) is None


def test_a_piece_of_the_plan_that_was_printed_gives_the_factor(cut):
    window, row = cut.window, cut.session.figures.pieces[1]
    wanted = {}

    def choose():
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, PrinterDialog)
        QTimer.singleShot(0, find)
        button_called(dialog, "A print you know…").click()
        wanted["factor"] = dialog.printer.time_factor
        dialog.reject()

    def find():
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, KnownPrintDialog)
        what = next(b for b in dialog.findChildren(QComboBox) if b.count() == 3)
        what.setCurrentIndex(2)
        hours = next(
            b for b in dialog.findChildren(QDoubleSpinBox) if "hours" in b.accessibleName()
        )
        hours.setValue(round(1.5 * row.printed.hours, 2))
        button_called(dialog, "Find the factors").click()
        use = button_called(dialog, "Use these factors")
        cut.until(use.isEnabled)
        use.click()

    QTimer.singleShot(0, choose)
    window.workshop.ask_printer()
    assert wanted["factor"] == pytest.approx(1.5, abs=0.01)
