"""The compiled loops behind `splitplanner.score.glancing`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

OVERHANG, CONTACT, OVERHANG_SEEN, CONTACT_SEEN, FLAT, BELOW, LOW, HIGH = range(8)
"""Columns of what `surfaces` finds."""
CROSSINGS, MOST, SEEN = range(3)
"""Columns of what `layers` finds."""
_PLACES = 256
"""So many places on the outlines of a layer tell where its gaps are."""


def _surfaces(
    heights: Any,
    direction: Any,
    faces: Any,
    normals: Any,
    areas: Any,
    seen: Any,
    steepest: float,
    flat: float,
    near: float,
    found: Any,
) -> None:
    """Add up what hangs and what rests in one print direction.

    Parameters
    ----------
    heights : (n,) float array, mm
        Of the corners along `direction` (3,).
    faces, normals, areas, seen
        Of the mesh, (m, 3), (m, 3), (m,) and (m,).
    steepest, flat : float
        What -normal · direction has to exceed for a face to hang, and to look straight down.
    near : float
        What is no further above the lowest corner lies on the bed, mm.
    found : (8,) float array
        Is filled: see the names above; `BELOW` is the volume between what hangs and the bed.
    """
    low, high = np.inf, -np.inf
    for height in heights:
        low, high = min(low, height), max(high, height)
    found[:] = 0.0
    found[LOW], found[HIGH] = low, high
    x, y, z = direction[0], direction[1], direction[2]
    for face in range(len(faces)):
        slope = -(normals[face, 0] * x + normals[face, 1] * y + normals[face, 2] * z)
        if slope <= 0.0:
            continue
        a, b, c = heights[faces[face, 0]], heights[faces[face, 1]], heights[faces[face, 2]]
        area = areas[face]
        if max(a, b, c) <= low + near:
            found[CONTACT] += area
            if seen[face]:
                found[CONTACT_SEEN] += area
        elif slope > steepest:
            found[OVERHANG] += area
            found[BELOW] += area * slope * ((a + b + c) / 3.0 - low)
            if seen[face]:
                found[OVERHANG_SEEN] += area
            if slope > flat:
                found[FLAT] += area


surfaces = njit(nogil=True, cache=True)(_surfaces)


def _sorted_by_layer(steps: Any, faces: Any, count: int) -> tuple[Any, Any]:
    """Return which faces cross the middle of each layer.

    Parameters
    ----------
    steps : (n,) int array
        How many middles of layers lie below each corner.

    Returns
    -------
    starts : (count + 1,) int array
        The faces of layer k are ``crossed[starts[k]:starts[k + 1]]``.
    crossed : (c,) int array
    """
    starts = np.zeros(count + 1, dtype=np.int64)
    some = np.empty(len(faces), dtype=np.int32)
    used = 0
    for face in range(len(faces)):
        a, b, c = steps[faces[face, 0]], steps[faces[face, 1]], steps[faces[face, 2]]
        if a == b and b == c:
            continue
        some[used] = face
        used += 1
        for layer in range(min(a, b, c), max(a, b, c)):
            starts[layer + 1] += 1
    for layer in range(count):
        starts[layer + 1] += starts[layer]
    free = starts[:-1].copy()
    crossed = np.empty(starts[-1], dtype=np.int32)
    for index in range(used):
        face = some[index]
        a, b, c = steps[faces[face, 0]], steps[faces[face, 1]], steps[faces[face, 2]]
        for layer in range(min(a, b, c), max(a, b, c)):
            crossed[free[layer]] = face
            free[layer] += 1
    return starts, crossed


_sorted_by_layer = njit(nogil=True, cache=True)(_sorted_by_layer)


def _traced(
    start: int,
    layer: int,
    level: float,
    vertices: Any,
    faces: Any,
    beyond: Any,
    heights: Any,
    steps: Any,
    stamps: Any,
    places: Any,
    owners: Any,
    used: int,
) -> int:
    """Walk round one outline from the face `start`; return how many places are put down by then.

    In each face the outline leaves by the edge that goes down through the level, so that material
    is on the same side all the way.
    """
    face = start
    while stamps[face] != layer:
        stamps[face] = layer
        one, other, side = 0, 0, 0
        for each in range(3):
            one, other = faces[face, each], faces[face, (each + 1) % 3]
            if steps[one] > layer >= steps[other]:
                side = each
                break
        share = (heights[one] - level) / (heights[one] - heights[other])
        for axis in range(3):
            places[used, axis] = vertices[one, axis] + share * (
                vertices[other, axis] - vertices[one, axis]
            )
        owners[used] = face
        used += 1
        face = beyond[face, side]
    return used


_traced = njit(nogil=True, cache=True, error_model="numpy")(_traced)


def _area(places: Any, first: int, last: int, direction: Any) -> float:
    """Return the area within an outline; below 0 for a hole."""
    total = 0.0
    x, y, z = places[first, 0], places[first, 1], places[first, 2]
    for index in range(first + 1, last - 1):
        ax, ay, az = places[index, 0] - x, places[index, 1] - y, places[index, 2] - z
        bx, by, bz = places[index + 1, 0] - x, places[index + 1, 1] - y, places[index + 1, 2] - z
        total += direction[0] * (ay * bz - az * by)
        total += direction[1] * (az * bx - ax * bz)
        total += direction[2] * (ax * by - ay * bx)
    return -0.5 * total


_area = njit(nogil=True, cache=True)(_area)


def _nearest(places: Any, one: Any, other: Any, step: int) -> tuple[float, int, int]:
    """Return how near two outlines come, squared, and where; by places `step` apart at first."""
    least, at, to = np.inf, one[0], other[0]
    for a in range(one[0], one[1], step):
        for b in range(other[0], other[1], step):
            away = _away(places, a, b)
            if away < least:
                least, at, to = away, a, b
    middle, centre = at, to
    for a in range(max(middle - step, one[0]), min(middle + step + 1, one[1])):
        for b in range(max(centre - step, other[0]), min(centre + step + 1, other[1])):
            away = _away(places, a, b)
            if away < least:
                least, at, to = away, a, b
    return least, at, to


def _away(places: Any, a: int, b: int) -> float:
    """Return how far two places are apart, squared."""
    x, y, z = places[a, 0] - places[b, 0], places[a, 1] - places[b, 1], places[a, 2] - places[b, 2]
    return x * x + y * y + z * z  # type: ignore[no-any-return]


_away = njit(nogil=True, cache=True)(_away)
_nearest = njit(nogil=True, cache=True)(_nearest)


def _seen_gaps(places: Any, owners: Any, seen: Any, rings: Any) -> int:
    """Return how many of the shortest gaps that connect all `rings` (k, 2) end on a seen face.

    A tree of least length, grown from the first ring (Prim), by places picked evenly.
    """
    count, total = len(rings), 0
    for index in range(count):
        total += rings[index, 1] - rings[index, 0]
    step = max(1, total // _PLACES)
    joined = np.zeros(count, dtype=np.bool_)
    least, shown = np.full(count, np.inf), np.zeros(count, dtype=np.bool_)
    newest, found = 0, 0
    joined[0] = True
    for _ in range(count - 1):
        best = -1
        for index in range(count):
            if joined[index]:
                continue
            away, at, to = _nearest(places, rings[newest], rings[index], step)
            if away < least[index]:
                least[index] = away
                shown[index] = seen[owners[at]] or seen[owners[to]]
            if best < 0 or least[index] < least[best]:
                best = index
        joined[best], newest = True, best
        found += shown[best]
    return found


_seen_gaps = njit(nogil=True, cache=True)(_seen_gaps)


def _layers(
    heights: Any,
    direction: Any,
    vertices: Any,
    faces: Any,
    beyond: Any,
    seen: Any,
    any_seen: bool,
    low: float,
    high: float,
    count: int,
    smallest: float,
    found: Any,
) -> None:
    """Count the islands of `count` layers, evenly spaced, in one print direction.

    `found` (3,) is filled, see the names above: islands beyond the first and gaps that end on a
    seen face, added up over the layers; and the islands of the layer that has most. An island is an
    outline round material of at least `smallest` mm².
    """
    found[:] = 0.0
    step = (high - low) / count
    if not step > 0.0:
        return
    steps = np.empty(len(heights), dtype=np.int32)
    for index in range(len(heights)):
        # Corners in a level count as below it: the section just above is taken.
        steps[index] = min(max(int(np.ceil((heights[index] - low) / step - 0.5)), 0), count)
    starts, crossed = _sorted_by_layer(steps, faces, count)
    longest = 0
    for layer in range(count):
        longest = max(longest, starts[layer + 1] - starts[layer])
    places, owners = np.empty((longest, 3)), np.empty(longest, dtype=np.int32)
    rings = np.empty((longest, 2), dtype=np.int64)
    stamps = np.full(len(faces), -1, dtype=np.int16)
    for layer in range(count):
        level = low + (layer + 0.5) * step
        used, islands = 0, 0
        for index in range(starts[layer], starts[layer + 1]):
            face = crossed[index]
            if stamps[face] == layer:
                continue
            last = _traced(
                face,
                layer,
                level,
                vertices,
                faces,
                beyond,
                heights,
                steps,
                stamps,
                places,
                owners,
                used,
            )
            if _area(places, used, last, direction) >= smallest:
                rings[islands, 0], rings[islands, 1] = used, last
                islands += 1
                used = last
        found[CROSSINGS] += max(islands - 1, 0)
        found[MOST] = max(found[MOST], islands)
        if any_seen and islands > 1:
            found[SEEN] += _seen_gaps(places, owners, seen, rings[:islands])


layers = njit(nogil=True, cache=True, error_model="numpy")(_layers)


def _reaches(points: Any, frames: Any, spokes: Any, found: Any) -> None:
    """Find how far points reach along spokes of the plan of each frame.

    Parameters
    ----------
    points : (n, 3) float array, mm
    frames : (k, 3, 3) float array
        Rows u, v, n.
    spokes : (s, 2) float array
        Unit vectors in (u, v).
    found : (k, s) float array
        Is filled, mm.
    """
    for at in range(len(frames)):
        for spoke in range(len(spokes)):
            x = spokes[spoke, 0] * frames[at, 0, 0] + spokes[spoke, 1] * frames[at, 1, 0]
            y = spokes[spoke, 0] * frames[at, 0, 1] + spokes[spoke, 1] * frames[at, 1, 1]
            z = spokes[spoke, 0] * frames[at, 0, 2] + spokes[spoke, 1] * frames[at, 1, 2]
            most = -np.inf
            for index in range(len(points)):
                most = max(most, x * points[index, 0] + y * points[index, 1] + z * points[index, 2])
            found[at, spoke] = most


reaches = njit(nogil=True, cache=True)(_reaches)
