"""The convex hull of points as a closed triangle mesh."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints


def hull_mesh(points: ArrayLike) -> tuple[Floats, Ints]:
    """Return the corners (k, 3) and outward faces (m, 3) of the convex hull of `points` (n, 3).

    By Qhull (Barber, Dobkin & Huhdanpaa, ACM Trans. Math. Softw. 22 (1996) 469): the kernel's own
    hull leaves dents of up to tenths of a millimetre where thousands of points lie in one plane
    but for rounding.

    Raises
    ------
    scipy.spatial.QhullError
        If the points lie in one plane.
    """
    cloud = np.asarray(points, float)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import ConvexHull

    found = ConvexHull(cloud)
    corners = np.sort(found.vertices)
    faces = np.searchsorted(corners, found.simplices).astype(np.int64)
    vertices = cloud[corners]
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), found.equations[:, :3]) < 0
    faces[inward] = faces[inward][:, ::-1]
    return vertices, faces
