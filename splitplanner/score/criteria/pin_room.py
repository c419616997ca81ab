"""Seams without room for two dowel pins."""

from __future__ import annotations

import numpy as np

from splitplanner.score.criterion import Numbers, by_numbers


def _no_room(plan: Numbers) -> float:
    if not plan.seams:
        return 0.0
    return float(np.mean([1 - min(row.deep_room.count, 2) / 2 for row in plan.seams]))


PIN_ROOM = by_numbers("seams without room for two pins", "share of seams", 1.0, 0.5, _no_room)
