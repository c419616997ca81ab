"""Files and folders are whole: the old ones or the new ones."""

import errno
import os
import stat
import sys

import pytest

from splitplanner import atomic
from splitplanner.errors import ExportError
from splitplanner.output import writing
from splitplanner.output.writing import whole_folder, write_file

posix = pytest.mark.skipif(sys.platform == "win32", reason="file modes and links of POSIX")


def tree(folder):
    """Every file below `folder` with its bytes, and every folder with None."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


def write_result(folder, mark=b"1"):
    (folder / "pieces").mkdir()
    (folder / "pictures").mkdir()
    write_file(folder / "pieces" / "1.stl", mark)
    write_file(folder / "pictures" / "part.png", mark)
    for name in ("plan.json", "pieces.3mf", "scorecard.txt", "scorecard.json", "scorecard.csv"):
        write_file(folder / name, mark)


@pytest.fixture
def older(tmp_path):
    """A folder `out` with an older result."""
    target = tmp_path / "out"
    with whole_folder(target) as folder:
        write_result(folder, b"older")
    return target


def failing(fault):
    def fail(*args, **kwargs):
        raise fault

    return fail


# -- one file ---------------------------------------------------------------------------------
def test_a_file_is_written_and_replaced_and_nothing_else_is_left(tmp_path):
    path = tmp_path / "a.stl"
    write_file(path, b"one")
    write_file(path, b"two")
    assert tree(tmp_path) == {"a.stl": b"two"}


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("fault", [OSError(errno.ENOSPC, "No space"), KeyboardInterrupt()])
def test_a_failure_at_any_step_leaves_the_old_file_whole(tmp_path, monkeypatch, step, fault):
    path = tmp_path / "a.stl"
    write_file(path, b"one")
    monkeypatch.setattr(atomic.os, step, failing(fault))
    expected = KeyboardInterrupt if isinstance(fault, KeyboardInterrupt) else ExportError
    with pytest.raises(expected) as caught:
        write_file(path, b"two")
    if expected is ExportError:
        assert str(caught.value) == (
            f"{path} cannot be written: the disk is full; make room or choose another place."
        )
    assert tree(tmp_path) == {"a.stl": b"one"}


@posix
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no such device here")
def test_a_disk_that_is_really_full_is_said_so(tmp_path, monkeypatch):
    # The kernel's own always-full device stands in for the temporary file.
    (tmp_path / "link").symlink_to("/dev/full")
    monkeypatch.setattr(atomic, "temporary_name", lambda: "link")
    opened = type(tmp_path).open
    monkeypatch.setattr(
        type(tmp_path), "open", lambda self, mode: opened(self, mode.replace("x", "r+"))
    )
    with pytest.raises(ExportError, match="the disk is full"):
        write_file(tmp_path / "a.stl", b"x")


def test_what_cannot_be_written_is_said_in_one_sentence(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    for path, reason in (
        (tmp_path / "none" / "a.stl", "the folder it should be in does not exist"),
        (tmp_path / "file" / "a.stl", "a part of that path is a file"),
        (tmp_path / ("n" * 300), "the name is too long"),
    ):
        with pytest.raises(ExportError, match=reason) as caught:
            write_file(path, b"x")
        assert str(caught.value).endswith(".")
        assert caught.value.subject == str(path)
    (tmp_path / "folder").mkdir()
    with pytest.raises(ExportError, match="a folder of that name"):
        write_file(tmp_path / "folder", b"x")
    assert tree(tmp_path) == {"file": b"", "folder": None}


@posix
def test_a_long_name_that_the_system_allows_is_written(tmp_path):
    write_file(tmp_path / ("n" * 255), b"x")
    assert (tmp_path / ("n" * 255)).read_bytes() == b"x"


@posix
def test_modes_and_links_are_kept(tmp_path):
    path = tmp_path / "a.stl"
    write_file(path, b"one")
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)
    path.chmod(0o600)
    (tmp_path / "link.stl").symlink_to(path)
    write_file(tmp_path / "link.stl", b"two")
    assert (tmp_path / "link.stl").is_symlink()
    assert path.read_bytes() == b"two"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


# -- a whole folder ---------------------------------------------------------------------------
def test_a_folder_appears_at_the_end_and_all_at_once(tmp_path):
    target = tmp_path / "made" / "for" / "it"
    with whole_folder(target) as folder:
        write_result(folder)
        assert folder.parent == target.parent
        assert not target.exists()
        expected = tree(folder)
    assert tree(target) == expected
    assert [path.name for path in target.parent.iterdir()] == ["it"]


def test_an_older_result_is_replaced_only_when_asked(older):
    before = tree(older)
    with (
        pytest.raises(ExportError, match=r"holds an older result.*--overwrite"),
        whole_folder(older),
    ):
        pytest.fail("the body must not run")
    assert tree(older) == before
    with whole_folder(older, overwrite=True) as folder:
        (folder / "plan.json").write_bytes(b"new")
        assert tree(older) == before
    assert tree(older) == {"plan.json": b"new"}
    assert [path.name for path in older.parent.iterdir()] == ["out"]


def test_an_empty_folder_needs_no_leave(tmp_path):
    (tmp_path / "out").mkdir()
    with whole_folder(tmp_path / "out") as folder:
        write_result(folder)
    assert (tmp_path / "out" / "plan.json").is_file()


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (KeyboardInterrupt(), KeyboardInterrupt),
        (SystemExit(1), SystemExit),
        (ValueError("wrong"), ValueError),
        (OSError(errno.ENOSPC, "No space left on device"), ExportError),
        (ExportError("A piece is not closed."), ExportError),
    ],
)
@pytest.mark.parametrize("there_before", [True, False])
def test_whatever_stops_the_body_the_old_folder_is_whole(
    tmp_path, older, fault, expected, there_before
):
    target = older if there_before else tmp_path / "new" / "out"
    before = tree(tmp_path)

    def job():
        with whole_folder(target, overwrite=True) as folder:
            write_result(folder)
            raise fault

    with pytest.raises(expected):
        job()
    assert tree(tmp_path) == before


@pytest.mark.parametrize("call", [1, 2])
@pytest.mark.parametrize("fault", [KeyboardInterrupt(), OSError(errno.EACCES, "Denied")])
def test_a_failure_during_the_swap_puts_the_old_folder_back(
    tmp_path, older, monkeypatch, call, fault
):
    before = tree(tmp_path)
    calls = []
    rename = os.rename

    def fails_once(source, destination):
        calls.append(source)
        if len(calls) == call:
            raise fault
        rename(source, destination)

    monkeypatch.setattr(writing.os, "rename", fails_once)
    expected = KeyboardInterrupt if isinstance(fault, KeyboardInterrupt) else ExportError
    with pytest.raises(expected), whole_folder(older, overwrite=True) as folder:
        write_result(folder, b"new")
    assert tree(tmp_path) == before


@pytest.mark.parametrize(
    "stranger",
    ["letter.txt", "pieces/holiday.jpg", "pieces/deep/1.stl", "pictures/1.stl", ".hidden", "src/"],
)
def test_a_folder_with_anything_else_in_it_is_never_replaced(tmp_path, older, stranger):
    path = older / stranger
    if stranger.endswith("/"):
        path.mkdir()
    else:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"mine")
    before = tree(tmp_path)
    with (
        pytest.raises(ExportError, match="which this program did not write"),
        whole_folder(older, overwrite=True),
    ):
        pytest.fail("the body must not run")
    assert tree(tmp_path) == before


def test_meshes_without_a_plan_are_somebodys_own(tmp_path):
    (tmp_path / "out" / "pieces").mkdir(parents=True)
    (tmp_path / "out" / "pieces" / "mine.stl").write_bytes(b"mine")
    with (
        pytest.raises(ExportError, match="did not write"),
        whole_folder(tmp_path / "out", overwrite=True),
    ):
        pytest.fail("the body must not run")


@posix
def test_a_link_in_the_folder_is_not_followed(tmp_path, older):
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "a.stl").write_bytes(b"mine")
    for path in sorted((older / "pieces").iterdir()):
        path.unlink()
    (older / "pieces").rmdir()
    (older / "pieces").symlink_to(tmp_path / "home")
    with pytest.raises(ExportError, match="“pieces”"), whole_folder(older, overwrite=True):
        pytest.fail("the body must not run")
    assert (tmp_path / "home" / "a.stl").read_bytes() == b"mine"


def test_a_file_that_comes_in_meanwhile_is_not_lost(older):
    def job():
        with whole_folder(older, overwrite=True) as folder:
            write_result(folder, b"new")
            (older / "notes.txt").write_bytes(b"mine")

    with pytest.raises(ExportError, match=r"“notes\.txt”"):
        job()
    assert (older / "plan.json").read_bytes() == b"older"
    assert (older / "notes.txt").read_bytes() == b"mine"


def test_a_file_in_the_place_of_the_folder_or_its_parent_is_said_so(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    with (
        pytest.raises(ExportError, match="is a file, not a folder"),
        whole_folder(tmp_path / "file", overwrite=True),
    ):
        pytest.fail("the body must not run")
    with (
        pytest.raises(ExportError, match="a file where a folder is needed"),
        whole_folder(tmp_path / "file" / "out"),
    ):
        pytest.fail("the body must not run")
    with pytest.raises(ExportError, match="too long"), whole_folder(tmp_path / ("n" * 300)):
        pytest.fail("the body must not run")
    assert tree(tmp_path) == {"file": b"mine"}


@posix
def test_the_new_folder_has_the_mode_of_the_old_and_a_link_to_it_stays(tmp_path, older):
    older.chmod(0o750)
    (tmp_path / "link").symlink_to(older)
    with whole_folder(tmp_path / "link", overwrite=True) as folder:
        write_result(folder, b"new")
    assert (tmp_path / "link").is_symlink()
    assert (older / "plan.json").read_bytes() == b"new"
    assert stat.S_IMODE(older.stat().st_mode) == 0o750
