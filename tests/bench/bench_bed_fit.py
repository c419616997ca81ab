"""How much faster the exact fit is than trying yaws: `python -m tests.bench.bench_bed_fit`.

Both run in one process on the same outlines, so the ratio says something on any machine.
"""

import sys
import time

import numpy as np

from splitplanner.score.bed_fit import bed_fit, best_fit
from splitplanner.score.plan_fit import convex_outline, rectangle_fit
from splitplanner.workshop import Bed


def tried(outline, width, depth, step=0.1):
    """Largest scale of `outline` on a rectangle over yaws `step` degrees apart."""
    angles = np.radians(np.arange(0.0, 180.0, step))
    c, s = np.cos(angles), np.sin(angles)
    need_x = np.ptp(outline @ np.stack([c, -s]), axis=0) / width
    need_y = np.ptp(outline @ np.stack([s, c]), axis=0) / depth
    return float((1.0 / np.maximum(need_x, need_y)).max())


def seconds(job, repeats=30):
    """Least time of one call."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def main(write=sys.stdout.write):
    """Print times and ratios."""
    rng = np.random.default_rng(2)
    bed = Bed.rectangle(220.0, 220.0, 250.0)
    write("corners  exact ms  0.1° steps ms  ratio  scale gained\n")
    for corners in (8, 40, 200):
        angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
        plan = np.column_stack([150.0 * np.cos(angles), 60.0 * np.sin(angles)])
        outline = convex_outline(plan)
        exact = seconds(lambda outline=outline: rectangle_fit(outline, 220.0, 180.0))
        brute = seconds(lambda outline=outline: tried(outline, 220.0, 180.0))
        gained = rectangle_fit(outline, 220.0, 180.0).spare / tried(outline, 220.0, 180.0) - 1.0
        assert gained >= -1e-12
        write(
            f"{len(outline):7d}  {1e3 * exact:8.3f}  {1e3 * brute:13.3f}  "
            f"{brute / exact:5.1f}  {gained:12.1e}\n"
        )
    points = rng.normal(size=(300, 3))
    points *= np.array([150.0, 80.0, 60.0]) / np.linalg.norm(points, axis=1)[:, None]
    ups = rng.normal(size=(50, 3))
    one = seconds(lambda: bed_fit(points, ups[0], bed))
    all_of_them = seconds(lambda: best_fit(points, ups, bed), 10)
    write(f"one direction, 300 points: {1e3 * one:.2f} ms; best of 50: {1e3 * all_of_them:.1f} ms ")
    write(f"= {all_of_them / one:.1f} times one\n")
    legs = ((0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300))
    odd = seconds(lambda: bed_fit(points, ups[0], Bed.of_outline(legs, 250.0)), 3)
    write(f"L-shaped bed: {1e3 * odd:.0f} ms = {odd / one:.0f} times a rectangle\n")


if __name__ == "__main__":
    main()
