"""The compiled loops behind `splitplanner.score.seam`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _in_boxes(
    points: Any, order: Any, along: Any, low: Any, high: Any, first: Any, last: Any
) -> tuple[Any, Any]:
    """Find which of the `points` (n, 2) lie in which boxes, from `low` to `high` (b, 2) both in.

    The points in their `order` rise in `along` (n,), where those of each box lie between its
    `first` and `last` (b,).

    Returns
    -------
    place, box : (k,) int arrays
        Of each pair, in the order of boxes.
    """
    used, capacity = 0, 4 * len(points) + 4 * len(low) + 16
    place, box = np.empty(capacity, dtype=np.int64), np.empty(capacity, dtype=np.int64)
    for index in range(len(low)):
        at = np.searchsorted(along, first[index])
        while at < len(along) and along[at] <= last[index]:
            point = order[at]
            at += 1
            u, v = points[point, 0], points[point, 1]
            if not (low[index, 0] <= u <= high[index, 0] and low[index, 1] <= v <= high[index, 1]):
                continue
            if used == capacity:
                capacity *= 2
                longer = np.empty((2, capacity), dtype=np.int64)
                longer[0, :used], longer[1, :used] = place, box
                place, box = longer[0], longer[1]
            place[used], box[used] = point, index
            used += 1
    return place[:used], box[:used]


in_boxes = njit(nogil=True, cache=True)(_in_boxes)
