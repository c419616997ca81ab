"""Points and line segments against the walls of a block."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.suggest.estimate.compiled import compiled


def within(points: Floats, walls: Floats, slack: float = 1e-7) -> Ints:
    """Return which of `points` (n, 3) mm are on the kept side of every wall, as indices.

    Parameters
    ----------
    points : (n, 3) float array, mm
    walls : (w, 4) float array
        Normals and distances, which keep n · p >= d.
    slack : float, mm
    """
    kernels = compiled()

    kept = np.empty(len(points), dtype=np.int64)
    return kept[: kernels.keep_points(points, walls, slack, kept)]


def clipped(segments: Floats, walls: Floats, skip: int = -1) -> tuple[Floats, Ints]:
    """Clip line segments to the kept side of all walls.

    Parameters
    ----------
    segments : (k, 2, 3) float array, mm
    walls : (w, 4) float array
    skip : int
        A wall that does not count.

    Returns
    -------
    (j, 2, 3) float array, mm
    (j,) int array
        Which segment each was.
    """
    kernels = compiled()

    found, owners = np.empty_like(segments), np.empty(len(segments), dtype=np.int64)
    count = kernels.clip(segments, walls, skip, found, owners)
    return found[:count], owners[:count]
