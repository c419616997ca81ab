"""Divides the polygons of a mesh file into triangles."""

from __future__ import annotations

import numpy as np
from manifold3d import triangulate

from splitplanner.arrays import Floats, Ints
from splitplanner.solid.plane import frame_of


def triangles_of(sizes: Ints, corners: Ints, vertices: Floats) -> Ints:
    """Return the triangles of polygons with any number of corners, also concave ones.

    Parameters
    ----------
    sizes : (p,) int array
        Number of corners of each polygon; those with fewer than three are skipped.
    corners : (sum of sizes,) int array
        Their vertex indices, one polygon after the other.
    vertices : (n, 3) float array

    Returns
    -------
    (m, 3) int array
        Turned like the polygons.
    """
    begin = np.cumsum(sizes) - sizes
    fresh: list[Ints] = [np.empty((0, 3), dtype=np.int64)]
    three = begin[sizes == 3]
    fresh.append(corners[three[:, None] + np.arange(3)])
    four = begin[sizes == 4]
    if len(four):
        fresh.append(_quads(corners[four[:, None] + np.arange(4)], vertices))
    for at in np.flatnonzero(sizes > 4):
        fresh.append(_polygon(corners[begin[at] : begin[at] + sizes[at]], vertices))
    return np.concatenate(fresh)


def _quads(quads: Ints, vertices: Floats) -> Ints:
    """Divide along the diagonal whose two triangles face most alike (a concave quad has one)."""
    points = vertices[quads]

    def facing(i: int, j: int, k: int) -> Floats:
        result: Floats = np.cross(points[:, j] - points[:, i], points[:, k] - points[:, i])
        return result

    first = np.einsum("ij,ij->i", facing(0, 1, 2), facing(0, 2, 3))
    second = np.einsum("ij,ij->i", facing(0, 1, 3), facing(1, 2, 3))
    start = np.where((first <= 0) & (second > first), 1, 0)
    turned = np.take_along_axis(quads, (start[:, None] + np.arange(4)) % 4, axis=1)
    return np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]])


def _polygon(ring: Ints, vertices: Floats) -> Ints:
    points = vertices[ring]
    rel = points - points[0]
    normal = np.cross(rel, np.roll(rel, -1, axis=0)).sum(axis=0)
    if not np.isfinite(points).all() or not normal.any():
        middle = np.arange(1, len(ring) - 1)
        return np.column_stack([np.full(len(middle), ring[0]), ring[middle], ring[middle + 1]])
    flat = np.ascontiguousarray((rel @ frame_of(normal).T)[:, :2])
    result: Ints = ring[np.asarray(triangulate([flat]), dtype=np.int64)]
    return result
