"""Where in a flat shape a rectangle has room."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.solid import to_polygons

_TRIES = 300
"""Places that are tried in a shape, about."""


def roomiest_spot(free: MultiPolygon, size: tuple[float, float]) -> tuple[Floats, float] | None:
    """Return where a rectangle has most room in a flat shape.

    Tried are some hundred places on a grid, with the rectangle along the nearest edge of the shape
    and along both axes. One that would fit only between two of them is not found.

    Parameters
    ----------
    free : shapely MultiPolygon, mm
    size : (length, width)
        Of the rectangle, mm.

    Returns
    -------
    (centre (2,), angle) or None
        Of the rectangle inside the shape that is farthest from its edge: mm, and degrees from x
        towards y to its length; None where none has room.
    """
    centres = _centres(free, min(size) / 2)
    if not len(centres):
        return None
    tangents = _directions(free, centres)
    count = len(centres)
    places = np.tile(centres, (3, 1))
    angles = np.concatenate([np.zeros(count), np.full(count, 90.0), tangents])
    boxes = _boxes(places, angles, size)
    shapely.prepare(free)
    inside = np.flatnonzero(shapely.contains(free, boxes))
    if not len(inside):
        return None
    clear = np.round(shapely.distance(boxes[inside], free.boundary), 6)
    best = inside[int(np.argmax(clear))]
    return places[best], float(angles[best])


def _centres(free: MultiPolygon, inset: float) -> Floats:
    """Return places (n, 2) at least `inset` from the edge of `free`, mm."""
    inner = to_polygons(free.buffer(-inset))
    if not inner:
        return np.empty((0, 2))
    step: float = max(math.sqrt(sum(polygon.area for polygon in inner) / _TRIES), 0.1)
    found = [np.array([polygon.representative_point().coords[0]]) for polygon in inner]
    for polygon in inner:
        west, south, east, north = polygon.bounds
        x, y = _steps(west, east, step), _steps(south, north, step)
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        found.append(grid[shapely.contains_xy(polygon, grid[:, 0], grid[:, 1])])
    return np.vstack(found)


def _steps(low: float, high: float, step: float) -> Floats:
    """Return places between `low` and `high`, `step` apart, the middle among them."""
    each_way = math.ceil((high - low) / 2 / step)
    return np.asarray((low + high) / 2 + step * np.arange(-each_way, each_way + 1), float)


def _directions(free: MultiPolygon, centres: Floats) -> Floats:
    """Return the direction (n,) of the edge of `free` nearest to each place, -90° to 90°."""
    rings = [
        np.asarray(ring.coords)
        for polygon in free.geoms
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    sides = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    nearest = shapely.STRtree(shapely.linestrings(sides)).nearest(shapely.points(centres))
    along = sides[nearest, 1] - sides[nearest, 0]
    angles = np.round(np.degrees(np.arctan2(along[:, 1], along[:, 0])), 6)
    result: Floats = (angles + 90.0) % 180.0 - 90.0
    return result


def _boxes(centres: Floats, angles: Floats, size: tuple[float, float]) -> Any:
    """Return rectangles (n,) of `size` along and across `angles` (n,) round `centres` (n, 2)."""
    turns = np.radians(angles)
    along = np.stack([np.cos(turns), np.sin(turns)], axis=1) * size[0] / 2
    across = np.stack([-np.sin(turns), np.cos(turns)], axis=1) * size[1] / 2
    corners = [along + across, -along + across, -along - across, along - across]
    return shapely.polygons(np.stack([centres + corner for corner in corners], axis=1))
