"""How long cells take: `python -m tests.bench.bench_cells [--triangles 130000] [--size 12]`.

The rain hood pressed on its top: as one part, then cut in three and condensed to both seams, with
the time of answers from there. Wall time, and the most memory so far.
"""

import argparse
import resource
import sys
import time

import numpy as np
from scipy.sparse import csr_array

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import (
    SIZE,
    Assembly,
    Contact,
    Hold,
    Tie,
    condensed,
    embedded,
    factorised,
    held_matrix,
    seam_points,
    stacked,
)

PLASTIC = LayeredStiffness(2000.0, 1500.0, 600.0)
CUTS = (-60.0, 90.0)
FORCE = np.array([0.0, 0.0, -100.0])


def foot(model):
    """The rim that stands on the ground."""
    solid = model.solid
    return model.patch((solid.face_normals[:, 2] < -0.99) & (solid.face_centroids[:, 2] < 0.5))


def pressed(model):
    """Where the hood is pressed, on its crown."""
    middles = model.solid.face_centroids
    near = np.hypot(middles[:, 0] - 20.0, middles[:, 1]) < 25.0
    return model.patch((model.solid.face_normals[:, 2] > 0.9) & near & (middles[:, 2] > 100.0))


def main(write=sys.stdout.write):
    """Print what takes how long."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--triangles", type=int, default=130_000)
    parser.add_argument("--size", type=float, default=SIZE)
    chosen = parser.parse_args()
    embedded(coarse(), PLASTIC, size=60.0)  # Compiled before it is timed.
    part = DEMO_PARTS["rain_hood"].make(chosen.triangles)
    clock = [time.perf_counter()]

    def told(what):
        clock.append(time.perf_counter())
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        write(f"{what}: {clock[-1] - clock[-2]:.2f} s, {most:.2f} GB\n")

    whole(part, chosen.size, told)
    in_three(part, chosen.size, told)


def coarse():
    return DEMO_PARTS["rain_hood"].make(5_000)


def whole(part, size, told):
    model = embedded(part, PLASTIC, size=size)
    told(f"{len(part.faces)} triangles, {model.freedoms} freedoms embedded")
    factor = factorised(held_matrix(model, [Hold(foot(model))]))
    told("factorised")
    top = pressed(model)
    moved = factor.solve(model.pushed(top, FORCE / top.area))
    model.face_stresses(moved)
    told("solved, stress on all faces")


def in_three(part, size, told):
    division = divide(part, [Cut(Plane((1.0, 0.0, 0.0), at)) for at in CUTS])
    told("cut in three")
    pieces = sorted(division.pieces, key=lambda piece: piece.solid.centroid[0])
    models = tuple(embedded(piece.solid, PLASTIC, size=size) for piece in pieces)
    told("embedded")
    assembly = Assembly(models, ((0, Hold(foot(models[0]))), (2, Hold(foot(models[2])))))
    names = [piece.name for piece in pieces]
    contacts = [
        Contact(
            names.index(seam.below),
            names.index(seam.above),
            seam_points(seam.plane, seam.section.polygons),
        )
        for seam in division.seams
    ]
    touching = [assembly.contact_gaps(contact)[2::3] for contact in contacts]
    gaps = []
    firm = np.concatenate([assembly.glued(contact)[2::3] for contact in contacts])
    ties = 0
    for contact in contacts:
        for point in contact.at.points[:: len(contact.at.points) // 8, None]:
            tie = Tie(contact.below, contact.above, point, point, contact.at.frame)
            gaps.append(assembly.tie_gaps(tie))
            ties += 3
    top = pressed(models[1])
    forces = assembly.forces({1: models[1].pushed(top, FORCE / top.area)})
    mean = csr_array(np.kron(top.areas / top.area, np.eye(3)))
    watch = mean @ assembly.widened(1, models[1].motion(top.points, top.rows))
    told("gaps laid out")
    found = condensed(assembly, stacked(touching), stacked(gaps), forces, watch)
    told(f"condensed to {len(firm) + ties} gaps")
    single = np.arange(len(firm) + ties) < len(firm)
    wanted = np.concatenate([firm, np.full(ties, 3e4)])
    first = found.answer(wanted, single)
    told(f"first answer, {first.rounds} rounds")
    wanted[-3:] = 0.0
    again = found.answer(wanted, single, first.closed)
    told(f"one screw less, {again.rounds} rounds")
    found.displacements(again)
    told("displacements")


if __name__ == "__main__":
    main()
