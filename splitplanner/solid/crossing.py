"""Where a plane crosses each face of a solid."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.solid.plane import Plane
from splitplanner.solid.solid import Solid


def plane_segments(solid: Solid, plane: Plane, tolerance: float = 1e-6) -> tuple[Floats, Ints]:
    """Return the line segments in which `plane` meets the faces of `solid`.

    Parameters
    ----------
    solid : Solid
    plane : Plane
    tolerance : float
        An edge with both ends this near to the plane (mm) lies in it.

    Returns
    -------
    segments : (k, 2, 3) float array, mm
        One for each face that the plane passes through, and one for each edge of a face that lies
        in the plane: so the edges round a face that lies in the plane come twice, once for it and
        once for the face beside it.
    faces : (k,) int array
        The face of each segment.
    """
    height = plane.height(solid.vertices)
    crossed, owners = _through(solid, height)
    edges, holders = _within(solid, np.abs(height) <= tolerance)
    return np.concatenate([crossed, edges]), np.concatenate([owners, holders])


def _through(solid: Solid, height: Floats) -> tuple[Floats, Ints]:
    above = height >= 0.0
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.solid import _mesh_kernels, _slicing_kernels

    owners = _mesh_kernels.crossed(solid.faces, above)
    # Both edges from the first corner cross the plane.
    corners = solid.faces[owners]
    turned, _ = _slicing_kernels.lone_first(corners, above[corners])
    h = height[turned]
    points = solid.vertices[turned]
    ends = [
        points[:, 0] + (h[:, 0] / (h[:, 0] - h[:, k]))[:, None] * (points[:, k] - points[:, 0])
        for k in (1, 2)
    ]
    return np.stack(ends, axis=1), owners


def _within(solid: Solid, near: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[Floats, Ints]:
    segments, owners = [np.empty((0, 2, 3))], [np.empty(0, dtype=np.int64)]
    if not near.any():
        return segments[0], owners[0]
    flat = near[solid.faces]
    for start, end in ((0, 1), (1, 2), (2, 0)):
        chosen = np.flatnonzero(flat[:, start] & flat[:, end])
        segments.append(solid.vertices[solid.faces[chosen][:, [start, end]]])
        owners.append(chosen)
    return np.concatenate(segments), np.concatenate(owners)
