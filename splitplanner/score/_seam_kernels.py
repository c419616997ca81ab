"""The compiled loops behind `splitplanner.score.seam`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _longer(values: Any, capacity: int) -> Any:
    result = np.empty(capacity, dtype=values.dtype)
    # Slices take the compiler seconds.
    for index in range(len(values)):
        result[index] = values[index]
    return result


_longer = njit(nogil=True, cache=True)(_longer)


def _in_boxes(
    points: Any, order: Any, low: Any, high: Any, first: Any, last: Any
) -> tuple[Any, Any]:
    """Find which of the `points` (n, 2) lie in which boxes, from `low` to `high` (b, 2) both in.

    Those of box b can only be among ``points[order[first[b] : last[b]]]``.

    Returns
    -------
    place, box : (k,) int arrays
        Of each pair, in the order of boxes.
    """
    used, capacity = 0, 4 * len(points) + 4 * len(low) + 16
    place, box = np.empty(capacity, dtype=np.int64), np.empty(capacity, dtype=np.int64)
    for index in range(len(low)):
        for point in order[first[index] : last[index]]:
            u, v = points[point, 0], points[point, 1]
            if not (low[index, 0] <= u <= high[index, 0] and low[index, 1] <= v <= high[index, 1]):
                continue
            if used == capacity:
                capacity *= 2
                place, box = _longer(place, capacity), _longer(box, capacity)
            place[used], box[used] = point, index
            used += 1
    return place[:used], box[:used]


in_boxes = njit(nogil=True, cache=True)(_in_boxes)
