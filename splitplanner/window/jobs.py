"""Long jobs of the window: asked for here, done in processes of their own, heard of in Qt's thread.

Three processes: one examines plans and writes files, one searches, one draws small pictures. So a
plan can be worked on while proposals are looked for, and a graphics driver that fails takes down
nothing but pictures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from PySide6.QtCore import QObject, Qt, Signal

from splitplanner.background import PATIENCE, Order, Worker
from splitplanner.errors import Cancelled, HelperError

Desk = Literal["examiner", "searcher", "painter"]


def _nothing(*_: Any) -> None:
    """Take what nobody asked for."""


@dataclass(eq=False)
class Job:
    """A job that is under way.

    Attributes
    ----------
    title : str
        What is shown while it is under way; empty for one that is not spoken of.
    stopped : callable
        Called when it was stopped.
    done : float
        From 0 to 1.
    doing : str
    """

    title: str
    desk: Desk
    order: Order
    stopped: Callable[[], None] = _nothing
    done: float = 0.0
    doing: str = ""
    is_over: bool = field(default=False)


class Jobs(QObject):
    """Gives jobs to processes and calls back in the thread of the window."""

    changed = Signal()
    """What is under way, or how far it is, is another."""
    _called = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workers = {desk: Worker() for desk in ("examiner", "searcher", "painter")}
        self._jobs: list[Job] = []
        self._called.connect(self._call, Qt.ConnectionType.QueuedConnection)

    def start(self, desk: Desk) -> None:
        """Start a process before it is needed."""
        self._workers[desk].start()

    def keep(self, **values: Any) -> None:
        """Hand over to all processes what jobs find under these names."""
        for worker in self._workers.values():
            worker.keep(**values)

    def ask(
        self,
        desk: Desk,
        task: str,
        *given: Any,
        title: str = "",
        answered: Callable[[Any], None] = _nothing,
        handed: Callable[[Any], None] = _nothing,
        failed: Callable[[Exception], None] = _nothing,
        stopped: Callable[[], None] = _nothing,
    ) -> Job:
        """Give a job to a process.

        Parameters
        ----------
        desk : "examiner", "searcher" or "painter"
        task : str
            See `splitplanner.background.tasks`.
        given : what the task takes
        title : str
            What is shown while it is under way; empty for one that is not spoken of.
        answered, handed, failed : callable
            Called in the thread of the window; not any more once the job was stopped.
        stopped : callable
            Called when it was stopped, by whomever.
        """
        order = Order(task, given)
        job = Job(title, desk, order, stopped)

        def later(call: Callable[..., None], is_last: bool = False) -> Callable[..., None]:
            return lambda *said: self._called.emit(partial(self._hear, job, call, said, is_last))

        order.progressed = later(partial(self._progressed, job))
        order.handed = later(handed)
        order.answered = later(answered, is_last=True)
        order.failed = later(partial(_unless_stopped, failed), is_last=True)
        self._jobs.append(job)
        try:
            self._workers[desk].ask(order)
        except HelperError as fault:
            order.failed(fault)
        self.changed.emit()
        return job

    def stop(self, job: Job | None, patience: float | None = PATIENCE) -> None:
        """Stop a job if it is under way; nothing more is heard of it."""
        if job is None or job.is_over:
            return
        self._end(job)
        self._workers[job.desk].cancel(job.order, patience)
        job.stopped()

    @property
    def shown(self) -> list[Job]:
        """Jobs under way that are spoken of."""
        return [job for job in self._jobs if job.title]

    @property
    def is_idle(self) -> bool:
        """Whether nothing is under way."""
        return not self._jobs

    def process_of(self, desk: Desk) -> int | None:
        """Return the number of a process; None while there is none."""
        return self._workers[desk].pid

    def close(self) -> None:
        """End all processes."""
        for job in list(self._jobs):
            self._end(job)
        for worker in self._workers.values():
            worker.close()

    # -- inside ---------------------------------------------------------------------------
    def _call(self, what: Callable[[], None]) -> None:
        what()

    def _hear(
        self, job: Job, call: Callable[..., None], said: tuple[Any, ...], is_last: bool
    ) -> None:
        if job.is_over:
            return
        if is_last:
            self._end(job)
        call(*said)

    def _progressed(self, job: Job, done: float, doing: str) -> None:
        job.done, job.doing = done, doing
        if job.title:
            self.changed.emit()

    def _end(self, job: Job) -> None:
        job.is_over = True
        if job in self._jobs:
            self._jobs.remove(job)
            self.changed.emit()


def _unless_stopped(failed: Callable[[Exception], None], fault: Exception) -> None:
    if not isinstance(fault, Cancelled):
        failed(fault)
