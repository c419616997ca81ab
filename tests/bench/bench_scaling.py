"""How the cost of an estimate grows: `python -m tests.bench.bench_scaling`.

Against the number of triangles, with the plans of one search judged on ever finer meshes of the
rain hood (the finest by dividing every triangle in four, and so in the same places), and against
the number of plans judged, on the stand-in. Processor time; the peak of memory is that of the whole
process up to then.
"""

import resource
import sys
import time

import numpy as np
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Solid
from splitplanner.suggest.estimate import _kernels  # noqa: F401  (compiled before it is timed)
from splitplanner.suggest.standing_in import stand_in_for
from splitplanner.workshop import Printer
from tests.bench.bench_candidates import prepared, timed
from tests.bench.candidates import light, searched, survey_of

TRIANGLES = (10_000, 30_000, 130_000, 500_000, 2_000_000)
PLANS = (10, 30, 100, 300, 1000)


def hood(triangles):
    """Return the rain hood with about so many triangles."""
    if triangles <= 500_000:
        return DEMO_PARTS["rain_hood"].make(triangles)
    quarter = hood(triangles // 4)
    vertices, faces = trimesh.remesh.subdivide(np.array(quarter.vertices), np.array(quarter.faces))
    return Solid.from_arrays(vertices, faces)


def peak():
    """Return the most memory this process has used so far, GB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


def judge(survey, plans):
    """Estimate plans one after another; return how many there were to estimate.

    A plan may name a piece that on another mesh is in two.
    """
    sketches = [sketch for sketch in map(survey.sketch, plans) if sketch is not None]
    for sketch in sketches:
        survey.estimate(sketch)
    return len(sketches)


def against_triangles(write, plans, printer):
    """Print the table of costs against triangles."""
    write(
        "| triangles | stand-in made, ms | its triangles | prepared once, ms | estimate, ms | "
        "and µs per 1000 triangles | peak of memory, GB |\n|---|---|---|---|---|---|---|\n"
    )
    for triangles in TRIANGLES:
        solid = hood(triangles)
        standing, making = timed(lambda solid=solid: stand_in_for(solid))
        survey, once = prepared(solid, printer)
        judged, cost = timed(lambda survey=survey: judge(survey, plans))
        count = len(solid.faces)
        each = cost / judged
        write(
            f"| {count} | {making:.0f} | {len(standing.solid.faces)} | {once:.0f} | {each:.1f} | "
            f"{1e6 * each / count:.0f} | {peak():.2f} |\n"
        )


def against_plans(write, plans, solid, printer):
    """Print the table of costs against the number of plans."""
    write("\n| plans | judged in all, ms | each, ms |\n|---|---|---|\n")
    for count in PLANS:
        if count > len(plans):
            break
        survey, _ = prepared(solid, printer)
        _, cost = timed(lambda s=survey, c=count: judge(s, plans[:c]))
        write(f"| {count} | {cost:.0f} | {cost / count:.1f} |\n")


def main(write=sys.stdout.write):
    """Print both tables."""
    start = time.time()
    printer = Printer()
    stand_in = light(hood(130_000))
    judge(survey_of(stand_in, printer), [()])
    plans = searched(stand_in, printer)
    against_plans(write, plans, stand_in, printer)
    write("\n")
    against_triangles(write, plans[:: max(1, len(plans) // 12)][:12], printer)
    write(f"\n{time.time() - start:.0f} s in all\n")


if __name__ == "__main__":
    main()
