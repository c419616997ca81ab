"""Where the print directions that are ranked come from: many all round, and finer ones later."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum

import numpy as np

from splitplanner.arrays import Floats, frozen_floats, unit_vector
from splitplanner.plan import Vector
from splitplanner.score.directions import print_directions
from splitplanner.score.leaning import leaning_directions
from splitplanner.solid import Solid, fibonacci_sphere, principal_axes
from splitplanner.workshop import Bed

SAME = float(np.cos(np.radians(1.0)))
"""Directions nearer than 1° to each other are the same."""
_STEPS = (6.0, 3.0, 1.5, 0.75)
"""By so many degrees a direction is turned in search of a better one."""
_TURNS = 8
_LEANING = 0.25
"""No more than this share of the directions lean."""


class Origin(StrEnum):
    """Why a print direction was looked at."""

    SEAM = "square to a seam"
    AXIS = "axis of the part"
    PRINCIPAL = "principal axis"
    BOX = "side of the tightest box"
    FACE = "on a face of the hull"
    LEANING = "leaning"
    FREE = "all round"
    FINER = "found nearby"
    GIVEN = "asked for"


def ways_up(
    solid: Solid, seams: Sequence[Vector], bed: Bed, most: int
) -> tuple[Floats, tuple[Origin, ...]]:
    """Return print directions of a piece to look at, and where they come from.

    Those of `splitplanner.score.print_directions` first, then tilts in which a piece that is too
    long leans, then directions spread evenly all round. These are mirrored in the planes of the
    principal axes: a piece with a plane of symmetry has one of these square to it, and so with
    each direction its mirror image.

    Parameters
    ----------
    solid : Solid
        The piece.
    seams : sequence of (x, y, z)
        Normals of its seams; either sense is tried.
    bed : Bed
    most : int
        How many directions.

    Returns
    -------
    ups : (k, 3) float array
        Unit vectors, no two the same, k <= most.
    origins : tuple of Origin

    Raises
    ------
    ValueError
        If `most` is less than 1 or a seam's normal has no length.
    """
    # Small faces of a hull that is round may be more than there is room for.
    usual = print_directions(solid, seams, most - most // 3)
    leaning = leaning_directions(solid, bed)
    leaning = leaning[:: max(1, int(np.ceil(len(leaning) / max(1.0, _LEANING * most))))]
    groups = [usual, leaning, _all_round(solid, most - len(usual))]
    ups: list[Floats] = []
    origins: list[Origin] = []
    known = _known(solid, seams)
    for directions, kind in zip(groups, (None, Origin.LEANING, Origin.FREE), strict=True):
        before = np.array(ups).reshape(-1, 3)
        for up in directions[(directions @ before.T <= SAME).all(axis=1) | (kind is None)]:
            if len(ups) < most:
                ups.append(up)
                origins.append(kind or _origin(known, up))
    return frozen_floats(np.array(ups)), tuple(origins)


def _known(solid: Solid, seams: Sequence[Vector]) -> list[tuple[Floats, Origin]]:
    """Return the axes (k, 3) that a maker knows, the best known first."""
    normals = np.array([unit_vector(seam) for seam in seams]).reshape(-1, 3)
    return [
        (normals, Origin.SEAM),
        (np.eye(3), Origin.AXIS),
        (solid.box_axes, Origin.BOX),
        (principal_axes(solid), Origin.PRINCIPAL),
    ]


def _origin(known: Sequence[tuple[Floats, Origin]], up: Floats) -> Origin:
    """Return where one of the usual directions comes from."""
    kinds = (kind for axes, kind in known if (np.abs(axes @ up) > SAME).any())
    return next(kinds, Origin.FACE)


def _all_round(solid: Solid, count: int) -> Floats:
    """Return about `count` directions spread evenly, mirrored in planes of principal axes."""
    if count < 1:
        return np.empty((0, 3))
    points = fibonacci_sphere(count)
    corner = points[(points > 0.0).all(axis=1)]
    signs = np.array([(x, y, z) for z in (1, -1) for y in (1, -1) for x in (1, -1)])
    every = (corner[:, None] * signs).reshape(-1, 3)
    directions: Floats = every @ principal_axes(solid)
    return directions


def finer(starts: Floats, axes: Floats, price: Callable[[Floats], Floats], first: Floats) -> Floats:
    """Turn directions by ever smaller steps, as long as they get cheaper (pattern search).

    Each is turned towards and away from the three `axes`, so that a start and its mirror image in
    two of these go the same way.

    Parameters
    ----------
    starts : (k, 3) float array
        Unit vectors.
    axes : (3, 3) float array
        Rows, unit vectors.
    price : function of (n, 3) directions
        Returns (n,).
    first : (k,) float array
        The prices of `starts`.

    Returns
    -------
    (k, 3) float array
        Unit vectors.
    """
    ups, prices = np.array(starts), np.array(first)
    level = np.zeros(len(ups), dtype=np.int64)
    for _ in range(_TURNS):
        moving = np.flatnonzero(level < len(_STEPS))
        if not len(moving):
            break
        steps = np.radians(np.array(_STEPS)[level[moving]])
        tried = [_turned(ups[at], axes, step) for at, step in zip(moving, steps, strict=True)]
        found = np.split(price(np.concatenate(tried)), np.cumsum([len(t) for t in tried])[:-1])
        for at, options, costs in zip(moving, tried, found, strict=True):
            best = int(np.argmin(np.round(costs, 9)))
            if costs[best] < prices[at] - 1e-9:
                ups[at], prices[at] = options[best], costs[best]
            else:
                level[at] += 1
    return ups


def _turned(up: Floats, axes: Floats, step: float) -> Floats:
    """Return `up` turned by `step` (radians) towards and away from each axis that is not it."""
    across = axes - np.outer(axes @ up, up)
    lengths = np.linalg.norm(across, axis=1)
    across = across[lengths > 0.05] / lengths[lengths > 0.05, None]
    tilted = np.cos(step) * up + np.sin(step) * np.concatenate([across, -across])
    turned: Floats = tilted / np.linalg.norm(tilted, axis=1)[:, None]
    return turned
