"""What holds for every child process that this program starts."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


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
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
