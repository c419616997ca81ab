"""How much hangs over air, beside the surface of the part."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _overhang(plan: Numbers) -> float:
    return sum(row.overhang.area for row in plan.pieces) / (plan.part.area / 100)


OVERHANG_AREA = by_numbers(
    "overhang area", "mm² per cm² of surface", 10.0, 0.3, _overhang, adds_up=True, concern="support"
)
