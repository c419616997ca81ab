"""Tall thin prints, which wobble under the nozzle."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers

MOST_SLENDER = 4.0
"""Prints up to so many times as tall as the smaller side of their plan stand firm (common
practice, no source)."""


def _slender(plan: Numbers) -> float:
    return sum(max(0.0, row.fit.height / row.fit.sides[1] - MOST_SLENDER) for row in plan.pieces)


# A piece that is twice as slender as it should be counts as 1.
SLENDERNESS = by_numbers(
    "slender prints",
    f"height / width above {MOST_SLENDER:g}",
    MOST_SLENDER,
    0.0,
    _slender,
    adds_up=True,
    concern="hold on the bed",
)
