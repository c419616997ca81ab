"""How many pieces a plan has."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _count(plan: Numbers) -> float:
    return float(len(plan.pieces))


PIECE_COUNT = by_numbers("pieces", "pieces", 1.0, 0.25, _count, adds_up=True)
