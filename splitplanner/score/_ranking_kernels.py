"""The compiled loops behind `splitplanner.score.glancing`; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.score._gap_kernels import islands_of, seen_gaps

OVERHANG, CONTACT, OVERHANG_SEEN, CONTACT_SEEN, FLAT, BELOW, LOW, HIGH = range(8)
"""Columns of what `surfaces` finds."""
CROSSINGS, MOST, SEEN = range(3)
"""Columns of what `layers` finds."""


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


def _steps(heights: Any, low: float, step: float, count: int) -> Any:
    """Return how many middles of layers lie below each corner, (n,) int.

    Corners in a middle count as below it: the section just above is taken.
    """
    steps = np.empty(len(heights), dtype=np.int32)
    for index in range(len(heights)):
        steps[index] = min(max(int(np.ceil((heights[index] - low) / step - 0.5)), 0), count)
    return steps


_steps = njit(nogil=True, cache=True, error_model="numpy")(_steps)


def _outlines(
    chosen: Any,
    layer: int,
    level: float,
    vertices: Any,
    faces: Any,
    beyond: Any,
    heights: Any,
    steps: Any,
    stamps: Any,
    direction: Any,
    places: Any,
    owners: Any,
    rings: Any,
    areas: Any,
) -> int:
    """Walk round all outlines of a layer through the `chosen` faces; return how many there are.

    Places (p, 3) of the outlines and the faces that each was left from (p,), where each outline
    begins and ends among these (r, 2) and the area within (r,) are filled in.
    """
    used = count = 0
    for face in chosen:
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
        areas[count] = _area(places, used, last, direction)
        rings[count, 0], rings[count, 1] = used, last
        used = last
        count += 1
    return count


_outlines = njit(nogil=True, cache=True)(_outlines)


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
    counts: Any,
) -> None:
    """Count the islands of `count` layers, evenly spaced, in one print direction.

    `found` (3,) is filled, see the names above: islands beyond the first and gaps that end on a
    seen face, added up over the layers; and the islands of the layer that has most. An island is an
    outline round material of at least `smallest` mm². Those of each layer are filled in, too,
    `counts` (count,).
    """
    found[:] = 0.0
    counts[:] = 0
    step = (high - low) / count
    if not step > 0.0:
        return
    steps = _steps(heights, low, step, count)
    starts, crossed = _sorted_by_layer(steps, faces, count)
    longest = 0
    for layer in range(count):
        longest = max(longest, starts[layer + 1] - starts[layer])
    places, owners = np.empty((longest, 3)), np.empty(longest, dtype=np.int32)
    rings, areas = np.empty((longest, 2), dtype=np.int64), np.empty(longest)
    stamps = np.full(len(faces), -1, dtype=np.int16)
    for layer in range(count):
        outlines = _outlines(
            crossed[starts[layer] : starts[layer + 1]],
            layer,
            low + (layer + 0.5) * step,
            vertices,
            faces,
            beyond,
            heights,
            steps,
            stamps,
            direction,
            places,
            owners,
            rings,
            areas,
        )
        islands = 0
        for ring in range(outlines):
            islands += areas[ring] >= smallest
        counts[layer] = islands
        found[CROSSINGS] += max(islands - 1, 0)
        found[MOST] = max(found[MOST], islands)
        if any_seen and islands > 1:
            own = rings[:outlines]
            numbers = islands_of(places, own, areas[:outlines], smallest, direction)
            found[SEEN] += seen_gaps(places, owners, seen, own, numbers, islands)


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
