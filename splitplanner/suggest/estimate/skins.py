"""Thin skins: cuts that leave less than a line of material behind a seam, told beforehand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from splitplanner.solid import Plane
from splitplanner.suggest.estimate.ground import Ground

_FLAT = float(np.cos(np.radians(14.0)))
"""Steeper walls run out in no more than a feather edge, which is allowed."""
_IN_PLANE = 1e-6
"""Faces this near to a plane lie in it, mm."""
_PATCH = 4.0
"""A skin counts from this area on, mm²."""
_FEATHER = 2.0
"""Skins no wider than twice this many lines are feather edges."""


def leaves_skin(ground: Ground, plane: Plane, contact: Sequence[Polygon]) -> bool:
    """Return whether material thinner than a line is left behind a seam.

    Faces that lie wholly within a line of the plane, and look away from it, have material between
    them and the plane.

    Parameters
    ----------
    ground : Ground
        Of the uncut part.
    plane : Plane
    contact : sequence of Polygon
        Where the two pieces touch, plane mm.
    """
    solid, line = ground.solid, ground.printer.line_width
    heights = ground.heights(plane.normal) - plane.offset
    beside = heights[solid.faces]
    low, high = beside.min(axis=1), beside.max(axis=1)
    near = np.flatnonzero(
        ((low > _IN_PLANE) & (high < line)) | ((high < -_IN_PLANE) & (low > -line))
    )
    looking = solid.face_normals[near] @ np.array(plane.normal)
    near = near[looking * np.sign(low[near]) > _FLAT]
    if not len(near):
        return False
    flat = plane.to_plane(solid.vertices[solid.faces[near]].reshape(-1, 3)).reshape(-1, 3, 2)
    skin = shapely.union_all(shapely.polygons(flat))
    shared = skin.intersection(shapely.union_all(list(contact))).buffer(-_FEATHER * line)
    return bool(shared.buffer(_FEATHER * line).area > _PATCH)
