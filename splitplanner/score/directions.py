"""Candidate print directions of a piece: which ways up are worth measuring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats, unit_vector
from splitplanner.plan import Vector
from splitplanner.solid import Solid, principal_axes

_SAME = float(np.cos(np.radians(1.0)))
_LARGE_FACE = 0.05
_SMALL_FACE = 1e-4


def print_directions(solid: Solid, extra: Sequence[Vector] | Floats = (), most: int = 40) -> Floats:
    """Return candidate print directions of a piece.

    In this order, each at least 1° from all before it: away from the hull's large faces (5 % of
    its area and more, so the piece can lie on them), largest first; the directions of `extra`;
    the axes of the part's frame; the principal axes; the axes of the tightest box; the hull's
    smaller faces, largest first. All but the faces in both senses.

    Parameters
    ----------
    solid : Solid
    extra : sequence of (x, y, z)
        Such as the normals of the piece's seams.
    most : int
        Greatest number of directions.

    Returns
    -------
    (n, 3) float array
        Unit vectors, 1 <= n <= most; the same for the same piece.

    Raises
    ------
    ValueError
        If `most` is less than 1 or a direction in `extra` has no length.
    """
    if most < 1:
        raise ValueError(f"at least one print direction must be asked for, got {most}")
    hull = solid.hull
    ups, shares = _resting(hull)
    large = shares >= _LARGE_FACE
    wanted = np.concatenate(
        [
            ups[large],
            _both_senses([unit_vector(direction) for direction in extra]),
            _both_senses(np.eye(3)[::-1]),
            _both_senses(principal_axes(solid)[::-1]),
            _both_senses(solid.box_axes[::-1]),
            ups[~large],
        ]
    )
    return frozen_floats(_distinct(wanted, most))


def _resting(hull: Solid) -> tuple[Floats, Floats]:
    """Return the directions away from the flat faces of `hull` and their share of its area.

    Faces within 1° of a larger one count with it.
    """
    # One whole number for a normal rounded to 1e-5: far faster to sort than rows of three.
    x, y, z = (np.rint(hull.face_normals * 1e5).astype(np.int64) + 100_001).T
    _, member = np.unique((x * 200_003 + y) * 200_003 + z, return_inverse=True)
    weights = hull.face_normals * hull.face_areas[:, None]
    vectors = np.stack([np.bincount(member, weights=column) for column in weights.T], 1)
    areas = np.linalg.norm(vectors, axis=1)
    usable = areas > _SMALL_FACE * hull.area
    areas = areas[usable]
    normals = vectors[usable] / areas[:, None]
    order = np.lexsort((*np.round(normals, 9).T, -np.round(areas / hull.area, 7)))
    normals, areas = normals[order], areas[order]
    leaders = np.empty_like(normals)
    shares: list[float] = []
    for normal, area in zip(normals, areas.tolist(), strict=True):
        near = leaders[: len(shares)] @ normal > _SAME
        if near.any():
            shares[int(near.argmax())] += area
        else:
            leaders[len(shares)] = normal
            shares.append(area)
    share = np.array(shares) / hull.area
    ranks = np.argsort(-np.round(share, 6), kind="stable")
    return -leaders[: len(shares)][ranks] + 0.0, share[ranks]


def _both_senses(axes: Iterable[ArrayLike]) -> Floats:
    """Return each of `axes` (n, 3) and its opposite, (2 n, 3)."""
    rows = np.array(list(axes), dtype=np.float64).reshape(-1, 3)
    return np.stack([rows, -rows], axis=1).reshape(-1, 3) + 0.0


def _distinct(directions: Floats, most: int) -> Floats:
    """Return the first `most` directions that are 1° or more from all before them."""
    kept, count = np.empty((most, 3)), 0
    for direction in directions:
        if count == most:
            break
        if not (kept[:count] @ direction > _SAME).any():
            kept[count] = direction
            count += 1
    return kept[:count]
