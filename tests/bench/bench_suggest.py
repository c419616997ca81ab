"""How long whole suggestions take: `python -m tests.bench.bench_suggest [TRIANGLES ...]`.

Each size in a fresh process, started and with everything compiled before the clock starts, so that
its peak of memory is its own. Times of computing (all threads) and by the clock.
"""

import multiprocessing
import resource
import sys
import time

from splitplanner.plan import PartFile
from splitplanner.suggest import suggest
from splitplanner.workshop import Printer
from tests.bench.bench_scaling import hood

TRIANGLES = (130_000, 520_000, 2_000_000)


def one(triangles):
    """Return triangles, times (processor, clock) of the first and all proposals, and memory."""
    printer = Printer()
    part_file = PartFile("hood.stl", "mm", "0" * 64)
    suggest(hood(6_000), part_file, printer, most=3)
    solid = hood(triangles)
    firsts = []

    def note(_):
        if not firsts:
            firsts.append((time.process_time() - computing, time.perf_counter() - clock))

    computing, clock = time.process_time(), time.perf_counter()
    found = suggest(solid, part_file, printer, on_proposal=note)
    last = time.process_time() - computing, time.perf_counter() - clock
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    counts = [len(proposal.draft.division.pieces) for proposal in found.proposals]
    return len(solid.faces), firsts[0], last, memory, counts, found.proposals[0].draft.score


def main(write=sys.stdout.write, sizes=TRIANGLES):
    """Print the table."""
    write(
        "| triangles | first proposal, s | by the clock, s | final set, s | by the clock, s | "
        "peak of memory, GB | pieces of the proposals | best score |\n" + "|---" * 8 + "|\n"
    )
    for size in sizes:
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            count, first, last, memory, pieces, score = pool.apply(one, (size,))
        write(
            f"| {count} | {first[0]:.2f} | {first[1]:.2f} | {last[0]:.1f} | {last[1]:.1f} | "
            f"{memory:.2f} | {', '.join(map(str, pieces))} | {score:.3f} |\n"
        )


if __name__ == "__main__":
    main(sizes=[int(size) for size in sys.argv[1:]] or TRIANGLES)
