"""Pieces put together on as few beds as possible."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from splitplanner.progress import Report, silent
from splitplanner.score.bed_sharing import SPACING
from splitplanner.score.beds.by_outlines import by_outlines
from splitplanner.score.beds.by_rectangles import by_rectangles
from splitplanner.score.beds.loads import BedLoad, PlacedPiece, ToPlace
from splitplanner.score.outline_fit import FreeArea, free_area
from splitplanner.score.plan_fit import TOLERANCE
from splitplanner.workshop import Bed


def share_beds(
    pieces: Sequence[ToPlace], bed: Bed, spacing: float = SPACING, report: Report = silent
) -> tuple[BedLoad, ...]:
    """Put pieces together on beds, as few as can be found.

    First the smallest rectangles round their plan views are packed, lying along x and y (see
    `by_rectangles`). Where that takes more beds than the areas of the plan views alone would, it
    is tried with the plan views as they are, pockets and all, turned by many yaws (`by_outlines`);
    that is taken if it saves a bed. No two pieces are nearer to each other than `spacing` in plan,
    and none reaches beyond the bed's outline less margin, or over a blocked area.

    A piece that does not fit the bed has one of its own, as `BedFit` has it. So has a piece that
    shares with none. What lies on one bed is moved to its middle where the bed allows it.

    Parameters
    ----------
    pieces : sequence of ToPlace
    bed : Bed
    spacing : float, optional
        mm.
    report : progress callback

    Returns
    -------
    tuple of BedLoad
        The bed with the first piece comes first, and so on.

    Raises
    ------
    ValueError
        If `spacing` is below 0 or not finite.
    """
    if not 0.0 <= spacing < math.inf:
        raise ValueError(f"the spacing between pieces must be 0 mm or above, got {spacing:g}")
    free = free_area(bed)
    fitting = [piece for piece in pieces if piece.fit.fits]
    found = by_rectangles(fitting, bed, spacing)
    least = _least_beds(fitting, free)
    if len(found) > least:
        closer = by_outlines(fitting, free, spacing, least, len(found) - 1, report)
        found = found if closer is None else closer
    beds = [list(load) for load in found] + [[p.alone()] for p in pieces if not p.fit.fits]
    return _in_order(beds, pieces, free)


def _least_beds(pieces: Sequence[ToPlace], free: FreeArea) -> int:
    """Return the number of beds that no placing goes below, by area."""
    covered = sum(piece.view.area for piece in pieces)
    return math.ceil(covered / free.shape.area - 1e-9) if covered else 0


def _in_order(
    beds: Sequence[Sequence[PlacedPiece]], pieces: Sequence[ToPlace], free: FreeArea
) -> tuple[BedLoad, ...]:
    """Return beds in the order of their first pieces, and each bed's pieces in theirs."""
    order = {piece.name: index for index, piece in enumerate(pieces)}
    alone = {piece.name: piece for piece in pieces}
    rows = [sorted(bed, key=lambda piece: order[piece.name]) for bed in beds]
    rows.sort(key=lambda row: order[row[0].name])
    loads = []
    for number, row in enumerate(rows, 1):
        placed = [alone[row[0].name].alone()] if len(row) == 1 else _in_the_middle(row, free)
        covered = sum(float(piece.outline.intersection(free.shape).area) for piece in placed)
        share = 1.0 - covered / free.shape.area if free.shape.area else 0.0
        loads.append(BedLoad(number, tuple(placed), share))
    return tuple(loads)


def _in_the_middle(row: Sequence[PlacedPiece], free: FreeArea) -> list[PlacedPiece]:
    """Return pieces moved together to the middle of the bed, if all of it there is free."""
    outlines = shapely.union_all([piece.outline for piece in row])
    low, high = np.reshape(outlines.bounds, (2, 2))
    moved = [piece.moved(np.array(free.middle) - (low + high) / 2.0) for piece in row]
    return moved if all(lies_free(piece, free) for piece in moved) else list(row)


def lies_free(piece: PlacedPiece, free: FreeArea) -> bool:
    """Whether a piece is where the bed is free, but for rounding."""
    if free.disc is not None:
        x, y, radius = free.disc
        corners = shapely.get_coordinates(piece.outline)
        if (np.hypot(corners[:, 0] - x, corners[:, 1] - y) > radius + 2.0 * TOLERANCE).any():
            return False
    over = float(piece.outline.difference(free.shape).area)
    return over <= TOLERANCE * float(piece.outline.length)
