"""Writing a file so that it is always whole: the old one or the new one, nothing between."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
from pathlib import Path

from splitplanner.errors import ExportError

_REASONS = {
    errno.ENOSPC: "the disk is full; make room or choose another place",
    errno.EDQUOT: "your share of the disk is used up; make room or choose another place",
    errno.EACCES: "you may not write there; choose another place",
    errno.EPERM: "you may not write there; choose another place",
    errno.EROFS: "that disk is read-only; choose another place",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
    errno.ENOENT: "the folder it should be in does not exist; create it first",
    errno.ENOTDIR: "a part of that path is a file, not a folder; choose another place",
    errno.EEXIST: "there is a file where a folder is needed; choose another place",
    errno.EISDIR: "there is a folder of that name; choose another name",
}


def temporary_name() -> str:
    """Return a fresh hidden name, short enough for every file system."""
    return f".splitplanner-{secrets.token_hex(6)}.tmp"


def export_error(path: Path, fault: OSError) -> ExportError:
    """Return the one sentence that says why `path` could not be written."""
    reason = _REASONS.get(fault.errno or 0) or (
        f"{(fault.strerror or str(fault)).lower()}; choose another place"
    )
    return ExportError(f"{path} cannot be written: {reason}.", subject=str(path))


def write_file(path: Path, content: bytes) -> None:
    """Write `content` to `path`, whole or not at all.

    The bytes go to a temporary file in the same folder, are flushed to the disk, and the file is
    then renamed. A link is followed, and an existing file's mode is kept.

    Raises
    ------
    ExportError
        If the file cannot be written; what was there before is whole.
    """
    target = Path(os.path.realpath(path))
    temporary = target.parent / temporary_name()
    try:
        try:
            with temporary.open("xb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            if target.is_file():
                shutil.copymode(target, temporary)
            os.replace(temporary, target)
        except BaseException:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise export_error(path, fault) from fault
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Flush the names in `folder` to the disk, where the system knows how to."""
    # Not every system opens folders; the file itself is safe by then.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
