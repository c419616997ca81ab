"""Candidate print directions of a piece: which ways up are worth measuring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats, unit_vector
from splitplanner.plan import Vector
from splitplanner.score.bed_fit import bed_fit
from splitplanner.score.plan_fit import convex_outline, rectangle_fit, sizes
from splitplanner.solid import Solid, frame_of
from splitplanner.workshop import Bed

_SAME = float(np.cos(np.radians(1.0)))
_LARGE_FACE = 0.05
_SMALL_FACE = 1e-4
_BOX_TRIALS = 12
_ELEVATIONS = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)


def print_directions(solid: Solid, extra: Sequence[Vector] | Floats = (), most: int = 40) -> Floats:
    """Return candidate print directions of a piece.

    In this order, each at least 1° from all before it: away from the hull's large faces (5 % of
    its area and more, so the piece can lie on them), largest first; the directions of `extra`;
    the axes of the part's frame; the principal axes of inertia; the axes of the smallest box
    among those that lie on a hull face; the hull's smaller faces, largest first. All but the
    faces in both senses.

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
            _both_senses(principal_axes(solid)),
            _both_senses(_box_axes(hull, ups)),
            ups[~large],
        ]
    )
    return frozen_floats(_distinct(wanted, most))


def diagonal_directions(solid: Solid, bed: Bed, most: int = 16) -> Floats:
    """Return tilts that lean a long or wide piece across the bed, those that fit best first.

    For a piece longer than the sides of the bed. Its long axis is raised from the bed by steps of
    10°, along the bed's space diagonal and along the diagonals of its upright sides, and the
    piece is rolled about that axis by steps of 45°. Printed so it stands on an edge or a corner
    and needs support all along; such directions rank last, for pieces nothing else is found for.

    Parameters
    ----------
    solid : Solid
    bed : Bed
    most : int
        Greatest number of directions.

    Returns
    -------
    (n, 3) float array
        Unit vectors; none when the box of the piece is no longer than the shortest side of the
        bed. Whether the piece fits is for `bed_fit` to say.
    """
    hull = solid.hull
    box = _box_axes(hull, _resting(hull)[0])
    lengths = np.ptp(hull.vertices @ box.T, axis=0)
    room = np.array([bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin])
    if lengths.max() <= min(float(room.min()), bed.height):
        return frozen_floats(np.empty((0, 3)))
    order = np.argsort(-np.round(lengths, 6), kind="stable")
    long, wide, thin = box[order]
    flat = float(np.hypot(*room)) if bed.kind == "rectangle" else float(room.max())
    diagonals = [np.degrees(np.arctan2(bed.height, side)) for side in (flat, *room)]
    wanted = []
    for elevation in np.radians([*diagonals, *_ELEVATIONS]):
        for roll in np.radians(np.arange(0.0, 360.0, 45.0)):
            across = np.cos(roll) * thin + np.sin(roll) * wide
            wanted.append(np.cos(elevation) * across + np.sin(elevation) * long)
    tilts = _distinct(np.concatenate([wanted, -np.array(wanted)]), 2 * len(wanted))
    # Ranked on the plain bed: blocked areas and odd outlines are for the exact fit afterwards.
    plain = Bed.circle(bed.width, bed.height, bed.margin)
    if bed.kind != "circle":
        plain = Bed.rectangle(bed.width, bed.depth, bed.height, bed.margin)
    spare = np.array([bed_fit(hull.vertices, up, plain).spare for up in tilts])
    best = np.argsort(-np.round(spare, 6), kind="stable")[:most]
    return frozen_floats(tilts[best])


def principal_axes(solid: Solid) -> Floats:
    """Return the axes (n, 3) of least to greatest spread of volume, n = 3, 1 or 0.

    Axes that are not unique (of a cube; across a round bar) are left out. Second moments by
    signed tetrahedra: for corners 0, a, b, c of volume V the integral of x xᵀ is
    V/20 (a aᵀ + b bᵀ + c cᵀ + s sᵀ) with s = a + b + c (Blow & Binstock, "How to find the
    inertia tensor of a 3D solid body", 2004; from memory).
    """
    corners = solid.vertices[solid.faces] - solid.centroid
    six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    sums = corners.sum(axis=1)
    spread = np.einsum("i,ikx,iky->xy", six, corners, corners)
    spread = (spread + np.einsum("i,ix,iy->xy", six, sums, sums)) / 120.0
    values, vectors = np.linalg.eigh(spread)
    apart = np.diff(values) > 1e-3 * values[-1]
    unique = np.append(apart, True) & np.insert(apart, 0, True)
    axes = vectors.T[unique]
    heaviest = np.argmax(np.round(np.abs(axes), 9), axis=1)
    signs = np.sign(axes[np.arange(len(axes)), heaviest])
    result: Floats = axes * signs[:, None]
    return result


def _resting(hull: Solid) -> tuple[Floats, Floats]:
    """Return the directions away from the flat faces of `hull` and their share of its area.

    Faces within 1° of a larger one count with it.
    """
    keys = np.round(hull.face_normals, 5) + 0.0
    _, member = np.unique(keys, axis=0, return_inverse=True)
    weights = hull.face_normals * hull.face_areas[:, None]
    vectors = np.stack([np.bincount(member.ravel(), weights=column) for column in weights.T], 1)
    areas = np.linalg.norm(vectors, axis=1)
    usable = areas > _SMALL_FACE * hull.area
    areas = areas[usable]
    normals = vectors[usable] / areas[:, None]
    order = np.lexsort((*np.round(normals, 9).T, -np.round(areas / hull.area, 7)))
    normals, areas = normals[order], areas[order]
    leaders: list[int] = []
    shares: list[float] = []
    for index, normal in enumerate(normals):
        near = normals[leaders] @ normal > _SAME if leaders else np.zeros(0, dtype=bool)
        if near.any():
            shares[int(near.argmax())] += float(areas[index])
        else:
            leaders.append(index)
            shares.append(float(areas[index]))
    share = np.array(shares) / hull.area
    ranks = np.argsort(-np.round(share, 6), kind="stable")
    return -normals[leaders][ranks] + 0.0, share[ranks]


def _box_axes(hull: Solid, ups: Floats) -> Floats:
    """Return the axes (3, 3) of the smallest box round `hull` that lies on a large face of it.

    An approximation of the smallest box of all, which need only touch edges (O'Rourke, Int. J.
    Comput. Inf. Sci. 14 (1985) 183).
    """
    best: tuple[float, Floats] | None = None
    for up in np.concatenate([np.eye(3), ups[:_BOX_TRIALS]]):
        frame = frame_of(up)
        upright = hull.vertices @ frame.T
        outline = convex_outline(upright[:, :2])
        yaw = rectangle_fit(outline, 1.0, 1.0).square
        width, depth = sizes(outline, yaw)
        volume = width * depth * float(np.ptp(upright[:, 2]))
        if best is None or volume < best[0] * (1.0 - 1e-6):
            angle = np.radians(yaw)
            c, s = np.cos(angle), np.sin(angle)
            turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
            best = (volume, turn @ frame)
    assert best is not None
    return best[1]


def _both_senses(axes: Iterable[ArrayLike]) -> Floats:
    """Return each of `axes` (n, 3) and its opposite, (2 n, 3)."""
    rows = np.array(list(axes), dtype=np.float64).reshape(-1, 3)
    return np.stack([rows, -rows], axis=1).reshape(-1, 3) + 0.0


def _distinct(directions: Floats, most: int) -> Floats:
    """Return the first `most` directions that are 1° or more from all before them."""
    kept = np.empty((0, 3))
    for direction in directions:
        if len(kept) == most:
            break
        if not (kept @ direction > _SAME).any():
            kept = np.vstack([kept, direction])
    return kept
