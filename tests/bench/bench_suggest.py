"""How long whole suggestions take: `python -m tests.bench.bench_suggest [TRIANGLES ...]`.

Each size in a fresh process, started and with everything compiled before the clock starts, so that
its peak of memory is its own. Processor time and memory of this process and of the second one
together. Beside the times stands what a plain capped slice of the same mesh and 6000 rays through
it take on the same machine (`tests/bench/plain.py`). Then the same search is stopped at random
moments: how long it takes to return, and how long it was ever silent.
"""

import multiprocessing
import random
import resource
import sys
import threading
import time
from pathlib import Path

import numpy as np

from splitplanner.errors import Cancelled
from splitplanner.plan import PartFile
from splitplanner.solid import Solid
from splitplanner.suggest import suggest
from splitplanner.workshop import Printer
from tests.bench import plain
from tests.bench.bench_scaling import hood

TRIANGLES = (130_000, 520_000, 2_000_000)
STOPS = 10
PART_FILE = PartFile("hood.stl", "mm", "0" * 64)


def computed():
    """Return the processor time of this process and of its children, s.

    Of those that live too: Linux knows them.
    """
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    ticks = 0
    for pid in Path("/proc/self/task").glob("*/children"):
        for child in pid.read_text("utf-8").split():
            fields = Path(f"/proc/{child}/stat").read_text("utf-8").rsplit(")", 1)[1].split()
            ticks += int(fields[11]) + int(fields[12])
    return time.process_time() + ended.ru_utime + ended.ru_stime + ticks / 100


class Memory(threading.Thread):
    """Looks ten times a second how much memory this process and its children take, GB."""

    def __init__(self):
        super().__init__(daemon=True)
        self.peak, self.done = 0.0, threading.Event()

    def run(self):
        while not self.done.wait(0.1):
            self.peak = max(self.peak, sum(self._sizes()) / 2**20)

    def _sizes(self):
        children = Path("/proc/self/task").glob("*/children")
        for pid in [
            "self",
            *(child for file in children for child in file.read_text("utf-8").split()),
        ]:
            try:
                lines = Path(f"/proc/{pid}/status").read_text("utf-8").splitlines()
            except OSError:
                continue
            yield sum(int(line.split()[1]) for line in lines if line.startswith("VmRSS:"))


def yardstick(solid):
    """Return what a plain capped slice and 6000 rays take, s of processor time."""
    mesh = plain.mesh_of(solid)
    hanging = np.ones(len(mesh.faces), dtype=bool)
    start = time.process_time()
    middle = mesh.bounds.mean(axis=0)
    mesh.slice_plane(middle, (1.0, 0.0, 0.0), cap=True, engine="earcut")
    plain.support(mesh, np.array([0.0, 0.0, 1.0]), hanging, 6000)
    return time.process_time() - start


def whole(solid):
    """Return times (processor, clock) of the first and all proposals, longest silence, and them."""
    firsts, heard = [], [time.perf_counter()]
    computing, clock = computed(), time.perf_counter()

    def note(_):
        if not firsts:
            firsts.append((computed() - computing, time.perf_counter() - clock))

    found = suggest(
        solid,
        PART_FILE,
        Printer(),
        on_proposal=note,
        report=lambda *_: heard.append(time.perf_counter()),
    )
    last = computed() - computing, time.perf_counter() - clock
    return firsts[0], last, float(np.diff(heard).max()), found.proposals


def stopped(solid, after):
    """Return how long a search takes to return that is to stop after so long, s; None if done."""
    clock = time.perf_counter()

    def report(*_):
        if time.perf_counter() - clock > after:
            raise Cancelled("stopped")

    try:
        suggest(solid, PART_FILE, Printer(), report=report)
    except Cancelled:
        return time.perf_counter() - clock - after
    return None


def one(triangles, stops):
    """Return the row of one size."""
    suggest(hood(12_000), PART_FILE, Printer(), most=3)
    made = hood(triangles)
    # As read from a file.
    solid = Solid.from_arrays(np.array(made.vertices), np.array(made.faces))
    del made
    memory = Memory()
    memory.start()
    first, last, silence, proposals = whole(solid)
    memory.done.set()
    chance = random.Random(triangles)
    waits = [stopped(solid, chance.uniform(0.0, last[1])) for _ in range(stops)]
    late = max((wait for wait in waits if wait is not None), default=float("nan"))
    counts = ", ".join(str(len(proposal.draft.division.pieces)) for proposal in proposals)
    plainly = yardstick(solid)
    return [
        str(len(solid.faces)),
        f"{plainly:.2f}",
        *(f"{value:.1f} ({value / plainly:.1f})" for value in (*first, *last)),
        f"{memory.peak:.2f}",
        f"{silence:.2f}",
        f"{late:.2f}",
        counts,
        f"{proposals[0].draft.score:.3f}",
    ]


def main(write=sys.stdout.write, sizes=TRIANGLES, stops=STOPS):
    """Print the table; in brackets, times beside the plain slice's."""
    heads = [
        "triangles",
        "plain slice and rays, s",
        "first proposal, s",
        "by the clock, s",
        "final set, s",
        "by the clock, s",
        "peak of memory, GB",
        "longest silence, s",
        "latest stop, s",
        "pieces of the proposals",
        "best score",
    ]
    write(f"| {' | '.join(heads)} |\n{'|---' * len(heads)}|\n")
    for size in sizes:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            write(f"| {' | '.join(pool.apply(one, (size, stops)))} |\n")


if __name__ == "__main__":
    main(sizes=[int(size) for size in sys.argv[1:]] or TRIANGLES)
