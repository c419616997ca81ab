"""How many beds the pieces fill when small ones share one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

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
        if fit.fits and fits_room(fit.sides, room):
            shared.append(fit.sides)
        else:
            alone += 1
    return alone + packed(shared, room, spacing)


def packed(rectangles: Sequence[Sides], room: Sides, spacing: float) -> int:
    """Return into how many rooms rectangles go, each of which fits one; sizes in mm.

    See `packing`.
    """
    return len(packing(rectangles, room, spacing))


@dataclass(frozen=True)
class PackedRectangle:
    """A rectangle and its place in a room.

    Attributes
    ----------
    index : int
        In the order in which the rectangles were given.
    corner : (x, y)
        Its low corner, mm from the room's.
    sides : (x, y)
        Its size along x and y, mm: as it was given, or turned by a quarter.
    """

    index: int
    corner: Sides
    sides: Sides


def packing(
    rectangles: Sequence[Sides], room: Sides, spacing: float
) -> tuple[tuple[PackedRectangle, ...], ...]:
    """Put rectangles, each of which fits it, into rooms; sizes in mm.

    The best of several greedy packings (maximal rectangles: J. Jylänki, A Thousand Ways to Pack
    the Bin, 2010); not always the least number of rooms.

    Returns
    -------
    tuple of tuples
        The rectangles in each room.
    """
    if not rectangles:
        return ()
    # With the spacing added to every rectangle and to the room it lies between neighbours only.
    width, depth = (math.floor((side + spacing) * _UNITS + 0.01) for side in room)
    sizes = [
        tuple(math.ceil((side + spacing) * _UNITS - 0.01) for side in each) for each in rectangles
    ]
    least = math.ceil(sum(long * short for long, short in sizes) / (width * depth))
    best: Any = None
    for algorithm in (MaxRectsBssf, MaxRectsBaf):
        for order in (SORT_LSIDE, SORT_AREA, SORT_SSIDE):
            if best is not None and len(best) <= least:
                break
            packer = newPacker(pack_algo=algorithm, sort_algo=order, rotation=True)
            for index, (long, short) in enumerate(sizes):
                packer.add_rect(long, short, index)
            packer.add_bin(width, depth, count=len(sizes))
            packer.pack()
            if len(packer.rect_list()) == len(sizes) and (best is None or len(packer) < len(best)):
                best = packer
    if best is None:  # A room for each is always enough.
        return tuple(
            (PackedRectangle(index, (0.0, 0.0), each),) for index, each in enumerate(rectangles)
        )
    return tuple(tuple(_unpacked(each, sizes, rectangles) for each in room) for room in best)


def _unpacked(
    each: Any, sizes: Sequence[tuple[int, ...]], rectangles: Sequence[Sides]
) -> PackedRectangle:
    """Return what the packer placed in mm, without the spacing."""
    long, short = rectangles[each.rid]
    is_as_given = (each.width, each.height) == sizes[each.rid]
    corner = each.x / _UNITS, each.y / _UNITS
    return PackedRectangle(each.rid, corner, (long, short) if is_as_given else (short, long))


def bed_room(bed: Bed) -> Sides:
    """Return width and depth of a rectangle on which pieces can be set side by side, mm.

    See `bed_rectangle`; 0 where nothing is free.
    """
    (left, front), (right, back) = bed_rectangle(bed)
    return right - left, back - front


def bed_rectangle(bed: Bed) -> tuple[Sides, Sides]:
    """Return low and high corner of a rectangle on which pieces can be set side by side, mm.

    Of a rectangular bed all but the margin, of a round one the square inside the circle. With
    blocked areas, and on other outlines, the largest rectangle along x and y that was found in
    what is free: the largest there is where every edge runs along x or y. Without size where
    nothing is free.
    """
    if bed.kind == "rectangle" and not bed.blocked:
        margin = bed.margin
        return (margin, margin), (bed.width - margin, bed.depth - margin)
    if bed.kind == "circle" and not bed.blocked:
        half = (bed.width / 2 - bed.margin) / math.sqrt(2)
        return (bed.width / 2 - half,) * 2, (bed.width / 2 + half,) * 2
    for low, high in free_rectangles(free_area(bed)):
        return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))
    return (0.0, 0.0), (0.0, 0.0)


def fits_room(sides: Sides, room: Sides) -> bool:
    """Whether a rectangle fits a room, lying along x or y."""
    return max(sides) <= max(room) + TOLERANCE and min(sides) <= min(room) + TOLERANCE
