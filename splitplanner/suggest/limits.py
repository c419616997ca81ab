"""Beyond what number of pieces the planner does not start to search."""

from __future__ import annotations

import math

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import NoProposalError
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.box_sizes import box_counts
from splitplanner.workshop import Bed

MOST_PIECES = 60
"""More pieces than this are not planned: a maker would not join them, and the search would take
hours. Mostly the model was read in the wrong unit."""

_GRIDS = 3
"""In so many ways a grid is laid through the part, those of fewest boxes first."""


def boxes_needed(part: Solid, bed: Bed, most: int = MOST_PIECES) -> int:
    """Return how many boxes of a grid of the bed's size hold some of the part, at least.

    The least number over several ways to lay the grid. Counting ends beyond `most`, so that a
    larger result says no more than that there are more than `most`.
    """
    frames = (part.box_axes, np.eye(3))
    grids = {
        (math.prod(counts), counts, index)
        for index, frame in enumerate(frames)
        for counts in box_counts(np.ptp(part.hull.vertices @ frame.T, axis=0), bed)
    }
    least = most + 1
    for boxes, counts, index in sorted(grids)[:_GRIDS]:
        if boxes <= 1:
            return boxes
        least = min(least, _boxes_filled(part, frames[index], counts, least))
    return least


def _boxes_round(part: Solid, bed: Bed) -> int:
    """Return how many boxes of the bed's size the part's bounding box divides into."""
    return min(math.prod(counts) for counts in box_counts(part.extents, bed))


def _boxes_filled(part: Solid, frame: Floats, counts: tuple[int, int, int], most: int) -> int:
    """Return how many boxes of a grid hold some of `part`; beyond `most` counting ends."""
    slabs = [part]
    for axis, count in zip(frame, counts, strict=True):
        heights = part.hull.vertices @ axis
        edges = np.linspace(float(heights.min()), float(heights.max()), count + 1)[1:-1]
        slabs = [slab for solid in slabs for slab in _slabs(solid, axis, edges, most)]
        if len(slabs) > most:
            return len(slabs)
    return len(slabs)


def _slabs(solid: Solid, axis: Floats, edges: Floats, most: int) -> list[Solid]:
    """Return what lies between planes square to `axis` at the offsets `edges`, if anything."""
    found: list[Solid] = []
    rest: Solid | None = solid
    for edge in edges:
        if rest is None or len(found) > most:
            break
        below, rest = rest.split(Plane.through(axis * edge, axis))
        if below is not None:
            found.append(below)
    return found if rest is None else [*found, rest]


def refuse_too_many(part: Solid, bed: Bed, bound: int) -> None:
    """Raise if the part is out of proportion to the bed.

    Parameters
    ----------
    part : Solid
    bed : Bed
    bound : int
        Number of pieces that no plan can go below.

    Raises
    ------
    NoProposalError
        If more than `MOST_PIECES` pieces are sure to be needed, or a grid of the bed's size divides
        the part into more than that.
    """
    if bound > MOST_PIECES:
        many = f"{bound}" if bound <= 1000 else "over 1000"
        fact = f"needs {'at least ' if bound <= 1000 else ''}{many} pieces on this bed"
    elif _boxes_round(part, bed) > MOST_PIECES and boxes_needed(part, bed) > MOST_PIECES:
        fact = f"fills over {MOST_PIECES} boxes of the size of this bed"
    else:
        return
    size = " x ".join(f"{extent:.0f}" for extent in part.extents)
    raise NoProposalError(
        f"The part ({size} mm) {fact} ({bed} mm), and no more than {MOST_PIECES} pieces are "
        "planned; check the unit of the model, or use a larger bed."
    )
