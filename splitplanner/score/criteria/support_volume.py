"""How much support is printed, beside the volume of the part."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _support(plan: Numbers) -> float:
    return sum(row.support.volume for row in plan.pieces) / (plan.part.volume / 1000)


SUPPORT_VOLUME = by_numbers(
    "support volume", "mm³ per cm³ of part", 1000.0, 0.5, _support, adds_up=True, concern="support"
)
