"""The compiled loops of `section_mesh`; imported only when first needed.

Matrices are kept as rows from the first entry that is not 0 to the diagonal: few, where unknowns
are numbered from one end of a thin section to the other (Cuthill and McKee, Proc. 24th Nat. Conf.
ACM 1969; the other way round after George; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from splitplanner.solid.joining_kernels import root


def _linked(triangles: Any, count: int) -> Any:
    """Return the edge opposite to each corner (m, 3), and ends and number of uses of edges.

    Ends (e, 2) run as in the triangle that comes first.
    """
    newest = np.full(count, -1)
    older = np.empty(3 * len(triangles), np.int64)
    ends = np.empty((3 * len(triangles), 2), np.int64)
    uses = np.zeros(3 * len(triangles), np.int64)
    of = np.empty(triangles.shape, np.int64)
    edges = 0
    for t in range(len(triangles)):
        for k in range(3):
            start, end = triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3]
            low = min(start, end)
            edge = newest[low]
            while edge >= 0 and ends[edge, 0] + ends[edge, 1] != start + end:
                edge = older[edge]
            if edge < 0:
                edge = edges
                edges += 1
                ends[edge, 0], ends[edge, 1] = start, end
                older[edge], newest[low] = newest[low], edge
            uses[edge] += 1
            of[t, k] = edge
    return of, ends[:edges], uses[:edges]


linked = njit(nogil=True, cache=True)(_linked)


def _meshed(points: Any, triangles: Any, stiff: Any, push: Any, mass: Any) -> Any:
    """Return what belongs to every triangle, and sums of it for every node.

    Points (n, 2), nodes (m, 6), areas (m,), gradients (m, 3, 2) and stiffness (m, 36); the edges of
    outlines (k, 3); for every function a ``∫ a``, ``∫ a x``, ``∫ a y`` and ``∫ (y, -x) · ∇a``.
    """
    turned = triangles.copy()
    areas = np.empty(len(triangles))
    kept = 0
    for t in range(len(triangles)):
        (ax, ay), (bx, by), (cx, cy) = (
            points[turned[t, 0]],
            points[turned[t, 1]],
            points[turned[t, 2]],
        )
        area = ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / 2.0
        if area != 0.0:
            a, b, c = turned[t]
            turned[kept] = (a, b, c) if area > 0.0 else (a, c, b)
            areas[kept] = abs(area)
            kept += 1
    turned, areas = turned[:kept], areas[:kept]
    edge, ends, uses = linked(turned, len(points))
    count = len(points)
    places = np.empty((count + len(ends), 2))
    places[:count] = points
    rim = np.empty((int((uses == 1).sum()), 3), np.int64)
    found = 0
    for k in range(len(ends)):
        places[count + k] = (points[ends[k, 0]] + points[ends[k, 1]]) / 2.0
        if uses[k] == 1:
            rim[found] = (ends[k, 0], ends[k, 1], count + k)
            found += 1
    nodes = np.empty((kept, 6), np.int64)
    gradients = np.empty((kept, 3, 2))
    local = np.zeros((kept, 36))
    sums = np.zeros((4, len(places)))
    for t in range(kept):
        for k in range(3):
            nodes[t, k], nodes[t, 3 + k] = turned[t, k], count + edge[t, k]
            start, end = turned[t, (k + 1) % 3], turned[t, (k + 2) % 3]
            gradients[t, k, 0] = (points[start, 1] - points[end, 1]) / (2.0 * areas[t])
            gradients[t, k, 1] = (points[end, 0] - points[start, 0]) / (2.0 * areas[t])
        for k in range(3):
            gx, gy = gradients[t, k]
            after, before = gradients[t, (k + 1) % 3], gradients[t, (k + 2) % 3]
            part = areas[t] * (after[0] * before[0] + after[1] * before[1])
            for i in range(36):
                local[t, i] += part * stiff[k, i]
            for j in range(3):
                x, y = points[turned[t, j]]
                for i in range(6):
                    sums[3, nodes[t, i]] += areas[t] * (y * gx - x * gy) * push[3 * k + j, i]
        for i in range(6):
            for j in range(6):
                part = areas[t] * mass[i, j]
                sums[0, nodes[t, i]] += part
                sums[1, nodes[t, i]] += part * places[nodes[t, j], 0]
                sums[2, nodes[t, i]] += part * places[nodes[t, j], 1]
    return places, nodes, areas, gradients, local, rim, sums


meshed = njit(nogil=True, cache=True, error_model="numpy")(_meshed)


def _looped(rim: Any, points: Any) -> Any:
    """Return for every node its outline (-1: inside, 0: the outer one), and what each sweeps."""
    parents = np.arange(len(points))
    for start, end, middle in rim:
        parents[root(parents, end)] = root(parents, start)
        parents[middle] = start
    outer = rim[0, 0]
    for start, _, _ in rim:
        if points[start, 0] < points[outer, 0]:
            outer = start
    label = np.full(len(points), -1)
    label[root(parents, outer)] = 0
    count = 1
    swept = np.zeros(len(rim))
    loop = np.full(len(points), -1)
    for start, end, middle in rim:
        top = root(parents, start)
        if label[top] < 0:
            label[top] = count
            count += 1
        name = label[top]
        loop[start] = loop[end] = loop[middle] = name
        (ax, ay), (bx, by) = points[start], points[end]
        swept[name] += (ax * by - ay * bx) / 2.0
    return loop, swept[:count]


looped = njit(nogil=True, cache=True)(_looped)


def _spread(nodes: Any, number: Any, begins: Any, members: Any, start: int, order: Any) -> int:
    """Write unknowns into `order` (-1 where free) as they are reached from `start`; how many."""
    seen = np.zeros(len(begins) - 1, np.bool_)
    done = np.zeros(len(nodes), np.bool_)
    seen[start], order[0] = True, start
    head, count = 0, 1
    while head < count:
        for at in range(begins[order[head]], begins[order[head] + 1]):
            t = members[at]
            if not done[t]:
                done[t] = True
                for node in nodes[t]:
                    k = number[node]
                    if k >= 0 and not seen[k]:
                        seen[k], order[count] = True, k
                        count += 1
        head += 1
    return count


_spread = njit(nogil=True, cache=True)(_spread)


def _ordered(nodes: Any, number: Any, holes: int, count: int) -> Any:
    """Return the place (count,) of each unknown, the first `holes` of them last."""
    far = np.where(number >= holes, number - holes, -1)
    inner = count - holes
    begins = np.zeros(inner + 1, np.int64)
    for t in range(len(nodes)):
        for node in nodes[t]:
            if far[node] >= 0:
                begins[far[node] + 1] += 1
    begins = np.cumsum(begins)
    members, filled = np.empty(begins[-1], np.int64), begins[:-1].copy()
    for t in range(len(nodes)):
        for node in nodes[t]:
            k = far[node]
            if k >= 0:
                members[filled[k]] = t
                filled[k] += 1
    place = np.full(count, -1)
    order = np.empty(inner, np.int64)
    taken = 0
    for first in range(inner):
        if place[holes + first] < 0:
            # From one end: what is reached last from anywhere.
            reached = _spread(nodes, far, begins, members, first, order)
            reached = _spread(nodes, far, begins, members, order[reached - 1], order)
            for at in range(reached):
                place[holes + order[reached - 1 - at]] = taken + at
            taken += reached
    for hole in range(holes):
        place[hole] = inner + hole
    return place


_ordered = njit(nogil=True, cache=True)(_ordered)


def _profiled(nodes: Any, number: Any, holes: int, count: int) -> Any:
    """Return the place (count,) of each unknown, for each place the first entry, and the work.

    `number` (n,) is that of each node's unknown, -1: none; work is about how many products.
    """
    place = _ordered(nodes, number, holes, count)
    first = np.arange(count)
    for t in range(len(nodes)):
        low = count
        for node in nodes[t]:
            if number[node] >= 0:
                low = min(low, place[number[node]])
        for node in nodes[t]:
            if number[node] >= 0:
                at = place[number[node]]
                first[at] = min(first[at], low)
    return place, first, float(((np.arange(count) - first) ** 2).sum())


profiled = njit(nogil=True, cache=True)(_profiled)


def _factored(nodes: Any, local: Any, number: Any, place: Any, first: Any) -> Any:
    """Return rows of L, D on the diagonal, of the sum of `local` (m, 36) = L D Lᵀ; their begins.

    The rest as `profiled` has it.
    """
    count = len(first)
    begins = np.zeros(count + 1, np.int64)
    begins[1:] = np.cumsum(np.arange(count) - first + 1)
    rows = np.zeros(begins[-1])
    at = np.empty(6, np.int64)
    for t in range(len(nodes)):
        for i in range(6):
            unknown = number[nodes[t, i]]
            at[i] = place[unknown] if unknown >= 0 else -1
        for i in range(6):
            p = at[i]
            for j in range(6):
                if 0 <= at[j] <= p:
                    rows[begins[p] + at[j] - first[p]] += local[t, 6 * i + j]
    for p in range(count):
        row, low = rows[begins[p] : begins[p + 1]], first[p]
        for q in range(low, p):
            begin = max(low, first[q])
            mine = row[begin - low : q - low]
            other = rows[begins[q] + begin - first[q] : begins[q + 1] - 1]
            part = 0.0
            for k in range(len(mine)):
                part += mine[k] * other[k]
            row[q - low] -= part
        for q in range(low, p):
            whole = row[q - low]
            row[q - low] = whole / rows[begins[q + 1] - 1]
            row[p - low] -= whole * row[q - low]
    return rows, begins


factored = njit(nogil=True, cache=True, fastmath=True, error_model="numpy")(_factored)


def _solved(rows: Any, begins: Any, first: Any, place: Any, force: Any) -> Any:
    """Return the solution (n, c) for right sides (n, c) of unknowns with a place (n,) each."""
    found = np.empty_like(force)
    count = len(first)
    column = np.empty(count)
    for side in range(force.shape[1]):
        for unknown in range(count):
            column[place[unknown]] = force[unknown, side]
        for p in range(count):
            row, before = rows[begins[p] : begins[p + 1] - 1], column[first[p] : p]
            part = 0.0
            for k in range(len(row)):
                part += row[k] * before[k]
            column[p] -= part
        for p in range(count):
            column[p] /= rows[begins[p + 1] - 1]
        for p in range(count - 1, -1, -1):
            row, before = rows[begins[p] : begins[p + 1] - 1], column[first[p] : p]
            for k in range(len(row)):
                before[k] -= row[k] * column[p]
        for unknown in range(count):
            found[unknown, side] = column[place[unknown]]
    return found


solved = njit(nogil=True, cache=True, fastmath=True, error_model="numpy")(_solved)


def _held(nodes: Any, local: Any, stress: Any) -> Any:
    """Return ``∫ ∇φ · ∇a`` for every function a, (n,)."""
    found = np.zeros(len(stress))
    for t in range(len(nodes)):
        for i in range(6):
            part = 0.0
            for j in range(6):
                part += local[t, 6 * i + j] * stress[nodes[t, j]]
            found[nodes[t, i]] += part
    return found


held = njit(nogil=True, cache=True)(_held)


def _inner(points: Any, rim: Any, before: Any, sharp: float) -> Any:
    """Return the starts of edges at which outlines turn from the material by more than `sharp`."""
    found = np.empty(len(rim), np.int64)
    count = 0
    for edge in range(len(rim)):
        start, end, _ = rim[edge]
        last = before[start]
        ahead, behind = points[end] - points[start], points[start] - points[rim[last, 0]]
        cross = behind[0] * ahead[1] - behind[1] * ahead[0]
        if np.arctan2(cross, behind[0] * ahead[0] + behind[1] * ahead[1]) < -sharp:
            found[count] = start
            count += 1
    return found[:count]


_inner = njit(nogil=True, cache=True)(_inner)


def _evened(points: Any, rim: Any, figures: Any, reach: float, wall: float, sharp: float) -> Any:
    """Return means of figures of edges over what of outlines is as near as `reach` to each.

    Also whether edges are further than a wall from sharp inner corners.
    """
    after, before = np.full(len(points), -1), np.full(len(points), -1)
    lengths = np.empty(len(rim))
    for edge in range(len(rim)):
        start, end, _ = rim[edge]
        after[start], before[end] = edge, edge
        x, y = points[end, 0] - points[start, 0], points[end, 1] - points[start, 1]
        lengths[edge] = np.sqrt(x * x + y * y)
    corners = _inner(points, rim, before, sharp)
    found, far = np.empty(len(rim)), np.ones(len(rim), np.bool_)
    for edge in range(len(rim)):
        total, whole = figures[edge] * lengths[edge], lengths[edge]
        for way in range(2):
            left, at = reach - lengths[edge] / 2.0, edge
            while left > 0.0:
                at = after[rim[at, 1]] if way == 0 else before[rim[at, 0]]
                if at < 0 or at == edge:
                    break
                part = min(left, lengths[at])
                total += figures[at] * part
                whole += part
                left -= part
        found[edge] = total / whole
        x, y = points[rim[edge, 2], 0], points[rim[edge, 2], 1]
        for corner in corners:
            if (points[corner, 0] - x) ** 2 + (points[corner, 1] - y) ** 2 <= wall * wall:
                far[edge] = False
                break
    return found, far


evened = njit(nogil=True, cache=True, error_model="numpy")(_evened)


def _hull(points: Any) -> Any:
    """Return the corners of the convex hull, to the left round, of complex points in rising order.

    Each half from end to end (Andrew, Inf. Proc. Letters 9 (1979) 216; from memory).
    """
    count = len(points)
    found = np.empty(2 * count, np.complex128)
    kept = 0
    for half in range(2):
        least = kept + 2 - half
        for at in range(half, count):
            place = points[at] if half == 0 else points[count - 1 - at]
            while kept >= least:
                chord, way = place - found[kept - 2], found[kept - 1] - found[kept - 2]
                if way.real * chord.imag > way.imag * chord.real:
                    break
                kept -= 1
            found[kept] = place
            kept += 1
    return found[: kept - 1].copy()


hull = njit(nogil=True, cache=True)(_hull)
