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


def area_within(triangles: Floats, walls: Floats, slack: float = 1e-7) -> float:
    """Return how much of some triangles is on the kept side of every wall, mm².

    Of triangles that lie in a wall those count that face out of the kept side.

    Parameters
    ----------
    triangles : (m, 3, 3) float array, mm
        Corners, counter-clockwise from outside.
    walls : (w, 4) float array
    slack : float, mm
        Corners this near to a wall lie in it.
    """
    for wall in walls:
        heights = triangles @ wall[:3] - wall[3]
        heights[np.abs(heights) <= slack] = 0.0
        lowest, highest = heights.min(axis=1), heights.max(axis=1)
        inside = (lowest >= 0.0) & (highest > 0.0)
        flat = np.flatnonzero((lowest == 0.0) & (highest == 0.0))
        inside[flat] = _doubled(triangles[flat]) @ wall[:3] < 0.0
        through = np.flatnonzero((lowest < 0.0) & (highest > 0.0))
        triangles = np.concatenate(
            [triangles[inside], _upper(triangles[through], heights[through])]
        )
    return float(0.5 * np.linalg.norm(_doubled(triangles), axis=1).sum())


def _doubled(triangles: Floats) -> Floats:
    """Return the normals (m, 3) of triangles, twice as long as these are large."""
    sides = triangles[:, 1:] - triangles[:, :1]
    return np.cross(sides[:, 0], sides[:, 1])


def _upper(triangles: Floats, heights: Floats) -> Floats:
    """Return what is above height 0 of triangles (m, 3, 3) that pass through it, as triangles."""
    above = heights > 0.0
    one = above.sum(axis=1) == 1
    # The corner that is alone on its side comes first.
    lone = np.argmax(above == one[:, None], axis=1)
    turn = (lone[:, None] + np.arange(3)) % 3
    height = np.take_along_axis(heights, turn, axis=1)
    corners = np.take_along_axis(triangles, turn[:, :, None], axis=1)
    share = height[:, :1] / (height[:, :1] - height[:, 1:])
    ends = corners[:, :1] + share[:, :, None] * (corners[:, 1:] - corners[:, :1])
    tips = np.stack([corners[one, 0], ends[one, 0], ends[one, 1]], axis=1)
    rest, at = corners[~one], ends[~one]
    halves = np.stack([at[:, 0], rest[:, 1], rest[:, 2]], axis=1)
    others = np.stack([at[:, 0], rest[:, 2], at[:, 1]], axis=1)
    return np.concatenate([tips, halves, others])
