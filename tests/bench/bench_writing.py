"""How fast pieces are written beside trimesh: `python -m tests.bench.bench_writing`.

Both write the same ball in one process, so the ratio says something on any machine.
"""

import sys

import trimesh

from splitplanner.output import BuildItem, printable_mesh, stl_bytes, three_mf_bytes
from splitplanner.solid import Solid
from tests.bench.bench_bed_fit import seconds


def main(write=sys.stdout.write):
    """Print times and ratios."""
    write("triangles  file  ours ms  trimesh ms  ratio\n")
    for level in (5, 6, 7):
        ball = trimesh.creation.icosphere(level, 100.0)
        mesh = printable_mesh(Solid.from_arrays(ball.vertices + 100.0, ball.faces))
        item = BuildItem("ball", mesh)
        jobs = {
            "stl": (lambda m=mesh: stl_bytes(m), lambda b=ball: b.export(file_type="stl")),
            "3mf": (
                lambda i=item: three_mf_bytes([i], "t"),
                lambda b=ball: b.export(file_type="3mf"),
            ),
        }
        for kind, (ours, theirs) in jobs.items():
            a, b = seconds(ours, 3), seconds(theirs, 3)
            write(f"{len(ball.faces):9d}  {kind}  {a * 1e3:7.1f}  {b * 1e3:10.1f}  {b / a:5.1f}\n")


if __name__ == "__main__":
    main()
