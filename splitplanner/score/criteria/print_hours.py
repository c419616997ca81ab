"""How long all pieces take to print."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers
from splitplanner.score.print_time import print_time


def _hours(plan: Numbers) -> float:
    return sum(
        print_time(row.volume, row.area, row.fit.height, row.support.volume, plan.printer).hours
        for row in plan.pieces
    )


PRINT_HOURS = by_numbers("print time", "h", 24.0, 0.0, _hours, adds_up=True, concern="print time")
