"""How many beds the pieces fill when small ones share one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from rectpack import SORT_AREA, SORT_LSIDE, SORT_SSIDE, MaxRectsBaf, MaxRectsBssf, newPacker

from splitplanner.score.bed_fit import BedFit
from splitplanner.score.outline_fit import free_area, free_rectangles
from splitplanner.score.plan_fit import TOLERANCE
from splitplanner.workshop import Bed

SPACING = 5.0
"""Kept free between pieces on one bed, mm (common practice, no source)."""
_UNITS = 1000
"""The packer works in whole micrometres, so that rounding cannot keep a piece out."""

Sides = tuple[float, float]


def bed_count(fits: Iterable[BedFit], bed: Bed, spacing: float = SPACING) -> int:
    """Return on how many beds pieces can be printed, several on one where there is room.

    Each piece takes the smallest rectangle round its plan view, lying along x or y, with `spacing`
    to the next. They are packed into the bed's `bed_room`. A piece whose rectangle is too large
    for that (it lies aslant, or uses the corners of a bed of odd shape) has a bed of its own. The
    figure can always be done; closer packings, of the true outlines, might do with fewer beds.

    Parameters
    ----------
    fits : iterable of BedFit
        One for each piece; their heights are not looked at, since each has to fit the bed alone.
    bed : Bed
    spacing : float
        mm.
    """
    room = bed_room(bed)
    alone, shared = 0, []
    for fit in fits:
        if fit.fits and _fits(fit.sides, room):
            shared.append(fit.sides)
        else:
            alone += 1
    return alone + packed(shared, room, spacing)


def packed(rectangles: Sequence[Sides], room: Sides, spacing: float) -> int:
    """Return into how many rooms rectangles go, each of which fits one; sizes in mm.

    The best of several greedy packings (maximal rectangles: J. Jylänki, A Thousand Ways to Pack
    the Bin, 2010); not always the least number.
    """
    if not rectangles:
        return 0
    # With the spacing added to every rectangle and to the room it lies between neighbours only.
    width, depth = (math.floor((side + spacing) * _UNITS + 0.01) for side in room)
    sizes = [
        tuple(math.ceil((side + spacing) * _UNITS - 0.01) for side in each) for each in rectangles
    ]
    least = math.ceil(sum(long * short for long, short in sizes) / (width * depth))
    best = len(rectangles)
    for algorithm in (MaxRectsBssf, MaxRectsBaf):
        for order in (SORT_LSIDE, SORT_AREA, SORT_SSIDE):
            if best <= least:
                return best
            packer = newPacker(pack_algo=algorithm, sort_algo=order, rotation=True)
            for long, short in sizes:
                packer.add_rect(long, short)
            packer.add_bin(width, depth, count=len(sizes))
            packer.pack()
            if len(packer.rect_list()) == len(sizes):
                best = min(best, len(packer))
    return best


def bed_room(bed: Bed) -> Sides:
    """Return width and depth of a rectangle on which pieces can be set side by side, mm.

    Of a rectangular bed all but the margin, of a round one the square inside the circle. With
    blocked areas, and on other outlines, the largest rectangle along x and y that was found in
    what is free: the largest there is where every edge runs along x or y.
    """
    if bed.kind == "rectangle" and not bed.blocked:
        return bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin
    if bed.kind == "circle" and not bed.blocked:
        side = (bed.width - 2 * bed.margin) / math.sqrt(2)
        return side, side
    for low, high in free_rectangles(free_area(bed)):
        return float(high[0] - low[0]), float(high[1] - low[1])
    return 0.0, 0.0


def _fits(sides: Sides, room: Sides) -> bool:
    return max(sides) <= max(room) + TOLERANCE and min(sides) <= min(room) + TOLERANCE
