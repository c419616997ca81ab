"""Plane polygons: what a cut looks like, always valid, holes included."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, Ints
from splitplanner.solid.plane import Plane

_LOST = 1e-6
"""Share of what rings enclose that rounding may take from their polygons."""


def to_polygons(geometry: Any, smallest: float = 0.0) -> tuple[Polygon, ...]:
    """Return the polygons in any shapely geometry; lines and points are dropped.

    Parameters
    ----------
    geometry : shapely geometry or None
        Whatever a shapely operation returned.
    smallest : float
        Polygons of this area (mm²) or less are dropped too.
    """
    if geometry is None or geometry.is_empty:
        return ()
    if not geometry.is_valid:
        geometry = shapely.make_valid(geometry, method="structure", keep_collapsed=False)
    parts = shapely.get_parts(geometry, return_index=False)
    polygons: list[Polygon] = []
    for part in np.atleast_1d(parts):
        if part.geom_type == "Polygon":
            if not part.is_empty and part.area > smallest:
                polygons.append(part)
        elif part.geom_type in ("MultiPolygon", "GeometryCollection"):
            polygons.extend(to_polygons(part, smallest))
    return tuple(polygons)


def polygons_from_rings(rings: list[Floats]) -> tuple[Polygon, ...]:
    """Return the polygons bounded by closed `rings`, each (n, 2) mm, by the even-odd rule.

    Rings that run with the area on one side, all of them, are held against what they enclose: one
    that crosses itself by rounding would be lost, and a hole with it or an outline.
    """
    usable = [shapely.linestrings(np.vstack([ring, ring[:1]])) for ring in rings if len(ring) > 2]
    polygons = _areas(usable)
    enclosed = abs(sum(_signed_area(ring) for ring in rings if len(ring) > 2))
    if abs(sum(polygon.area for polygon in polygons) - enclosed) > _LOST * max(enclosed, 1.0):
        return _areas([shapely.node(shapely.multilinestrings(usable))])
    return polygons


def _signed_area(ring: Floats) -> float:
    """Return the area in a ring (n, 2), mm², above 0 when it runs counterclockwise."""
    # From the first point, which the way back to it then adds nothing to.
    x, y = np.ascontiguousarray((ring - ring[0]).T)
    return float(x[:-1] @ y[1:] - y[:-1] @ x[1:]) / 2


def polygons_from_edges(starts: Floats, ends: Floats) -> tuple[Polygon, ...]:
    """Return the polygons bounded by line segments, both (n, 2) mm, that meet at their ends."""
    if not len(starts):
        return ()
    return _areas(list(shapely.linestrings(np.stack([starts, ends], axis=1))))


def _areas(lines: list[Any]) -> tuple[Polygon, ...]:
    if not lines:
        return ()
    together = shapely.geometrycollections(lines)
    try:
        return to_polygons(shapely.build_area(together))
    except shapely.errors.GEOSException:
        # Lines that cross each other by rounding.
        return to_polygons(shapely.build_area(shapely.node(together)))


@dataclass(frozen=True, eq=False)
class Section:
    """The polygons in which a plane meets a solid.

    Attributes
    ----------
    plane : Plane
        Its frame gives the polygons' coordinates; see `Plane.to_space`.
    polygons : tuple of shapely Polygon
        Valid, disjoint, with holes, mm.
    """

    plane: Plane
    polygons: tuple[Polygon, ...]

    @cached_property
    def shape(self) -> MultiPolygon:
        """All polygons as one shapely geometry."""
        return MultiPolygon(self.polygons)

    @property
    def area(self) -> float:
        """Area, mm²."""
        return float(self.shape.area)

    @property
    def length(self) -> float:
        """Length of all outlines, inner ones included, mm."""
        return float(self.shape.length)

    @property
    def is_empty(self) -> bool:
        """True when the plane misses the solid."""
        return not self.polygons

    def rings(self) -> list[Floats]:
        """Return every closed outline as points in space, each (n, 3) mm, first point repeated."""
        return [
            self.plane.to_space(np.asarray(ring.coords))
            for polygon in self.polygons
            for ring in (polygon.exterior, *polygon.interiors)
        ]

    @property
    def centroid(self) -> Floats:
        """Centroid of the area in space, (3,) mm; nan when empty."""
        if self.is_empty:
            return np.full(3, np.nan)
        point = self.shape.centroid
        result: Floats = self.plane.to_space([[point.x, point.y]])[0]
        return result


def outline_edges(faces: Ints) -> tuple[Ints, Ints]:
    """Return start and end vertices of the directed edges that bound a set of `faces` (m, 3)."""
    if not len(faces):
        none = np.empty(0, dtype=np.int64)
        return none, none
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    span = int(edges.max()) + 1
    forward = edges[:, 0] * span + edges[:, 1]
    backward = edges[:, 1] * span + edges[:, 0]
    open_edges = edges[~np.isin(forward, backward)]
    return open_edges[:, 0], open_edges[:, 1]
