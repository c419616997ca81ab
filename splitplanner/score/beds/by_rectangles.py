"""Pieces on beds by the smallest rectangles round their plan views."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.score.bed_sharing import bed_rectangle, fits_room, packing
from splitplanner.score.beds.loads import PlacedPiece, ToPlace
from splitplanner.score.plan_fit import turned
from splitplanner.workshop import Bed


def by_rectangles(
    pieces: Sequence[ToPlace], bed: Bed, spacing: float
) -> list[tuple[PlacedPiece, ...]]:
    """Put pieces, each of which fits the bed, on beds by rectangles along x and y.

    They are packed into the bed's `bed_rectangle`, as `bed_count` counts them. A piece whose
    rectangle is too large for that (it lies aslant, or uses the corners of a bed of odd shape) has
    a bed of its own.

    Parameters
    ----------
    pieces : sequence of ToPlace
    bed : Bed
    spacing : float
        Between rectangles, mm.
    """
    low, high = np.array(bed_rectangle(bed))
    room = (float(high[0] - low[0]), float(high[1] - low[1]))
    shared = [piece for piece in pieces if fits_room(piece.rectangle, room)]
    alone = [(piece.alone(),) for piece in pieces if not fits_room(piece.rectangle, room)]
    beds = []
    for packed in packing([piece.rectangle for piece in shared], room, spacing):
        placed = [
            _placed(shared[each.index], low + np.array(each.corner), each.sides) for each in packed
        ]
        beds.append(tuple(placed))
    return beds + alone


def _placed(piece: ToPlace, corner: np.ndarray, sides: tuple[float, float]) -> PlacedPiece:
    """Return a piece lying along x and y, of size `sides`, with its low corner at `corner`, mm."""
    along, across = piece.sides(piece.square)
    is_along = (along >= across) == (sides[0] >= sides[1])
    yaw = piece.square if is_along else piece.square + 90.0
    shift = corner - turned(piece.hull, yaw).min(axis=0)
    return piece.placed(yaw, (float(shift[0]), float(shift[1])))
