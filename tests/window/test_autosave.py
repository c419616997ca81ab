"""Autosave: what is saved, when, and what is found after a program was killed."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, Qt

from splitplanner.plan import Cut, PartFile, Plan
from splitplanner.score import Wishes
from splitplanner.solid import Plane
from splitplanner.window.autosave import Autosave, Leftover, usual_folder
from splitplanner.window.holding import Hold
from splitplanner.window.parts.recovery_bar import RecoveryBar
from splitplanner.workshop import Printer
from tests.window.widgets import button_called

CUTS = (Cut(Plane((1.0, 0.0, 0.0), 120.0)), Cut(Plane((0.0, 0.6, 0.8), 33.25), "1"))
PLAN = Plan(PartFile("hood.stl", "mm", "abc"), Printer(), CUTS)
OTHER = replace(PLAN, cuts=CUTS[:1])


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "state" / "autosave"


@pytest.fixture
def saver(qapp, folder):
    saver = Autosave(folder, delay=0.05)
    yield saver
    saver.close()


def saved(saver):
    """What stands in the file, read without the program's own reader."""
    return json.loads(saver.file.read_text(encoding="utf-8"))


# -- saving -----------------------------------------------------------------------------------
def test_a_change_is_saved_soon_with_whole_paths(saver, qtbot, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    saver.note(PLAN, Path("hood.stl"), Path("plans/hood.json"))
    qtbot.waitUntil(saver.file.exists)
    record = saved(saver)
    assert record["model"] == (tmp_path / "hood.stl").as_posix()
    assert record["plan_file"] == (tmp_path / "plans" / "hood.json").as_posix()
    assert json.loads(record["plan"])["part"]["path"] == record["model"]
    age = datetime.now(UTC) - datetime.fromisoformat(record["saved_at"])
    assert timedelta(0) <= age < timedelta(minutes=5)


def test_of_many_changes_the_last_one_is_saved(saver, folder):
    for offset in range(200):
        plan = replace(PLAN, cuts=(Cut(Plane((1.0, 0.0, 0.0), float(offset))),))
        saver.note(plan, Path("hood.stl"))
    assert not folder.exists()
    saver.save_now()
    assert json.loads(saved(saver)["plan"])["cuts"][0]["offset"] == 199.0


def test_changes_that_never_pause_are_saved_all_the_same(qapp, qtbot, folder):
    saver = Autosave(folder, delay=0.2)
    seen = []

    def dragged():
        saver.note(PLAN, Path("hood.stl"))
        seen.append(saver.file.exists())
        return seen[-1]

    # A change every 10 ms, far more often than it is saved.
    qtbot.waitUntil(dragged)
    assert len(seen) > 2
    saver.close()


def test_nothing_stays_after_a_clean_end(saver, folder):
    saver.note(PLAN, Path("hood.stl"))
    saver.save_now()
    assert len(list(folder.iterdir())) == 2
    saver.close()
    assert list(folder.iterdir()) == []


def test_what_the_user_saved_himself_is_forgotten_and_later_changes_are_kept(saver, folder):
    saver.note(PLAN, Path("hood.stl"))
    saver.save_now()
    saver.forget()
    assert not saver.file.exists()
    saver.save_now()
    assert not saver.file.exists()
    saver.note(OTHER, Path("hood.stl"))
    saver.save_now()
    assert len(json.loads(saved(saver)["plan"])["cuts"]) == 1


def test_it_says_once_why_it_cannot_save_and_goes_on_when_it_can(saver, qtbot, folder):
    folder.parent.parent.joinpath("state").write_text("in the way", encoding="utf-8")
    heard = []
    saver.failed.connect(heard.append)
    for _ in range(3):
        saver.note(PLAN, Path("hood.stl"))
        saver.save_now()
    qtbot.waitUntil(lambda: bool(heard))
    folder.parent.unlink()
    saver.note(PLAN, Path("hood.stl"))
    saver.save_now()
    assert saver.file.exists()
    assert len(heard) == 1
    assert heard[0].startswith("What you do is not kept for the case of a crash: ")
    assert str(folder) in heard[0]


def test_the_usual_folder_is_the_users_own():
    assert usual_folder().name == "autosave"
    assert usual_folder().parent.name == "splitplanner"


# -- finding ----------------------------------------------------------------------------------
PROGRAM = """
import sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication, QTimer
from splitplanner.window.autosave import Autosave
from tests.window.test_autosave import PLAN

application = QCoreApplication([])
saver = Autosave(Path(sys.argv[1]), delay=0.01)
saver.note(PLAN, Path("/models/hood.stl"), Path("/plans/hood.json"))

def look():
    if saver.file.exists():
        print("saved", flush=True)
        look_again.stop()

look_again = QTimer()
look_again.timeout.connect(look)
look_again.start(5)
application.exec()
"""


@pytest.fixture
def program(folder):
    """A program that has saved by itself and goes on."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(folder)],
        stdout=subprocess.PIPE,
        encoding="utf-8",
        cwd=Path(__file__).parents[2],
    )
    assert process.stdout.readline() == "saved\n"
    yield process
    process.kill()
    process.wait()
    process.stdout.close()


def test_what_a_killed_program_left_is_found_and_that_of_one_that_lives_is_not(
    program, saver, folder
):
    saver.note(OTHER, Path("own.stl"))
    saver.save_now()
    assert saver.recoverable() == ()
    program.kill()
    program.wait()
    (left,) = saver.recoverable()
    assert left.plan == replace(PLAN, part=replace(PLAN.part, path="/models/hood.stl"))
    assert left.model == Path("/models/hood.stl")
    assert left.plan_file == Path("/plans/hood.json")
    assert left.file.name.startswith(f"{program.pid}-")
    assert saver.recoverable() == (left,)
    # Nobody else is offered what is offered here already.
    second = Autosave(folder)
    assert second.recoverable() == ()
    saver.discard(left)
    assert saver.recoverable() == ()
    second.close()
    assert [path.stem for path in folder.iterdir()] == [saver.file.stem] * 2


def test_what_was_neither_recovered_nor_discarded_is_offered_again(program, saver, folder):
    program.kill()
    program.wait()
    (left,) = saver.recoverable()
    saver.close()
    again = Autosave(folder)
    assert again.recoverable() == (left,)
    again.close()


def leave(folder, name, **changes):
    """Write what a dead program may have left."""
    folder.mkdir(parents=True, exist_ok=True)
    saver = Autosave(folder)
    saver.note(PLAN, Path("/models/hood.stl"))
    saver.save_now()
    record = {**saved(saver), **changes}
    saver.close()
    (folder / f"{name}.json").write_text(json.dumps(record), encoding="utf-8")


def test_the_latest_comes_first_and_what_cannot_be_read_is_left_alone(saver, folder):
    leave(folder, "1-a", saved_at="2020-01-01T10:00:00+00:00")
    leave(folder, "2-b", saved_at="2020-01-02T10:00:00+00:00")
    leave(folder, "3-c", version=2)
    leave(folder, "4-d", plan="{}")
    leave(folder, "5-e", saved_at=7)
    leave(folder, "6-f", format="else")
    (folder / "7-g.json").write_bytes(b"\xff\xfe")
    (folder / "8-h.lock").write_bytes(b"")
    assert [left.file.stem for left in saver.recoverable()] == ["2-b", "1-a"]
    saver.close()
    assert len(list(folder.glob("*.json"))) == 7
    # The lock of a program that had nothing to save.
    assert not (folder / "8-h.lock").exists()


def test_without_a_folder_nothing_is_found_or_made(saver, folder):
    assert saver.recoverable() == ()
    assert not folder.exists()


# -- locks ------------------------------------------------------------------------------------
def test_a_lock_is_held_once_and_again_after_it_was_let_go(tmp_path):
    first, second = Hold(tmp_path / "a.lock"), Hold(tmp_path / "a.lock")
    assert first.take()
    assert first.take()
    assert not second.take()
    first.release(remove=True)
    assert not (tmp_path / "a.lock").exists()
    assert second.take()
    assert not first.take()
    second.release()
    assert (tmp_path / "a.lock").exists()


# -- the bar ----------------------------------------------------------------------------------
def leftover(name, saved_at, plan_file=None, plan=PLAN):
    return Leftover(
        plan, Path("/models") / name, plan_file, Wishes(), saved_at, Path(f"/state/{name}.json")
    )


@pytest.fixture
def bar(qtbot):
    before = QLocale()
    QLocale.setDefault(QLocale(QLocale.Language.German, QLocale.Country.Germany))
    bar = RecoveryBar()
    qtbot.addWidget(bar)
    bar.show()
    yield bar
    QLocale.setDefault(before)


def test_leftovers_are_offered_one_after_the_other(bar, qtbot):
    old = datetime(2020, 3, 14, 12, 5).astimezone()
    first = leftover("hood.stl", old, Path("/plans/my hood.json"))
    second = leftover("lid.stl", datetime.now().astimezone(), plan=OTHER)
    third = leftover("wing.stl", old)
    bar.set_leftovers([first, second, third])
    assert bar.isVisible()
    assert bar.text == (
        "The program ended before its work was saved. The plan of hood.stl for my hood.json with 2 "
        "cuts, as it was on 14.03.20 12:05, was kept. 2 others were left too."
    )
    with qtbot.waitSignal(bar.recovered) as heard:
        qtbot.mouseClick(button_called(bar, "Recover"), Qt.MouseButton.LeftButton)
    assert heard.args == [first]
    assert "The plan of lid.stl with 1 cut, as it was today at " in bar.text
    assert bar.text.endswith("1 other was left too.")
    with qtbot.waitSignal(bar.discarded) as heard:
        qtbot.keyClick(button_called(bar, "Discard"), Qt.Key.Key_Space)
    assert heard.args == [second]
    answers = []
    bar.recovered.connect(answers.append)
    bar.discarded.connect(answers.append)
    qtbot.keyClick(button_called(bar, "Later"), Qt.Key.Key_Space)
    assert answers == []
    assert bar.offered is None
    assert not bar.isVisible()


def test_a_bar_with_nothing_to_offer_is_not_there(bar):
    bar.set_leftovers([])
    assert not bar.isVisible()


def test_no_lock_is_inherited(tmp_path):
    """A child that outlives this process would keep its lock."""
    hold = Hold(tmp_path / "a.lock")
    assert hold.take()
    assert hold._handle is not None
    assert not os.get_inheritable(hold._handle)
    hold.release()
