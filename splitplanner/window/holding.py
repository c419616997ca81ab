"""A lock file that is held for as long as a process lives, however it ends."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

from splitplanner.atomic import export_error

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


class Hold:
    """One lock file. The system lets go of it when the process ends, even when it is killed.

    Attributes
    ----------
    path : Path
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._handle: int | None = None

    @property
    def is_held(self) -> bool:
        """Whether this process holds it, by this object."""
        return self._handle is not None

    def take(self) -> bool:
        """Take the lock, without waiting; False if another process, or object, holds it.

        Raises
        ------
        ExportError
            If the file cannot be made.
        """
        while self._handle is None:
            try:
                handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
            except OSError as fault:
                raise export_error(self.path, fault) from fault
            if not _locked(handle):
                os.close(handle)
                return False
            # Between opening and locking, whoever held it may have removed the file.
            if _is_the_file(handle, self.path):
                self._handle = handle
            else:
                os.close(handle)
        return True

    def release(self, *, remove: bool = False) -> None:
        """Let go of the lock, and remove its file if so wanted."""
        if self._handle is None:
            return
        # Windows removes no file that is open; elsewhere it has to go while it is still locked.
        if remove and sys.platform != "win32":
            with contextlib.suppress(OSError):
                self.path.unlink(missing_ok=True)
        os.close(self._handle)
        self._handle = None
        if remove and sys.platform == "win32":
            with contextlib.suppress(OSError):
                self.path.unlink(missing_ok=True)


def _locked(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _is_the_file(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False
