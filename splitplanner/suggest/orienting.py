"""Which way up each piece prints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Division, Piece, Vector
from splitplanner.score import (
    PieceFigures,
    fits_any,
    leaning_directions,
    measure_piece,
    print_directions,
)
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate.printing import hung_over
from splitplanner.suggest.estimate.soundings import sounded

_CELLS = 3000
"""Columns by which print directions are compared before a few are measured."""
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
    finalists: int = 3,
    resolution: float | None = None,
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

    Returns
    -------
    PieceFigures or None
        None if the piece fits the bed in no direction.
    """
    ups = _cheapest(piece, print_directions(piece.solid, extra), costs, finalists)
    if not ups:
        # Standing on an edge is the last resort of a piece that fits in no other way.
        hull, bed = piece.solid.hull, costs.printer.bed
        tilts = [up for up in leaning_directions(hull, bed) if fits_any(hull, up, bed)]
        ups = _cheapest(piece, np.array(tilts).reshape(-1, 3), costs, finalists)
    rows = [measure_piece(piece, up, costs.printer, resolution) for up in ups]
    size = costs.part.size
    prices = [costs.of_print(row) + _LOWER * row.fit.height / size for row in rows]
    return rows[int(np.argmin(np.round(prices, 9)))] if rows else None


def _cheapest(piece: Piece, candidates: Floats, costs: Costs, most: int) -> list[Vector]:
    """Return up to `most` of the directions in which the piece fits, the cheapest first."""
    ups = [(float(x), float(y), float(z)) for x, y, z in candidates]
    prices = []
    for up in ups:
        heights = piece.solid.hull.vertices @ np.array(up)
        sounding = sounded(piece.solid, up, costs.printer, _CELLS)
        row = hung_over(sounding, np.empty((0, 4)), float(heights.min()), piece.solid.area)
        prices.append(costs.of_piece(row) + _LOWER * float(np.ptp(heights)) / costs.part.size)
    fitting: list[Vector] = []
    for index in np.argsort(np.round(prices, 9), kind="stable"):
        if fits_any(piece.solid, ups[index], costs.printer.bed):
            fitting.append(ups[index])
            if len(fitting) == most:
                break
    return fitting
