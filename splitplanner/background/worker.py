"""A process that does long jobs one after the other, seen from the program that asks for them.

Whatever happens to the process, the program goes on: the order it was at is told so, and the next
one starts it anew. What jobs need again and again, such as the part, is handed over once and kept
here, so that a new process has it too.
"""

from __future__ import annotations

import atexit
import threading
import weakref
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import IO, Any

from splitplanner.background.sharing import Shared
from splitplanner.child_processes import Process, start_module, streams
from splitplanner.errors import Cancelled, HelperError
from splitplanner.messages import receive, send

PATIENCE = 0.15
"""An order that was cancelled gets so long to stop by itself; then its process is ended, s."""


def _nothing(*_: Any) -> None:
    """Take what nobody asked for."""


@dataclass(eq=False)
class Order:
    """A job that was asked for. What it says comes in a thread of the worker's.

    Attributes
    ----------
    task : str
        The name of one of `splitplanner.background.tasks.TASKS`.
    given : tuple
        What the task takes.
    progressed : callable (done from 0 to 1, a few words)
    handed : callable (object)
        Takes what is known before the end.
    answered : callable (object)
        Takes the result; nothing comes after it.
    failed : callable (SplitPlannerError)
        Takes `Cancelled` when it was stopped, a `HelperError` when the process died or the program
        failed, or what the job raised; nothing comes after it.
    """

    task: str
    given: tuple[Any, ...] = ()
    progressed: Callable[[float, str], None] = _nothing
    handed: Callable[[Any], None] = _nothing
    answered: Callable[[Any], None] = _nothing
    failed: Callable[[Exception], None] = _nothing
    number: int = field(default=0, init=False)


class Worker:
    """A process for long jobs; it is started with the first one."""

    def __init__(self) -> None:
        self._news = threading.Condition()
        self._orders: dict[int, Order] = {}
        self._asked = 0
        self._kept: dict[str, Any] = {}
        self._link: _Link | None = None
        self._is_closed = False
        _workers.add(self)

    @property
    def is_busy(self) -> bool:
        """Whether there are orders that are not done."""
        with self._news:
            return bool(self._orders)

    @property
    def pid(self) -> int | None:
        """Number of the process; None while there is none."""
        with self._news:
            return None if self._link is None else self._link.process.pid

    def start(self) -> None:
        """Start the process, so that it has loaded all when the first order comes."""
        with self._news:
            self._started()

    def keep(self, **values: Any) -> None:
        """Hand over what jobs find under these names from now on."""
        with self._news:
            self._kept.update(values)
            if self._link is not None:
                self._link.letters += [("keep", *each) for each in values.items()]
                self._news.notify_all()

    def ask(self, order: Order) -> Order:
        """Give an order; it is done when those before it are.

        Raises
        ------
        HelperError
            If the worker is closed, or no process can be started.
        """
        with self._news:
            link = self._started()
            self._asked += 1
            order.number = self._asked
            self._orders[order.number] = order
            link.letters.append(("order", order.number, order.task, order.given))
            self._news.notify_all()
        return order

    def cancel(self, order: Order, patience: float | None = PATIENCE) -> None:
        """Stop an order: `failed` hears `Cancelled` at once, and nothing more comes.

        Parameters
        ----------
        order : Order
        patience : float or None
            Seconds that the process gets to stop; if it is still at it then, it is ended and
            started anew. With None it may take its time.
        """
        with self._news:
            if self._orders.pop(order.number, None) is None:
                return
            link = self._link
            if link is not None:
                link.letters.append(("cancel", order.number))
                self._news.notify_all()
        order.failed(Cancelled("Stopped."))
        if patience is not None and link is not None:
            wait = threading.Timer(patience, self._end_if_busy_with, (link, order.number))
            wait.daemon = True
            wait.start()

    def close(self) -> None:
        """End the process; orders that are not done are not heard of any more."""
        with self._news:
            self._is_closed = True
            self._orders.clear()
            link, self._link = self._link, None
            self._news.notify_all()
        if link is not None:
            link.end()

    # -- inside ---------------------------------------------------------------------------
    def _started(self) -> _Link:
        """Return the link to the process; start one and hand it all that is kept if need be."""
        if self._is_closed:
            raise HelperError("The helper process was closed; start the program anew.")
        if self._link is None:
            try:
                process = start_module("splitplanner.background.process")
            except OSError as fault:
                raise HelperError(
                    f"No helper process could be started ({fault.strerror or fault}); close other "
                    "programs and try again."
                ) from fault
            link = self._link = _Link(process)
            link.letters += [("keep", *each) for each in self._kept.items()]
            for target in (self._tell, self._listen):
                threading.Thread(target=target, args=(link,), daemon=True).start()
        return self._link

    def _tell(self, link: _Link) -> None:
        """Send what there is to say; a large part fills the pipe until it is read."""
        while True:
            with self._news:
                while link is self._link and not link.letters:
                    self._news.wait()
                if link is not self._link:
                    return
                letter = link.letters.popleft()
            try:
                link.send(letter)
            except (OSError, ValueError):
                # The other thread sees that the process is gone.
                return

    def _listen(self, link: _Link) -> None:
        """Pass on what the process says, until it ends."""
        # Whatever cannot be read: the process was ended in the midst of a word.
        with suppress(Exception):
            while True:
                self._heard(link, *link.receive())
        with self._news:
            was_ours, lost = link is self._link, []
            if was_ours:
                self._link = None
                lost, self._orders = list(self._orders.values()), {}
            self._news.notify_all()
        code = link.end()
        for order in lost:
            order.failed(
                HelperError(
                    f"The helper process ended unexpectedly (code {code}) during "
                    f"“{order.task.replace('_', ' ')}”; nothing is lost, try again."
                )
            )

    def _heard(self, link: _Link, number: int, kind: str, content: Any) -> None:
        with self._news:
            link.doing = 0 if kind in ("answered", "failed") else number
            # Of a process that was left behind nothing is heard.
            order = self._orders.get(number) if link is self._link else None
            if order is not None and not link.doing:
                del self._orders[number]
        if order is None or kind == "begun":
            return
        if kind == "progressed":
            order.progressed(*content)
        else:
            getattr(order, kind)(content)

    def _end_if_busy_with(self, link: _Link, number: int) -> None:
        """End a process that does not stop; orders that wait are given to a new one."""
        with self._news:
            if link is not self._link or link.doing != number:
                return
            self._link = None
            fresh = self._started()
            fresh.letters += [
                ("order", each.number, each.task, each.given) for each in self._orders.values()
            ]
            self._news.notify_all()
        link.end()


class _Link:
    """A process, what is to be told it, and what it is at."""

    def __init__(self, process: Process) -> None:
        self.process = process
        self.letters: deque[tuple[Any, ...]] = deque()
        self.doing = 0
        self._shared = Shared()

    def send(self, letter: tuple[Any, ...]) -> None:
        """Tell the process something."""
        known = self._shared.kept
        # Noted first: the process may answer at once.
        if letter[0] == "keep":
            self._shared.keep(letter[1], letter[2])
        elif letter[0] == "order":
            self._shared.begin(letter[1])
        tasks, _ = streams(self.process)
        send(tasks, letter, known)

    def receive(self) -> tuple[int, str, Any]:
        """Return what the process says next: the order's number, a kind of news, and the news."""
        answers: IO[bytes] = streams(self.process)[1]
        number, kind = receive(answers)
        content = receive(answers, self._shared.of(number))
        self._shared.hand(number, kind, content)
        return number, kind, content

    def end(self) -> int:
        """End the process, whatever it is doing; return its exit code."""
        self.process.kill()
        code = self.process.wait()
        for stream in streams(self.process):
            with suppress(OSError):
                stream.close()
        return code


_workers: weakref.WeakSet[Worker] = weakref.WeakSet()


@atexit.register
def _close_all() -> None:
    for worker in list(_workers):
        worker.close()
