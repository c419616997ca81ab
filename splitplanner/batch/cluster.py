"""A running dask.distributed cluster as an executor; needs the extra ``cluster``."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any

from splitplanner import __version__
from splitplanner.errors import ClusterError

_PATIENCE = 10.0
"""A scheduler that does not answer for so long is not there, seconds."""


@contextmanager
def executor_at(address: str | None) -> Iterator[Executor | None]:
    """Give the executor of the cluster at an address; None, without an address, for this machine.

    See `cluster_executor`.
    """
    if address is None:
        yield None
        return
    with cluster_executor(address) as executor:
        yield executor


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """Give the executor of a running dask.distributed cluster.

    Every machine of the cluster must have this program in the same version, and reach the models
    and the results under the same paths.

    Parameters
    ----------
    address : str
        Of its scheduler, such as ``tcp://192.168.1.20:8786``.

    Raises
    ------
    ClusterError
        If the extra is not installed, there is no scheduler at the address, it has no worker, or a
        worker lacks this program or has another version of it.
    """
    try:
        import distributed
    except ImportError as fault:
        raise ClusterError(
            "A cluster needs the package distributed; install it with "
            'pip install "splitplanner[cluster]".',
            subject=address,
        ) from fault
    try:
        # Asked first by itself: a client that finds nobody is long in giving up.
        asyncio.run(_knock(distributed, address))
        client = distributed.Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError, RuntimeError) as fault:
        raise ClusterError(
            f"There is no scheduler at {address} ({' '.join(str(fault).split())}); give the "
            "address that “dask scheduler” prints, such as tcp://192.168.1.20:8786.",
            subject=address,
        ) from fault
    with client:
        if not client.scheduler_info()["workers"]:
            raise ClusterError(
                f"The cluster at {address} has no worker; start some with “dask worker {address}”.",
                subject=address,
            )
        _check_workers(client, address)
        # Not pure: what a task does is to write files, so its answer is never one kept from before.
        yield client.get_executor(pure=False)


async def _knock(distributed: Any, address: str) -> None:
    connection = await distributed.comm.connect(address, timeout=_PATIENCE)
    await connection.close()


def _check_workers(client: Any, address: str) -> None:
    """Refuse workers that would write other files than this machine, or none."""
    try:
        versions = set(client.run(_version).values())
    except Exception as fault:  # whatever a worker raises that cannot load this program
        what = " ".join(f"{type(fault).__name__}: {fault}".split())
        raise ClusterError(
            f"A worker of the cluster at {address} cannot load this program ({what}); install "
            "splitplanner there too.",
            subject=address,
        ) from fault
    if versions != {__version__}:
        raise ClusterError(
            f"The workers of the cluster at {address} have version {', '.join(sorted(versions))} "
            f"of this program, and this is {__version__}; install the same version everywhere.",
            subject=address,
        )


def _version() -> str:
    return __version__
