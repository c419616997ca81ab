"""Pieces that hardly touch the bed."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers

LEAST_CONTACT = 25.0
"""Bed contact below this holds no print, mm²: a 5 mm square (common practice, no source)."""


def _afloat(plan: Numbers) -> float:
    return float(sum(row.overhang.contact_area < LEAST_CONTACT for row in plan.pieces))


BED_HOLD = by_numbers(
    "hardly touching the bed", "pieces", 1.0, 0.25, _afloat, adds_up=True, concern="hold on the bed"
)
