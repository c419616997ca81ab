"""The compiled loops that tell where gaps between islands end; see `_ranking_kernels`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

_PLACES = 256
"""So many places on the outlines of a layer tell where its gaps are."""


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


def _sampled(places: Any, owners: Any, seen: Any, rings: Any) -> tuple[Any, Any, Any]:
    """Put places between the corners of outlines where these are far apart.

    Returns
    -------
    samples : (n, 3) float array, mm
        Corners, and places evenly between them.
    shown : (n,) bool array
        Whether one of the faces that each lies on is seen: two at a corner.
    within : (k, 2) int array
        The first sample of each ring, and the first that is not its own.
    """
    length = 0.0
    for ring in range(len(rings)):
        for place in range(rings[ring, 0], rings[ring, 1]):
            length += np.sqrt(_away(places, place, _after(rings, ring, place)))
    apart = max(length / _PLACES, 1e-9)
    total = rings[-1, 1] - rings[0, 0] + _PLACES
    samples, shown = np.empty((total, 3)), np.empty(total, dtype=np.bool_)
    within, used = np.empty_like(rings), 0
    for ring in range(len(rings)):
        within[ring, 0] = used
        for place in range(rings[ring, 0], rings[ring, 1]):
            after = _after(rings, ring, place)
            count = int(np.sqrt(_away(places, place, after)) / apart)
            for step in range(count + 1):
                if used == total:
                    break
                for axis in range(3):
                    run = places[after, axis] - places[place, axis]
                    samples[used, axis] = places[place, axis] + run * step / (count + 1)
                # From a place to the next the outline runs in the face that owns the next.
                shown[used] = seen[owners[after]] or (step == 0 and seen[owners[place]])
                used += 1
        within[ring, 1] = used
    return samples, shown, within


def _after(rings: Any, ring: int, place: int) -> int:
    """Return the place that follows on an outline."""
    return place + 1 if place + 1 < rings[ring, 1] else rings[ring, 0]


_after = njit(nogil=True, cache=True)(_after)
_sampled = njit(nogil=True, cache=True)(_sampled)


def _is_within(places: Any, ring: Any, place: int, direction: Any) -> bool:
    """Return whether a place lies within an outline, as seen along `direction` (even-odd rule)."""
    x, y, z = abs(direction[0]), abs(direction[1]), abs(direction[2])
    u, v = (1, 2) if x >= y and x >= z else ((0, 2) if y >= z else (0, 1))
    inside, before = False, ring[1] - 1
    for at in range(ring[0], ring[1]):
        rise = places[at, v] - places[before, v]
        if (places[at, v] > places[place, v]) != (places[before, v] > places[place, v]):
            share = (places[place, v] - places[before, v]) / rise
            if places[before, u] + share * (places[at, u] - places[before, u]) > places[place, u]:
                inside = not inside
        before = at
    return inside


_is_within = njit(nogil=True, cache=True)(_is_within)


def _islands_of(places: Any, rings: Any, areas: Any, smallest: float, direction: Any) -> Any:
    """Return the number of the island that each outline bounds, -1 for none, (k,).

    Holes are those of the smallest outline that they lie within.
    """
    numbers, count = np.full(len(rings), -1, dtype=np.int64), 0
    for ring in range(len(rings)):
        if areas[ring] >= smallest:
            numbers[ring] = count
            count += 1
    for ring in range(len(rings)):
        if areas[ring] >= 0.0:
            continue
        least = np.inf
        for other in range(len(rings)):
            if (
                smallest <= areas[other] < least
                and areas[other] >= -areas[ring]
                and _is_within(places, rings[other], rings[ring, 0], direction)
            ):
                least, numbers[ring] = areas[other], numbers[other]
    return numbers


islands_of = njit(nogil=True, cache=True)(_islands_of)


def _seen_gaps(places: Any, owners: Any, seen: Any, rings: Any, numbers: Any, count: int) -> int:
    """Return how many of the shortest gaps that connect `count` islands end on a seen face.

    A tree of least length, grown from the first island (Prim). `numbers` (k,) are the islands of
    the outlines `rings` (k, 2).
    """
    samples, shown, within = _sampled(places, owners, seen, rings)
    step = max(1, within[-1, 1] // _PLACES)
    joined, good = np.zeros(count, dtype=np.bool_), np.zeros(count, dtype=np.bool_)
    least = np.full(count, np.inf)
    newest, found = 0, 0
    joined[0] = True
    for _ in range(count - 1):
        for one in range(len(rings)):
            for other in range(len(rings)):
                island = numbers[other]
                if numbers[one] != newest or island < 0 or joined[island]:
                    continue
                away, at, to = _nearest(samples, within[one], within[other], step)
                if away < least[island]:
                    least[island], good[island] = away, shown[at] or shown[to]
        best = -1
        for island in range(count):
            if not joined[island] and (best < 0 or least[island] < least[best]):
                best = island
        joined[best], newest = True, best
        found += good[best]
    return found


seen_gaps = njit(nogil=True, cache=True)(_seen_gaps)
