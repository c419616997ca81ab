"""The export dialog: what it asks for, what it refuses, and what it tells."""

import os
import subprocess
import sys

import pytest
from PySide6.QtCore import QObject, Qt, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QLabel, QLineEdit, QPlainTextEdit, QProgressBar

from splitplanner.errors import ExportError
from splitplanner.findings import Finding, Severity
from splitplanner.output import refuse_target
from splitplanner.window.dialogs.export_dialog import ExportChoice, ExportDialog
from splitplanner.window.dialogs.export_target import look_at
from splitplanner.window.parts.note_line import Mark, NoteLine
from tests.window.widgets import box_called, button_called, tick


@pytest.fixture
def dialog(qtbot, tmp_path):
    dialog = ExportDialog()
    qtbot.addWidget(dialog)
    dialog.set_place(tmp_path, "hood")
    dialog.show()
    return dialog


def notes(dialog):
    """What is said in place now, each with its mark."""
    return [(line.mark, line.text) for line in dialog.findChildren(NoteLine) if line.isVisible()]


def older_result(folder):
    folder.mkdir()
    (folder / "plan.json").write_text("{}", encoding="utf-8")
    return folder


# -- what is asked for ------------------------------------------------------------------------
def test_everything_is_written_beside_the_last_result_unless_said_otherwise(
    dialog, qtbot, tmp_path
):
    with qtbot.waitSignal(dialog.export_asked) as heard:
        QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert heard.args == [ExportChoice(tmp_path / "hood-plan", True, True, True, False)]
    assert dialog.is_working


def test_what_to_leave_out_is_said_by_mouse_or_by_key(dialog, qtbot, tmp_path):
    tick(box_called(dialog, "Pictures"))
    QTest.keyClick(box_called(dialog, "Pieces as STL files"), Qt.Key.Key_Space)
    line = dialog.findChild(QLineEdit)
    line.selectAll()
    QTest.keyClicks(line, str(tmp_path / "a" / "b"))
    with qtbot.waitSignal(dialog.export_asked) as heard:
        qtbot.mouseClick(button_called(dialog, "Export"), Qt.MouseButton.LeftButton)
    assert heard.args == [ExportChoice(tmp_path / "a" / "b", False, False, True, False)]


# -- where it may be written ------------------------------------------------------------------
def test_an_older_result_is_replaced_only_when_asked(dialog, qtbot, tmp_path):
    folder = older_result(tmp_path / "old")
    export, replace = button_called(dialog, "Export"), box_called(dialog, "Replace it")
    assert not replace.isVisible()
    dialog.set_folder(folder)
    assert notes(dialog) == [(Mark.QUESTION, "This folder holds an older result.")]
    assert not export.isEnabled()
    tick(replace)
    assert export.isEnabled()
    # Leave for one folder is no leave for another.
    dialog.set_folder(older_result(tmp_path / "older"))
    assert not export.isEnabled()
    dialog.set_folder(folder)
    QTest.keyClick(replace, Qt.Key.Key_Space)
    with qtbot.waitSignal(dialog.export_asked) as heard:
        QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert heard.args == [ExportChoice(folder, True, True, True, True)]


def test_a_folder_that_became_a_result_meanwhile_is_asked_about(dialog, tmp_path):
    asked = []
    dialog.export_asked.connect(asked.append)
    older_result(tmp_path / "hood-plan")
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert asked == []
    assert notes(dialog) == [(Mark.QUESTION, "This folder holds an older result.")]


def test_a_folder_of_somebody_else_is_refused_in_the_words_of_the_writer(dialog, tmp_path):
    (tmp_path / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(ExportError) as refused:
        refuse_target(tmp_path, overwrite=True)
    dialog.set_folder(tmp_path)
    assert notes(dialog) == [(Mark.FAULT, str(refused.value))]
    assert not button_called(dialog, "Export").isEnabled()
    dialog.findChild(QLineEdit).clear()
    ((mark, text),) = notes(dialog)
    assert mark is Mark.FAULT
    assert text.startswith("Say where to write")


def test_a_plan_that_cannot_be_exported_says_why(dialog):
    dialog.set_refusal("Piece 2 does not fit the bed; cut it once more.")
    assert notes(dialog) == [(Mark.FAULT, "Piece 2 does not fit the bed; cut it once more.")]
    assert not button_called(dialog, "Export").isEnabled()
    dialog.set_refusal("")
    assert notes(dialog) == []
    assert button_called(dialog, "Export").isEnabled()


def test_a_target_is_told_apart(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert look_at(str(tmp_path / "new" / "er")).existing == tmp_path
    assert not look_at(str(tmp_path / "new" / "er")).fault
    assert "is a file, not a folder" in look_at(str(tmp_path / "file")).fault
    assert "is a file, not a folder" in look_at(str(tmp_path / "file" / "below")).fault
    assert "no folder that could be written" in look_at("a\0b").fault
    assert not look_at("x" * 300).is_older_result
    assert look_at(f"  {tmp_path / 'new'}  ").folder == tmp_path / "new"


def test_paths_start_from_the_home_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    assert look_at("~/out").folder == tmp_path / "out"
    assert look_at("out").folder == tmp_path / "out"


@pytest.mark.skipif(sys.platform != "linux", reason="other users' folders are made as on Linux")
def test_a_folder_without_leave_to_write_is_refused(tmp_path):
    """Asked for as another user, since the tests may be run by one who may write anywhere."""
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o555)
    say = (
        "import os, sys\n"
        "from splitplanner.window.dialogs.export_target import look_at\n"
        # What it loads late may lie where only the first user may read.
        "look_at(sys.argv[1])\n"
        "if os.geteuid() == 0:\n"
        "    os.setegid(65534); os.seteuid(65534)\n"
        # `access` asks for the real user.
        "    real = os.access\n"
        "    os.access = lambda *a, **k: real(*a, effective_ids=True, **k)\n"
        "print(look_at(sys.argv[1]).fault)"
    )
    for folder in (tmp_path, *tmp_path.parents):
        if folder.stat().st_uid == os.geteuid() and folder != folder.parent:
            folder.chmod(folder.stat().st_mode | 0o055)
    done = subprocess.run(
        [sys.executable, "-c", say, str(locked / "out")],
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert done.stdout.strip() == f"You may not write into {locked}; choose another folder."


# -- how it goes ------------------------------------------------------------------------------
def test_progress_is_shown_and_stopped(dialog, qtbot):
    dialog.set_progress(0.25, "writing piece 3")
    bar, stop = dialog.findChild(QProgressBar), button_called(dialog, "Stop")
    assert bar.isVisible()
    assert bar.value() / bar.maximum() == 0.25
    assert "writing piece 3" in [label.text() for label in dialog.findChildren(QLabel)]
    assert not button_called(dialog, "Export").isEnabled()
    assert not dialog.findChild(QLineEdit).isEnabled()
    with qtbot.waitSignal(dialog.stopped):
        qtbot.mouseClick(stop, Qt.MouseButton.LeftButton)
    assert not stop.isEnabled()
    dialog.set_stopped()
    assert not bar.isVisible()
    ((mark, text),) = notes(dialog)
    assert mark is Mark.INFO
    assert text.startswith("Stopped: nothing was written")
    assert button_called(dialog, "Export").isEnabled()


@pytest.mark.parametrize("way", ["escape", "close"])
def test_leaving_while_it_works_stops_it_once_and_stays(dialog, way):
    stops = []
    dialog.stopped.connect(lambda: stops.append(True))
    dialog.set_progress(0.5, "drawing")
    for _ in range(2):
        QTest.keyClick(dialog, Qt.Key.Key_Escape) if way == "escape" else dialog.close()
    assert stops == [True]
    assert dialog.isVisible()
    dialog.set_stopped()
    QTest.keyClick(dialog, Qt.Key.Key_Escape) if way == "escape" else dialog.close()
    assert not dialog.isVisible()


class Opener(QObject):
    """Takes what Qt would give to the desktop."""

    def __init__(self):
        super().__init__()
        self.opened = []

    @Slot(QUrl)
    def take(self, url):
        self.opened.append(url.toLocalFile())


def test_what_was_written_is_opened_and_its_findings_are_listed(dialog, qtbot, tmp_path):
    folder = older_result(tmp_path / "hood-plan")
    found = Finding("pictures.not_drawn", Severity.WARNING, "4 of 4 pictures were not drawn.")
    dialog.set_progress(0.9, "drawing")
    dialog.set_done(folder, [found])
    assert (Mark.DONE, f"Written to {folder}; 1 remark below.") in notes(dialog)
    assert (Mark.QUESTION, "This folder holds the result just written.") in notes(dialog)
    remarks = dialog.findChild(QPlainTextEdit)
    assert remarks.toPlainText() == "warning: 4 of 4 pictures were not drawn."
    opener = Opener()
    QDesktopServices.setUrlHandler("file", opener, "take")
    try:
        qtbot.mouseClick(button_called(dialog, "Open folder"), Qt.MouseButton.LeftButton)
    finally:
        QDesktopServices.unsetUrlHandler("file")
    assert opener.opened == [folder.as_posix()]


def test_a_failure_is_told_and_what_was_chosen_is_kept(dialog):
    tick(box_called(dialog, "Pictures"))
    dialog.set_progress(0.4, "writing the 3MF file")
    dialog.set_failed("The disk is full; make room or choose another place.")
    assert notes(dialog) == [(Mark.FAULT, "The disk is full; make room or choose another place.")]
    assert not button_called(dialog, "Open folder").isVisible()
    assert not box_called(dialog, "Pictures").isChecked()
    assert box_called(dialog, "Pieces as STL files").isChecked()
    assert button_called(dialog, "Export").isEnabled()


def test_controls_say_what_they_are(dialog):
    for box in dialog.findChildren(QCheckBox):
        assert box.toolTip()
    assert dialog.findChild(QLineEdit).accessibleName() == "Folder to write into"
    assert dialog.findChild(QProgressBar).accessibleName()
