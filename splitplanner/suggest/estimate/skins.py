"""Thin skins: cuts that leave less than a line of material behind a seam, told beforehand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.solid import Plane
from splitplanner.suggest.estimate.ground import Ground, as_polygons

_FLAT = float(np.cos(np.radians(14.0)))
"""Steeper walls run out in no more than a feather edge, which is allowed."""
_IN_PLANE = 1e-6
"""Faces this near to a plane lie in it, mm."""
_PATCH = 4.0
"""A skin counts from this area on, mm²."""
_FEATHER = 2.0
"""Skins no wider than twice this many lines are feather edges."""


def skin_behind(ground: Ground, plane: Plane) -> MultiPolygon:
    """Return where less than a line of material lies between a plane and faces beside it.

    Faces that lie wholly within a line of the plane, and look away from it, have material between
    them and the plane. In plane mm; empty nearly everywhere.
    """
    solid, line = ground.solid, ground.printer.line_width
    heights = ground.heights(plane.normal) - plane.offset
    close = np.abs(heights) < line
    near = np.flatnonzero(close[solid.faces].all(axis=1))
    beside = heights[solid.faces[near]]
    low, high = beside.min(axis=1), beside.max(axis=1)
    one_side = (low > _IN_PLANE) | (high < -_IN_PLANE)
    looking = solid.face_normals[near] @ np.array(plane.normal)
    near = near[one_side & (looking * np.sign(low) > _FLAT)]
    if not len(near):
        return MultiPolygon()
    flat = plane.to_plane(solid.vertices[solid.faces[near]].reshape(-1, 3)).reshape(-1, 3, 2)
    return as_polygons(shapely.union_all(shapely.polygons(flat)))


def leaves_skin(skin: MultiPolygon, contact: Sequence[Polygon], line: float) -> bool:
    """Return whether material thinner than a line is left behind a seam.

    Parameters
    ----------
    skin : MultiPolygon
        See `skin_behind`.
    contact : sequence of Polygon
        Where the two pieces touch, plane mm.
    line : float
        Width of a printed line, mm.
    """
    if skin.is_empty:
        return False
    shared = skin.intersection(shapely.union_all(list(contact))).buffer(-_FEATHER * line)
    return bool(shared.buffer(_FEATHER * line).area > _PATCH)
