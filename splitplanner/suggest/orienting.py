"""Which way up each piece prints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Division, Piece, Vector
from splitplanner.score import (
    CRITERIA,
    PieceFigures,
    bed_fits,
    diagonal_directions,
    measure_piece,
    overhang_areas,
    print_directions,
)
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

_WEIGHT = {criterion.name: criterion.weight / criterion.reference for criterion in CRITERIA}


def seam_normals(division: Division, piece: Piece) -> tuple[Vector, ...]:
    """Return the normals of the seams of a piece."""
    return tuple(
        seam.plane.normal for seam in division.seams if piece.name in (seam.below, seam.above)
    )


def fitting_directions(solid: Solid, printer: Printer, extra: Sequence[Vector]) -> Floats:
    """Return the candidate print directions (k, 3) in which a piece fits the bed; may be empty.

    Directions that stand a piece on an edge are only looked at when it fits in no other.
    """
    found = _fitting(solid, print_directions(solid, extra), printer)
    return (
        found if len(found) else _fitting(solid, diagonal_directions(solid, printer.bed), printer)
    )


def _fitting(solid: Solid, candidates: Floats, printer: Printer) -> Floats:
    fits = [fit.fits for fit in bed_fits(solid, candidates, printer.bed)]
    result: Floats = candidates[fits]
    return result


def oriented(
    piece: Piece,
    part: Solid,
    printer: Printer,
    extra: Sequence[Vector],
    *,
    finalists: int = 4,
    resolution: float | None = None,
) -> PieceFigures | None:
    """Choose the print direction of a piece.

    All directions that fit the bed are ranked by overhang area; support volume is measured for
    the best few. What counts is what the piece adds to the plan score, and of equals the lower
    print.

    Parameters
    ----------
    piece : Piece
    part : Solid
        The figures are scaled by its volume and surface.
    printer : Printer
    extra : sequence of unit vectors
        More directions to try, both ways (the seams' normals).
    finalists : int
        For how many directions support is measured.
    resolution : float, optional
        Of the support columns, mm; None for the best.

    Returns
    -------
    PieceFigures or None
        None if the piece fits the bed in no direction.
    """
    ups = fitting_directions(piece.solid, printer, extra)
    if not len(ups):
        return None
    areas = overhang_areas(piece.solid, ups, printer.overhang_limit)
    heights = np.ptp(piece.solid.hull.vertices @ ups.T, axis=0)
    order = np.lexsort((np.round(heights, 3), np.round(areas, 1)))[:finalists]
    best: PieceFigures | None = None
    least = np.inf
    for index in order:
        figures = measure_piece(piece, _vector(ups[index]), printer, resolution)
        cost = piece_cost(figures, part) + 1e-4 * float(heights[index]) / part.size
        if cost < least - 1e-9:
            best, least = figures, cost
    return best


def piece_cost(figures: PieceFigures, part: Solid) -> float:
    """Return what overhang and support of one piece add to the plan score."""
    return (
        _WEIGHT["overhang area"] * figures.overhang.area / (part.area / 100)
        + _WEIGHT["support volume"] * figures.support.volume / (part.volume / 1000)
        + _WEIGHT["tight fit"] * float(figures.fit.spare < 1.01) * 0.1
    )


def _vector(up: Floats) -> Vector:
    return float(up[0]), float(up[1]), float(up[2])
