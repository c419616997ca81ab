"""How long all layers take: `python -m tests.bench.bench_layering [--triangles 130000]`.

The demonstration parts, each in 1250 layers by two print directions: the whole layering beside
sections as polygons of the same layers, of which a tenth is made. Processor time.
"""

import argparse
import time

import numpy as np

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.score.layering import layering
from splitplanner.score.print_time import layered_print
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer
from tests.bench.bench_window import head, say

LAYERS = 1250


def clocked(what, repeats=3):
    """Return what a function returns, and the least processor time it took, s."""
    least = np.inf
    for _ in range(repeats):
        began = time.process_time()
        found = what()
        least = min(least, time.process_time() - began)
    return found, least


def part_in_layers(name, part, up):
    """Measure one part and print direction."""
    unit = np.array(up) / np.linalg.norm(up)
    along = part.vertices @ unit
    printer = Printer(layer_height=float(np.ptp(along)) / LAYERS)
    found, took = clocked(lambda: layering(part, up, printer))
    made, printing = clocked(lambda: layered_print(found, printer))
    some = along.min() + found.heights[::10]
    base = Plane.through((0, 0, 0), unit)
    sections, cutting = clocked(lambda: part.sections(base, some), 1)
    off = max(
        abs(section.area - area) for section, area in zip(sections, found.areas[::10], strict=True)
    )
    say(name, str(up), f"{len(part.faces)}", f"{found.layers}", f"{took:.2f}",
        f"{1e3 * printing:.2f}", f"{10 * cutting:.1f}", f"{10 * cutting / took:.0f}",
        f"{off / found.areas.max():.1e}", f"{made.hours:.1f}")  # fmt: skip


def main():
    """Measure all parts."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--triangles", type=int, default=130_000)
    triangles = arguments.parse_args().triangles
    began = time.perf_counter()
    layering(Solid.box((10, 10, 10)), (0, 0, 1), Printer())
    loaded = time.perf_counter() - began
    head("part", "up", "triangles", "layers", "layering, s", "print, ms", "as polygons, s", "ratio",
         "area off by", "hours")  # fmt: skip
    for name, part in DEMO_PARTS.items():
        solid = part.make(triangles=triangles)
        solid.neighbours.sum()
        for up in ((0, 0, 1), (0, 0.6, 0.8)):
            part_in_layers(name, solid, up)
    say("the first layering of a process:", f"{loaded:.2f} s")


if __name__ == "__main__":
    main()
