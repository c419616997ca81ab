"""The whole window with its real processes: from opening a part to the exported folder."""

import os
import signal
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from PySide6.QtCore import QMimeData, QPointF, Qt, QTimer, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from splitplanner.errors import HelperError, ReadError
from splitplanner.plan import load_plan
from splitplanner.score import GoodSide, Wishes, read_wishes
from splitplanner.solid import Plane
from splitplanner.window.dialogs.export_dialog import ExportChoice
from splitplanner.window.part_files import wishes_file
from tests.pin_holes import holes_of
from tests.planned import box, save
from tests.window.desk import SIZES, Desk, point
from tests.window.hands import Keyboard

LENGTH = SIZES[0]
NONE = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def opened(desk, model):
    """With the part just opened; the processes are those of the tests before."""
    desk.begin(model)
    return desk


@pytest.fixture
def cut(opened):
    """With a cut in the middle that is examined."""
    opened.window.commands["add"].trigger()
    opened.settle()
    return opened


def files_of(desk):
    """Opens and saves without questions."""
    return desk.window.files._files


def offset(desk, index=0):
    return desk.session.plan.cuts[index].plane.offset


# -- opening ------------------------------------------------------------------------------------
def test_a_part_is_opened_measured_and_remembered(opened, model):
    window = opened.window
    assert np.allclose(opened.session.part.extents, [LENGTH, 100.0, 80.0])
    assert window.pieces.table.model().rowCount() == 1
    assert "long" in window.windowTitle()
    assert window.settings.recent_files == (model,)
    assert [f.kind for f in opened.session.findings_of_plan] == ["piece.bed_fit"]
    assert not opened.faults


def test_a_part_is_opened_by_dropping_it(desk, model):
    before = desk.session.source
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(model))])
    event = QDropEvent(
        QPointF(20, 20),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    desk.window.dropEvent(event)
    desk.until(lambda: desk.session.source is not before)
    assert desk.session.model == model


def test_a_bad_file_is_told_in_place_and_loses_nothing(cut, tmp_path):
    bad = tmp_path / "bad.stl"
    bad.write_bytes(b"no mesh at all")
    before = cut.session.plan
    files_of(cut).open(bad)
    cut.until(lambda: cut.faults)
    assert isinstance(cut.faults[0], ReadError)
    assert "bad.stl" in cut.window.fault_line.text
    assert cut.window.fault_line.isVisible()
    assert cut.session.plan == before
    cut.window.close_fault.click()
    assert not cut.window.fault_line.isVisible()


def test_reading_is_stopped_and_what_was_there_stays(opened):
    window = opened.window
    job = opened.session.jobs.ask("examiner", "wait", 60.0, title="reading a part")
    opened.until(lambda: job.doing == "waiting")
    assert "Reading a part" in window.job_line.text
    QTest.mouseClick(window.job_line.stop_button, Qt.MouseButton.LeftButton)
    assert job.is_over
    assert not window.job_line.isVisible()
    assert opened.session.part is not None


def test_the_unit_is_asked_in_place(desk, tmp_path):
    small = save(box((17.0, 4.0, 3.0)), tmp_path / "small.stl")
    desk.open(small)
    bar = desk.window.unit_bar
    assert bar.isVisible()
    bar.unit_chosen.emit("inch")
    desk.until(lambda: desk.session.source.unit == "inch")
    assert np.allclose(desk.session.part.extents, [17.0 * 25.4, 4.0 * 25.4, 3.0 * 25.4])


# -- cuts ---------------------------------------------------------------------------------------
def test_a_cut_is_added_completed_and_undone_as_one_step(cut):
    session = cut.session
    assert offset(cut) == pytest.approx(LENGTH / 2, abs=20)
    assert len(session.division.pieces) == 2
    assert set(session.plan.print_directions) == {"1", "2"}
    assert len(session.plan.joint("S1").pins) >= 2
    assert session.document.undo_labels == ("add a cut",)
    cut.window.commands["undo"].trigger()
    assert session.plan.cuts == ()
    cut.window.commands["redo"].trigger()
    # What had been found out is there at once.
    assert len(session.division.pieces) == 2
    assert session.examined is not None


def test_a_plane_is_dragged_with_the_mouse_in_the_view(cut):
    cut.drawn()
    view, before = cut.view, offset(cut)
    foot, tip = cut.arrow()
    camera, shown = view.camera, view.planes[0]
    # Where the arrow is grabbed, in space and in the picture.
    grabbed = np.add(shown.centre, [0.6 * cut.handle().length, 0.0, 0.0])
    start = camera.pixels([grabbed])[0]
    way = 60.0 * (tip - foot) / np.linalg.norm(tip - foot)
    QTest.mouseMove(view, point(start))
    QTest.mousePress(view, Qt.MouseButton.LeftButton, NONE, point(start))
    for step in range(1, 11):
        QTest.mouseMove(view, point(start + step / 10 * way))
        assert cut.session.is_dragging
    # The light part is cut anew meanwhile.
    live = cut.window.dragging.live
    assert set(live.pieces) == {"1", "2"}
    assert live.pieces["1"].volume == pytest.approx(volume_below(cut), rel=1e-6)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, NONE, point(start + way))
    # What was grabbed is where the pointer was left: to half a millimetre, rounded pixels and all.
    moved = camera.pixels([np.add(grabbed, [offset(cut) - before, 0.0, 0.0])])[0]
    mm = float(camera.pixel_size([grabbed])[0])
    assert abs(offset(cut) - before) > 20.0
    assert np.linalg.norm(moved - (start + way)) * mm < 0.5 + mm
    assert cut.session.document.undo_labels == ("move cut 1", "add a cut")
    cut.settle()
    # The piece is shown as it is printed, with its holes.
    plan, division = cut.session.plan, cut.session.division
    holes = holes_of(division.piece("1"), division, plan)
    assert len(holes) == len(plan.joint("S1").pins) >= 2
    made = division.piece("1").solid.volume
    taken = sum(hole.volume for hole in holes)
    assert volume_below(cut) - made == pytest.approx(taken, rel=1e-3)


def volume_below(desk):
    """Of the box of 100 x 80 mm below the first cut, mm³."""
    return 100.0 * 80.0 * (offset(desk) - desk.session.part.bounds[0, 0])


def test_a_drag_that_is_given_up_changes_nothing(cut):
    view, before = cut.view, cut.session.plan
    foot, tip = cut.arrow()
    start = point((foot + tip) / 2)
    QTest.mouseMove(view, start)
    QTest.mousePress(view, Qt.MouseButton.LeftButton, NONE, start)
    QTest.mouseMove(view, point(np.array(start.toTuple()) + 40.0))
    assert cut.session.plan != before
    QTest.keyClick(view, Qt.Key.Key_Escape)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, NONE, start)
    assert cut.session.plan == before
    assert cut.session.document.undo_labels == ("add a cut",)


def test_a_cut_is_moved_in_the_chart(cut):
    canvas, before = cut.window.chart.canvas, offset(cut)
    canvas.setFocus()
    QTest.keyClick(canvas, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    cut.until(lambda: not cut.session.is_dragging)
    assert offset(cut) == pytest.approx(before + 10.0, abs=1e-6)


def test_a_cut_is_typed_as_numbers(cut):
    cut.window.cuts.cut_edited.emit(0, Plane((1.0, 0.0, 0.0), 123.4))
    assert offset(cut) == 123.4
    cut.settle()
    assert len(cut.session.division.pieces) == 2


@pytest.mark.parametrize(
    ("command", "cuts"), [("copy", 2), ("mirror", 2), ("flip", 1), ("delete", 0)]
)
def test_cuts_are_copied_mirrored_flipped_and_deleted_by_commands(cut, command, cuts):
    before = cut.session.plan
    cut.window.commands[command].trigger()
    assert len(cut.session.plan.cuts) == cuts
    assert cut.session.plan != before
    cut.window.commands["undo"].trigger()
    assert cut.session.plan.cuts == before.cuts


def test_a_plane_clicks_into_the_middle_of_a_symmetric_part(cut):
    window, middle = cut.window, float(cut.session.part.bounds[:, 0].mean())
    window.dragging.begin(0)
    window.dragging.move(Plane((1.0, 0.0, 0.0), middle + 1.3), 0.5, False)
    assert offset(cut) == pytest.approx(middle, abs=1e-6)
    # In fine mode it does not.
    window.dragging.move(Plane((1.0, 0.0, 0.0), middle + 1.3), 0.5, True)
    assert offset(cut) == pytest.approx(middle + 1.3, abs=1e-9)
    window.dragging.abort()


def test_while_a_cut_is_dragged_its_figures_are_told(cut):
    window = cut.window
    window.dragging.begin(0)
    window.dragging.move(Plane((1.0, 0.0, 0.0), 200.05), 0.5, False)
    cut.until(lambda: "seam" in window.live_line.text())
    # A box of 100 x 80 mm: its outline is 360 mm long.
    assert "360 mm" in window.live_line.text()
    assert "80.0 cm²" in window.live_line.text()
    window.dragging.drop()
    assert window.live_line.text() == ""


# -- proposals ----------------------------------------------------------------------------------
def test_proposals_stream_in_and_one_is_accepted_and_all_is_undone(opened):
    window, session = opened.window, opened.session
    QTest.mouseClick(window.proposals._button, Qt.MouseButton.LeftButton)
    assert session.proposing.is_on
    opened.until(lambda: not session.proposing.is_on)
    assert window.proposals.proposals
    assert not opened.faults
    best = window.proposals.proposals[0]
    window.proposals.previewed.emit(best)
    assert len(window.view._bodies) == len(best.draft.division.pieces)
    window.proposals.previewed.emit(None)
    assert len(window.view._bodies) == 1
    window.proposals.accepted.emit(best)
    opened.settle()
    assert session.plan.cuts == best.plan.cuts
    assert all(row.fit.fits for row in session.figures.pieces)
    assert all(joint.pins for joint in session.plan.joints)
    assert session.document.undo_labels == ("accept proposal 1",)
    while session.document.can_undo:
        window.commands["undo"].trigger()
    assert session.plan.cuts == ()


def test_a_search_is_stopped_and_the_next_one_works(opened):
    session = opened.session
    session.propose()
    opened.until(lambda: session.proposing.job is not None and session.proposing.job.done > 0.0)
    session.proposing.stop()
    assert not session.proposing.is_on
    session.propose()
    opened.until(lambda: not session.proposing.is_on)
    assert session.proposing.found


def test_a_search_that_is_stopped_in_the_status_line_is_over_in_the_list_too(opened):
    session, window = opened.session, opened.window
    window.proposals_link.ask()
    opened.until(lambda: window.job_line.isVisible() and "proposals" in window.job_line.text)
    QTest.mouseClick(window.job_line.stop_button, Qt.MouseButton.LeftButton)
    assert not session.proposing.is_on
    assert not window.proposals._is_busy
    said = window.proposals._message.text()
    assert ("nothing was found" in said) == (not session.proposing.found)


def test_the_good_side_that_is_wished_is_the_one_that_is_worked_with(cut):
    session = cut.session
    found = session.seen
    front = GoodSide(directions=((0.0, -1.0, 0.0),))
    session.wish("seen from the front", Wishes(good_side=front))
    cut.until(lambda: session.seen is not None and not np.array_equal(session.seen, found))
    facing = session.part.face_normals[:, 1] < -0.99
    assert np.array_equal(session.seen, facing)


def test_weights_rank_proposals_anew_and_are_a_step(opened):
    session, window = opened.session, opened.window
    session.propose()
    opened.until(lambda: not session.proposing.is_on)
    window.weights.weights_settled.emit({"pieces": 3.0})
    assert session.choices.weights == {"pieces": 3.0}
    window.commands["undo"].trigger()
    assert session.choices.weights == {}


# -- pieces, seams, wishes ----------------------------------------------------------------------
def test_a_print_direction_is_chosen_from_ranked_ones(cut):
    window, session = cut.window, cut.session
    window.pieces.directions_asked.emit("1")
    cut.until(lambda: window.pieces.popup.isVisible())
    window.pieces.popup.hide()
    window.pieces.direction_asked.emit("1", (0.0, 1.0, 0.0))
    assert session.plan.up("1") == (0.0, 1.0, 0.0)
    cut.settle()
    assert session.figures.pieces[0].up == (0.0, 1.0, 0.0)


def test_a_face_that_is_clicked_lies_down(cut):
    cut.drawn()
    view = cut.view
    view.look_from((0.0, -1.0, 0.0))
    cut.window.tables_link.face_asked.emit("1")
    assert view.mode == "pick"
    at = view.camera.pixels([[50.0, 0.0, 20.0]])[0]
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, NONE, point(at))
    # The face towards the viewer looks along -y; it lies on the bed when +y is up.
    assert np.allclose(cut.session.plan.up("1"), (0.0, 1.0, 0.0))


def test_a_face_is_picked_on_the_piece_as_it_lies_on_the_bed(cut):
    window = cut.window
    window.selection.choose_piece("1")
    window.tools.on_bed.setChecked(True)
    row = cut.session.figures.pieces[0]
    # The side of the piece that looks along +y of the part, as it is seen on the bed.
    seen = row.fit.rotation @ np.array([0.0, 1.0, 0.0])
    window.view.face_picked.emit("1", (0.0, 0.0, 0.0), tuple(seen))
    assert np.allclose(cut.session.plan.up("1"), (0.0, -1.0, 0.0))
    window.tools.on_bed.setChecked(False)


def test_a_pin_is_moved_inside_its_room_and_checked(cut):
    window, session = cut.window, cut.session
    seam = session.figures.seams[0]
    pins = session.plan.joint("S1").pins
    u, v = seam.seam.plane.to_plane([pins[0].at])[0] + [0.5, -0.5]
    window.seams.fastener_moved.emit("S1", 0, float(u), float(v))
    moved = session.plan.joint("S1").pins[0]
    assert np.allclose(seam.seam.plane.to_plane([moved.at])[0], [u, v])
    cut.settle()
    assert session.plan.joint("S1").pins[0] == moved
    window.seams.emptied.emit("S1")
    cut.settle()
    assert session.plan.joint("S1").pins == ()
    assert any(f.kind == "joint.none" for f in session.findings_of_plan)
    window.seams.placing_asked.emit("S1")
    cut.settle()
    assert session.plan.joint("S1").pins == pins


def test_how_seams_are_held_is_chosen_by_keys_and_undone_as_one_step(cut):
    window, session = cut.window, cut.session
    before = session.plan
    opened = []

    def answer():
        opened.append(QApplication.activeModalWidget().windowTitle())
        keys = Keyboard()
        keys.press(Qt.Key.Key_M, Qt.KeyboardModifier.AltModifier)
        keys.press(Qt.Key.Key_End)
        keys.press(Qt.Key.Key_Return)

    QTimer.singleShot(200, answer)
    QTest.keyClick(window.view, Qt.Key.Key_H, Qt.KeyboardModifier.ControlModifier)
    assert opened == ["How seams are held"]
    assert session.plan.fastening == replace(before.fastening, marks="raised")
    assert session.document.undo_label == "how seams are held"
    cut.settle()
    # What holds the seams has been placed anew, in the same step.
    assert len(session.plan.joint("S1").pins) == len(before.joint("S1").pins)
    session.document.undo()
    assert session.plan == before


def test_wishes_are_steps_and_proposals_keep_them(opened):
    session = opened.session
    session.wish("four pieces", Wishes(pieces=4))
    session.propose()
    opened.until(lambda: not session.proposing.is_on)
    assert {len(each.draft.division.pieces) for each in session.proposing.found} == {4}
    opened.window.commands["undo"].trigger()
    assert session.choices.wishes == Wishes()


def test_a_plan_that_breaks_a_wish_is_told_so(cut):
    session = cut.session
    session.wish("three pieces", Wishes(pieces=3))
    cut.until(lambda: any(f.kind.startswith("wish.") for f in session.findings_of_plan))
    # The plan is as sound as before.
    assert len(session.division.pieces) == 2
    cut.window.commands["undo"].trigger()
    assert not any(f.kind.startswith("wish.") for f in session.findings_of_plan)


def test_the_pieces_are_pulled_apart_and_put_on_the_bed(cut):
    window = cut.window
    window.tools.spread.setValue(10)
    low, high = window.view._bodies
    assert low.shift[0] < -5.0
    assert high.shift[0] > 5.0
    assert not window.view.planes
    window.tools.spread.setValue(0)
    assert len(window.view.planes) == 1
    window.selection.choose_piece("2")
    window.tools.on_bed.setChecked(True)
    (body,) = window.view._bodies
    assert body.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-6)
    bed = cut.session.plan.printer.bed
    assert (body.vertices[:, :2].min(axis=0) >= -1e-6).all()
    assert (body.vertices[:, :2].max(axis=0) <= [bed.width + 1e-6, bed.depth + 1e-6]).all()


def test_figures_are_shown_on_the_faces(cut):
    window = cut.window
    window.tools.faces.setCurrentText("overhang")
    cut.idle()
    assert all(body.face_colours is not None for body in window.view._bodies)
    assert "needs support" in window.tools.legend.text().replace("&nbsp;", " ")
    window.tools.faces.setCurrentIndex(0)
    assert all(body.face_colours is None for body in window.view._bodies)


# -- saving, exporting, dying -------------------------------------------------------------------
def test_a_plan_is_saved_and_opened_again(cut, tmp_path):
    file = tmp_path / "long.plan.json"
    assert cut.window.isWindowModified()
    assert files_of(cut).save(file)
    cut.window.files._note()
    assert not cut.window.isWindowModified()
    plan = cut.session.plan
    cut.window.commands["delete"].trigger()
    cut.settle()
    cut.count_as_saved()
    cut.window.files.open(file)
    cut.until(lambda: cut.session.plan_file == file and bool(cut.session.plan.cuts))
    cut.settle()
    assert cut.session.plan == plan
    assert load_plan(file).cuts == plan.cuts


def test_wishes_are_saved_beside_the_plan(cut, tmp_path):
    file = tmp_path / "long.plan.json"
    wishes = Wishes(pieces=3, longest_seam=400.0)
    cut.session.wish("three pieces", wishes)
    assert files_of(cut).save(file)
    cut.session.wish("any number", Wishes())
    cut.count_as_saved()
    before = cut.session.source
    cut.window.files.open(file)
    cut.until(lambda: cut.session.source is not before)
    opened = cut.session.choices.wishes
    assert (opened.pieces, opened.longest_seam) == (3, 400.0)
    # Those that were given up do not come back.
    cut.session.wish("any number", Wishes())
    assert files_of(cut).save(file)
    assert read_wishes(wishes_file(file)).pieces is None


def test_a_plan_of_another_part_is_refused(cut, tmp_path, model):
    file = tmp_path / "plan.json"
    files_of(cut).save(file)
    text = file.read_text("utf-8")
    file.write_text(text.replace(cut.session.part.fingerprint, "0" * 64), "utf-8")
    files_of(cut).open(file)
    cut.until(lambda: cut.faults)
    assert "another part" in str(cut.faults[0])


def test_a_plan_is_exported_and_read_by_another_library(cut, tmp_path):
    folder = tmp_path / "out"
    cut.window.export.ask()
    dialog = cut.window.export.dialog
    choice = ExportChoice(folder, pictures=False, stl=True, three_mf=True, overwrite=False)
    dialog.export_asked.emit(choice)
    cut.until(lambda: any("Exported" in text for text in cut.said))
    meshes = [trimesh.load(each) for each in sorted((folder / "pieces").glob("*.stl"))]
    assert len(meshes) == 2
    assert all(mesh.is_watertight for mesh in meshes)
    holes = sum(len(joint.pins) for joint in cut.session.plan.joints)
    assert holes >= 2
    solid = 430.0 * 100.0 * 80.0
    assert solid * 0.99 < sum(mesh.volume for mesh in meshes) < solid
    assert (folder / "plan.json").is_file()
    dialog.close()


def test_an_unsound_plan_is_not_exported_and_the_dialog_says_why(opened):
    opened.window.export.ask()
    dialog = opened.window.export.dialog
    assert "too large for the bed" in dialog._note.text
    dialog.close()


def test_a_process_that_is_killed_is_told_and_the_window_goes_on(cut):
    jobs = cut.session.jobs
    job = jobs.ask("examiner", "wait", 60.0, title="waiting", failed=cut.session.failed.emit)
    cut.until(lambda: job.doing == "waiting")
    os.kill(jobs.process_of("examiner"), signal.SIGKILL)
    cut.until(lambda: cut.faults)
    assert isinstance(cut.faults[0], HelperError)
    assert "nothing is lost" in cut.window.fault_line.text
    cut.window.commands["copy"].trigger()
    cut.settle()
    assert len(cut.session.division.pieces) == 3


def test_a_plan_is_examined_by_a_new_process_when_the_first_one_dies(cut):
    session, jobs = cut.session, cut.session.jobs
    waiting = jobs.ask("examiner", "wait", 60.0, title="waiting")
    cut.until(lambda: waiting.doing == "waiting")
    cut.window.commands["copy"].trigger()
    assert session.examined is None
    os.kill(jobs.process_of("examiner"), signal.SIGKILL)
    cut.settle()
    assert len(session.division.pieces) == 3
    assert any(isinstance(fault, HelperError) for fault in cut.faults)


def test_what_was_not_saved_is_offered_after_a_crash(cut):
    cut.session.wish("two pieces", Wishes(pieces=2))
    plan = cut.session.plan
    cut.window.autosave.save_now()
    # As if the process had died: nobody holds the lock any more.
    cut.window.autosave._hold.release()
    other = Desk(cut.window.settings.file.parent)
    try:
        other.window.files.look_for_leftovers()
        assert other.window.recovery_bar.isVisible()
        other.window.recovery_bar.recovered.emit(other.window.recovery_bar.offered)
        other.until(lambda: other.session.plan is not None)
        other.settle()
        assert other.session.plan == plan
        assert other.session.document.is_changed
        assert other.session.choices.wishes.pieces == 2
    finally:
        other.close()


def test_lengths_are_shown_in_inches(cut):
    cut.window.commands["inch"].setChecked(True)
    assert cut.window.settings.unit == "inch"
    index = cut.window.pieces.table.model().index(0, 1)
    assert "in" in str(index.data(Qt.ItemDataRole.AccessibleTextRole))
    cut.window.commands["inch"].setChecked(False)
