"""Which way up each piece prints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Division, Piece, Vector
from splitplanner.progress import Report, silent
from splitplanner.score import (
    PieceFigures,
    fits_any,
    leaning_directions,
    may_fit,
    measure_piece,
    print_directions,
)
from splitplanner.solid import Solid
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate.printing import hung_over
from splitplanner.suggest.estimate.soundings import sounded

_CELLS = 3000
"""Columns by which print directions are compared before a few are measured."""
_SOUNDED, _LEANING = 14, 5
"""So many directions are sounded for their little overhang, and as many for what is below it; and
of those in which a piece leans."""
_NO_WALLS = np.empty((0, 4))
_LOWER = 1e-4
"""Of prints that cost the same the lower one is taken: this much for a part's size of height."""


def seam_normals(division: Division, piece: Piece) -> tuple[Vector, ...]:
    """Return the normals of the seams of a piece."""
    return tuple(
        seam.plane.normal for seam in division.seams if piece.name in (seam.below, seam.above)
    )


def oriented(
    piece: Piece,
    costs: Costs,
    extra: Sequence[Vector],
    *,
    finalists: int = 2,
    resolution: float | None = None,
    report: Report = silent,
) -> PieceFigures | None:
    """Choose the print direction of a piece.

    Directions are ranked by what the piece would cost in them, by soundings, and looked at until
    a few that fit the bed are found; these are measured. What counts is what the piece adds to the
    plan score, and of equals the lower print.

    Parameters
    ----------
    piece : Piece
    costs : Costs
    extra : sequence of unit vectors
        More directions to try, both ways (the seams' normals).
    finalists : int
        How many directions are measured.
    resolution : float, optional
        Of the support columns, mm; None for the best.
    report : progress callback

    Returns
    -------
    PieceFigures or None
        None if the piece fits the bed in no direction.
    """
    words = f"choosing how piece {piece.number} prints"
    look_up = partial(report, 0.0, words)
    usual = print_directions(piece.solid, extra)
    # What is too long to lie flat may lean, or stand on an edge.
    leaning = leaning_directions(piece.solid, costs.printer.bed)
    groups = [(usual, _SOUNDED), (leaning, _LEANING)]
    ups = _cheapest(piece, groups, costs, finalists, look_up)
    if not ups:
        # The likeliest did not fit after all; here only what does is worth a look.
        fitting = [fits_any(piece.solid, up, costs.printer.bed) for up in leaning]
        ups = _cheapest(piece, [(leaning[fitting], _SOUNDED)], costs, finalists, look_up)
    rows = []
    for index, up in enumerate(ups):
        report(0.5 + 0.5 * index / len(ups), words)
        rows.append(measure_piece(piece, up, costs.printer, resolution))
    size = costs.part.size
    prices = [costs.of_print(row) + _LOWER * row.fit.height / size for row in rows]
    return rows[int(np.argmin(np.round(prices, 9)))] if rows else None


def _cheapest(
    piece: Piece,
    groups: Sequence[tuple[Floats, int]],
    costs: Costs,
    most: int,
    look_up: Callable[[], None],
) -> list[Vector]:
    """Return up to `most` directions in which the piece fits, the cheapest first.

    Of each group of directions the likeliest are sounded, twice as many as its number at most.
    """
    corners, bed = piece.solid.hull.vertices, costs.printer.bed
    ups: list[Vector] = []
    for candidates, each in groups:
        possible = candidates[may_fit(piece.solid, candidates, bed)]
        limit = costs.printer.overhang_limit
        ups += map(to_vector, _with_least_overhang(piece.solid, possible, limit, each))
    prices = []
    for up in ups:
        look_up()
        heights = corners @ np.array(up)
        sounding = sounded(piece.solid, up, costs.printer, _CELLS)
        row = hung_over(sounding, _NO_WALLS, float(heights.min()), piece.solid.area)
        prices.append(costs.of_piece(row) + _LOWER * float(np.ptp(heights)) / costs.part.size)
    fitting: list[Vector] = []
    for index in np.argsort(np.round(prices, 9), kind="stable"):
        if fits_any(piece.solid, ups[index], bed):
            fitting.append(ups[index])
            if len(fitting) == most:
                break
    return fitting


def _with_least_overhang(solid: Solid, candidates: Floats, limit: float, each: int) -> Floats:
    """Return the directions with least overhang by area, and by what lies below it down to the bed.

    The order is kept.
    """
    if len(candidates) <= 2 * each:
        return candidates
    slopes = solid.face_normals @ candidates.T
    steep = np.where(slopes < -np.sin(np.radians(limit)), -slopes, 0.0)
    middles = solid.face_centroids @ candidates.T
    below = middles - (solid.hull.vertices @ candidates.T).min(axis=0)
    areas = solid.face_areas @ (steep > 0)
    volumes = solid.face_areas @ (steep * below)
    chosen = [np.argsort(np.round(value, 3), kind="stable")[:each] for value in (areas, volumes)]
    return candidates[np.unique(np.concatenate(chosen))]
