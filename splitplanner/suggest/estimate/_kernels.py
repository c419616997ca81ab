"""The compiled loops behind the estimates; imported only when first needed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.solid.joining_kernels import root

FLAT = 1.002
"""A face whose area is no more than this many times its plan area may rest on the bed (3.6°)."""
FILM = 1e-6
"""What is thinner than this is no material, mm."""
GENTLE, STEEP, BRIDGED, TOP = 0, 1, 2, 3
"""Kinds of crossings: the first three enter material from below, the last leaves it."""


def _between(walls: Any, u: float, v: float) -> tuple[float, float, int]:
    """Return from where to where a column lies within all walls, and the wall at its low end.

    A wall (a, b, c, d) keeps what has ``a u + b v + c t >= d``; -1 stands for no wall.
    """
    low, high, at = -np.inf, np.inf, -1
    for index in range(len(walls)):
        rest = walls[index, 3] - walls[index, 0] * u - walls[index, 1] * v
        slope = walls[index, 2]
        if abs(slope) < 1e-9:
            if rest > 0.0:
                return 1.0, 0.0, -1
        elif slope > 0.0:
            if rest / slope > low:
                low, at = rest / slope, index
        elif rest / slope < high:
            high = rest / slope
    return low, high, at


_between = njit(nogil=True, cache=True)(_between)


def _standing(walls: Any, frame: Any) -> Any:
    """Return walls (w, 4) in a frame (3, 3)."""
    turned = np.empty_like(walls)
    for index in range(len(walls)):
        for axis in range(3):
            turned[index, axis] = (
                walls[index, 0] * frame[axis, 0]
                + walls[index, 1] * frame[axis, 1]
                + walls[index, 2] * frame[axis, 2]
            )
        turned[index, 3] = walls[index, 3]
    return turned


_standing = njit(nogil=True, cache=True)(_standing)


def _cells_below(points: Any, axis: Any, corner: float, step: float, most: int) -> tuple[int, int]:
    """Return the first and last row of cells that points reach, and one to either side."""
    low, high = np.inf, -np.inf
    for index in range(len(points)):
        along = axis[0] * points[index, 0] + axis[1] * points[index, 1] + axis[2] * points[index, 2]
        low, high = min(low, along), max(high, along)
    if low > high:
        return 0, most - 1
    first, last = int(np.floor((low - corner) / step)), int(np.floor((high - corner) / step))
    return max(first - 1, 0), min(last + 1, most - 1)


_cells_below = njit(nogil=True, cache=True)(_cells_below)


def _sound(
    frame: Any,
    corner: Any,
    step: float,
    shape: tuple[int, int],
    starts: Any,
    heights: Any,
    kinds: Any,
    secants: Any,
    walls: Any,
    points: Any,
    steepest: float,
    floor: float,
    contact: float,
) -> tuple[float, float, float, float]:
    """Return overhang, bed contact, support and volume of what is within `walls`.

    Added up over the columns that the `points` span in plan, all if there are none, per unit of
    cell area. `steepest` is the sine of the overhang limit, `floor` the height of the bed, and what
    lies flat within `contact` of it rests on it.
    """
    hanging = resting = held = filled = 0.0
    standing = _standing(walls, frame)
    left, right = _cells_below(points, frame[0], corner[0], step, shape[1])
    near, far = _cells_below(points, frame[1], corner[1], step, shape[0])
    for row in range(near, far + 1):
        for column in range(left, right + 1):
            cell = row * shape[1] + column
            first, last = starts[cell], starts[cell + 1]
            if first == last:
                continue
            u, v = corner[0] + (column + 0.5) * step, corner[1] + (row + 0.5) * step
            low, high, at = _between(standing, u, v)
            if low >= high:
                continue
            depth, entered, kind, secant, ground = 0, 0.0, 0, 1.0, floor
            for place in range(first, last):
                if kinds[place] != TOP:
                    if depth == 0:
                        entered, kind, secant = heights[place], kinds[place], secants[place]
                    depth += 1
                    continue
                depth -= 1
                # A film between a wall and a face that lies in it is rounding.
                if depth != 0 or heights[place] <= low + FILM or entered >= high - FILM:
                    continue
                bottom, top = entered, min(heights[place], high)
                if low > entered:
                    bottom, secant = low, 1.0 / max(standing[at, 2], 1e-9)
                    kind = STEEP if standing[at, 2] > steepest else GENTLE
                filled += top - bottom
                if kind != GENTLE:
                    if secant < FLAT and bottom <= floor + contact:
                        resting += 1.0
                    elif kind == STEEP:
                        hanging += secant
                        held += bottom - ground
                ground = top
    return hanging, resting, held, filled


sound = njit(nogil=True, cache=True)(_sound)


def _sound_each(
    frames: Any,
    corners: Any,
    steps: Any,
    shapes: Any,
    starts: Any,
    heights: Any,
    kinds: Any,
    secants: Any,
    cells: Any,
    crossings: Any,
    walls: Any,
    points: Any,
    steepest: float,
    floors: Any,
    contact: float,
    sums: Any,
) -> None:
    """Write into `sums` (k, 4) what `sound` says for each of many soundings laid end to end.

    The numbers of sounding i lie from ``cells[i]`` in `starts`, and from ``crossings[i]`` in what
    there is of every crossing.
    """
    for at in range(len(frames)):
        first, last = crossings[at], crossings[at + 1]
        sums[at] = sound(
            frames[at],
            corners[at],
            steps[at],
            (shapes[at, 0], shapes[at, 1]),
            starts[cells[at] : cells[at + 1]],
            heights[first:last],
            kinds[first:last],
            secants[first:last],
            walls,
            points,
            steepest,
            floors[at],
            contact,
        )


sound_each = njit(nogil=True, cache=True)(_sound_each)


def _furthest(points: Any, probes: Any, found: Any) -> None:
    """Write which of the points lies furthest along each of the `probes` (k, 3), and against it.

    Into `found` (2, k). A plain loop: a matrix product would wake the threads of the library behind
    it, which takes longer than this when other processes run.
    """
    high, low = np.full(len(probes), -np.inf), np.full(len(probes), np.inf)
    for index in range(len(points)):
        x, y, z = points[index, 0], points[index, 1], points[index, 2]
        for probe in range(len(probes)):
            along = probes[probe, 0] * x + probes[probe, 1] * y + probes[probe, 2] * z
            if along > high[probe]:
                high[probe] = along
                found[0, probe] = index
            if along < low[probe]:
                low[probe] = along
                found[1, probe] = index


furthest = njit(nogil=True, cache=True)(_furthest)


def _least_needs(points: Any, frames: Any, sides: Any, found: Any, enough: Any) -> None:
    """Write how much of a bed the points take up in each frame: at least into `found` (m,).

    `sides` are the bed's width, depth and height; over 1 the points fit at no yaw. In plan, widths
    are taken at 36 steps of half a turn. Between two steps a width w cannot fall below
    ``w cos t - v sin t``, with the width v across it: two points that span w still lie so far
    apart. Into `enough` (m,) goes what they take up at the best of the steps.
    """
    steps = 36
    cosine, sine = np.cos(np.pi / steps / 2), np.sin(np.pi / steps / 2)
    widths = np.empty(steps)
    for at in range(len(frames)):
        frame = frames[at]
        up = points @ frame[2]
        for step in range(steps):
            turn = np.pi * step / steps
            spoke = np.cos(turn) * frame[0] + np.sin(turn) * frame[1]
            low, high = np.inf, -np.inf
            for index in range(len(points)):
                along = (
                    points[index, 0] * spoke[0]
                    + points[index, 1] * spoke[1]
                    + points[index, 2] * spoke[2]
                )
                low, high = min(low, along), max(high, along)
            widths[step] = high - low
        least = known = np.inf
        for step in range(steps):
            along, across = widths[step], widths[(step + steps // 2) % steps]
            wide, deep = along * cosine - across * sine, across * cosine - along * sine
            least = min(least, max(wide / sides[0], deep / sides[1]))
            known = min(known, max(along / sides[0], across / sides[1]))
        tall = (up.max() - up.min()) / sides[2]
        found[at], enough[at] = max(least, tall), max(known, tall)


least_needs = njit(nogil=True, cache=True)(_least_needs)


def _narrowed(low: float, high: float, first: float, last: float) -> tuple[float, float]:
    """Narrow a stretch of a segment to where it is within a wall.

    `first` and `last` are how far its ends are within the wall, not both negative. By the
    parametric method of Liang & Barsky (ACM Trans. Graph. 3 (1984) 1).
    """
    if first < 0.0:
        return max(low, first / (first - last)), high
    if last < 0.0:
        return low, min(high, first / (first - last))
    return low, high


narrowed = njit(nogil=True, cache=True)(_narrowed)


def _join_within(edges: Any, beside: Any, heights: Any, parents: Any, present: Any) -> None:
    """Join the faces `beside` (e, 2) every edge of which something lies within all walls.

    `heights` (w, n) are how far each corner is within each wall. `parents` (m,) is a disjoint-set
    forest over the faces; the faces of such edges are marked in `present`.
    """
    for edge in range(len(edges)):
        start, end = edges[edge, 0], edges[edge, 1]
        low, high = 0.0, 1.0
        for wall in range(len(heights)):
            first, last = heights[wall, start], heights[wall, end]
            if first <= 0.0 and last <= 0.0:
                high = -1.0
                break
            low, high = narrowed(low, high, first, last)
        if high > low:
            one, other = beside[edge, 0], beside[edge, 1]
            present[one] = present[other] = True
            parents[root(parents, one)] = root(parents, other)


join_within = njit(nogil=True, cache=True)(_join_within)


def _join_pairs(pairs: Any, parents: Any) -> None:
    """Join the faces of each pair (k, 2) in a disjoint-set forest."""
    for index in range(len(pairs)):
        parents[root(parents, pairs[index, 0])] = root(parents, pairs[index, 1])


join_pairs = njit(nogil=True, cache=True)(_join_pairs)


def _groups(parents: Any, present: Any) -> int:
    """Return into how many groups the faces that are `present` fall."""
    seen = np.zeros(len(parents), dtype=np.bool_)
    count = 0
    for face in range(len(parents)):
        if present[face]:
            first = root(parents, face)
            if not seen[first]:
                seen[first] = True
                count += 1
    return count


groups = njit(nogil=True, cache=True)(_groups)


def _height(point: Any, wall: Any) -> Any:
    """Return how far a point is on the kept side of a wall."""
    return wall[0] * point[0] + wall[1] * point[1] + wall[2] * point[2] - wall[3]


_height = njit(nogil=True, cache=True)(_height)


def _keep_points(points: Any, walls: Any, slack: float, kept: Any) -> int:
    """Write into `kept` which points lie on the kept side of all walls; return how many."""
    count = 0
    for index in range(len(points)):
        within = True
        for wall in range(len(walls)):
            if _height(points[index], walls[wall]) < -slack:
                within = False
                break
        if within:
            kept[count] = index
            count += 1
    return count


keep_points = njit(nogil=True, cache=True)(_keep_points)


def _keep_corners(points: Any, walls: Any, slack: float, edges: Any, kept: Any) -> int:
    """Write into `kept` which corners of a body are between the walls; return how many.

    Of those that lie in a wall, the ones from which an edge (e, 2) leads into the kept side of each
    wall that they lie in: others only touch it from outside.
    """
    inner, on_wall, nothing = 1, 2, 0
    state = np.zeros(len(points), dtype=np.int8)
    touching = False
    for index in range(len(points)):
        state[index] = inner
        for wall in range(len(walls)):
            height = _height(points[index], walls[wall])
            if height < -slack:
                state[index] = nothing
                break
            if height <= slack:
                state[index] = on_wall
        touching |= state[index] == on_wall
    if touching:
        inward = np.zeros((len(walls), len(points)), dtype=np.bool_)
        for edge in range(len(edges)):
            for end in range(2):
                at, far = edges[edge, end], edges[edge, 1 - end]
                if state[at] == on_wall:
                    for wall in range(len(walls)):
                        inward[wall, at] |= _height(points[far], walls[wall]) > slack
        for index in range(len(points)):
            if state[index] == on_wall:
                for wall in range(len(walls)):
                    flat = _height(points[index], walls[wall]) <= slack
                    if flat and not inward[wall, index]:
                        state[index] = nothing
    count = 0
    for index in range(len(points)):
        if state[index] != nothing:
            kept[count] = index
            count += 1
    return count


keep_corners = njit(nogil=True, cache=True)(_keep_corners)


def _clip(segments: Any, walls: Any, skip: int, clipped: Any, owners: Any) -> int:
    """Write what of the segments (k, 2, 3) lies within all walls but `skip`; return how many."""
    count = 0
    for index in range(len(segments)):
        low, high = 0.0, 1.0
        for wall in range(len(walls)):
            if wall == skip:
                continue
            first, last = -walls[wall, 3], -walls[wall, 3]
            for axis in range(3):
                first += walls[wall, axis] * segments[index, 0, axis]
                last += walls[wall, axis] * segments[index, 1, axis]
            if first < 0.0 and last < 0.0:
                high = -1.0
                break
            low, high = narrowed(low, high, first, last)
        if high > low:
            for axis in range(3):
                start = segments[index, 0, axis]
                along = segments[index, 1, axis] - start
                clipped[count, 0, axis] = start + low * along
                clipped[count, 1, axis] = start + high * along
            owners[count] = index
            count += 1
    return count


clip = njit(nogil=True, cache=True)(_clip)
