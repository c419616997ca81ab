"""How far the pieces are from being of one size."""

from __future__ import annotations

import numpy as np

from splitplanner.score.criterion import Numbers, by_numbers


def _spread(plan: Numbers) -> float:
    """Return the coefficient of variation: standard deviation over mean; 0 without pieces."""
    volumes = np.array([row.volume for row in plan.pieces])
    return float(volumes.std() / volumes.mean()) if len(volumes) else 0.0


# 0.5: of two pieces one is three times as large as the other.
UNEVEN_VOLUMES = by_numbers("uneven pieces", "deviation / mean volume", 0.5, 0.0, _spread)
