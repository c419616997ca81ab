"""Pieces that fill the bed to its edge, where a first layer is at its worst."""

from __future__ import annotations

import numpy as np

from splitplanner.score.criterion import Numbers, by_numbers


def _tight(plan: Numbers) -> float:
    return float(np.mean([float(row.fit.spare < 1.01) for row in plan.pieces]))


TIGHT_FIT = by_numbers("tight fit", "share of pieces", 1.0, 0.1, _tight)
