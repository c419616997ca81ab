"""Processes that search beside this one, and the spare one between two searches.

Such a process takes most of a second to load what it needs. So one that has nothing left to do is
kept for the next search. It ends with this process in any case: no other one holds its input open.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import threading
from contextlib import suppress

from splitplanner.child_processes import Process, start_module, streams

_FAREWELL = 0.5
"""A process that is told that nothing more comes gets so long to end by itself, s."""

_lock = threading.Lock()
_spare: Process | None = None
_running: set[Process] = set()


def warm_up() -> None:
    """Start the process that will help the next search, so that it has loaded all when that begins.

    Does nothing if there is one, or only one processor. The next search that is not alone takes it.
    """
    with _lock:
        there = _spare is not None and _spare.poll() is None
    if not there and (os.cpu_count() or 1) > 1 and (process := started()) is not None:
        keep(process)


def started() -> Process | None:
    """Start a process; None if the system starts no more.

    It is talked to through its standard input and output. Whoever starts one has to `keep` or
    `dismiss` it.
    """
    try:
        process = start_module("splitplanner.suggest.second_process")
    except OSError:
        return None
    _running.add(process)
    return process


def taken() -> Process | None:
    """Take the spare process away; None if there is none, or none that still runs."""
    global _spare
    with _lock:
        process, _spare = _spare, None
    if process is not None and process.poll() is not None:
        dismiss(process)
        return None
    return process


def keep(process: Process) -> None:
    """Keep a process that waits for the next search; one that is too many is ended."""
    global _spare
    with _lock:
        before, _spare = _spare, process
    if before is not None:
        dismiss(before)


def dismiss(process: Process) -> None:
    """End a process, whatever it is doing, and what it was talked to through."""
    process.kill()
    for stream in streams(process):
        # What was not read any more cannot be flushed.
        with suppress(OSError):
            stream.close()
    process.wait()
    _running.discard(process)


@atexit.register
def _end() -> None:
    """End all processes before this one does: the spare by itself, others at once."""
    spare = taken()
    if spare is not None:
        with suppress(OSError, subprocess.TimeoutExpired):
            streams(spare)[0].close()
            spare.wait(_FAREWELL)
        dismiss(spare)
    for process in list(_running):
        # Its own thread closes the streams.
        process.kill()
        process.wait()


def _let_go() -> None:
    """Let go of all processes, in a copy of this one that was just made.

    They are the other's. Were their input held open here, they would not end with it.
    """
    global _lock, _spare
    # Whoever held it is not in the copy.
    _lock, _spare = threading.Lock(), None
    nowhere = os.open(os.devnull, os.O_RDWR)
    for process in _running:
        # Not closed: other threads of the one copied may have been at them, and nothing may be
        # flushed to them from here.
        for stream in streams(process):
            with suppress(OSError, ValueError):
                os.dup2(nowhere, stream.fileno(), inheritable=False)
        # Nor is it waited for here.
        process.returncode = 0
    os.close(nowhere)
    _running.clear()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_let_go)
