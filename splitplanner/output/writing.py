"""Writing a whole folder of results at once, or nothing."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from splitplanner.atomic import export_error, sync_folder, temporary_name, write_file
from splitplanner.errors import ExportError

__all__ = ["OUR_FILES", "OUR_FOLDERS", "refuse_target", "whole_folder", "write_file"]

OUR_FILES = frozenset(
    {
        "plan.json",
        "pieces.3mf",
        "print_sheet.txt",
        "scorecard.txt",
        "scorecard.json",
        "scorecard.csv",
    }
)
"""Files that this program writes into a result folder."""
OUR_FOLDERS = {
    "pieces": (".stl",),
    "beds": (".3mf",),
    "braces": (".dxf", ".stl", ".3mf"),
    "pictures": (".png",),
}
"""Folders that this program writes there, and the endings that files in them have."""


@contextmanager
def whole_folder(target: Path, overwrite: bool = False) -> Iterator[Path]:
    """Give a temporary folder to write into, which becomes `target` when all went well.

    The temporary folder is beside `target`. On success an older `target` is renamed aside, the
    new one takes its name, and the older one is removed. On any failure, or when the user stops
    the job, the older one is whole and the temporary one is gone.

    Parameters
    ----------
    target : Path
        Missing parent folders are created.
    overwrite : bool
        Whether an older result may be replaced. An empty folder always may.

    Yields
    ------
    Path
        The temporary folder.

    Raises
    ------
    ExportError
        If `target` holds something already and `overwrite` is False, if it holds anything that
        this program did not write, or if the files cannot be written.
    """
    final = Path(os.path.realpath(target))
    refuse_target(target, overwrite)
    temporary = final.parent / temporary_name()
    created: list[Path] = []
    try:
        created = _missing_parents(final)
        final.parent.mkdir(parents=True, exist_ok=True)
        temporary.mkdir()
        yield temporary
        _sync_tree(temporary)
        refuse_target(target, overwrite)
        _swap(temporary, final)
    except BaseException as fault:
        shutil.rmtree(temporary, ignore_errors=True)
        _remove_empty(created)
        if isinstance(fault, OSError):
            raise export_error(target, fault) from fault
        raise


def refuse_target(target: Path, overwrite: bool) -> None:
    """Raise if the folder `target` may not be written or replaced; see `whole_folder`.

    Raises
    ------
    ExportError
    """
    folder = Path(os.path.realpath(target))
    try:
        if not folder.exists():
            return
        if not folder.is_dir():
            raise ExportError(
                f"{target} is a file, not a folder; choose another name.", subject=str(target)
            )
        entries = sorted(folder.iterdir())
        if not entries:
            return
        stranger = _stranger(entries)
    except OSError as fault:
        raise export_error(target, fault) from fault
    if stranger:
        raise ExportError(
            f"{target} holds “{stranger}”, which this program did not write, so it is left as it "
            "is; choose another folder.",
            subject=str(target),
        )
    if not overwrite:
        raise ExportError(
            f"{target} holds an older result; choose another folder, or replace it with "
            "--overwrite.",
            subject=str(target),
        )


def _stranger(entries: list[Path]) -> str:
    """Return the first name that does not belong into a result folder; empty if there is none."""
    for entry in entries:
        endings = OUR_FOLDERS.get(entry.name)
        if entry.is_symlink():
            return entry.name
        if endings is not None and entry.is_dir():
            for inner in sorted(entry.iterdir()):
                if inner.suffix not in endings or inner.is_symlink() or not inner.is_file():
                    return f"{entry.name}/{inner.name}"
        elif entry.name not in OUR_FILES or not entry.is_file():
            return entry.name
    # Without its plan, a folder of meshes and pictures may well be somebody's own.
    if not any(entry.name == "plan.json" for entry in entries):
        return entries[0].name
    return ""


def _swap(temporary: Path, final: Path) -> None:
    """Give `temporary` the name `final`; what had that name is removed only afterwards."""
    if final.exists():
        shutil.copymode(final, temporary)
    aside = final.parent / temporary_name()
    try:
        # Renaming finds out what is there: nothing has to be true of it from before.
        with contextlib.suppress(FileNotFoundError):
            os.rename(final, aside)
        os.rename(temporary, final)
    except BaseException:
        if aside.exists() and not final.exists():
            os.rename(aside, final)
        raise
    finally:
        if aside.exists() and final.exists():
            shutil.rmtree(aside, ignore_errors=True)
    sync_folder(final.parent)


def _sync_tree(folder: Path) -> None:
    """Flush every file in `folder` to the disk."""
    for place, _, names in os.walk(folder):
        for name in names:
            with open(Path(place) / name, "rb+") as stream:
                os.fsync(stream.fileno())
        sync_folder(Path(place))


def _missing_parents(folder: Path) -> list[Path]:
    return [parent for parent in folder.parents if not parent.exists()]


def _remove_empty(folders: list[Path]) -> None:
    """Remove the `folders`, deepest first, that hold nothing."""
    for folder in folders:
        with contextlib.suppress(OSError):
            folder.rmdir()
