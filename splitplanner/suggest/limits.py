"""Beyond what number of pieces the planner does not start to search."""

from __future__ import annotations

import math

import numpy as np

from splitplanner.errors import NoProposalError
from splitplanner.solid import Solid, tightest_box_axes
from splitplanner.suggest.layouts import box_counts
from splitplanner.workshop import Bed

MOST_PIECES = 60
"""More pieces than this are not planned: a maker would not join them, and the search would take
hours. Mostly the model was read in the wrong unit."""


def boxes_needed(part: Solid, bed: Bed) -> int:
    """Return into how many boxes of the bed's size the tightest box round the part divides."""
    frames = (tightest_box_axes(part), np.eye(3))
    spans = [np.ptp(part.hull.vertices @ frame.T, axis=0) for frame in frames]
    return min(math.prod(counts) for span in spans for counts in box_counts(span, bed))


def refuse_too_many(part: Solid, bed: Bed) -> None:
    """Raise if the part is out of proportion to the bed.

    Raises
    ------
    NoProposalError
        If more than `MOST_PIECES` boxes of the bed's size are needed to hold it.
    """
    boxes = boxes_needed(part, bed)
    if boxes > MOST_PIECES:
        size = " x ".join(f"{extent:.0f}" for extent in part.extents)
        about = f"about {boxes}" if boxes <= 1000 else "over 1000"
        raise NoProposalError(
            f"The part ({size} mm) would need {about} pieces on this bed ({bed} mm), and no "
            f"more than {MOST_PIECES} are planned; check the unit of the model, or use a larger "
            "bed."
        )
