"""A second process that searches beside this one: the kernel holds the interpreter lock.

It is started as a program of its own and talked to through its standard input and output, so a
script that calls the search needs no guard round it. Whatever goes wrong with it, this process
does the work itself.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import IO, Any

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.child_processes import ctrl_c_waits
from splitplanner.plan import Cut
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.standing_in import Standing
from splitplanner.workshop import Printer

_LOOK_UP = 0.05
"""While waiting, the caller's progress callback is called this often, s."""

Cuts = tuple[Cut, ...]


@dataclass(frozen=True, eq=False)
class PartFacts:
    """What criteria know of the uncut part; see `splitplanner.score.criterion.PartNumbers`."""

    size: float
    area: float
    volume: float
    long_axis: Floats


@dataclass(frozen=True, eq=False)
class Setup:
    """All that the second process has to know."""

    vertices: Floats
    faces: Ints
    seen: Bools
    facts: PartFacts
    printer: Printer
    weights: Mapping[str, float]

    @staticmethod
    def of(standing: Standing, costs: Costs) -> Setup:
        """Return the setup for a stand-in."""
        part = costs.part
        facts = PartFacts(part.size, part.area, part.volume, part.long_axis)
        solid = standing.solid
        return Setup(
            solid.vertices, solid.faces, standing.seen, facts, costs.printer, dict(costs.weights)
        )


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
    _answers: dict[int, Any] = field(default_factory=dict)
    _news: threading.Condition = field(default_factory=threading.Condition)
    _gone: bool = False

    def __enter__(self) -> Second:
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        # Two processes on two cores: threads of the numeric libraries would only be in the way.
        environment |= dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"), "1")
        try:
            with ctrl_c_waits():
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "splitplanner.suggest.second_process"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env=environment,
                )
        except OSError:
            self._gone = True
            return self
        assert self._process.stdout is not None
        threading.Thread(target=self._listen, args=(self._process.stdout,), daemon=True).start()
        self._send(self.setup)
        return self

    def __exit__(self, *_: object) -> None:
        process = self._process
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                # What was not read any more cannot be flushed.
                with suppress(OSError):
                    stream.close()

    def ask(self, what: str, cuts: Cuts) -> int:
        """Give the process a task; return the number under which `answer` has the result."""
        self._asked += 1
        self._send((self._asked, what, cuts))
        return self._asked

    def answer(self, number: int, look_up: Callable[[], None]) -> Any:
        """Wait for a result; None if there is none, or if the process is gone.

        Parameters
        ----------
        number : int
            From `ask`.
        look_up : function
            Called while waiting; what it raises ends the wait.
        """
        with self._news:
            while number not in self._answers and not self._gone:
                self._news.wait(_LOOK_UP)
                look_up()
            return self._answers.pop(number, None)

    def _send(self, message: object) -> None:
        process = self._process
        if process is None or process.stdin is None:
            return
        try:
            pickle.dump(message, process.stdin)
            process.stdin.flush()
        except OSError:
            self._lose()

    def _listen(self, stream: IO[bytes]) -> None:
        try:
            while True:
                number, answer = pickle.load(stream)
                with self._news:
                    self._answers[number] = answer
                    self._news.notify_all()
        except (EOFError, OSError, ValueError, pickle.UnpicklingError):
            self._lose()

    def _lose(self) -> None:
        with self._news:
            self._gone = True
            self._news.notify_all()
