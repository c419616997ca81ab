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


def _sharp_edges(vertices: Any, faces: Any, beyond: Any, cosine: float) -> Any:
    """Return the edges (k, 2) beside which normals differ by more than an angle, by its cosine.

    `beyond` (m, 3) has the face beyond each side. Faces lower than a micrometre have no normal that
    could be relied on: boolean operations leave such, and their edges are not sharp.
    """
    normals = np.empty((len(faces), 3), dtype=np.float64)
    for face in range(len(faces)):
        a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
        u = vertices[b] - vertices[a]
        v = vertices[c] - vertices[a]
        x = u[1] * v[2] - u[2] * v[1]
        y = u[2] * v[0] - u[0] * v[2]
        z = u[0] * v[1] - u[1] * v[0]
        length = np.sqrt(x * x + y * y + z * z)
        w = v - u
        longest = np.sqrt(max((u * u).sum(), (v * v).sum(), (w * w).sum()))
        if length <= 1e-3 * longest:
            normals[face] = np.nan
            continue
        normals[face, 0], normals[face, 1], normals[face, 2] = x / length, y / length, z / length
    found = np.empty((3 * len(faces), 2), dtype=np.int64)
    count = 0
    for side in range(3):
        for face in range(len(faces)):
            other = beyond[face, side]
            # Each edge once, from the face with the smaller number.
            if other <= face:
                continue
            both = 0.0
            for axis in range(3):
                both += normals[face, axis] * normals[other, axis]
            if both < cosine:
                found[count, 0] = faces[face, side]
                found[count, 1] = faces[face, (side + 1) % 3]
                count += 1
    return found[:count].copy()


# Edges are found in a thread, while the window goes on.
sharp_edges = njit(nogil=True, cache=True)(_sharp_edges)
