"""Seams where no screw could be reached by its driver."""

from __future__ import annotations

from splitplanner.score.criterion import Criterion
from splitplanner.score.driver import unreachable_share
from splitplanner.score.figures import Figures


def _out_of_reach(figures: Figures) -> float:
    """Return the share of places that are out of reach on each seam, added up."""
    return sum(
        unreachable_share(row.seam, figures.part, figures.good_side, row.room.positions)
        for row in figures.seams
    )


DRIVER_ACCESS = Criterion(
    "seams out of a driver's reach", "seams", 1.0, 0.0, _out_of_reach, concern="joints"
)
