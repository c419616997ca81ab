"""Seams without room for two dowel pins."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _no_room(plan: Numbers) -> float:
    return float(sum(1 - min(row.deep_room.count, 2) / 2 for row in plan.seams))


PIN_ROOM = by_numbers(
    "seams without room for two pins", "seams", 1.0, 0.15, _no_room, adds_up=True, concern="joints"
)
