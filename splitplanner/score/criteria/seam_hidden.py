"""How long the seams are where nobody looks."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _hidden(plan: Numbers) -> float:
    return sum(row.figures.hidden_length for row in plan.seams) / plan.part.size


SEAM_HIDDEN = by_numbers(
    "seam hidden", "mm per mm of the part's diagonal", 1.0, 0.1, _hidden, adds_up=True
)
