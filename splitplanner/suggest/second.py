"""A second process that works beside this one: the kernel holds the interpreter lock.

It is started as a program of its own and talked to through its standard input and output, so a
script that calls the search needs no guard round it. It gets one task at a time and the others
wait here, so that this process may take them back. Whatever goes wrong with it, this process does
the work itself. When a search is over, it is kept for the next one (`spare.py`).
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pickle import UnpicklingError
from typing import IO, Any

from splitplanner.child_processes import Process, streams
from splitplanner.messages import receive, send
from splitplanner.plan import Cut, Loading
from splitplanner.score import Wishes
from splitplanner.solid import Solid
from splitplanner.suggest import spare
from splitplanner.workshop import Material, Printer

_LOOK_UP = 0.05
"""While waiting, the caller's progress callback is called this often, s."""
_FAREWELL = 0.1
"""At the end of a search the process is waited for so long, s; one of much memory may take longer
to go, and one that is busy to get done."""

Cuts = tuple[Cut, ...]


@dataclass(frozen=True, eq=False)
class Setup:
    """All that the second process has to know from the start."""

    part: Solid
    printer: Printer
    weights: Mapping[str, float]
    wishes: Wishes
    loadings: tuple[Loading, ...] = ()
    material: Material | None = None


@dataclass(eq=False)
class Second:
    """The second process; use it as a context manager.

    Attributes
    ----------
    setup : Setup
    is_kept : bool
        Whether the process is kept for the next search. If so and all went well, it may finish a
        task after the end; else it is ended at once, unless it has nothing to do.
    """

    setup: Setup
    is_kept: bool = True
    _process: Process | None = None
    _was_spare: bool = False
    _asked: int = 0
    _waiting: deque[tuple[int, str, tuple[object, ...]]] = field(default_factory=deque)
    # Task 0 is to take the setup.
    _busy: int | None = 0
    _answers: dict[int, Any] = field(default_factory=dict)
    _progress: tuple[float, str] = (0.0, "measuring the part")
    _news: threading.Condition = field(default_factory=threading.Condition)
    _over: bool = False
    _gone: bool = False
    _thread: threading.Thread | None = None

    def __enter__(self) -> Second:
        self._process = spare.taken()
        self._was_spare = self._process is not None
        self._process = self._process or spare.started()
        if self._process is None:
            self._gone = True
        else:
            self._thread = threading.Thread(target=self._work, daemon=True)
            self._thread.start()
        return self

    def __exit__(self, fault: object, *_: object) -> None:
        if self._thread is None:
            return
        with self._news:
            self._waiting.clear()
            self._over = True
            is_free = self._busy is None or fault is None
            if not self.is_kept or not is_free:
                self._end()
            self._news.notify_all()
        self._thread.join(_FAREWELL)

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

    def _work(self) -> None:
        """Talk to the process, in a thread: a large part fills the pipe until it is read."""
        is_sound = False
        # An OSError: it is gone.
        try:
            with suppress(OSError):
                tasks, answers = streams(self._handed_over())
                listening = threading.Thread(target=self._listen, args=(answers,), daemon=True)
                listening.start()
                self._tell(tasks)
                listening.join()
                is_sound = not self._gone
        finally:
            assert self._process is not None
            (spare.keep if is_sound else spare.dismiss)(self._process)
            self._lose()

    def _handed_over(self) -> Process:
        """Send the setup; to a fresh process if the spare one died."""
        assert self._process is not None
        try:
            send(streams(self._process)[0], self.setup)
        except OSError:
            with self._news:
                fresh = spare.started() if self._was_spare and not self._gone else None
                if fresh is None:
                    raise
                spare.dismiss(self._process)
                self._process = fresh
            send(streams(fresh)[0], self.setup)
        return self._process

    def _tell(self, tasks: IO[bytes]) -> None:
        """Send tasks, and at last that the search is over."""
        try:
            while (task := self._next()) is not None:
                send(tasks, task, [self.setup.part])
            if not self._gone:
                send(tasks, None)
        except OSError:
            self._lose()

    def _next(self) -> tuple[int, str, tuple[object, ...]] | None:
        """Wait for a task and for the process to be free; None if it is gone, or all is over."""
        with self._news:
            while not self._gone and (self._busy is not None or not (self._waiting or self._over)):
                self._news.wait()
            if self._gone or self._over:
                return None
            task = self._waiting.popleft()
            self._busy = task[0]
            return task

    def _listen(self, answers: IO[bytes]) -> None:
        """Take answers, until the process has said that it is done with this search."""
        try:
            while (message := receive(answers, [self.setup.part])) is not None:
                number, done, value = message
                with self._news:
                    if done:
                        self._answers[number], self._busy = value, None
                        self._news.notify_all()
                    # Between two tasks the words of the last one stay.
                    self._progress = (0.0, self._progress[1]) if done else value
        except (EOFError, OSError, ValueError, UnpicklingError):
            self._lose()

    def _end(self) -> None:
        """End the process, whatever it is doing."""
        assert self._process is not None
        self._process.kill()
        self._lose()

    def _lose(self) -> None:
        with self._news:
            self._gone = True
            self._news.notify_all()
