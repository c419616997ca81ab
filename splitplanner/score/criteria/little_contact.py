"""How little of its plan a piece has on the bed: such prints lift at their edges and tip over.

Contact is set beside the convex outline of the plan, not beside the shadow: a print tips over the
edge of its outline, and what lies between its feet holds nothing. The mean over the pieces; 0 for
a box on its base, 1 for a ball. Supports hold a piece too, but are not counted.
"""

from __future__ import annotations

import numpy as np

from splitplanner.score.criterion import Numbers, PieceNumbers, by_numbers


def _unheld(row: PieceNumbers) -> float:
    return max(0.0, 1.0 - row.overhang.contact_area / row.fit.outline_area)


def _little(plan: Numbers) -> float:
    found = [_unheld(row) for row in plan.pieces]
    return float(np.mean(found)) if found else 0.0


LITTLE_CONTACT = by_numbers(
    "plan without bed contact", "share of outline", 1.0, 0.0, _little, concern="hold on the bed"
)
