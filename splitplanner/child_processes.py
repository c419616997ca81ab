"""What holds for every child process that this program starts."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import resource_tracker
from types import FrameType
from typing import IO

Process = subprocess.Popen[bytes]

FROZEN_FLAG = "--helper-process"
"""What a program that carries its own Python is told before the name of the module to run."""


def start_module(module: str) -> Process:
    """Start a module of this program as a process of its own.

    It is talked to through its standard input and output, and says nothing on its error output. So
    a script that starts one needs no guard round it, and when this process ends, in whatever way,
    the other one reads the end of its input.

    Raises
    ------
    OSError
        If the system starts no more processes.
    """
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    # Several processes on few cores: threads of the numeric libraries would only be in the way.
    environment |= dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
    with ctrl_c_waits():
        return subprocess.Popen(
            [sys.executable, *_running(module)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
        )


def _running(module: str) -> Sequence[str]:
    # A program that was packed into one folder is no Python that takes options.
    return (FROZEN_FLAG, module) if getattr(sys, "frozen", False) else ("-m", module)


def streams(process: Process) -> tuple[IO[bytes], IO[bytes]]:
    """Return what a process is told through, and what it answers through."""
    assert process.stdin is not None
    assert process.stdout is not None
    return process.stdin, process.stdout


@contextmanager
def ctrl_c_waits() -> Iterator[None]:
    """Keep Ctrl-C from a child that is started now; it comes to this process a moment later.

    A terminal sends it to both, and the child would say so with a trace: ending it is our task.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # Starting this helper, which every spawned child needs, would let Ctrl-C through again.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        with _heard_later():
            yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _heard_later() -> Iterator[None]:
    """Put off a Ctrl-C that comes by another thread, whose signals are not held."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard: list[tuple[int, FrameType | None]] = []
    usual = signal.signal(signal.SIGINT, lambda *said: heard.append(said))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
        if heard and callable(usual):
            usual(*heard[0])
        elif heard and usual == signal.SIG_DFL:
            os.kill(os.getpid(), signal.SIGINT)


def own_streams() -> tuple[IO[bytes], IO[bytes]]:
    """Return, in a process that `start_module` started, what it is told and where it answers.

    Ctrl-C is left to the one that started it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    # Whatever else is printed must not get in between.
    os.dup2(2, 1)
    return sys.stdin.buffer, answers
