"""Divides polygons into triangles: those of mesh files, and plane ones with holes."""

from __future__ import annotations

import numpy as np
import shapely
from manifold3d import triangulate
from shapely.geometry import Polygon

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


def triangles_in(polygon: Polygon) -> tuple[Floats, Ints]:
    """Return points (n, 2), each once, and triangles (m, 3), to the left round, of a polygon.

    By ears cut off, in half the time that Delaunay's triangles take; by these where outlines touch,
    or rounding left an ear without area.
    """
    rings = shapely.get_rings(shapely.orient_polygons(polygon))
    corners = [shapely.get_coordinates(ring)[:-1] for ring in rings]
    points = np.concatenate(corners)
    ordered = np.sort(points.reshape(-1).view(np.complex128))
    if (ordered[1:] != ordered[:-1]).all():
        triangles = np.asarray(triangulate(corners), np.int64)
        every = len(triangles) == len(points) + 2 * len(rings) - 4
        if every and (_doubled(points[triangles]) > 0.0).all():
            return points, triangles
    found = shapely.constrained_delaunay_triangles(polygon)
    places = shapely.get_coordinates(found).reshape(-1, 4, 2)[:, :3]
    right = _doubled(places) < 0.0
    places[right] = places[right][:, ::-1]
    known, number = np.unique(places.reshape(-1).view(np.complex128), return_inverse=True)
    return np.column_stack([known.real, known.imag]), number.reshape(-1, 3).astype(np.int64)


def _doubled(corners: Floats) -> Floats:
    """Return twice the area of triangles (m, 3, 2), above 0 for those to the left round."""
    (ux, uy), (vx, vy) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    result: Floats = ux * vy - uy * vx
    return result
