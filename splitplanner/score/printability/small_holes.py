"""Round holes that are too small to be printed open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.plan import Vector
from splitplanner.solid import Solid

LEAST_LINES = 4.0
"""A hole narrower than so many lines comes out uneven or closed, upright or lying (common practice,
no source)."""
_SMOOTH = 50.0
"""Faces that bend towards each other by no more than this are of one hole, degrees: it may have
eight sides."""
_FLAT = 0.1
_ROUND = 0.3
"""Normals of a hole cancel each other but for this share."""
_ALONG = 0.02
"""Sine of how far a side of a hole may lean to its axis."""
_OFF = 0.05
"""Faces are as far from the axis as the radius, but for this share of it."""
_GAP = 100.0
"""No wider part of the way round may be missing, degrees; a pointed roof leaves 90."""


@dataclass(frozen=True)
class RoundHole:
    """A round hole, through or blind.

    Attributes
    ----------
    at : (x, y, z)
        In the middle of its axis, mm.
    axis : (x, y, z)
        Unit vector.
    diameter : float
        Of the largest bar that goes into it, mm.
    depth : float
        mm.
    """

    at: Vector
    axis: Vector
    diameter: float
    depth: float


def round_holes(solid: Solid, most: float) -> tuple[RoundHole, ...]:
    """Return the round holes of a solid that are no wider than `most` (mm), the narrowest first.

    A hole is a band of faces that bend towards each other all round, whose planes are all as far
    from one axis. Grooves, fillets and slots are none.
    """
    count, group = _bands(solid)
    areas, normals = solid.face_areas, solid.face_normals
    total = np.bincount(group, weights=areas, minlength=count)
    sums = [np.bincount(group, weights=areas * normals[:, k], minlength=count) for k in range(3)]
    size = np.bincount(group, minlength=count)
    lopsided = np.linalg.norm(sums, axis=0) / np.maximum(total, 1e-300)
    order = np.argsort(group, kind="stable")
    ends = np.cumsum(size)
    found = []
    for index in np.flatnonzero((size >= 6) & (lopsided < _ROUND) & (total > 0.0)):
        hole = _hole(solid, order[ends[index] - size[index] : ends[index]], most)
        if hole is not None:
            found.append(hole)
    return tuple(sorted(found, key=lambda hole: (hole.diameter, hole.at)))


def _bands(solid: Solid) -> tuple[int, Ints]:
    """Return how many groups of faces there are that bend inward or not at all, and each face's."""
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    number = len(solid.faces)
    face, beyond = np.repeat(np.arange(number), 3), solid.neighbours.ravel()
    cosine = np.einsum("ij,ij->i", solid.face_normals[face], solid.face_normals[beyond])
    towards = solid.face_centroids[beyond] - solid.face_centroids[face]
    inward = np.einsum("ij,ij->i", towards, solid.face_normals[face]) > 0.0
    joined: Bools = (cosine >= np.cos(np.radians(_FLAT))) | (
        inward & (cosine >= np.cos(np.radians(_SMOOTH)))
    )
    links = coo_array(
        (np.ones(int(joined.sum())), (face[joined], beyond[joined])), shape=(number, number)
    )
    count, group = connected_components(links, directed=False)
    return int(count), group.astype(np.int64)


def _hole(solid: Solid, faces: Ints, most: float) -> RoundHole | None:
    normals, areas = solid.face_normals[faces], solid.face_areas[faces]
    _, axes = np.linalg.eigh((normals * areas[:, None]).T @ normals)
    # What rounds off its bottom is left out: the axis has most of the faces along it.
    side = np.abs(normals @ axes) <= _ALONG
    best = int((areas @ side).argmax())
    axis, flat, side = axes[:, best], np.delete(axes, best, axis=1), side[:, best]
    faces, normals, areas = faces[side], normals[side], areas[side]
    if len(faces) < 6:
        return None
    # The faces look at the axis: (centre - point) . normal is the radius for each of them.
    looks, points = normals @ flat, solid.face_centroids[faces] @ flat
    weights = np.sqrt(areas / areas.sum())[:, None]
    known = np.einsum("ij,ij->i", looks, points)
    unknown = np.column_stack([looks, -np.ones(len(faces))])
    (u, v, radius), *_ = np.linalg.lstsq(unknown * weights, known * weights[:, 0], rcond=None)
    off = np.abs(unknown @ (u, v, radius) - known).max()
    if not 0.0 < 2.0 * radius <= most or off > _OFF * radius or _largest_gap(looks) > _GAP:
        return None
    along = solid.vertices[np.unique(solid.faces[faces])] @ axis
    middle = flat @ (u, v) + axis * float(along.min() + along.max()) / 2.0
    x, y, z = middle.tolist()
    a, b, c = axis.tolist()
    return RoundHole((x, y, z), (a, b, c), 2.0 * float(radius), float(np.ptp(along)))


def _largest_gap(looks: Floats) -> float:
    """Return the widest part of the way round towards which nothing looks, degrees."""
    angles = np.sort(np.degrees(np.arctan2(looks[:, 1], looks[:, 0])))
    return float(np.diff(angles, append=angles[0] + 360.0).max())
