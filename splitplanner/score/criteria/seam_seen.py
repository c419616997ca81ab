"""How long the seams are on the good side."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _seen(plan: Numbers) -> float:
    return sum(row.figures.seen_length for row in plan.seams) / plan.part.size


SEAM_SEEN = by_numbers(
    "seam seen", "mm per mm of the part's diagonal", 1.0, 0.3, _seen, adds_up=True
)
