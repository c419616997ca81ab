"""How far pieces are too large for the bed."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _too_large(plan: Numbers) -> float:
    return float(sum(max(0.0, 1.0 - row.fit.spare) for row in plan.pieces))


TOO_LARGE = by_numbers(
    "too large for the bed", "share", 0.01, 10.0, _too_large, adds_up=True, concern="bed fit"
)
