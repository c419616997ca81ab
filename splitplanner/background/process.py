"""The process that does long jobs: takes orders and says how they go."""

from __future__ import annotations

import os
import queue
import threading
import time
import traceback
from contextlib import suppress
from typing import IO, Any

from splitplanner.background.sharing import Shared
from splitplanner.background.tasks import TASKS, URGENT
from splitplanner.child_processes import own_streams
from splitplanner.errors import Cancelled, HelperError, SplitPlannerError
from splitplanner.messages import receive, send

_BEAT = 0.04
"""Progress is told no more often than this, s."""


class _Office:
    """Does orders one after the other, while more may come in; urgent ones between."""

    def __init__(self, orders: IO[bytes], answers: IO[bytes]) -> None:
        self._orders, self._answers = orders, answers
        self._waiting: queue.SimpleQueue[tuple[Any, ...]] = queue.SimpleQueue()
        self._urgent: queue.SimpleQueue[tuple[Any, ...]] = queue.SimpleQueue()
        self._shared = Shared()
        self._cancelled: set[int] = set()
        self._desk: dict[str, Any] = {}

    def listen(self) -> None:
        """Take letters; when nobody is left who could send one, end at once."""
        try:
            while True:
                letter = receive(self._orders, self._shared.kept)
                if letter[0] == "keep":
                    self._shared.keep(letter[1], letter[2])
                elif letter[0] == "order":
                    self._shared.begin(letter[1])
                if letter[0] == "cancel":
                    self._cancelled.add(letter[1])
                elif letter[0] == "order" and letter[2] in URGENT:
                    self._urgent.put(letter)
                    # For when nothing else is being done.
                    self._waiting.put(("urgent",))
                else:
                    self._waiting.put(letter)
        except (EOFError, OSError):
            # Children of this process see it in the same way.
            os._exit(0)

    def work(self) -> None:
        """Do what comes in."""
        while True:
            kind, *rest = self._waiting.get()
            if kind == "keep":
                name, value = rest
                self._desk[name] = value
            elif kind == "urgent":
                self._do_urgent()
            else:
                self._do(*rest)

    def _do(self, number: int, task: str, given: tuple[Any, ...]) -> None:
        if number in self._cancelled:
            self._tell(number, "failed", Cancelled("Stopped."))
        else:
            self._tell(number, "begun", None)
            self._tell(number, *self._done(task, number, given))

    def _do_urgent(self) -> bool:
        """Do urgent orders; return whether there were any."""
        before = self._urgent.qsize()
        with suppress(queue.Empty):
            while True:
                _, *order = self._urgent.get_nowait()
                self._do(*order)
        return before > 0

    def _done(self, task: str, number: int, given: tuple[Any, ...]) -> tuple[str, Any]:
        """Do one order; return what became of it."""
        told = 0.0

        def report(done: float, doing: str) -> None:
            nonlocal told
            if number in self._cancelled:
                raise Cancelled("Stopped.")
            if task not in URGENT and self._do_urgent():
                # So that who waits knows what it is at.
                self._tell(number, "begun", None)
            if time.monotonic() - told >= _BEAT or done >= 1.0:
                told = time.monotonic()
                self._tell(number, "progressed", (done, doing))

        def hand(content: Any) -> None:
            self._tell(number, "handed", content)

        try:
            return "answered", TASKS[task](self._desk, report, hand, *given)
        except SplitPlannerError as fault:
            return "failed", fault
        except Exception as fault:  # noqa: BLE001 - the border of the process: all is told
            trace = "".join(traceback.format_exception(fault))
            return "failed", HelperError(
                f"The program itself failed ({type(fault).__name__}: {fault}); nothing is lost, "
                "please report it.",
                trace=trace,
            )

    def _tell(self, number: int, kind: str, content: Any) -> None:
        send(self._answers, (number, kind))
        send(self._answers, content, self._shared.of(number))
        self._shared.hand(number, kind, content)


def main() -> None:
    """Do orders from standard input, until there is nobody who could give any."""
    office = _Office(*own_streams())
    threading.Thread(target=office.listen, daemon=True).start()
    office.work()


if __name__ == "__main__":
    main()
