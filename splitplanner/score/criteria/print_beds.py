"""How many beds have to be filled, with several pieces on one where there is room."""

from __future__ import annotations

from splitplanner.score.bed_sharing import bed_count
from splitplanner.score.criterion import Numbers, by_numbers


def _beds(plan: Numbers) -> float:
    return float(bed_count([row.fit for row in plan.pieces], plan.printer.bed))


PRINT_BEDS = by_numbers("print beds", "beds", 1.0, 0.0, _beds, concern="print time")
