"""Points that stand for the contact of a seam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.solid import Plane

SPACING = 12.0
"""Side of the squares that four points each stand for, mm: the points are half as far apart, which
should be a third of the depth of a flange or less."""
_NOTHING = 1e-6
"""Smaller bits of a square are left out, as a share of it."""
_BESIDE = 0.1
"""How far beside the contact a point may be, mm: walls are round."""
_ALIKE = 1e-6
"""Second moments that differ by no more than this share are one."""
_HALVINGS = 6
"""How often a bent bit is halved."""


@dataclass(frozen=True, eq=False)
class SeamPoints:
    """Points on a seam with the area that each stands for.

    Attributes
    ----------
    points : (k, 3) float array, mm
    areas : (k,) float array, mm²
    frame : (3, 3) float array
        Rows u, v and n; n points from the piece below to the one above.
    """

    points: Floats
    areas: Floats
    frame: Floats


def seam_points(
    plane: Plane,
    polygons: Sequence[Polygon],
    spacing: float = SPACING,
    frame: Floats | None = None,
) -> SeamPoints:
    """Return points that stand for polygons of a plane.

    The polygons are cut into squares about the middle of their box. What lies in a square gets four
    points on its principal axes, with which area, centroid and second moments are exact: walls
    thinner than a square still take bending. What is bent too far for that, as where walls meet, is
    halved; what still is gets triangles, with points in the middle of their sides (exact to degree
    2; Hammer and Stroud 1956, from memory).

    Parameters
    ----------
    plane : Plane
    polygons : sequence of shapely Polygon
        In its coordinates, mm.
    spacing : float
        Side of the squares, mm.
    frame : (3, 3) float array, optional
        Rows u, v and n of the plane, along which they lie; its own by default.

    Raises
    ------
    ValueError
        If the spacing is not positive or there is nothing to stand for.
    """
    if not spacing > 0.0:
        raise ValueError(f"the spacing must be more than 0 mm, got {spacing}")
    found: list[tuple[Floats, Floats]] = []
    axes = plane.frame if frame is None else frame
    turn = plane.frame[:2] @ axes[:2].T
    whole = shapely.transform(shapely.unary_union(list(polygons)), lambda flat: flat @ turn)
    if whole.is_empty:
        raise ValueError("a seam without contact has no points")
    for bit in _squares(whole, spacing):
        if bit.area > _NOTHING * spacing**2:
            found += _standing_for(bit)
    flat = np.vstack([points for points, _ in found])
    return SeamPoints(
        frozen_floats(flat @ axes[:2] + plane.origin),
        frozen_floats(np.concatenate([areas for _, areas in found])),
        axes,
    )


def _squares(whole: shapely.Geometry, spacing: float) -> list[Polygon]:
    """Cut polygons into squares about the middle of their box; every bit by itself."""
    low, high = np.array(whole.bounds).reshape(2, 2)
    count = np.maximum(np.ceil((high - low) / spacing - 1e-9), 1.0).astype(int)
    start = (low + high - count * spacing) / 2.0
    u, v = (start[axis] + spacing * np.arange(count[axis]) for axis in range(2))
    corners = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2)
    tiles = shapely.box(*corners.T, *(corners + spacing).T)
    cut = shapely.get_parts(shapely.intersection(whole, tiles))
    return [bit for bit in cut if isinstance(bit, Polygon)]


def _standing_for(bit: Polygon, halvings: int = _HALVINGS) -> list[tuple[Floats, Floats]]:
    """Return points (k, 2) and areas (k,) that stand for a small polygon, of each part of it."""
    points, shares = _inside(bit)
    total = shares.sum()
    centre = shares @ points / total
    off = points - centre
    spread, axes = np.linalg.eigh((shares[:, None] * off).T @ off / total)
    # Alike every way, as a square is, it has no axes but those that rounding gives it.
    axes = axes if spread[1] - spread[0] > _ALIKE * spread[1] else np.eye(2)
    arms = np.sqrt(2.0 * np.maximum(spread, 0.0))[:, None] * axes.T
    four = centre + np.vstack([arms, -arms])
    if (shapely.distance(bit, shapely.points(four)) <= _BESIDE).all():
        return [(four, np.full(4, total / 4.0))]
    if not halvings:
        return [(points, shares)]
    low, high = np.array(bit.bounds).reshape(2, 2)
    # Alike bits left and right are halved alike, whatever rounding makes of them.
    wide = int(np.argmax(np.round((high - low) / (high - low).max(), 6)))
    middle = 0.5 * (low + high)
    found = []
    for corner, end in (
        (low, np.where(np.arange(2) == wide, middle, high)),
        (np.where(np.arange(2) == wide, middle, low), high),
    ):
        for half in shapely.get_parts(shapely.intersection(bit, shapely.box(*corner, *end))):
            if isinstance(half, Polygon) and half.area > _NOTHING * bit.area:
                found += _standing_for(half, halvings - 1)
    return found


def _inside(bit: Polygon) -> tuple[Floats, Floats]:
    """Return points (k, 2) with areas (k,) that are exact to degree 2, of triangles."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(bit))
    corners = np.stack([shapely.get_coordinates(t)[:3] for t in triangles])
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    middles = 0.5 * (corners + np.roll(corners, 1, axis=1))
    return middles.reshape(-1, 2), np.repeat(areas / 3.0, 3)
