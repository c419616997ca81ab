"""Estimates beside the plain way of judging candidates: `python -m tests.bench.bench_candidates`.

Both judge the same plans of the same mesh in one process, by processor time. The plain way cuts
each and scores the pieces by rays; see `tests.bench.plain`. Bridges are switched off, so that both
measure the same.

*Searched* are the plans that the search judges on the way, in its order: they share planes and
blocks, which the estimate remembers. The plain way judges a sample of them. *Unrelated* plans have
no plane in common. Either way the estimate chooses for every piece among some fifteen print
directions; the plain way scores the same directions (*all directions*), or is told which one to
score and does not choose at all (*told*).

Needs `rtree` and `mapbox_earcut` beside what the tests need.
"""

import sys
import time

import numpy as np

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import WHOLE
from splitplanner.suggest.estimate import _kernels  # noqa: F401  (compiled before it is timed)
from splitplanner.workshop import Printer
from tests.bench import plain
from tests.bench.candidates import has_letters, light, searched, survey_of, unrelated

PARTS = ("rain_hood", "garden_heron", "l_bracket", "cargo_lid", "dew_shield")
CELLS = 6_000
"""Rays through each piece, as many as the estimate sends through the part."""
FINE = 40
"""The support volumes that both are compared with come from so many times as many rays."""


def timed(job):
    """Return what `job` returns and the processor time it took, ms."""
    start = time.process_time()
    result = job()
    return result, 1e3 * (time.process_time() - start)


def prepared(solid, printer):
    """Return a survey with the whole part judged in all directions, and the time it took, ms."""

    def prepare():
        survey = survey_of(solid, printer)
        _ = survey.ground.edges
        survey.estimate(survey.start)
        return survey

    return timed(prepare)


def paired(estimate, pieces):
    """Return the plain piece of each block, by name: the one with the same bounding box."""
    left, found = list(pieces), {}
    for name, block in estimate.sketch.blocks.items():
        box = np.concatenate([block.points.min(axis=0), block.points.max(axis=0)])
        away = [np.abs(piece.mesh.bounds.ravel() - box).max() for piece in left]
        if not left or min(away) > 0.5:
            return None
        found[name] = left.pop(int(np.argmin(away))).mesh
    return None if left else found


def plain_times(survey, cuts, mesh, printer):
    """Return the plain way's times of one plan, told the directions and trying all, ms."""
    (pieces, _), cutting = timed(lambda: plain.pieces_of(mesh, cuts))
    estimate = survey.estimate(survey.sketch(cuts))
    meshes = paired(estimate, pieces)
    if meshes is None:
        return None
    hulls, hulling = timed(lambda: {name: plain.hull_of(mesh) for name, mesh in meshes.items()})

    def score(directions):
        for name, mesh in meshes.items():
            for up in directions(name):
                plain.scored(mesh, hulls[name], up, printer, CELLS)

    _, told = timed(lambda: score(lambda name: [estimate.prints[name].piece.up]))
    blocks = estimate.sketch.blocks
    _, every = timed(lambda: score(lambda name: survey.ups(blocks[name])))
    return cutting + hulling + told, cutting + hulling + every


def figures(survey, cuts, mesh, printer):
    """Return pairs of the estimate's figures of a plan and the plain ones, and what they scale by.

    The plain figures are those of the print directions that the estimate chose.
    """
    estimate = survey.estimate(survey.sketch(cuts))
    pieces, _ = plain.pieces_of(mesh, cuts)
    meshes = paired(estimate, pieces)
    if meshes is None:
        return None
    hanging = resting = fine = coarse = same = 0
    for name, piece in meshes.items():
        up = np.array(estimate.prints[name].piece.up)
        area, contact, faces = plain.overhang(piece, up, printer.overhang_limit)
        hanging, resting = hanging + area, resting + contact
        coarse += plain.support(piece, up, faces, CELLS)
        fine += plain.support(piece, up, faces, FINE * CELLS)
        hull = plain.hull_of(piece)
        ups = [up, *survey.ups(estimate.sketch.blocks[name])]
        same += estimate.reaches[name].fits == any(
            plain.bed_fit(hull, np.array(up), printer.bed) for up in ups
        )
    rows, seams = estimate.numbers.pieces, estimate.numbers.seams
    surface = sum(piece.area for piece in meshes.values())
    length = plain.seam_length(pieces, cuts)
    return {
        "overhang": (sum(row.overhang.area for row in rows), hanging, surface),
        "contact": (sum(row.overhang.contact_area for row in rows), resting, surface),
        "support": (sum(row.support.volume for row in rows), fine, fine),
        "support, plain": (coarse, fine, fine),
        "seam length": (sum(seam.figures.length for seam in seams), length, length),
        "same fit": (same, len(meshes), 1),
    }


def _names_bodies(cut):
    return cut.piece is not None and cut.piece != WHOLE and has_letters(cut.piece)


def row_of(name, kind, solid, meshed, printer, cuts, sample):
    """Return one row of the table of times, and the figures of the sample."""
    mesh = plain.mesh_of(meshed)
    survey, once = prepared(solid, printer)

    def estimated():
        for plan in cuts:
            survey.estimate(survey.sketch(plan))

    _, ours = timed(estimated)
    plainly = [plan for plan in cuts if not any(map(_names_bodies, plan))]
    chosen = plainly[:: max(1, len(plainly) // sample)][:sample]
    times = [plain_times(survey, plan, mesh, printer) for plan in chosen]
    told, every = np.array([row for row in times if row is not None]).mean(axis=0)
    ours /= len(cuts)
    rows = [figures(survey, plan, mesh, printer) for plan in chosen]
    text = (
        f"| {name}, {kind} | {len(solid.faces)} | {len(cuts)} | {once:.0f} | {ours:.1f} | "
        f"{len(meshed.faces)} | "
        f"{told:.0f} | {told / ours:.0f} | {every:.0f} | {every / ours:.0f} |\n"
    )
    return text, [row for row in rows if row is not None], len(chosen)


def off(rows, key):
    """Return median and largest difference of a figure, in percent of what it scales by."""
    table = np.array([row[key] for row in rows], dtype=float)
    share = 100.0 * np.abs(table[:, 0] - table[:, 1]) / np.maximum(table[:, 2], 1e-9)
    return f"{np.median(share):.2f} / {share.max():.2f}"


def compared(name, kind, solid, meshed, rows, tried):
    """Return one row of the table of figures."""
    keys = ("overhang", "contact", "support", "support, plain", "seam length")
    fits = np.array([row["same fit"] for row in rows])
    cells = " | ".join(off(rows, key) for key in keys)
    return (
        f"| {name}, {kind} | {len(solid.faces)} | {len(meshed.faces)} | "
        f"{len(rows)} of {tried} | {cells} | "
        f"{fits[:, 0].sum():.0f} of {fits[:, 1].sum():.0f} |\n"
    )


def main(write=sys.stdout.write, parts=PARTS, triangles=130_000, sample=12):
    """Print the tables."""
    printer = Printer(bridge_span=0.0)
    write(
        "| part, plans | triangles | how many | prepared once, ms | estimate, ms "
        "| triangles, plain | plain, told, ms | ratio | plain, all directions, ms | ratio |\n"
        + "|---" * 10
        + "|\n"
    )
    second = []
    for name in parts:
        whole = DEMO_PARTS[name].make(triangles)
        stand_in = light(whole)
        plans = searched(stand_in, printer)
        loose = unrelated(survey_of(stand_in, printer), 2 * sample)
        for kind, solid, meshed, cuts in (
            ("searched", stand_in, stand_in, plans),
            ("searched", stand_in, whole, plans),
            ("searched", whole, whole, plans[: len(plans) // 10]),
            ("unrelated", stand_in, stand_in, loose),
        ):
            text, rows, tried = row_of(name, kind, solid, meshed, printer, cuts, sample)
            write(text)
            second.append(compared(name, kind, solid, meshed, rows, tried))
    write(
        "\nDifference of the sums over all pieces of a plan, median / largest, %: overhang and "
        f"bed contact in shares of the surface, the others of themselves; support from {FINE} "
        "times as many rays.\n\n| part, plans | triangles | triangles, plain | compared | "
        "overhang | bed contact | support | support, plain | seam length | same fit |\n"
        + "|---" * 10
        + "|\n"
    )
    write("".join(second))


if __name__ == "__main__":
    main()
