"""Which way up each piece prints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Division, Piece, Vector
from splitplanner.score import (
    CRITERIA,
    LEAST_CONTACT,
    PieceFigures,
    diagonal_directions,
    fits_any,
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

    Directions are ranked by overhang area and looked at until a few that fit the bed are found;
    support volume is measured for these. What counts is what the piece adds to the plan score,
    and of equals the lower print.

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
    candidates = print_directions(piece.solid, extra)
    ups = _least_overhang(piece.solid, candidates, printer, finalists)
    if not len(ups):
        # Standing on an edge is the last resort of a piece that fits in no other way.
        candidates = diagonal_directions(piece.solid, printer.bed)
        ups = _least_overhang(piece.solid, candidates, printer, finalists)
    rows = [measure_piece(piece, _vector(up), printer, resolution) for up in ups]
    costs = [piece_cost(row, part) + 1e-4 * row.fit.height / part.size for row in rows]
    return rows[int(np.argmin(np.round(costs, 9)))] if rows else None


def _least_overhang(solid: Solid, candidates: Floats, printer: Printer, most: int) -> list[Floats]:
    """Return up to `most` of the directions in which the piece fits, least overhang first.

    Directions in which it touches the bed with next to nothing, so that it would stand on its
    supports alone, are only returned when there is no other.
    """
    if not len(candidates):
        return []
    areas, contact = overhang_areas(solid, candidates, printer.overhang_limit)
    afloat = contact < LEAST_CONTACT
    heights = np.ptp(solid.hull.vertices @ candidates.T, axis=0)
    chosen: list[Floats] = []
    for index in np.lexsort((np.round(heights, 3), np.round(areas, 1), afloat)):
        if fits_any(solid.hull.vertices, candidates[index], printer.bed):
            if chosen and afloat[index]:
                break
            chosen.append(candidates[index])
            if len(chosen) == most:
                break
    return chosen


def piece_cost(figures: PieceFigures, part: Solid) -> float:
    """Return what overhang, support and want of bed contact of one piece add to the plan score."""
    return (
        _WEIGHT["overhang area"] * figures.overhang.area / (part.area / 100)
        + _WEIGHT["support volume"] * figures.support.volume / (part.volume / 1000)
        + _WEIGHT["hardly touching the bed"] * float(figures.overhang.contact_area < LEAST_CONTACT)
    )


def _vector(up: Floats) -> Vector:
    return float(up[0]), float(up[1]), float(up[2])
