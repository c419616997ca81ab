"""Pieces that fill the bed to its edge, where a first layer is at its worst."""

from __future__ import annotations

from splitplanner.score.criterion import Numbers, by_numbers


def _tight(plan: Numbers) -> float:
    return float(sum(row.fit.spare < 1.01 for row in plan.pieces))


TIGHT_FIT = by_numbers("tight fit", "pieces", 1.0, 0.05, _tight, adds_up=True, concern="bed fit")
