"""The compiled loop over faces that a line may meet; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _first_hit(vertices: Any, faces: Any, start: Any, way: Any) -> tuple[int, float]:
    """Return the first face that a line meets from outside, and how far away; -1 if it meets none.

    By Möller & Trumbore, "Fast, minimum storage ray-triangle intersection" (1997).
    """
    best, nearest = -1, np.inf
    for face in range(len(faces)):
        a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
        ux = vertices[b, 0] - vertices[a, 0]
        uy = vertices[b, 1] - vertices[a, 1]
        uz = vertices[b, 2] - vertices[a, 2]
        vx = vertices[c, 0] - vertices[a, 0]
        vy = vertices[c, 1] - vertices[a, 1]
        vz = vertices[c, 2] - vertices[a, 2]
        px = way[1] * vz - way[2] * vy
        py = way[2] * vx - way[0] * vz
        pz = way[0] * vy - way[1] * vx
        size = ux * px + uy * py + uz * pz
        if size <= 0.0:
            continue
        tx = start[0] - vertices[a, 0]
        ty = start[1] - vertices[a, 1]
        tz = start[2] - vertices[a, 2]
        first = tx * px + ty * py + tz * pz
        if first < 0.0 or first > size:
            continue
        qx, qy, qz = ty * uz - tz * uy, tz * ux - tx * uz, tx * uy - ty * ux
        second = way[0] * qx + way[1] * qy + way[2] * qz
        if second < 0.0 or first + second > size:
            continue
        far = (vx * qx + vy * qy + vz * qz) / size
        if 0.0 < far < nearest:
            best, nearest = face, far
    return best, nearest


first_hit = njit(nogil=True, cache=True)(_first_hit)
