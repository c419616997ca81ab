"""How long joints take: `python -m tests.bench.bench_joining [--triangles 130000]`.

The hood in five pieces, its six seams held in several ways: deciding what holds them, making the
pieces, checking all of it. Times are given as seconds and as many times what one boolean difference
of the whole part and a bar takes in the same run.
"""

import argparse
import time
from dataclasses import replace

import numpy as np

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.joint import Maker, assembly_of, check_joints, join
from splitplanner.joint.fasteners.spreading import spread
from splitplanner.plan import Cut, Fastening, PartFile, Plan, divide
from splitplanner.score import Wishes, good_side
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer
from tests.bench.bench_window import head, say

# The cuts of the best proposal on a bed of 220 x 220 mm.
CUTS = (
    Cut(Plane((1.0, 0.0, 0.0), 52.5)),
    Cut(Plane((1.0, 0.0, 0.0), -165.0), "1"),
    Cut(Plane((0.0, 1.0, 0.0), 40.8), "1.2"),
    Cut(Plane((0.0, 1.0, 0.0), 40.8), "2"),
)
WAYS = {
    "pins, flanges where needed": Fastening(),
    "and screws with nuts": Fastening(screws="nut"),
    "and screws in inserts": Fastening(screws="insert"),
    "tongues, tape and marks": Fastening(register="tongue", tape_plies=2, marks="engraved"),
}


def clocked(what):
    """Return what a function returns, and the processor time that it took, s.

    Not by the clock, so that other programs on the machine matter less.
    """
    began = time.process_time()
    return what(), time.process_time() - began


def joints(part):
    """Measure joining the hood."""
    half = np.array([0.0, 0.0, 300.0])
    bar = Solid.cylinder(part.centroid - half, part.centroid + half, 5.0)
    unit = min(clocked(lambda: part.difference(bar).volume)[1] for _ in range(3))
    division, seen = divide(part, CUTS), good_side(part, Wishes())
    ups = {piece.name: (0.0, 0.0, 1.0) for piece in division.pieces}
    head("held by", "pins", "screws", "deciding, s", "a seam, in differences", "making, s",
         "checking, s", "order, s")  # fmt: skip
    for name, fastening in WAYS.items():
        plan = Plan(PartFile("hood.stl", "mm", ""), Printer(), CUTS, ups, fastening=fastening)
        maker = Maker()
        (found, _), took = clocked(lambda p=plan, m=maker: join(division, p, seen=seen, maker=m))
        plan = replace(plan, joints=found)
        made, making = clocked(lambda p=plan, m=maker: m.make(division, p))
        _, checking = clocked(
            lambda p=plan, m=maker, k=made: check_joints(
                division, p, seen=seen, maker=m, pieces=k.pieces
            )
        )
        _, order = clocked(lambda p=plan, k=made: assembly_of(division, p, k.pieces))
        pins = sum(len(joint.pins) for joint in found)
        screws = sum(len(joint.screws) for joint in found)
        say(name, pins, screws, took, took / len(found) / unit, making, checking, order)


def spreading():
    """Measure choosing 12 of 200 places along a wall."""
    random = np.random.default_rng(1)
    head("places", "fasteners", "s", "exact")
    for count in (40, 100, 200):
        places = np.column_stack([random.uniform(0, 400, count), random.uniform(0, 4, count)])
        found, took = clocked(lambda p=places: spread(p, 12, 9.0, (200.0, 2.0), pitch=30.0))
        say(count, 12, f"{took:.2f}", "yes" if found.is_exact else "no")


def main():
    """Measure both."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--triangles", type=int, default=130_000)
    asked = parser.parse_args()
    joints(DEMO_PARTS["rain_hood"].make(asked.triangles))
    spreading()


if __name__ == "__main__":
    main()
