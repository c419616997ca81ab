"""How far a job is, on the terminal: a bar on a screen, lines in a log."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import TextIO

from rich.console import Console
from rich.progress import (
    BarColumn,
    Progress,
    SpinnerColumn,
    TaskProgressColumn,
    TextColumn,
    TimeElapsedColumn,
)

from splitplanner.progress import Report, silent

_LINE_EVERY = 0.5
"""A log gets no more than one line in this time, seconds."""
_SILENT_FOR = 1.5
"""After this time without news the log says that the job still runs, seconds."""


def shown_progress(quiet: bool, stream: TextIO | None = None) -> AbstractContextManager[Report]:
    """Return a context that gives a report callback and shows what it is told.

    Parameters
    ----------
    quiet : bool
        Show nothing.
    stream : text stream, optional
        The error output by default.
    """
    target = sys.stderr if stream is None else stream
    if quiet:
        return _nothing()
    return _bar(target) if target.isatty() else _log(target)


@contextmanager
def _nothing() -> Iterator[Report]:
    yield silent


@contextmanager
def _bar(stream: TextIO) -> Iterator[Report]:
    columns = (
        SpinnerColumn(),
        BarColumn(bar_width=30),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.description}"),
    )
    with Progress(*columns, console=Console(file=stream), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def report(done: float, doing: str) -> None:
            bar.update(task, completed=done, description=doing)

        yield report


@contextmanager
def _log(stream: TextIO) -> Iterator[Report]:
    log = _Log(stream)
    ticker = threading.Thread(target=log.keep_talking, daemon=True)
    ticker.start()
    try:
        yield log.report
    finally:
        log.ended.set()
        ticker.join()


class _Log:
    """Lines with time, share and what is being done."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.ended = threading.Event()
        self.begun = self.last = time.monotonic()
        self.done, self.doing, self.written = 0.0, "starting", ""
        self.lock = threading.Lock()

    def report(self, done: float, doing: str) -> None:
        """Note how far the job is; write a line if it is news and the last one is not too near."""
        with self.lock:
            self.done, self.doing = done, doing
            if doing != self.written and time.monotonic() - self.last >= _LINE_EVERY:
                self._write(doing)

    def keep_talking(self) -> None:
        """Write a line whenever nothing was written for a while, until the job ends."""
        while not self.ended.wait(0.1):
            with self.lock:
                if time.monotonic() - self.last >= _SILENT_FOR:
                    still = "still " if self.doing == self.written else ""
                    self._write(self.doing, still)

    def _write(self, doing: str, still: str = "") -> None:
        self.last = time.monotonic()
        self.written = doing
        self.stream.write(f"{self.last - self.begun:6.1f} s {self.done:4.0%}  {still}{doing}\n")
        self.stream.flush()
