"""A second process that works beside this one: the kernel holds the interpreter lock.

It is started as a program of its own and talked to through its standard input and output, so a
script that calls the search needs no guard round it. It gets one task at a time and the others
wait here, so that this process may take them back. Whatever goes wrong with it, this process does
the work itself.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pickle import UnpicklingError
from typing import IO, Any

from splitplanner.child_processes import ctrl_c_waits
from splitplanner.plan import Cut
from splitplanner.score import Wishes
from splitplanner.solid import Solid
from splitplanner.suggest.messages import receive, send
from splitplanner.workshop import Printer

_LOOK_UP = 0.05
"""While waiting, the caller's progress callback is called this often, s."""
_FAREWELL = 0.1
"""An ended process is waited for so long, s; one of much memory may take longer to go."""

Cuts = tuple[Cut, ...]


@dataclass(frozen=True, eq=False)
class Setup:
    """All that the second process has to know from the start."""

    part: Solid
    printer: Printer
    weights: Mapping[str, float]
    wishes: Wishes


@dataclass(eq=False)
class Second:
    """The second process; use it as a context manager.

    Attributes
    ----------
    setup : Setup
    """

    setup: Setup
    _process: subprocess.Popen[bytes] | None = None
    _asked: int = 0
    _waiting: deque[tuple[int, str, tuple[object, ...]]] = field(default_factory=deque)
    _busy: int | None = None
    _answers: dict[int, Any] = field(default_factory=dict)
    _progress: tuple[float, str] = (0.0, "measuring the part")
    _news: threading.Condition = field(default_factory=threading.Condition)
    _gone: bool = False
    _threads: list[threading.Thread] = field(default_factory=list)

    def __enter__(self) -> Second:
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        # Two processes on two cores: threads of the numeric libraries would only be in the way.
        environment |= dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
        try:
            with ctrl_c_waits():
                process = subprocess.Popen(
                    [sys.executable, "-m", "splitplanner.suggest.second_process"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env=environment,
                )
        except OSError:
            self._gone = True
            return self
        self._process = process
        for work, stream in ((self._tell, process.stdin), (self._listen, process.stdout)):
            thread = threading.Thread(target=work, args=(process, stream), daemon=True)
            self._threads.append(thread)
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is None:
            return
        self._process.kill()
        self._lose()
        for thread in self._threads:
            thread.join(_FAREWELL)

    @property
    def gone(self) -> bool:
        """Whether it answers no more."""
        return self._gone

    @property
    def progress(self) -> tuple[float, str]:
        """How far it is with its task: from 0 to 1, and a few words."""
        return self._progress

    def ask(self, what: str, *given: object) -> int:
        """Give the process a task; return the number under which `answer` has the result."""
        with self._news:
            self._asked += 1
            self._waiting.append((self._asked, what, given))
            self._news.notify_all()
            return self._asked

    def take_back(self, number: int) -> bool:
        """Take a task back; False if it has been begun."""
        with self._news:
            for task in self._waiting:
                if task[0] == number:
                    self._waiting.remove(task)
                    return True
            return False

    def has_answer(self, number: int) -> bool:
        """Return whether `answer` need not wait."""
        with self._news:
            return number in self._answers

    def answer(self, number: int, look_up: Callable[[], None]) -> Any:
        """Wait for a result; None if there is none, or if the process is gone.

        Parameters
        ----------
        number : int
            From `ask`.
        look_up : function
            Called while waiting; what it raises ends the wait.
        """
        while True:
            with self._news:
                if number in self._answers or self._gone:
                    return self._answers.pop(number, None)
                self._news.wait(_LOOK_UP)
            look_up()

    def _tell(self, process: subprocess.Popen[bytes], stream: IO[bytes]) -> None:
        """Send tasks, in a thread: a large part fills the pipe until the other side reads it."""
        try:
            send(stream, self.setup)
            while (task := self._next()) is not None:
                send(stream, task, [self.setup.part])
        except OSError:
            self._lose()
        with suppress(OSError):
            # What was not read any more cannot be flushed.
            stream.close()

    def _next(self) -> tuple[int, str, tuple[object, ...]] | None:
        """Wait for a task and for the process to be free; None if it is gone."""
        with self._news:
            while not self._gone and (self._busy is not None or not self._waiting):
                self._news.wait()
            if self._gone:
                return None
            task = self._waiting.popleft()
            self._busy = task[0]
            return task

    def _listen(self, process: subprocess.Popen[bytes], stream: IO[bytes]) -> None:
        try:
            while True:
                number, done, value = receive(stream, [self.setup.part])
                with self._news:
                    if done:
                        self._answers[number], self._busy = value, None
                        self._news.notify_all()
                    # Between two tasks the words of the last one stay.
                    self._progress = (0.0, self._progress[1]) if done else value
        except (EOFError, OSError, ValueError, UnpicklingError):
            self._lose()
        stream.close()
        process.wait()

    def _lose(self) -> None:
        with self._news:
            self._gone = True
            self._news.notify_all()
