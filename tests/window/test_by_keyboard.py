"""The whole job with the keyboard alone, from opening a part to the exported folder."""

import numpy as np
import pytest
import trimesh
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog

from splitplanner.window.lists.cuts_model import OFFSET
from tests.window.desk import SIZES
from tests.window.hands import ALT, CTRL, SHIFT, Key, Keyboard


@pytest.fixture
def keys():
    return Keyboard()


@pytest.fixture
def opened(desk, model, keys, monkeypatch):
    """With the part opened by keys."""
    desk.count_as_saved()
    before = desk.session.source
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(model), ""))
    desk.window.right.setCurrentIndex(0)
    desk.window.left.setCurrentIndex(0)
    keys.press(Key.Key_O, CTRL)
    desk.wait_for_part(before)
    desk.faults.clear()
    desk.said.clear()
    return desk


@pytest.fixture
def cut(opened, keys):
    keys.press(Key.Key_K, CTRL)
    opened.settle()
    assert len(opened.session.plan.cuts) == 1
    return opened


def plane(desk, index=0):
    return desk.session.plan.cuts[index].plane


def test_a_part_is_opened_anew_from_the_recent_ones(opened, keys):
    before = opened.session.source
    keys.press(Key.Key_F, ALT)
    keys.press(Key.Key_R)
    keys.press(Key.Key_Return)
    opened.until(lambda: opened.session.source is not before)
    opened.settle()
    assert not opened.faults
    assert QApplication.focusWidget() is opened.view


def test_a_key_goes_from_area_to_area(opened, keys):
    window = opened.window
    window.view.setFocus()
    for area in (window.chart, window.right, window.left):
        keys.press(Key.Key_F6)
        assert area.isAncestorOf(QApplication.focusWidget())
    keys.press(Key.Key_F6)
    assert QApplication.focusWidget() is window.view


def test_a_proposal_is_looked_at_and_accepted(opened, keys):
    window, session = opened.window, opened.session
    keys.press(Key.Key_G, CTRL)
    assert session.proposing.is_on
    opened.until(lambda: not session.proposing.is_on)
    opened.idle()
    keys.tab_to(window.proposals._button)
    keys.press(Key.Key_Down)
    keys.press(Key.Key_Down)
    keys.press(Key.Key_Up)
    best = window.proposals.proposals[0]
    # What has the focus is seen in the view before it is accepted.
    assert len(window.view._bodies) == len(best.draft.division.pieces)
    assert session.plan.cuts == ()
    keys.press(Key.Key_Return)
    opened.settle()
    assert session.plan.cuts == best.plan.cuts
    # A cut of it is chosen, and taken out by the same key as any other.
    count = len(session.plan.cuts)
    keys.tab_to(window.view)
    keys.press(Key.Key_BracketRight)
    keys.press(Key.Key_Backspace, CTRL)
    assert len(session.plan.cuts) == count - 1


def test_a_search_is_stopped(opened, keys):
    window, session = opened.window, opened.session
    # First of all, for a search of so small a part does not take long.
    keys.tab_to(window.proposals._button)
    keys.press(Key.Key_G, CTRL)
    assert session.proposing.is_on
    keys.press(Key.Key_Space)
    assert not session.proposing.is_on


def test_a_cut_is_moved_tilted_and_deleted_in_the_view(cut, keys):
    view, before = cut.view, plane(cut)
    keys.tab_to(view)
    keys.press(Key.Key_Up, ALT, times=3)
    assert plane(cut).offset == pytest.approx(before.offset + 3.0, abs=1e-6)
    keys.press(Key.Key_Down, ALT | SHIFT)
    assert plane(cut).offset == pytest.approx(before.offset + 2.9, abs=1e-6)
    keys.press(Key.Key_Right, ALT, times=5)
    lean = np.degrees(np.arccos(np.dot(plane(cut).normal, before.normal)))
    assert lean == pytest.approx(5.0, abs=1e-6)
    cut.settle()
    keys.press(Key.Key_Backspace, CTRL)
    assert cut.session.plan.cuts == ()


def test_a_cut_is_added_moved_and_deleted_in_the_chart(opened, keys):
    canvas = opened.window.chart.canvas
    keys.tab_to(canvas)
    keys.press(Key.Key_Insert)
    opened.settle()
    (added,) = opened.session.plan.cuts
    keys.press(Key.Key_Left, CTRL)
    assert plane(opened).offset == pytest.approx(added.plane.offset - 10.0, abs=1e-6)
    keys.press(Key.Key_Delete)
    assert opened.session.plan.cuts == ()


def test_a_cut_is_written_as_numbers(cut, keys):
    window = cut.window
    keys.open_tab(window.right, "Cuts")
    keys.tab_to(window.cuts.table)
    keys.press(Key.Key_Down)
    for _ in range(6):
        if window.cuts.table.currentIndex().column() == OFFSET:
            break
        keys.press(Key.Key_Right)
    keys.press(Key.Key_Return)
    keys.press(Key.Key_A, CTRL)
    keys.write("200.5")
    keys.press(Key.Key_Return)
    assert plane(cut).offset == 200.5


def test_a_print_direction_is_chosen(cut, keys):
    window, session = cut.window, cut.session
    keys.tab_to(window.pieces.table)
    # The first row of those, and not the second.
    keys.press(Key.Key_Down)
    assert window.pieces.table.chosen == 0
    name = window.pieces.chosen
    before = session.plan.up(name)
    keys.press(Key.Key_D)
    cut.until(lambda: window.pieces.popup.isVisible())
    # Esc leaves it, and the table has the keys again.
    keys.press(Key.Key_Escape)
    assert not window.pieces.popup.isVisible()
    assert QApplication.focusWidget() is window.pieces.table
    keys.press(Key.Key_D)
    cut.until(lambda: window.pieces.popup.isVisible())
    keys.press(Key.Key_End, CTRL)
    keys.press(Key.Key_Return)
    assert session.plan.up(name) != before


def test_a_pin_is_moved_on_its_seam(cut, keys):
    window, session = cut.window, cut.session
    pins = session.plan.joint("S1").pins
    keys.open_tab(window.right, "Seams")
    keys.tab_to(window.seams.table)
    keys.press(Key.Key_Down)
    assert window.seams.chosen == "S1"
    keys.tab_to(window.seams.plan.canvas)
    keys.press(Key.Key_BracketRight)
    keys.press(Key.Key_Right, times=2)
    moved = session.plan.joint("S1").pins
    assert np.linalg.norm(np.subtract(moved[0].at, pins[0].at)) == pytest.approx(1.0, abs=1e-6)
    assert moved[1:] == pins[1:]


def test_from_opening_to_the_folder(opened, keys, tmp_path):
    window, session = opened.window, opened.session
    keys.press(Key.Key_G, CTRL)
    opened.until(lambda: not session.proposing.is_on)
    keys.tab_to(window.proposals._button)
    keys.press(Key.Key_Down)
    keys.press(Key.Key_Return)
    opened.settle()
    keys.tab_to(window.view)
    keys.press(Key.Key_BracketRight)
    keys.press(Key.Key_Up, ALT | SHIFT)
    opened.settle()
    decided = session.plan
    while session.document.can_undo:
        keys.press(Key.Key_Z, CTRL)
    assert session.plan.cuts == ()
    while session.document.can_redo:
        keys.press(Key.Key_Z, CTRL | SHIFT)
    opened.settle()
    assert session.plan == decided
    folder = tmp_path / "out"
    keys.press(Key.Key_E, CTRL)
    dialog = window.export.dialog
    assert QTest.qWaitForWindowActive(dialog)
    keys.press(Key.Key_W, ALT)
    keys.press(Key.Key_A, CTRL)
    keys.write(str(folder))
    keys.press(Key.Key_P, ALT)
    opened.until(lambda: not dialog._pictures.isChecked())
    keys.press(Key.Key_Return)
    opened.until(lambda: any("Exported" in text for text in opened.said))
    keys.press(Key.Key_Escape)
    assert not dialog.isVisible()
    meshes = [trimesh.load(each) for each in sorted((folder / "pieces").glob("*.stl"))]
    assert len(meshes) == len(session.division.pieces)
    assert all(mesh.is_watertight for mesh in meshes)
    assert sum(mesh.volume for mesh in meshes) == pytest.approx(np.prod(SIZES), rel=0.01)
    # Pictures were switched off.
    assert not (folder / "pictures").exists()
    assert not opened.faults
