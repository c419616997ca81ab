"""The compiled loops behind `spreading`; imported only when first needed.

A *unit* is what is chosen as one: a place, or two places that mirror each other. In all functions:

apart : (m, m) float array
    Least distance between the places of two units, 0 on the diagonal, mm.
inner : (m,) float array
    Distance between the two places of a pair, inf for a lone place, mm.
weight : (m,) int array
    Places in each unit, 1 or 2.
away : (h, m) float array
    Distance of each point that has to be held from the nearest place of each unit, mm.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


def _room_left(
    cands: Any, used: int, apart: Any, weight: Any, worth: Any, chain: Any, least: float, rest: int
) -> float:
    """Return more than `rest` places among the candidates can be worth; -1 if they cannot be had.

    Candidates are put into groups in which any two are nearer than `least`: at most one of each
    can be taken (a cover by cliques). The dearest groups are then filled up by halves.
    """
    m = len(weight)
    is_in = np.zeros(m, dtype=np.bool_)
    for k in range(used):
        is_in[cands[k]] = True
    group_of = np.full(used, 0, dtype=np.int64)
    member = np.empty(used, dtype=np.int64)
    rate = np.zeros(used)
    holds = np.zeros(used, dtype=np.int64)
    groups, seen = 0, 0
    for at in range(m):
        i = chain[at]
        if not is_in[i]:
            continue
        mine = -1
        for group in range(groups - 1, -1, -1):
            fits = True
            for k in range(seen):
                if group_of[k] == group and apart[i, member[k]] >= least:
                    fits = False
                    break
            if fits:
                mine = group
                break
        if mine < 0:
            mine = groups
            groups += 1
        group_of[seen], member[seen] = mine, i
        seen += 1
        rate[mine] = max(rate[mine], worth[i] / weight[i])
        holds[mine] = max(holds[mine], weight[i])
    total: float = 0.0
    left = rest
    for _ in range(groups):
        best = -1
        for group in range(groups):
            if holds[group] > 0 and (best < 0 or rate[group] > rate[best]):
                best = group
        taken = min(left, holds[best])
        total += taken * rate[best]
        left -= taken
        holds[best] = 0
        if left == 0:
            return total
    return -1.0


_room_left = njit(nogil=True, cache=True)(_room_left)


def _branches(cands: Any, used: int, away: Any, held: Any, reach: float) -> int:
    """Put candidates first that hold the point which fewest can hold; return how many.

    All of them when every point is held, 0 when one cannot be held any more.
    """
    rarest, fewest = -1, used + 1
    for point in range(len(held)):
        if held[point]:
            continue
        count = 0
        for k in range(used):
            if away[point, cands[k]] <= reach:
                count += 1
                if count >= fewest:
                    break
        if count < fewest:
            rarest, fewest = point, count
    if rarest < 0:
        return used
    front = 0
    for k in range(used):
        if away[rarest, cands[k]] <= reach:
            unit = cands[k]
            for back in range(k, front, -1):
                cands[back] = cands[back - 1]
            cands[front] = unit
            front += 1
    return front


_branches = njit(nogil=True, cache=True)(_branches)


def _search(
    apart: Any,
    inner: Any,
    weight: Any,
    worth: Any,
    away: Any,
    chain: Any,
    least: float,
    reach: float,
    count: int,
    floor: float,
    first_will_do: bool,
    budget: int,
) -> tuple[Any, float, bool]:
    """Find the pattern of most worth by branch and bound.

    Parameters
    ----------
    worth : (m,) float array
        Of each unit; the units are tried in their order.
    chain : (m,) int array
        The units in an order in which neighbours follow each other.
    least, reach : float
        No two places nearer than the first, no point to be held farther than the second, mm.
    count : int
        Places wanted.
    floor : float
        Only a pattern worth more is of use.
    first_will_do : bool
        Stop at the first pattern.
    budget : int
        Steps of the search before it gives up, each of about m operations.

    Returns
    -------
    best : (k,) int array
        Units; empty when there is none.
    value : float
    is_complete : bool
        Whether the search came to its end.
    """
    m, points = len(weight), len(away)
    cands = np.empty((count + 1, m), dtype=np.int64)
    used = np.zeros(count + 1, dtype=np.int64)
    branch = np.zeros(count + 1, dtype=np.int64)
    at = np.zeros(count + 1, dtype=np.int64)
    held = np.zeros((count + 1, points), dtype=np.bool_)
    rest = np.zeros(count + 1, dtype=np.int64)
    value = np.zeros(count + 1)
    chosen = np.empty(count, dtype=np.int64)
    best = np.empty(0, dtype=np.int64)
    for i in range(m):
        if inner[i] >= least and weight[i] <= count:
            cands[0, used[0]] = i
            used[0] += 1
    rest[0] = count
    branch[0] = _branches(cands[0], used[0], away, held[0], reach)
    level, steps = 0, 0
    while level >= 0:
        if at[level] >= branch[level]:
            level -= 1
            continue
        here = at[level]
        at[level] += 1
        unit = cands[level, here]
        below = level + 1
        chosen[level] = unit
        rest[below] = rest[level] - weight[unit]
        value[below] = value[level] + worth[unit]
        all_held = True
        for point in range(points):
            held[below, point] = held[level, point] or away[point, unit] <= reach
            all_held = all_held and held[below, point]
        if rest[below] == 0:
            if all_held and value[below] > floor:
                floor = value[below]
                best = chosen[:below].copy()
                if first_will_do:
                    return best, floor, True
            continue
        steps += 1
        if steps > budget:
            return best, floor, False
        used[below] = 0
        for k in range(here + 1, used[level]):
            other = cands[level, k]
            if apart[unit, other] >= least and weight[other] <= rest[below]:
                cands[below, used[below]] = other
                used[below] += 1
        more = _room_left(
            cands[below], used[below], apart, weight, worth, chain, least, rest[below]
        )
        if more < 0 or value[below] + more <= floor:
            continue
        branch[below] = _branches(cands[below], used[below], away, held[below], reach)
        at[below] = 0
        level = below
    return best, floor, True


search = njit(nogil=True, cache=True)(_search)


def _figures(units: Any, apart: Any, inner: Any, away: Any) -> tuple[float, float]:
    """Return the least distance between places of `units`, and that of the farthest point."""
    least, reach = np.inf, 0.0
    for a in range(len(units)):
        least = min(least, inner[units[a]])
        for b in range(a + 1, len(units)):
            least = min(least, apart[units[a], units[b]])
    for point in range(len(away)):
        nearest = np.inf
        for unit in units:
            nearest = min(nearest, away[point, unit])
        reach = max(reach, nearest)
    return least, reach


figures = njit(nogil=True, cache=True)(_figures)


def _greedy(apart: Any, inner: Any, weight: Any, count: int, start: int) -> Any:
    """Return units, each as far as possible from those before, from one on; empty if none fit."""
    m = len(weight)
    chosen = np.empty(count, dtype=np.int64)
    nearest = np.empty(m)
    for i in range(m):
        nearest[i] = min(inner[i], apart[i, start])
    chosen[0], found, rest = start, 1, count - weight[start]
    while rest > 0:
        best = -1
        for i in range(m):
            if weight[i] <= rest and (best < 0 or nearest[i] > nearest[best]):
                best = i
        if best < 0 or nearest[best] <= 0.0:
            return chosen[:0]
        chosen[found] = best
        found += 1
        rest -= weight[best]
        for i in range(m):
            nearest[i] = min(nearest[i], apart[i, best])
    return chosen[:found]


_greedy = njit(nogil=True, cache=True)(_greedy)


def _evened(units: Any, apart: Any, inner: Any, weight: Any) -> Any:
    """Move units of the closest pair for as long as that brings the least distance up."""
    m, k = len(weight), len(units)
    units = units.copy()
    for _ in range(50 * k):
        first, second, least = 0, 0, np.inf
        for a in range(k):
            if inner[units[a]] < least:
                first, second, least = a, a, inner[units[a]]
            for b in range(a + 1, k):
                if apart[units[a], units[b]] < least:
                    first, second, least = a, b, apart[units[a], units[b]]
        best, place, gain = -1, -1, least
        for moved in (first, second):
            for i in range(m):
                if weight[i] != weight[units[moved]]:
                    continue
                nearest = inner[i]
                for other in range(k):
                    if other != moved:
                        nearest = min(nearest, apart[i, units[other]])
                if nearest > gain:
                    best, place, gain = i, moved, nearest
        if best < 0:
            break
        units[place] = best
    return units


_evened = njit(nogil=True, cache=True)(_evened)


def _most_even(
    apart: Any, inner: Any, weight: Any, away: Any, count: int, starts: Any
) -> tuple[Any, float, float]:
    """Return the most even pattern that greedy choice and moves find from several starts.

    Returns
    -------
    units : (k,) int array
        Empty when none was found.
    least, reach : float
        See `figures`; among equal least distances the smallest reach.
    """
    best = np.empty(0, dtype=np.int64)
    least, reach = -1.0, np.inf
    for start in starts:
        units = _greedy(apart, inner, weight, count, start)
        if len(units) == 0:
            continue
        units = _evened(units, apart, inner, weight)
        near, far = figures(units, apart, inner, away)
        if near > least or (near == least and far < reach):
            best, least, reach = units, near, far
    return best, least, reach


most_even = njit(nogil=True, cache=True)(_most_even)


def _all_held(away: Any, nearest: Any, first: int, second: int, reach: float) -> bool:
    for point in range(len(away)):
        if nearest[point] > reach and away[point, first] > reach and away[point, second] > reach:
            return False
    return True


_all_held = njit(nogil=True, cache=True)(_all_held)


def _exchange(
    units: Any,
    apart: Any,
    inner: Any,
    weight: Any,
    worth: Any,
    away: Any,
    least: float,
    reach: float,
) -> tuple[Any, bool]:
    """Return `units` with one or two of them exchanged so that they are worth more, and whether.

    Two units may be exchanged for one, and one for two, where the places add up.
    """
    m, k = len(weight), len(units)
    allowed = np.empty(m, dtype=np.int64)
    nearest = np.empty(len(away))
    best, gain = units, 1e-9
    for a in range(k):
        for b in range(a, k):
            freed = weight[units[a]] + (weight[units[b]] if b != a else 0)
            lost = worth[units[a]] + (worth[units[b]] if b != a else 0.0)
            count = 0
            for i in range(m):
                near = inner[i]
                for other in range(k):
                    if other not in (a, b):
                        near = min(near, apart[i, units[other]])
                if near >= least and weight[i] <= freed:
                    allowed[count] = i
                    count += 1
            for point in range(len(away)):
                nearest[point] = np.inf
                for other in range(k):
                    if other not in (a, b):
                        nearest[point] = min(nearest[point], away[point, units[other]])
            for c in range(count):
                first = allowed[c]
                for d in range(c, count):
                    second = allowed[d]
                    one = d == c
                    if weight[first] + (0 if one else weight[second]) != freed:
                        continue
                    more = worth[first] + (0.0 if one else worth[second]) - lost
                    if more <= gain or (not one and apart[first, second] < least):
                        continue
                    if not _all_held(away, nearest, first, second, reach):
                        continue
                    left = np.array([units[o] for o in range(k) if o not in (a, b)] + [first])
                    best = left if one else np.append(left, second)
                    gain = more
        if gain > 1e-9:
            break
    return best, gain > 1e-9


_exchange = njit(nogil=True, cache=True)(_exchange)


def _widened(
    units: Any,
    apart: Any,
    inner: Any,
    weight: Any,
    worth: Any,
    away: Any,
    least: float,
    reach: float,
) -> Any:
    """Return a pattern worth more than `units` by exchanges, until none helps."""
    for _ in range(200):
        units, is_better = _exchange(units, apart, inner, weight, worth, away, least, reach)
        if not is_better:
            break
    return units


widened = njit(nogil=True, cache=True)(_widened)
