"""How long measuring walls takes: `python -m tests.bench.bench_thickness [--triangles 130000 ...]`.

Each demonstration part: thickness all over, and walls against printed lines. *In rays*: as many
times what one line of sight straight in from each point takes in the same run; *balls of trimesh*:
as many times faster than its shrinking balls, which are measured at 200 of the points.
"""

import argparse
import time

import numpy as np
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.score import wall_lines
from splitplanner.solid import Sight, Solid, thickness
from splitplanner.workshop import Printer
from tests.bench.bench_window import head, say

BALLS = 200


class Silence:
    """A report that notes the longest time between two calls, s."""

    def __init__(self):
        """Begin to listen."""
        self.last, self.longest = time.perf_counter(), 0.0

    def __call__(self, done, doing):
        """Note how long it was."""
        now = time.perf_counter()
        self.longest, self.last = max(self.longest, now - self.last), now


def clocked(what):
    """Return what a function returns, and how much of the processor it took, s."""
    began = time.process_time()
    return what(), time.process_time() - began


def rays(part, found):
    """Look straight in from each point."""
    inward = -part.face_normals[found.faces]
    sight = Sight.of(part)
    return sight.first(found.points + 1e-3 * inward, inward, inward)


def balls(part, found):
    """Return how long one of trimesh's balls takes, s."""
    mesh = trimesh.Trimesh(np.array(part.vertices), np.array(part.faces), process=False)
    some = np.linspace(0, len(found.points) - 1, BALLS).astype(int)
    normals = part.face_normals[found.faces[some]]
    began = time.process_time()
    trimesh.proximity.max_tangent_sphere(mesh, found.points[some], inwards=True, normals=normals)
    return (time.process_time() - began) / BALLS


def measure(name, triangles):
    """Print one row."""
    part = DEMO_PARTS[name].make(triangles)
    silence = Silence()
    found, took = clocked(lambda: thickness(part, report=silence))
    rays(part, found)
    unit = clocked(lambda: rays(part, found))[1]
    printer = Printer()
    figures, lines = clocked(lambda: wall_lines(found, printer))
    number = len(found.points)
    faster = balls(part, found) * number / took
    off, best = f"{100 * figures.off:.1f}", f"{figures.best_line_width:.3f}"
    say(name, len(part.faces), number, took, took / unit, faster, silence.longest, lines, off, best)


def main():
    """Measure all parts."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--triangles", type=int, nargs="+", default=[130_000])
    asked = parser.parse_args()
    # Compile everything first.
    wall_lines(thickness(Solid.box((40.0, 30.0, 2.0))), Printer())
    head("part", "triangles", "points", "thickness, s", "in rays", "balls of trimesh",
         "longest silence, s", "wall lines, s", "off at 0.45 mm, %", "best, mm")  # fmt: skip
    for triangles in asked.triangles:
        for name in DEMO_PARTS:
            measure(name, triangles)


if __name__ == "__main__":
    main()
