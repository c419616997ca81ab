"""How long sections along a part take: `python -m tests.bench.bench_strength [--triangles 130000]`.

Along three axes of three parts, by processor time of all threads, beside the cutting alone in the
same process: the ratio says something on any machine. Then how sections twist, what a user waits
for both by the clock, which shows two threads where nothing else runs, and one load case. At last
what a plan of six seams stands of two load cases, the part known or not, beside the sections.
"""

import argparse
import sys
import time

import numpy as np

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.joint import join
from splitplanner.loaded import Chains, strength_answer
from splitplanner.plan import (
    Cut,
    Fall,
    Fastening,
    Loading,
    PartFile,
    Plan,
    PointLoad,
    WeightLoad,
    cantilever,
    divide,
    over_two_supports,
)
from splitplanner.score import Wishes, good_side
from splitplanner.solid import Plane
from splitplanner.strength import chain_torsions, diagrams, section_chain
from splitplanner.workshop import Bed, Printer, hardware_shelf

COUNT = 200
PARTS = ("rain_hood", "dew_shield", "l_bracket")
AXES = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.3, 0.2, 0.9))


def seconds(job, repeats=3, clock=time.process_time):
    """Least processor time of one call, or what another `clock` says."""
    times = []
    for _ in range(repeats):
        start = clock()
        job()
        times.append(clock() - start)
    return min(times)


def loaded_plan(part):
    """Return the pieces of a hood in six, and a plan with what holds them and two load cases."""
    cuts = (
        Cut(Plane((1.0, 0.0, 0.0), -52.5)),
        Cut(Plane((1.0, 0.0, 0.0), 163.0)),
        Cut(Plane((0.0, 1.0, 0.0), -20.0)),
    )
    low, high = part.bounds[:, 0]
    ends = low + 0.1 * (high - low), high - 0.1 * (high - low)
    axis = (1.0, 0.0, 0.0)
    drop = over_two_supports(*ends, WeightLoad((0.0, 0.0, 1.0)), name="drop on its back")
    side = over_two_supports(*ends, PointLoad(0.0, (0.0, 100.0, 0.0)), name="side load")
    loadings = Loading(axis, drop, Fall(750.0, 10.0)), Loading(axis, side)
    printer = Printer(bed=Bed.parse("220x220x250"))
    plan = Plan(
        PartFile("hood.stl", "mm", ""), printer, cuts,
        fastening=Fastening(screws="nut"), loadings=loadings,
    )  # fmt: skip
    division = divide(part, cuts)
    joints, _ = join(division, plan, hardware_shelf(), seen=good_side(part, Wishes()))
    return division, plan.with_joints(joints)


def row(name, part, axis):
    """Return what the sections of a part along an axis take."""
    chain = section_chain(part, axis, COUNT)
    base = Plane(chain.axis, 0.0)
    cut = seconds(lambda: part.sections(base, chain.positions))
    figures = seconds(lambda: section_chain(part, axis, COUNT))
    twist = seconds(lambda: chain_torsions(chain))
    wait = seconds(
        lambda: chain_torsions(section_chain(part, axis, COUNT)), clock=time.perf_counter
    )
    low, high = chain.ends
    case = cantilever(low, PointLoad(high, (3.0, 5.0, -9.0)))
    _ = chain.torsions
    load = seconds(lambda: diagrams(chain, case, 2000.0).normal_stress)
    assert figures < 1.0
    assert twist < 5.0 * figures
    along = ", ".join(f"{x:g}" for x in np.round(axis, 2))
    return (
        f"| {name} | {along} | {cut:.2f} | {figures:.2f} | {figures / cut:.1f} | {twist:.2f} "
        f"| {twist / figures:.1f} | {figures + twist:.2f} | {wait:.2f} | {1e3 * load:.0f} |\n"
    )


def main(write=sys.stdout.write):
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--triangles", type=int, default=130_000)
    parts = {name: DEMO_PARTS[name].make(parser.parse_args().triangles) for name in PARTS}
    part = parts["rain_hood"]
    write(f"{len(part.faces)} triangles, {COUNT} stations\n")
    write(
        "| part | axis | sections cut, s | with figures, s | ratio | twist, s | ratio | both, s "
        "| by the clock, s | a load case, ms |\n" + 10 * "|---" + "|\n"
    )
    chain_torsions(section_chain(part, AXES[0], 30))  # Compiled before it is timed.
    for name in PARTS:
        for axis in AXES:
            write(row(name, parts[name], axis))
    division, plan = loaded_plan(part)
    shelf, known = hardware_shelf(), Chains()
    sections = seconds(lambda: section_chain(part, AXES[0], COUNT))
    first = seconds(lambda: strength_answer(division, plan, shelf))
    again = seconds(lambda: strength_answer(division, plan, shelf, remembered=known))
    write("\n| seams | load cases | sections, s | answer, s | ratio | part known, s | ratio |\n")
    write("|---|---|---|---|---|---|---|\n")
    write(
        f"| {len(division.seams)} | {len(plan.loadings)} | {sections:.2f} | {first:.2f} | "
        f"{first / sections:.1f} | {again:.2f} | {again / sections:.1f} |\n"
    )
    assert first < 3.0


if __name__ == "__main__":
    main()
