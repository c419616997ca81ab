"""The terminal: how far a job is (a bar on a screen, lines in a log), and Ctrl-C."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any, TextIO

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
_ECHO = 1.0
"""A signal that comes again within this time is the same wish to stop, seconds."""


class _Stop:
    """The user's wish to stop, by Ctrl-C, a plain kill or a closed terminal."""

    def __init__(self) -> None:
        self.heard: float | None = None
        self.held = False

    def hear(self, number: int, frame: Any) -> None:
        """Handle a signal.

        What follows within a second (the same Ctrl-C passed on by a parent) is not a second wish,
        which would cut the tidying up short.
        """
        before, self.heard = self.heard, time.monotonic()
        if not self.held and (before is None or self.heard - before >= _ECHO):
            raise KeyboardInterrupt

    def heed(self, report: Report) -> Report:
        """Return a report that stops the job if the signal's own exception was swallowed.

        Some libraries catch everything while they are imported or called back.
        """

        def heeding(done: float, doing: str) -> None:
            if self.heard is not None:
                raise KeyboardInterrupt
            report(done, doing)

        return heeding


_stop = _Stop()


@contextmanager
def stop_held() -> Iterator[None]:
    """Let a wish to stop wait for the end of the block.

    For imports of compiled libraries: an exception in the midst of one can end the process.
    """
    _stop.held = True
    try:
        yield
    finally:
        _stop.held = False
    if _stop.heard is not None:
        raise KeyboardInterrupt


def stop_on_signals() -> None:
    """Let Ctrl-C, a plain kill and a closed terminal stop the job, leaving nothing half written.

    Each raises KeyboardInterrupt in the main thread.
    """
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # What was ignored from the start (nohup, a shell's background job) stays ignored.
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stop.hear)


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
    yield _stop.heed(silent)


@contextmanager
def _bar(stream: TextIO) -> Iterator[Report]:
    columns = (
        SpinnerColumn(),
        BarColumn(bar_width=30),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.description}", markup=False),
    )
    with Progress(*columns, console=Console(file=stream), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)

        def report(done: float, doing: str) -> None:
            bar.update(task, completed=done, description=doing)

        yield _stop.heed(report)


@contextmanager
def _log(stream: TextIO) -> Iterator[Report]:
    log = _Log(stream)
    ticker = threading.Thread(target=log.keep_talking, daemon=True)
    ticker.start()
    try:
        yield _stop.heed(log.report)
    finally:
        log.ended.set()
        ticker.join()
    log.finish()


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

    def finish(self) -> None:
        """Write what was done last, if it was not written yet."""
        if self.doing not in (self.written, "starting"):
            self._write(self.doing)

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
