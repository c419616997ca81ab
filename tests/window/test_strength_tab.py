"""The tab of strength in the whole window, with its real processes."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.background.overlay import SHARE
from splitplanner.background.strength_overlays import checked_overlay
from splitplanner.plan import BraceWish, loads_from_text
from splitplanner.window.strength.strength_panel import StrengthPanel
from tests.window.hands import Keyboard, Mouse
from tests.window.live import AS_CHECKED, TOLD
from tests.window.widgets import button_called

MOUSE, KEYS = Mouse(), Keyboard()


@pytest.fixture(scope="module")
def opened(desk, model):
    """A window with the part cut in two, and the tab in front."""
    desk.begin(model)
    desk.window.commands["add"].trigger()
    desk.settle()
    MOUSE.open_tab(desk.window.right, "Strength")
    return desk


@pytest.fixture
def tab(opened) -> StrengthPanel:
    opened.settle()
    opened.faults.clear()
    opened.said.clear()
    take_keyboard(opened)
    return opened.window.strength


def take_keyboard(desk):
    """A dialog that was closed does not hand the keyboard back without a window manager."""
    desk.window.activateWindow()
    assert QTest.qWaitForWindowActive(desk.window)


def answer(work):
    """Do something with the dialog that is about to open, without waiting for it here."""
    failed = []

    def act():
        dialog = QApplication.activeModalWidget()
        if dialog is None or not dialog.isActiveWindow():
            QTimer.singleShot(10, act)
            return
        try:
            work(dialog)
        except Exception as fault:  # noqa: BLE001 - told by whoever waits
            failed.append(fault)
        # If it is still there nobody else would end it.
        if dialog.isVisible():
            dialog.reject()

    QTimer.singleShot(0, act)
    return failed


def names(desk):
    return [each.name for each in desk.session.plan.loadings]


def call_it(name):
    """Return what writes a name into a dialog and takes it with Enter."""

    def work(dialog):
        dialog.name.setFocus()
        dialog.name.selectAll()
        KEYS.write(name)
        KEYS.press(Qt.Key.Key_Return)

    return work


def test_a_load_case_is_added_by_mouse_and_answered(opened, tab):
    assert "add a load case" in tab.answer.said.text()
    assert not tab.cells.check.isEnabled()
    assert "Choose a load case" in tab.cells.note.text
    failed = answer(call_it("shelf"))
    MOUSE.click(tab.loads.add)
    assert failed == []
    assert names(opened) == ["shelf"]
    assert opened.session.document.undo_label == "add load case shelf"
    # It is the one that chart and view show.
    assert opened.window.selection.load == "shelf"
    opened.settle()
    assert opened.session.examined.strength.loads[0].loading.name == "shelf"
    # Pins alone hold no seam that bending opens.
    assert tab.answer.said.text().startswith("Holds 0 % of what the uncut part holds")
    assert tab.statements.text()
    MOUSE.row(tab.answer.seams, 0)
    assert opened.window.selection.seam == "S1"
    assert opened.window.seams.chosen == "S1"


def test_one_is_renamed_copied_and_deleted_by_keys(opened, tab):
    MOUSE.row(tab.loads.table, 0)
    failed = answer(call_it("on a shelf"))
    # QTest does not stand that a key opens a dialog; that F2 asks for it is tested elsewhere.
    tab.loads.rename_asked.emit("shelf")
    take_keyboard(opened)
    tab.loads.table.setFocus()
    assert failed == []
    assert names(opened) == ["on a shelf"]
    assert opened.window.selection.load == "on a shelf"
    assert opened.session.document.undo_label == "rename load case shelf"
    KEYS.press(Qt.Key.Key_D)
    assert names(opened) == ["on a shelf", "on a shelf 2"]
    assert opened.window.selection.load == "on a shelf 2"
    KEYS.press(Qt.Key.Key_Delete)
    assert names(opened) == ["on a shelf"]
    assert opened.window.selection.load == "on a shelf"
    # Every edit was one step.
    for expected in (["on a shelf", "on a shelf 2"], ["on a shelf"], ["shelf"], []):
        opened.window.commands["undo"].trigger()
        assert names(opened) == expected
    assert opened.window.selection.load is None
    for _ in range(2):
        opened.window.commands["redo"].trigger()
    assert opened.window.selection.load == "on a shelf"


def test_a_changed_load_case_shows_no_old_figures(opened, tab):
    def heavier(dialog):
        box = dialog.loads[0].force.size_box
        box.setFocus()
        box.selectAll()
        KEYS.write("200")
        KEYS.press(Qt.Key.Key_Return)

    before = tab.loads.table.rows_model.rows[0].answer
    failed = answer(heavier)
    tab.loads.table.row_entered.emit(0)
    assert failed == []
    row = tab.loads.table.rows_model.rows[0]
    assert "200 N" in row.words
    assert row.answer is None
    assert "being worked out" in tab.answer.said.text()
    opened.settle()
    row = tab.loads.table.rows_model.rows[0]
    assert row.answer is not None
    # Twice the load takes half of how often it is held.
    assert row.answer.uncut.factor == pytest.approx(before.uncut.factor / 2.0)


def test_loads_go_to_a_file_and_come_back(opened, tab, monkeypatch, tmp_path):
    path = tmp_path / "loads.toml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    MOUSE.click(tab.loads.save)
    kept = opened.session.plan.loadings
    assert loads_from_text(path.read_text("utf-8")).on(opened.session.part) == kept
    MOUSE.click(tab.loads.read)
    assert opened.said == ["These load cases are there already."]
    path.write_text(path.read_text("utf-8").replace("200.0", "300.0"), "utf-8")
    MOUSE.click(tab.loads.read)
    assert names(opened) == ["on a shelf", "on a shelf 2"]
    assert opened.session.document.undo_label == "open loads"
    path.write_text("[loads.x]\naxis = 3\n", "utf-8")
    MOUSE.click(tab.loads.read)
    (fault,) = opened.faults
    assert "loads.toml" in str(fault)
    assert names(opened) == ["on a shelf", "on a shelf 2"]


def test_usual_ones_are_proposed_as_one_step(opened, tab):
    before = names(opened)
    MOUSE.click(tab.loads.propose)
    opened.until(lambda: names(opened) != before)
    assert opened.session.document.undo_label == "propose load cases"
    more = names(opened)[len(before) :]
    assert len(more) == 3
    assert opened.window.selection.load == more[0]
    opened.window.commands["undo"].trigger()
    assert names(opened) == before


def test_a_brace_is_added_drawn_hidden_and_deleted(opened, tab):
    MOUSE.open_tab(tab.pages, "Braces")
    failed = answer(lambda dialog: MOUSE.click(button_called(dialog, "Keep it")))
    MOUSE.click(tab.braces.add)
    assert failed == []
    (brace,) = opened.session.plan.braces
    assert brace.name == "brace 1"
    opened.settle()
    (made,) = opened.session.examined.braces
    assert made.name == "brace 1"
    # On the upper side of the part, 80 mm high.
    assert made.solid.bounds[0, 2] >= 80.0
    link = opened.window.view_link
    assert "brace 1" in [body.name for body in link._bodies()]
    MOUSE.click(tab.braces.shown, tab.braces.shown.rect().center())
    assert "brace 1" not in [body.name for body in link._bodies()]
    MOUSE.click(tab.braces.shown, tab.braces.shown.rect().center())
    MOUSE.click(tab.braces.fit)
    opened.until(lambda: "spare" in tab.braces.fit_note.text)
    assert "600 x 300 mm" in tab.braces.fit_note.text
    take_keyboard(opened)
    MOUSE.row(tab.braces.table, 0)
    KEYS.press(Qt.Key.Key_Delete)
    assert opened.session.plan.braces == ()
    assert "brace 1" not in [body.name for body in link._bodies()]
    assert tab.braces.fit_note.text == ""


def test_printed_braces_count_in_totals_beds_and_spools(opened, tab):
    session, window = opened.session, opened.window
    assert window.pieces.totals.words.startswith("All 2 pieces: ")
    assert session.material is not None
    wish = BraceWish(
        (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 20.0, -305.0, -125.0, 20.0, 4.0, is_printed=True,
        name="left",
    )  # fmt: skip
    other = replace(wish, offset=70.0, name="brace 2")
    session.apply("print two", replace(session.plan, braces=(wish, other)))
    opened.settle()
    assert window.pieces.totals.words.startswith("All 2 pieces and 2 printed braces: ")
    MOUSE.open_tab(window.right, "Beds")
    beds = window.beds
    opened.until(lambda: beds.said.endswith("fill them altogether."))
    *pieces, last = beds.table.rows_model.rows
    assert (last.numbers, last.braces) == ((), ("brace left", "brace 2"))
    assert not any(row.braces for row in pieces)
    # Filled altogether: as heavy as the solids, whose holes are small.
    volume = sum(each.solid.volume for each in session.examined.braces)
    mass = session.material.density * volume * 1e-3
    assert last.bed.filament.mass == pytest.approx(mass, rel=0.01)
    before = sum(row.bed.filament.mass for row in pieces)
    session.use_spool(before + 1.0)
    told = " ".join(each.message for each in session.findings)
    assert f"Bed {last.bed.number} (brace “left” and brace “brace 2”) takes" in told
    MOUSE.row(beds.table, len(pieces))
    assert beds.sketch.accessibleDescription() == "On it: brace left, brace 2"
    session.use_spool(None)
    # It runs along −x, so that the left end of its drawing is the one at high x.
    MOUSE.open_tab(window.right, "Assembly")
    window.assembly.go_to(window.assembly.slider.maximum())
    first = max(bolt.at[0] for bolt in session.examined.braces[1].bolts)
    assert window.assembly.words.endswith(
        "The left end of its drawing goes towards +x, its first hole "
        f"{session.part.bounds[1, 0] - first:.1f} mm from that end of the part."
    )
    window.commands["undo"].trigger()
    opened.settle()
    assert window.pieces.totals.words.startswith("All 2 pieces: ")
    MOUSE.open_tab(window.right, "Strength")


def test_a_check_is_given_up_when_the_plan_changes(opened, tab, monkeypatch):
    session, cells = opened.session, tab.cells
    MOUSE.open_tab(tab.pages, "Check")
    # Known by hand before minutes are spent.
    assert "Nothing holds seam S1 closed" in cells.note.text
    asked = []
    real = session.jobs.ask

    def ask(desk, task, *given, **hears):
        if task != "check_cells":
            return real(desk, task, *given, **hears)
        asked.append((given, hears))
        # Something that takes long stands for the check.
        return real(desk, "wait", 60.0, **{**hears, "answered": lambda _: None})

    monkeypatch.setattr(session.jobs, "ask", ask)
    MOUSE.click(cells.check)
    ((plan, load), _) = asked[0]
    assert plan == session.plan
    assert load == opened.window.selection.load
    assert cells.stop.isVisible()
    name = session.plan.loadings[0].name
    shares = {
        piece.name: np.linspace(0.0, 0.5, len(piece.solid.faces))
        for piece in session.division.pieces
    }
    told = CellsTold(
        session.plan.loadings[0], 1.0, (WayInCells("glued", 1.0, 0.3, (0.1, 0.2)),), (),
        (checked_overlay(SHARE, name, shares),), 1.0, "Near.",
    )  # fmt: skip
    opened.window.selection.choose_load(name)
    opened.window.commands["undo"].trigger()
    opened.until(lambda: not cells.stop.isVisible())
    opened.window.commands["redo"].trigger()
    opened.settle()
    MOUSE.click(cells.check)
    asked[1][1]["answered"](told)
    session.jobs.stop(opened.window.cells_link._job, patience=None)
    opened.window.cells_link.refresh()
    assert "took 1 s" in cells.said.text()
    MOUSE.click(cells.faces)
    assert opened.window.tools.faces.currentText() == told.overlays[0].name
    # Of another plan it says nothing.
    opened.window.commands["undo"].trigger()
    assert "took 1 s" not in cells.said.text()
    assert opened.faults == []


def test_a_change_is_answered_before_the_plan_is_checked_anew(opened, tab, monkeypatch):
    session, window = opened.session, opened.window
    opened.settle()
    opened.idle()
    asked, real = [], session.jobs.ask

    def ask(desk, task, *given, **hears):
        asked.append(task)
        if task not in ("check_cells", "answer_seams"):
            return real(desk, task, *given, **hears)
        if task == "answer_seams":
            answer = AS_CHECKED if given[0] == checked else TOLD
        else:
            ways = (WayInCells("glued", 1.0, 0.3, (0.1, 0.2)),)
            answer = CellsTold(session.plan.loadings[0], 1.0, ways, (), (), 1.0, "Near.")
        # As soon as the process answers.
        take = hears["answered"]
        return real(desk, "wait", 0.0, **{**hears, "answered": lambda _: take(answer)})

    monkeypatch.setattr(session.jobs, "ask", ask)
    checked = session.plan
    window.selection.choose_load(checked.loadings[0].name)
    MOUSE.open_tab(tab.pages, "Check")
    MOUSE.click(tab.cells.check)
    opened.until(lambda: window.live_link.is_answered)
    MOUSE.open_tab(window.right, "Seams")
    MOUSE.row(window.seams.table, 0)
    assert "largest pull 40 N in B" in window.seams.plan.live.text()
    asked.clear()
    window.seams.fasteners.setFocus()
    MOUSE.row(window.seams.fasteners, 0)
    KEYS.press(Qt.Key.Key_Delete)
    assert asked.index("answer_seams") < asked.index("examine")
    opened.until(lambda: window.live_link.is_answered)
    assert "largest pull 40 → 55 N in A" in window.seams.plan.live.text()
    MOUSE.open_tab(window.right, "Strength")
    assert tab.cells.live.isVisible()
    assert "63 → 58 %" in tab.cells.live.said.text()
    # Other pieces are not answered.
    window.commands["add"].trigger()
    assert "the cuts are others" in tab.cells.live.note.text
    assert window.seams.plan.live.text() == ""
    assert opened.faults == []
