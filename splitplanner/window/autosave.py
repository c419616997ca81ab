"""Saving by itself what the user is at, and finding what a program that died has left.

Each running program has one file of its own in a folder, and a lock beside it that it holds for as
long as it lives. What has a file but nobody who holds its lock was left by a program that died.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import threading
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs
from PySide6.QtCore import QObject, QTimer, Signal

from splitplanner.atomic import export_error, write_file
from splitplanner.errors import ExportError, PlanFileError, SplitPlannerError
from splitplanner.window.holding import Hold

if TYPE_CHECKING:
    from splitplanner.plan import Plan
    from splitplanner.score import Wishes

FORMAT = "split plan autosave"
VERSION = 1
DELAY = 3.0
"""A change is saved at the latest so long after it was made, s."""


def usual_folder() -> Path:
    """Return the folder for the user's own autosaved plans."""
    return platformdirs.user_state_path("splitplanner") / "autosave"


@dataclass(frozen=True)
class Leftover:
    """What a program that died was at.

    Attributes
    ----------
    plan : Plan
        Its part's path is absolute.
    model : Path
    plan_file : Path or None
        The plan file that was open, if one was.
    wishes : Wishes
    saved_at : datetime
        With its time zone.
    file : Path
        Where it is kept.
    """

    plan: Plan
    model: Path
    plan_file: Path | None
    wishes: Wishes
    saved_at: datetime
    file: Path


class Autosave(QObject):
    """Saves what it is told of a few seconds later, away from the thread of the window.

    Signals
    -------
    failed(str)
        Why it could not be saved; told once until it can be again.
    """

    failed = Signal(str)

    def __init__(self, folder: Path, delay: float = DELAY, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folder = folder
        self._stem = f"{os.getpid()}-{secrets.token_hex(4)}"
        self._hold = Hold(folder / f"{self._stem}.lock")
        self._leftovers: dict[Path, Hold] = {}
        self._waiting: tuple[Plan, Path, Path | None, Wishes | None] | None = None
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="autosave")
        self._last: Future[None] | None = None
        self._has_failed = threading.Event()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(round(1000 * delay))
        self._timer.timeout.connect(self._begin)

    @property
    def file(self) -> Path:
        """Where this program's own plan is kept while it is not saved otherwise."""
        return self._folder / f"{self._stem}.json"

    # -- saving -------------------------------------------------------------------------------
    def note(
        self,
        plan: Plan,
        model: Path,
        plan_file: Path | None = None,
        wishes: Wishes | None = None,
    ) -> None:
        """Tell of a change; it is saved soon, with all that was told until then."""
        self._waiting = (plan, model, plan_file, wishes)
        # It is not started anew by each change, else a long drag would never be saved.
        if not self._timer.isActive():
            self._timer.start()

    def save_now(self) -> None:
        """Save what was told, and return when that is on the disk."""
        self._begin()
        self._finish()

    def forget(self) -> None:
        """Remove what was saved: the user has saved it himself, or wants it no more."""
        self._timer.stop()
        self._waiting = None
        self._finish()
        with contextlib.suppress(OSError):
            self.file.unlink(missing_ok=True)

    def close(self) -> None:
        """End without leaving anything behind; leftovers that nobody wanted yet are kept."""
        self.forget()
        self._writer.shutdown()
        self._hold.release(remove=True)
        for hold in self._leftovers.values():
            hold.release()
        self._leftovers.clear()

    def _begin(self) -> None:
        self._timer.stop()
        if self._waiting is None:
            return
        told, self._waiting = self._waiting, None
        self._last = self._writer.submit(self._write, *told)

    def _write(
        self, plan: Plan, model: Path, plan_file: Path | None, wishes: Wishes | None
    ) -> None:
        """Write the file, in the writer's thread: a plan of many pins takes a tenth of a second."""
        try:
            content = _content(plan, model, plan_file, wishes)
            try:
                self._folder.mkdir(parents=True, exist_ok=True)
            except OSError as fault:
                raise export_error(self._folder, fault) from fault
            self._hold.take()
            write_file(self.file, content)
        except (ExportError, PlanFileError) as fault:
            self._tell(str(fault))
        else:
            self._has_failed.clear()

    def _tell(self, why: str) -> None:
        if not self._has_failed.is_set():
            self._has_failed.set()
            self.failed.emit(f"What you do is not kept for the case of a crash: {why}")

    def _finish(self) -> None:
        if self._last is not None:
            self._last.result()
            self._last = None

    # -- finding ------------------------------------------------------------------------------
    def recoverable(self) -> tuple[Leftover, ...]:
        """Return what programs that died have left, the latest first.

        This program keeps it from others until it is discarded, or until `close`.
        """
        found = []
        for file in sorted(self._folder.glob("*.json")):
            hold = self._leftovers.get(file) or Hold(file.with_suffix(".lock"))
            try:
                if file == self.file or not (hold.is_held or hold.take()):
                    continue
                found.append(_read(file))
            except (SplitPlannerError, OSError, ValueError, KeyError, TypeError):
                # Nothing of ours, or of another version: it stays for whoever can read it.
                hold.release()
                continue
            self._leftovers[file] = hold
        self._tidy()
        return tuple(sorted(found, key=lambda each: each.saved_at, reverse=True))

    def discard(self, leftover: Leftover) -> None:
        """Remove what a program that died has left."""
        with contextlib.suppress(OSError):
            leftover.file.unlink(missing_ok=True)
        hold = self._leftovers.pop(leftover.file, None)
        if hold is not None:
            hold.release(remove=True)

    def _tidy(self) -> None:
        """Remove locks of programs that died with nothing to save."""
        for path in self._folder.glob("*.lock"):
            if path == self._hold.path or path.with_suffix(".json").exists():
                continue
            hold = Hold(path)
            with contextlib.suppress(ExportError):
                if hold.take():
                    # Its file may have been written since it was looked for.
                    hold.release(remove=not path.with_suffix(".json").exists())


def _content(plan: Plan, model: Path, plan_file: Path | None, wishes: Wishes | None) -> bytes:
    # Not loaded with the window: it would open a second later.
    from splitplanner.plan import plan_to_text
    from splitplanner.score import Wishes, wishes_to_text

    where = Path(os.path.abspath(model)).as_posix()
    record = {
        "format": FORMAT,
        "version": VERSION,
        "model": where,
        "plan_file": None if plan_file is None else Path(os.path.abspath(plan_file)).as_posix(),
        "saved_at": datetime.now(UTC).isoformat(),
        "plan": plan_to_text(replace(plan, part=replace(plan.part, path=where))),
        "wishes": wishes_to_text(wishes or Wishes()),
    }
    return (json.dumps(record, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def _read(file: Path) -> Leftover:
    record = json.loads(file.read_bytes().decode("utf-8"))
    if record["format"] != FORMAT or record["version"] != VERSION:
        raise ValueError("of another kind")
    from splitplanner.plan import plan_from_text
    from splitplanner.score import wishes_from_text

    plan_file = record["plan_file"]
    return Leftover(
        plan_from_text(record["plan"], str(file)),
        Path(record["model"]),
        None if plan_file is None else Path(plan_file),
        wishes_from_text(record["wishes"], str(file)),
        datetime.fromisoformat(record["saved_at"]),
        file,
    )
