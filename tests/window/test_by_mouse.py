"""The whole job with the mouse alone, from opening a part to the exported folder."""

import numpy as np
import pytest
import trimesh
from PySide6.QtCore import QPoint
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog

from tests.window.desk import SIZES, point
from tests.window.hands import NONE, SHIFT, Button, Mouse


@pytest.fixture
def mouse():
    return Mouse()


@pytest.fixture
def opened(desk, model, mouse, monkeypatch):
    """With the part opened from the menu."""
    desk.count_as_saved()
    before = desk.session.source
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(model), ""))
    mouse.choose(desk.window, "File", "Open")
    desk.wait_for_part(before)
    mouse.open_tab(desk.window.left, "Proposals")
    mouse.open_tab(desk.window.right, "Pieces")
    desk.faults.clear()
    desk.said.clear()
    return desk


@pytest.fixture
def cut(opened, mouse):
    mouse.choose(opened.window, "Cuts", "Add")
    opened.settle()
    assert len(opened.session.plan.cuts) == 1
    return opened


def plane(desk, index=0):
    return desk.session.plan.cuts[index].plane


def test_a_part_is_opened_anew_from_the_recent_ones(opened, mouse):
    before = opened.session.source
    mouse.choose(opened.window, "File", "Open recent", "long")
    opened.until(lambda: opened.session.source is not before)
    opened.settle()
    assert not opened.faults


def test_a_proposal_is_looked_at_and_accepted(opened, mouse):
    window, session = opened.window, opened.session
    mouse.click(window.proposals._button)
    assert session.proposing.is_on
    opened.until(lambda: not session.proposing.is_on)
    opened.idle()
    card = window.proposals._cards[0]
    QTest.mouseMove(card, QPoint(60, 20))
    opened.until(lambda: len(window.view._bodies) > 1)
    assert session.plan.cuts == ()
    mouse.click(card._accept)
    opened.settle()
    assert session.plan.cuts == card.proposal.plan.cuts


def test_a_cut_is_moved_tilted_and_deleted_in_the_view(cut, mouse):
    cut.drawn()
    view, before = cut.view, plane(cut)
    foot, tip = cut.arrow()
    start = point(foot + 0.7 * (tip - foot))
    mouse.drag(view, start, start + point(0.8 * (tip - foot)))
    moved = plane(cut)
    assert moved.normal == before.normal
    assert moved.offset > before.offset + 5.0
    cut.settle()
    ring = view.camera.pixels(cut.handle().outline("first ring"))
    start, end = (point(ring[at]) for at in (8, 12))
    mouse.drag(view, start, end)
    lean = np.degrees(np.arccos(np.dot(plane(cut).normal, before.normal)))
    # Four of the 64 corners of the ring.
    assert lean == pytest.approx(22.5, abs=1.5)
    cut.settle()
    mouse.choose(cut.window, "Cuts", "Delete")
    assert cut.session.plan.cuts == ()


def test_a_cut_is_added_moved_and_deleted_at_the_chart(opened, mouse):
    canvas = opened.window.chart.canvas
    at = QPoint(round(canvas.scale.pixel(120.0)), canvas.height() // 2)
    QTest.mouseDClick(canvas, Button.LeftButton, NONE, at)
    opened.settle()
    assert plane(opened).offset == pytest.approx(120.0, abs=1.0)
    start = QPoint(round(canvas.scale.pixel(plane(opened).offset)), canvas.height() // 2)
    mouse.drag(canvas, start, start - QPoint(30, 0))
    wanted = canvas.scale.station(start.x() - 30.0)
    assert plane(opened).offset == pytest.approx(wanted, abs=2.0)
    opened.settle()
    mouse.open_tab(opened.window.right, "Cuts")
    mouse.row(opened.window.cuts.table, 0)
    mouse.context(opened.window.cuts.table.viewport(), QPoint(40, 10), "Delete")
    assert opened.session.plan.cuts == ()


def test_a_print_direction_is_chosen(cut, mouse):
    window, session = cut.window, cut.session
    mouse.row(window.pieces.table, 0, 1)
    name = window.pieces.chosen
    before = session.plan.up(name)
    mouse.click(window.pieces._directions_button)
    popup = window.pieces.popup
    cut.until(popup.isVisible)
    mouse.row(popup.table, 2)
    assert not popup.isVisible()
    assert session.plan.up(name) != before


def test_a_face_is_laid_down(cut, mouse):
    cut.drawn()
    window, view = cut.window, cut.view
    mouse.row(window.pieces.table, 0, 1)
    name = window.pieces.chosen
    before = cut.session.plan.up(name)
    mouse.click(window.pieces._lay_button)
    assert view.mode == "pick"
    # From where it is seen after opening, the front is in the picture.
    corner = view.camera.pixels([[60.0, 0.0, 20.0]])[0]
    mouse.click(view, point(corner))
    assert view.mode == "look"
    assert np.allclose(cut.session.plan.up(name), (0.0, 1.0, 0.0))
    assert cut.session.plan.up(name) != before


def test_a_pin_is_moved_on_its_seam(cut, mouse):
    window, session = cut.window, cut.session
    pins = session.plan.joint("S1").pins
    mouse.open_tab(window.right, "Seams")
    mouse.row(window.seams.table, 0)
    assert window.seams.chosen == "S1"
    # The words below the drawing may need another line for this seam.
    QTest.qWait(20)
    canvas = window.seams.plan.canvas
    pin = canvas.fasteners[0]
    start = canvas.scale.to_screen(pin.u, pin.v).toPoint()
    middle = canvas.rect().center()
    step = QPoint(24 if start.x() < middle.x() else -24, 0)
    mouse.drag(canvas, start, start + step)
    moved = session.plan.joint("S1").pins
    way = np.linalg.norm(np.subtract(moved[0].at, pins[0].at))
    assert way == pytest.approx(24 / canvas.scale.per_mm, abs=1.5)
    assert moved[1:] == pins[1:]


def test_the_view_is_turned_moved_and_brought_nearer(opened, mouse):
    view = opened.view
    before = view.turntable
    corner = QPoint(20, 20)
    mouse.drag(view, corner, corner + QPoint(50, 20))
    turned = view.turntable
    assert turned != before
    mouse.drag(view, corner, corner + QPoint(50, 20), SHIFT)
    assert view.turntable != turned
    mouse.choose(opened.window, "View", "See everything")


def test_from_opening_to_the_folder(opened, mouse, tmp_path, monkeypatch):
    window, session = opened.window, opened.session
    mouse.click(window.proposals._button)
    opened.until(lambda: not session.proposing.is_on)
    mouse.click(window.proposals._cards[0]._accept)
    opened.settle()
    mouse.open_tab(window.right, "Seams")
    mouse.row(window.seams.table, 0)
    mouse.click(window.seams._remove)
    opened.settle()
    mouse.click(window.seams._place)
    opened.settle()
    decided, steps = session.plan, 0
    assert session.document.can_undo
    while session.document.can_undo:
        mouse.choose(window, "Edit", "Undo")
        steps += 1
    assert session.plan.cuts == ()
    for _ in range(steps):
        mouse.choose(window, "Edit", "Redo")
    opened.settle()
    assert session.plan == decided
    mouse.choose(window, "File", "Export")
    dialog = window.export.dialog
    assert QTest.qWaitForWindowActive(dialog)
    folder = tmp_path / "out"
    folder.mkdir()
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(folder))
    mouse.click(dialog._browse)
    mouse.click(dialog._pictures, QPoint(8, dialog._pictures.height() // 2))
    mouse.click(dialog._export)
    opened.until(lambda: any("Exported" in text for text in opened.said))
    mouse.click(dialog._close)
    assert not dialog.isVisible()
    meshes = [trimesh.load(each) for each in sorted((folder / "pieces").glob("*.stl"))]
    assert len(meshes) == len(session.division.pieces)
    assert all(mesh.is_watertight for mesh in meshes)
    assert sum(mesh.volume for mesh in meshes) == pytest.approx(np.prod(SIZES), rel=0.01)
    assert not (folder / "pictures").exists()
    assert not opened.faults
    assert QApplication.activePopupWidget() is None
