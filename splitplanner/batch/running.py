"""Giving tasks to an executor, and surviving the death of its workers."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from typing import Any

from splitplanner.batch.rows import BatchRow
from splitplanner.batch.task import Task, plan_one
from splitplanner.child_processes import ctrl_c_waits

Settle = Callable[[Task, BatchRow], None]
"""Called in the main thread with every row, as the models are finished."""
Beat = Callable[[Sequence[Task]], None]
"""Called twice a second with what is in hand. It stops the batch by raising an exception."""

_BEAT = 0.5
"""Seconds."""
_MOST_WORKERS = 61
"""The most that a pool may have on Windows (Python's documentation of ProcessPoolExecutor)."""


def usable_cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def run_on(executor: Executor, tasks: Sequence[Task], settle: Settle, beat: Beat) -> None:
    """Run tasks on any executor; what it loses is settled as failed.

    Who waits, and what is done again elsewhere when a worker is lost, is the executor's affair.
    """
    lost, untouched = _run(executor, tasks, settle, beat)
    for task in (*lost, *untouched):
        settle(task, task.failed(_lost("the executor is broken"), "ClusterError"))


def run_here(tasks: Sequence[Task], workers: int, settle: Settle, beat: Beat) -> None:
    """Run tasks in processes of this machine.

    When a process dies, the whole pool is of no more use, and any of the models in hand may be
    the reason. Each of them is then done again alone: the one during which a process dies a
    second time has failed, and the others go on in a new pool.
    """
    waiting = list(tasks)
    while waiting:
        count = min(workers, len(waiting), _MOST_WORKERS)
        with _pool(count) as pool:
            suspects, waiting = _run(pool, waiting, settle, beat, at_once=count)
        for task in suspects:
            with _pool(1) as pool:
                dead, untouched = _run(pool, [task], settle, beat)
            if dead or untouched:
                settle(task, task.failed(_DIED, "ClusterError"))


_DIED = (
    "The process that planned it died more than once, perhaps for lack of memory; make the model "
    "coarser, or plan fewer models at a time."
)


def _refused(task: Task, fault: Exception) -> BatchRow:
    """Return the row of a task that the executor gave up; it has exceptions of its own."""
    what = type(fault).__name__
    if what == "KilledWorker":  # of dask.distributed, after several deaths
        return task.failed(_DIED, "ClusterError")
    what += f": {' '.join(str(fault).split())}" if str(fault) else ""
    return task.failed(_lost(what), "ClusterError")


def _lost(why: str) -> str:
    return f"Its worker did not finish it ({why}); give the same command again to go on with it."


def _run(
    executor: Executor,
    tasks: Sequence[Task],
    settle: Settle,
    beat: Beat,
    at_once: int | None = None,
) -> tuple[list[Task], list[Task]]:
    """Run tasks until all are settled or the executor is broken.

    Parameters
    ----------
    at_once : int, optional
        How many tasks are given to the executor at a time; all of them by default. With the
        number of workers, those given are those that are being done.

    Returns
    -------
    lost : list of Task
        In the executor's hands when it broke.
    untouched : list of Task
        Not given to it.
    """
    waiting, lost, broken = deque(tasks), [], False
    begun: dict[Future[BatchRow], Task] = {}
    try:
        while begun or (waiting and not broken):
            while waiting and not broken and (at_once is None or len(begun) < at_once):
                try:
                    with ctrl_c_waits():
                        begun[executor.submit(plan_one, waiting[0])] = waiting[0]
                    waiting.popleft()
                except BrokenExecutor:
                    broken = True
            beat(list(begun.values()))
            for future in wait(begun, _BEAT, return_when=FIRST_COMPLETED).done:
                task = begun.pop(future)
                try:
                    row = future.result()
                except BrokenExecutor:
                    broken = True
                    lost.append(task)
                    continue
                except Exception as fault:  # noqa: BLE001 - whatever the executor raises
                    row = _refused(task, fault)
                settle(task, row)
    except BaseException:
        for future in begun:
            future.cancel()
        raise
    order = {id(task): index for index, task in enumerate(tasks)}
    return sorted(lost, key=lambda task: order[id(task)]), list(waiting)


@contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Give a pool of spawned processes, which are ended at once if the block fails."""
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), initializer=_worker_begins
    )
    try:
        yield pool
    except BaseException:
        own = [child for child in multiprocessing.active_children() if child not in others]
        for child in own:
            child.terminate()
        pool.shutdown(wait=True, cancel_futures=True)
        for child in own:
            child.join()
        raise
    pool.shutdown()


def _worker_begins() -> None:
    """Prepare a worker: Ctrl-C is its parent's affair, and it ends when its parent does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform != "win32":
        signal.signal(signal.SIGHUP, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: Any) -> None:
    parent.join()
    os._exit(1)
