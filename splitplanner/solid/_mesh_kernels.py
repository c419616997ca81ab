"""The compiled loops over faces and edges; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.solid.joining_kernels import root


def _in_order(keys: Any, items: Any, count: int) -> Any:
    """Return `items` sorted by ``keys[item]``, from 0 to `count` - 1; equal ones stay in order."""
    starts = np.zeros(count + 1, dtype=np.int64)
    for item in items:
        starts[keys[item] + 1] += 1
    for key in range(count):
        starts[key + 1] += starts[key]
    result = np.empty_like(items)
    for item in items:
        key = keys[item]
        result[starts[key]] = item
        starts[key] += 1
    return result


_in_order = njit(nogil=True, cache=True)(_in_order)


def _match_edges(faces: Any, count: int) -> tuple[bool, Any]:
    """Pair each directed edge of `faces` (m, 3) with its reverse; vertices are below `count`.

    Both lists, that of the edges and that of their reverses, are sorted by both ends, by counting.
    In a closed mesh each edge then stands beside the one that runs against it.

    Returns
    -------
    closed : bool
        Whether every directed edge is there once and its reverse once; without that the rest is
        of no use.
    beyond : (m, 3) int array
        The face beyond each side, first to second corner, second to third ...
    """
    sides = 3 * len(faces)
    beyond = np.empty((len(faces), 3), dtype=np.int64)
    # Short numbers: what is looked up here and there stays near.
    starts, ends = np.empty(sides, dtype=np.int32), np.empty(sides, dtype=np.int32)
    for face in range(len(faces)):
        for side in range(3):
            starts[3 * face + side] = faces[face, side]
            ends[3 * face + side] = faces[face, (side + 1) % 3]
    every = np.arange(sides).astype(np.int32)
    ahead = _in_order(starts, _in_order(ends, every, count), count)
    against = _in_order(ends, _in_order(starts, every, count), count)
    for place in range(sides):
        one, other = ahead[place], against[place]
        if starts[one] != ends[other] or ends[one] != starts[other]:
            return False, beyond
        if place:
            last = ahead[place - 1]
            if starts[last] == starts[one] and ends[last] == ends[one]:
                return False, beyond
        beyond[one // 3, one % 3] = other // 3
    return True, beyond


match_edges = njit(nogil=True, cache=True)(_match_edges)


def _crossed(faces: Any, above: Any) -> Any:
    """Return the faces with corners both `above` (n,) and not, rising."""
    owners = np.empty(len(faces), dtype=np.int64)
    count = 0
    for face in range(len(faces)):
        side = above[faces[face, 0]]
        if above[faces[face, 1]] != side or above[faces[face, 2]] != side:
            owners[count] = face
            count += 1
    return owners[:count].copy()


crossed = njit(nogil=True, cache=True)(_crossed)


def _is_in_one(faces: Any, count: int) -> bool:
    """Return whether faces (m, 3) hang together by the corners they share, of `count` in all."""
    parents = np.arange(count)
    groups = count
    for face in range(len(faces)):
        for side in (1, 2):
            one, other = root(parents, faces[face, 0]), root(parents, faces[face, side])
            if one != other:
                parents[max(one, other)] = min(one, other)
                groups -= 1
    return groups == 1


is_in_one = njit(nogil=True, cache=True)(_is_in_one)


def _box(vertices: Any) -> Any:
    """Return the low and high corner (2, 3) of the box round points (n, 3), of which there are."""
    box = np.empty((2, 3), dtype=np.float64)
    box[0] = box[1] = vertices[0]
    for vertex in range(1, len(vertices)):
        for axis in range(3):
            place = vertices[vertex, axis]
            if place < box[0, axis]:
                box[0, axis] = place
            elif place > box[1, axis]:
                box[1, axis] = place
    return box


box = njit(nogil=True, cache=True)(_box)


def _volume(vertices: Any, faces: Any, middle: Any) -> float:
    """Return the volume of a closed mesh, by tetrahedra with their tip in `middle` (3,)."""
    six = 0.0
    for face in range(len(faces)):
        a, b, c = faces[face]
        ax, ay, az = (
            vertices[a, 0] - middle[0],
            vertices[a, 1] - middle[1],
            vertices[a, 2] - middle[2],
        )
        bx, by, bz = (
            vertices[b, 0] - middle[0],
            vertices[b, 1] - middle[1],
            vertices[b, 2] - middle[2],
        )
        cx, cy, cz = (
            vertices[c, 0] - middle[0],
            vertices[c, 1] - middle[1],
            vertices[c, 2] - middle[2],
        )
        six += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    return six / 6.0


volume = njit(nogil=True, cache=True)(_volume)


def _compacted(vertices: Any, faces: Any) -> tuple[Any, Any]:
    """Return the mesh of those faces that have three corners, without corners of no face."""
    kept = np.empty_like(faces)
    number = np.full(len(vertices), -1, dtype=np.int64)
    count = 0
    for face in range(len(faces)):
        a, b, c = faces[face]
        if a != b and b != c and c != a:
            kept[count] = faces[face]
            number[a] = number[b] = number[c] = 0
            count += 1
    used = 0
    for vertex in range(len(vertices)):
        if number[vertex] == 0:
            number[vertex] = used
            used += 1
    places = np.empty((used, 3), dtype=np.float64)
    for vertex in range(len(vertices)):
        if number[vertex] >= 0:
            places[number[vertex]] = vertices[vertex]
    kept = kept[:count].copy()
    for face in range(count):
        for side in range(3):
            kept[face, side] = number[kept[face, side]]
    return places, kept


compacted = njit(nogil=True, cache=True)(_compacted)


def _areas(flat: Any, corners: Any, ends: Any) -> Any:
    """Return the signed area of each closed outline, mm².

    Outline i goes through the points ``flat[corners[ends[i - 1]:ends[i]]]``, from 0 for the first.
    """
    areas = np.zeros(len(ends), dtype=np.float64)
    start = 0
    for ring in range(len(ends)):
        stop = ends[ring]
        x0, y0 = flat[corners[start], 0], flat[corners[start], 1]
        twice = 0.0
        for at in range(start, stop):
            one = corners[at]
            other = corners[at + 1 if at + 1 < stop else start]
            twice += (flat[one, 0] - x0) * (flat[other, 1] - y0)
            twice -= (flat[other, 0] - x0) * (flat[one, 1] - y0)
        areas[ring] = twice / 2.0
        start = stop
    return areas


areas = njit(nogil=True, cache=True)(_areas)
