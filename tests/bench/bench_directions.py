"""How long it takes to rank print directions: `python -m tests.bench.bench_directions`.

On a piece of the rain hood, on the whole hood and on other whole parts, all of about 130 000
triangles. *Looked at* is 500 directions at a glance; *ranked* is all of `rank_directions`, with
closer looks at some 30, finer directions nearby, and the best few measured: meant to be less than
3 s of wall time, and of processor time on most parts. Wall time is that of a machine which has
nothing else to do; processor time adds up both threads.
"""

import sys
import time

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import WHOLE, Cut, Piece, divide
from splitplanner.score import faces_on_good_side, rank_directions
from splitplanner.score.glancing import Glances
from splitplanner.score.ways_up import ways_up
from splitplanner.solid import Plane, seen_from_outside
from splitplanner.workshop import Bed, Printer

BED = Bed.rectangle(256.0, 256.0, 256.0)
X = (1.0, 0.0, 0.0)
CUTS = (Cut(Plane(X, -72.0), WHOLE), Cut(Plane(X, 117.5), "2"))
"""Those of a plan of the hood that the search finds for this bed; piece 2.1 is U-shaped."""


def timed(job):
    """Return what a job returns, and its wall time and processor time, s."""
    wall, processor = time.perf_counter(), time.process_time()
    result = job()
    return result, time.perf_counter() - wall, time.process_time() - processor


def cases():
    """Yield names, pieces, their parts and the normals of their seams."""
    hood = DEMO_PARTS["rain_hood"].make(390_000)
    yield "rain_hood, middle piece", divide(hood, CUTS).piece("2.1"), hood, (X,)
    for name in ("rain_hood", "garden_heron", "l_bracket", "cargo_lid"):
        part = DEMO_PARTS[name].make(130_000)
        yield f"{name}, whole", Piece(WHOLE, 1, part), part, ()


def main(write=sys.stdout.write):
    """Print the table."""
    printer = Printer(bed=BED)
    write(
        "| piece | triangles | looked at | wall, s | processor, s | ranked, wall, s "
        "| processor, s | measured |\n" + "|---" * 8 + "|\n"
    )
    small = DEMO_PARTS["rain_hood"].make(6_000)
    # Loops are compiled or loaded before anything is timed.
    rank_directions(Piece(WHOLE, 1, small), small, seen_from_outside(small), printer, most=20)
    for name, piece, part, seams in cases():
        seen = seen_from_outside(part)
        solid = piece.solid
        ups, _ = ways_up(solid, seams, BED, 500)
        good = faces_on_good_side(solid, part, seen)
        looks, wall, processor = timed(
            lambda s=solid, g=good, u=ups: Glances(s, g, printer).look(u)
        )
        ranked, whole, every = timed(
            lambda p=piece, w=part, s=seen, n=seams: rank_directions(p, w, s, printer, seams=n)
        )
        write(
            f"| {name} | {len(solid.faces)} | {len(looks)} | {wall:.2f} | {processor:.2f} "
            f"| {whole:.2f} | {every:.2f} | {len(ranked.measured)} |\n"
        )


if __name__ == "__main__":
    main()
