"""Points at a given spacing in plane polygons: lattices and walks along the outline."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats

_TOLERANCE = 1e-6
"""Rounding allowed on the spacing and at the outline, relative to the spacing."""
_DIRECTIONS = 4
"""How many edge directions are tried."""
_SHIFTS = 4
"""Shifts of a lattice per cell and direction."""
_WIDE = 60
"""A lattice of this many points fills its room so well that walks along it are left out."""
_MOST = 20_000
"""More points than this are not asked for by any seam: the spacing is wrong."""


def packed(shape: MultiPolygon, spacing: float) -> Floats:
    """Return as many points as fit in `shape` (mm) no nearer to each other than `spacing` (mm).

    Square and hexagonal lattices at the directions of the longest edges and of the smallest
    rectangle round the shape, at several shifts; and walks along the outlines, filled up from the
    best lattice. The largest of them all.

    Returns
    -------
    (n, 2) float array, mm

    Raises
    ------
    ValueError
        If `spacing` is so small that over 20 000 points would fit.
    """
    if shape.is_empty:
        return np.empty((0, 2))
    if shape.area / spacing**2 > _MOST:
        raise ValueError(f"a spacing of {spacing:g} mm is too small for {shape.area:g} mm²")
    slack = _TOLERANCE * spacing
    allowed = shapely.buffer(shape, slack, join_style="mitre")
    shapely.prepare(allowed)
    best = np.empty((0, 2))
    for angle in _directions(shape):
        for rows in (spacing, spacing * math.sqrt(3) / 2):
            points = _best_lattice(shape, allowed, angle, spacing, rows)
            if len(points) > len(best):
                best = points
    # In a wide room walks gain nothing over a lattice, and they are slow for many points.
    for walk in _walks(shape, spacing) if len(best) < _WIDE else []:
        points = _filled(walk, best, spacing - slack)
        if len(points) > len(best):
            best = points
    return best


def _directions(shape: MultiPolygon) -> list[float]:
    """Return angles of the outline's edges, the longest sum of lengths first, radians in [0, π)."""
    box = shapely.minimum_rotated_rectangle(shape)
    lengths: dict[float, float] = {}
    for geometry, weight in ((box, 1.0), (shape.simplify(1e-3), 1.0)):
        for ring in shapely.get_rings(shapely.get_parts(geometry)):
            edges = np.diff(shapely.get_coordinates(ring), axis=0)
            size = np.hypot(*edges.T)
            angles = np.round(np.degrees(np.arctan2(edges[:, 1], edges[:, 0])) % 180.0, 6) % 180.0
            for angle, length in zip(angles.tolist(), size.tolist(), strict=True):
                lengths[angle] = lengths.get(angle, 0.0) + weight * length
    ranked = sorted(lengths, key=lambda angle: (-round(lengths[angle], 6), angle))
    chosen = ranked[:_DIRECTIONS] or [0.0]
    return [math.radians(angle) for angle in chosen]


def _best_lattice(
    shape: MultiPolygon, allowed: shapely.Geometry, angle: float, spacing: float, rows: float
) -> Floats:
    """Return the largest set of lattice points in `allowed` over all shifts.

    Rows lie at `angle`, `rows` apart; those of a hexagonal lattice (row pitch spacing·√3/2, plane
    lattice geometry) are staggered by half the spacing.
    """
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    corners = shapely.get_coordinates(shape) @ turn.T
    low, high = corners.min(axis=0), corners.max(axis=0)
    columns = np.arange(-2, math.floor((high[0] - low[0]) / spacing + 1e-9) + 2)
    lines = np.arange(-1, math.floor((high[1] - low[1]) / rows + 1e-9) + 2)
    stagger = spacing / 2 if rows < spacing else 0.0
    u = low[0] + columns[None, :] * spacing + (lines[:, None] % 2) * stagger
    v = np.broadcast_to(low[1] + lines[:, None] * rows, u.shape)
    base = np.stack([u.ravel(), v.ravel()], axis=1)
    shifts = np.array(_shifts(high - low, spacing, rows))
    points = (base + shifts[:, None, :]) @ turn
    inside = shapely.intersects_xy(allowed, points[..., 0], points[..., 1])
    best = int(np.argmax(np.count_nonzero(inside, axis=1)))
    result: Floats = points[best, inside[best]]
    return result


def _shifts(size: Floats, spacing: float, rows: float) -> list[Floats]:
    """Return shifts of a lattice: fractions of a cell, and the one that centres it."""
    steps = np.arange(_SHIFTS) / _SHIFTS
    shifts = [np.array([a * spacing, b * rows]) for b in steps for a in steps]
    spare = size - np.floor(size / [spacing, rows] + 1e-9) * [spacing, rows]
    return [*shifts, spare / 2, np.array([0.0, spare[1] / 2]), np.array([spare[0] / 2, 0.0])]


def _walks(shape: MultiPolygon, spacing: float) -> list[Floats]:
    """Return points set along all outlines, from a corner of each and from its far end."""
    rings = [
        shapely.get_coordinates(shapely.segmentize(ring, spacing / 16))[:-1]
        for ring in sorted(
            shapely.get_rings(shapely.get_parts(shape)), key=lambda ring: -round(ring.length, 6)
        )
    ]
    centre = np.array([shape.centroid.x, shape.centroid.y])
    far = [np.roll(ring, -int(np.argmax(np.hypot(*(ring - centre).T))), axis=0) for ring in rings]
    return [_walk(rings, spacing), _walk(far, spacing)]


def _walk(rings: list[Floats], spacing: float) -> Floats:
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.score import _packing_kernels as kernels

    taken = np.empty((0, 2))
    for ring in rings:
        taken = kernels.walked(ring, _gaps(ring, taken), taken, spacing, _TOLERANCE)
    return taken


def _gaps(points: Floats, taken: Floats) -> Floats:
    """Return the distance of each of `points` from the nearest of `taken`, mm."""
    if not len(taken):
        return np.full(len(points), np.inf)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import cKDTree

    return np.asarray(cKDTree(taken).query(points)[0], dtype=np.float64)


def _filled(walk: Floats, extra: Floats, spacing: float) -> Floats:
    """Return `walk` and those of the lattice points `extra` that keep their distance from it."""
    if not len(extra):
        return walk
    return np.vstack([walk, extra[_gaps(extra, walk) >= spacing]])
