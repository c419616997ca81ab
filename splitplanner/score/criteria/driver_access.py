"""Seams where no screw could be reached by its driver."""

from __future__ import annotations

import numpy as np

from splitplanner.score.criterion import Criterion
from splitplanner.score.driver import unreachable_share
from splitplanner.score.figures import Figures


def _out_of_reach(figures: Figures) -> float:
    if not figures.seams:
        return 0.0
    return float(
        np.mean(
            [
                unreachable_share(row.seam, figures.part, figures.good_side, row.room.positions)
                for row in figures.seams
            ]
        )
    )


DRIVER_ACCESS = Criterion(
    "screws out of a driver's reach", "share of places", 1.0, 0.0, _out_of_reach
)
