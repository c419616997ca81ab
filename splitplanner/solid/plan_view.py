"""What a solid covers when one looks at it from above: its plan view, with pockets and holes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import unit_vector
from splitplanner.solid.plane import frame_of
from splitplanner.solid.section import polygons_from_rings
from splitplanner.solid.solid import Solid


def plan_view(solid: Solid, up: ArrayLike) -> MultiPolygon:
    """Return what `solid` covers of the ground when it stands with `up` upward.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Any length but zero.

    Returns
    -------
    shapely MultiPolygon
        In mm, along the first two axes of ``frame_of(up)``; with the holes through which one sees
        the ground.

    Raises
    ------
    ValueError
        If `up` has no length.
    """
    frame = np.hstack([frame_of(unit_vector(up)), np.zeros((3, 1))])
    # Edges at which the surface turns from facing up to facing down, joined to outlines.
    outlines = solid._manifold.transform(frame).project().to_polygons()
    return MultiPolygon(polygons_from_rings([np.asarray(ring, float) for ring in outlines]))
