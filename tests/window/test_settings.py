"""What the window remembers: the same at the next start, and nothing bad from a damaged file."""

import math
from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray
from PySide6.QtWidgets import QWidget

from splitplanner.window.settings import MOST_RECENT, Settings, usual_file


@pytest.fixture
def file(tmp_path):
    return tmp_path / "config" / "window.ini"


@pytest.fixture
def settings(file):
    return Settings(file)


def again(settings):
    """The settings as the next start of the program has them."""
    assert settings.sync()
    return Settings(settings.file)


def make(folder, *names):
    paths = [folder / name for name in names]
    for path in paths:
        path.write_text("solid", encoding="utf-8")
    return paths


# -- at the first start -----------------------------------------------------------------------
def test_at_the_first_start(settings, file):
    assert settings.recent_files == ()
    assert settings.last_folder == settings.export_folder == Path.home()
    assert settings.geometry.isEmpty()
    assert settings.layout.isEmpty()
    assert (settings.unit, settings.look) == ("mm", "system")
    assert (settings.printer, settings.material) == ("", "")
    assert settings.weights(["support volume"]) == {}
    assert not file.exists()


def test_the_usual_file_is_the_users_own():
    assert usual_file().parent.name == "splitplanner"


# -- all of it stays --------------------------------------------------------------------------
def test_all_is_as_it_was_at_the_next_start(settings, tmp_path, qtbot):
    widget = QWidget()
    qtbot.addWidget(widget)
    widget.resize(731, 412)
    settings.geometry = widget.saveGeometry()
    settings.layout = QByteArray(b"\x00\xff,;=\n")
    settings.unit, settings.look = "inch", "dark"
    settings.printer, settings.material = "the “big” one, = 12", "12"
    settings.export_folder = tmp_path
    settings.set_weights({"support volume": 0.25, "print hours": 3})
    new = again(settings)
    other = QWidget()
    qtbot.addWidget(other)
    assert other.restoreGeometry(new.geometry)
    assert (other.width(), other.height()) == (731, 412)
    assert new.layout == QByteArray(b"\x00\xff,;=\n")
    assert (new.unit, new.look) == ("inch", "dark")
    assert (new.printer, new.material) == ("the “big” one, = 12", "12")
    assert new.export_folder == tmp_path
    assert new.weights(["print hours", "support volume", "else"]) == {
        "print hours": 3.0,
        "support volume": 0.25,
    }


def test_each_material_has_a_started_spool_of_its_own(settings):
    assert settings.spool_left("PETG") is None
    settings.set_spool_left("PETG", 350.0)
    settings.set_spool_left("PLA, “black”", 0.0)
    new = again(settings)
    assert (new.spool_left("PETG"), new.spool_left("PLA, “black”")) == (350.0, 0.0)
    new.set_spool_left("PETG", None)
    assert again(settings).spool_left("PETG") is None
    assert again(settings).spool_left("PLA, “black”") == 0.0


@pytest.mark.parametrize("kept", [[1], "x", {"PETG": -1}, {"PETG": True}, {"PETG": "200"}])
def test_spools_that_make_no_sense_are_not_known(settings, kept):
    settings._write("workshop/spools", kept)
    assert settings.spool_left("PETG") is None


# -- recent files -----------------------------------------------------------------------------
def test_recent_files_are_the_latest_first_each_once(settings, tmp_path):
    one, two = make(tmp_path, "ä, one;.stl", "two.stl")
    for file in (one, two, one):
        settings.add_recent(file)
    assert again(settings).recent_files == (one, two)
    assert again(settings).last_folder == tmp_path


def test_a_relative_path_is_kept_whole(settings, tmp_path, monkeypatch):
    make(tmp_path, "one.stl")
    monkeypatch.chdir(tmp_path)
    settings.add_recent(Path("one.stl"))
    assert settings.recent_files == (tmp_path / "one.stl",)


def test_no_more_than_ten_are_kept(settings, tmp_path):
    files = make(tmp_path, *(f"{number}.stl" for number in range(MOST_RECENT + 3)))
    for file in files:
        settings.add_recent(file)
    assert again(settings).recent_files == tuple(files[:2:-1])


def test_missing_files_are_left_out_and_give_way_first(settings, tmp_path):
    files = make(tmp_path, *(f"{number}.stl" for number in range(MOST_RECENT)))
    for file in files:
        settings.add_recent(file)
    files[-1].unlink()
    assert settings.recent_files == tuple(files[-2::-1])
    # It comes back with its disk.
    make(tmp_path, files[-1].name)
    assert settings.recent_files == tuple(files[::-1])
    files[-1].unlink()
    (new,) = make(tmp_path, "new.stl")
    settings.add_recent(new)
    make(tmp_path, files[-1].name)
    assert settings.recent_files == (new, *files[-2::-1])
    settings.forget_recent()
    assert again(settings).recent_files == ()


def test_a_folder_that_is_gone_is_not_proposed(settings, tmp_path):
    settings.last_folder = settings.export_folder = tmp_path / "gone"
    assert settings.last_folder == settings.export_folder == Path.home()


# -- damage -----------------------------------------------------------------------------------
@pytest.mark.parametrize("value", ["", "nonsense", "7", "{}", '[7, null, \\"\\"]', "@ByteArray(x)"])
def test_a_damaged_file_is_as_at_the_first_start(file, value):
    names = {
        "files": ("recent", "last_folder", "export_folder"),
        "window": ("unit", "look"),
        "workshop": ("printer", "material"),
        "score": ("weights",),
    }
    file.parent.mkdir()
    lines = [
        line
        for section, keys in names.items()
        for line in (f"[{section}]", *(f'{key}="{value}"' for key in keys))
    ]
    file.write_text("\n".join(lines), encoding="utf-8")
    settings = Settings(file)
    assert settings.recent_files == ()
    assert settings.last_folder == settings.export_folder == Path.home()
    assert (settings.unit, settings.look) == ("mm", "system")
    assert (settings.printer, settings.material) == ("", "")
    assert settings.weights(["support volume"]) == {}


def test_no_file_but_bytes(file):
    file.parent.mkdir()
    file.write_bytes(bytes(range(256)))
    settings = Settings(file)
    assert settings.unit == "mm"
    settings.unit = "inch"
    settings.sync()
    assert Settings(file).unit == "inch"


@pytest.mark.parametrize("weight", [-1.0, math.inf, math.nan, True, "2", None])
def test_a_weight_that_is_none_is_not_taken(settings, weight):
    settings.set_weights({"support volume": weight, "print hours": 2.0})
    assert again(settings).weights(["support volume", "print hours"]) == {"print hours": 2.0}


def test_it_is_said_when_nothing_can_be_written(tmp_path):
    (tmp_path / "config").write_text("in the way", encoding="utf-8")
    settings = Settings(tmp_path / "config" / "window.ini")
    settings.unit = "inch"
    assert not settings.sync()
