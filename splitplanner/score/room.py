"""Room on a seam: where a fastener fits, how many, and how far apart."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.score._packing import packed
from splitplanner.solid import Section, to_polygons

Shapes: TypeAlias = Section | Polygon | MultiPolygon | Iterable[Polygon]
"""Seam polygons in any of the forms in which they come; plane coordinates, mm."""

_ARC_SEGMENTS = 32
"""Lines per quarter circle; an offset outline errs by less than 0.0004 of the offset."""


@dataclass(frozen=True, eq=False)
class Room:
    """Where the axis of a fastener may stand on a seam.

    Attributes
    ----------
    polygons : shapely MultiPolygon
        The seam shrunk by the edge distance, plane coordinates, mm.
    area : float
        Its area, mm².
    positions : (n, 2) float array, mm
        The fasteners that fit at the wanted spacing, plane coordinates.
    lever_arm : (ru, rv)
        Radius of gyration of the pattern about the seam's centroid: root mean square of the
        positions' distance from it along u and along v of the seam's plane, mm; 0 when nothing
        fits.
    """

    polygons: MultiPolygon
    area: float
    positions: Floats
    lever_arm: tuple[float, float]

    def __post_init__(self) -> None:
        object.__setattr__(self, "positions", frozen_floats(self.positions, (-1, 2)))

    @property
    def count(self) -> int:
        """How many fasteners fit at the wanted spacing."""
        return len(self.positions)


def room(seam: Shapes, edge_distance: float, spacing: float) -> Room:
    """Return the room for a fastener on a seam.

    Parameters
    ----------
    seam : Section, Polygon, MultiPolygon or several Polygons
        The contact area, with its flange if it has one, plane coordinates, mm.
    edge_distance : float
        Least distance from the fastener's axis to the outline, mm; 0 or more.
    spacing : float
        Least distance between two axes, mm. Axes exactly this far apart are allowed.

    Returns
    -------
    Room
        Its count is the best of square and hexagonal lattices laid along the outline's edges and
        of a walk along the outline: a lower bound, exact where a lattice is best.

    Raises
    ------
    ValueError
        If a distance is negative or the spacing is not above 0.
    """
    if not (math.isfinite(spacing) and spacing > 0):
        raise ValueError(f"the spacing must be above 0 mm, got {spacing}")
    shape = seam_shape(seam)
    inner = shrunk(shape, edge_distance)
    positions = packed(inner, spacing)
    return Room(inner, float(inner.area), positions, lever_arm(positions, shape))


def seam_shape(seam: Shapes) -> MultiPolygon:
    """Return the polygons of `seam` as one shapely geometry."""
    if isinstance(seam, Section):
        return seam.shape
    joined = shapely.union_all([seam] if isinstance(seam, shapely.Geometry) else list(seam))
    return MultiPolygon(to_polygons(joined))


def shrunk(shape: MultiPolygon, distance: float) -> MultiPolygon:
    """Return the points of `shape` that are at least `distance` (mm) from its outline.

    Raises
    ------
    ValueError
        If `distance` is negative or not finite.
    """
    if not (math.isfinite(distance) and distance >= 0):
        raise ValueError(f"the edge distance must be 0 mm or more, got {distance}")
    if distance == 0 or shape.is_empty:
        return shape
    return MultiPolygon(to_polygons(shape.buffer(-distance, quad_segs=_ARC_SEGMENTS)))


def widest_place(shape: MultiPolygon, tolerance: float = 1e-3) -> tuple[float, Floats]:
    """Return diameter and centre of the largest circle that fits in `shape`.

    Found by shrinking the shape until nothing is left: the inradius is the largest offset inward
    that leaves a point (plane geometry: erosion by a disc).

    Parameters
    ----------
    shape : MultiPolygon, mm
    tolerance : float
        Of the diameter, mm.

    Returns
    -------
    diameter : float
        mm; 0 when `shape` is empty.
    centre : (2,) float array, mm
        nan when `shape` is empty.
    """
    if shape.is_empty:
        return 0.0, frozen_floats([math.nan, math.nan])
    # A circle is no larger than the shape's area, nor wider than half its bounding box.
    low_u, low_v, high_u, high_v = shape.bounds
    above = min(math.sqrt(shape.area / math.pi), (high_u - low_u) / 2, (high_v - low_v) / 2)
    below, left = 0.0, shape
    while above - below > tolerance / 2:
        middle = (below + above) / 2
        inner = shape.buffer(-middle)
        if inner.is_empty:
            above = middle
        else:
            below, left = middle, inner
    centre = left.representative_point()
    return 2 * below, frozen_floats([centre.x, centre.y])


def lever_arm(positions: Floats, shape: MultiPolygon) -> tuple[float, float]:
    """Return the radius of gyration of `positions` (n, 2) about the centroid of `shape`, mm.

    Along u and v: ``sqrt(sum (u - u0)² / n)``, the unit-area case of the polar sums of the elastic
    bolt group (Shigley, Mechanical Engineering Design, section 8-12).
    """
    if not len(positions):
        return 0.0, 0.0
    centre = shape.centroid
    arms = np.sqrt(np.mean((positions - [centre.x, centre.y]) ** 2, axis=0))
    return float(arms[0]), float(arms[1])
