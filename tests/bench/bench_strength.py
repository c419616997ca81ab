"""How long sections along a part take: `python -m tests.bench.bench_strength [--triangles 130000]`.

Along three axes of the rain hood, by processor time, beside the cutting alone in the same process:
the ratio says something on any machine. Then how sections twist, and one load case.
"""

import argparse
import sys
import time

import numpy as np

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import PointLoad, cantilever
from splitplanner.solid import Plane
from splitplanner.strength import chain_torsions, diagrams, section_chain

COUNT = 200
AXES = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.3, 0.2, 0.9))


def seconds(job, repeats=3):
    """Least processor time of one call."""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return min(times)


def main(write=sys.stdout.write):
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--triangles", type=int, default=130_000)
    part = DEMO_PARTS["rain_hood"].make(parser.parse_args().triangles)
    write(f"{len(part.faces)} triangles, {COUNT} stations\n")
    write("| axis | sections cut, s | with figures, s | ratio | twist too, s | a load case, ms |\n")
    write("|---|---|---|---|---|---|\n")
    section_chain(part, AXES[0], 3)  # Compiled before it is timed.
    for axis in AXES:
        chain = section_chain(part, axis, COUNT)
        base = Plane(chain.axis, 0.0)
        cut = seconds(lambda base=base, at=chain.positions: part.sections(base, at))
        all_of_it = seconds(lambda axis=axis: section_chain(part, axis, COUNT))
        twist = seconds(lambda chain=chain: chain_torsions(chain), 1)
        low, high = chain.ends
        case = cantilever(low, PointLoad(high, (3.0, 5.0, -9.0)))
        _ = chain.torsions
        load = seconds(lambda chain=chain, case=case: diagrams(chain, case, 2000.0).normal_stress)
        name = ", ".join(f"{x:g}" for x in np.round(axis, 2))
        write(
            f"| {name} | {cut:.2f} | {all_of_it:.2f} | {all_of_it / cut:.1f} | "
            f"{all_of_it + twist:.1f} | {1e3 * load:.0f} |\n"
        )
        assert all_of_it < 1.0


if __name__ == "__main__":
    main()
