"""Choosing the places of a pattern of pins among many candidates."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, Ints
from splitplanner.joint.pins.keying import VISIBLE_STEP, Keying, SeamOutline
from splitplanner.joint.pins.sizes import PinSize

_WANTED_STEP = 2 * VISIBLE_STEP
"""The step at the outline that is looked for first, mm; see `Keying`."""
_GIVE_UP = 0.85
"""To gain that step two pins are not brought nearer than this share of the first distance."""
_TOO_NEAR = 0.5
"""Nor nearer than this share of the longest distance: a third pin or an unlike one keys better."""
_OTHER_BODY = 0.8
"""Two pins in separate polygons of the seam are taken from this share of the longest distance."""
MOST_PINS = 6
"""On one seam: two locate it, the others share the load. Common practice, no source."""
_ADDED_APART = 40.0
"""Pins beyond the first two keep at least this distance, mm. Common practice, no source."""
_OUTLINE_POINTS, _INNER_POINTS = 160, 120
_MOST_KEYINGS, _MOST_MISFITS, _MOST_TRIES = 400, 60, 40

Fits = Callable[[PinSize, Floats], bool]
"""Tells whether a pin of a size may stand at a place (2,) of the plane, mm."""


@dataclass(frozen=True, eq=False)
class Pattern:
    """Pins chosen for a seam.

    Attributes
    ----------
    places : (n, 2) float array, mm
        Plane coordinates.
    sizes : tuple of PinSize
    keying : Keying
    """

    places: Floats
    sizes: tuple[PinSize, ...]
    keying: Keying


def candidates(room: MultiPolygon, seam: MultiPolygon) -> tuple[Floats, Ints]:
    """Return places for pins: along the outlines of their room, its corners, and a grid within.

    Parameters
    ----------
    room, seam : MultiPolygon
        Plane coordinates, mm.

    Returns
    -------
    places : (n, 2) float array, mm
        In a fixed order, no two nearer than 0.1 mm.
    bodies : (n,) int array
        Which polygon of the seam each lies in.
    """
    lean = room.simplify(0.02)
    outline = shapely.get_coordinates(
        shapely.segmentize(lean, max(lean.length / _OUTLINE_POINTS, 0.5))
    )
    places = np.vstack([outline, _grid(room)])
    _, first = np.unique(np.round(places, 1), axis=0, return_index=True)
    places = places[np.sort(first)]
    # A simplified outline may leave the room by 0.02 mm; what lies outside is brought back.
    points = shapely.points(places)
    lines = shapely.shortest_line(room, points)
    places = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
    apart = np.array([shapely.distance(polygon, points) for polygon in seam.geoms])
    return places, np.argmin(apart, axis=0)


def _grid(room: MultiPolygon) -> Floats:
    low_u, low_v, high_u, high_v = room.bounds
    step = max(math.sqrt(room.area / _INNER_POINTS), 2.0)
    if (high_u - low_u) * (high_v - low_v) / step**2 > 100 * _INNER_POINTS:
        return np.empty((0, 2))
    u, v = np.meshgrid(np.arange(low_u, high_u, step), np.arange(low_v, high_v, step))
    inside = shapely.contains_xy(room, u.ravel(), v.ravel())
    grid: Floats = np.stack([u.ravel(), v.ravel()], axis=1)[inside]
    return grid


@dataclass(eq=False)
class _Search:
    """The candidates of one size, and what is known of them so far."""

    places: Floats
    bodies: Ints
    size: PinSize
    outline: SeamOutline
    fits: Fits
    known: dict[int, bool] = field(default_factory=dict)
    keyings: dict[tuple[int, ...], Keying] = field(default_factory=dict)
    misfits: int = 0

    def fit(self, index: int) -> bool:
        """Return whether the pin may stand at a candidate; asked once each."""
        if index not in self.known:
            self.known[index] = self.fits(self.size, self.places[index])
            self.misfits += not self.known[index]
        return self.known[index]

    def keying(self, chosen: list[int]) -> Keying:
        """Return the keying of equal pins at candidates."""
        places = self.places[chosen]
        # Two equal pins turn by 180° about their midpoint: pairs with one midpoint are alike.
        key = tuple(np.round(places.mean(axis=0) * 10).astype(int).tolist())
        if len(chosen) == 2 and key in self.keyings:
            return self.keyings[key]
        diameters = np.full(len(chosen), self.size.diameter)
        found = self.outline.keying(places, diameters, np.full(len(chosen), self.size.slack))
        if len(chosen) == 2:
            self.keyings[key] = found
        return found


def choose(
    places: Floats,
    bodies: Ints,
    size: PinSize,
    count: int,
    outline: SeamOutline,
    fits: Fits,
    thinner: PinSize | None = None,
) -> Pattern | None:
    """Choose two pins or more, the first two as far apart as possible.

    Parameters
    ----------
    places, bodies : (n, 2) float array, mm, and (n,) int array
        See `candidates`.
    size : PinSize
    count : int
        How many pins are wanted; every separate polygon of the seam with room gets one besides,
        `MOST_PINS` at most.
    outline : SeamOutline
    fits : function
    thinner : PinSize, optional
        For the second pin, where two equal ones cannot be keyed.

    Returns
    -------
    Pattern or None
        None when no two fit.
    """
    search = _Search(places, bodies, size, outline, fits)
    pair = _pair(search)
    if pair is None:
        return None
    chosen, keying = pair
    while len(chosen) < MOST_PINS:
        added = _next(search, chosen, len(chosen) < count or not keying.is_keyed)
        if added is None:
            break
        chosen = [*chosen, added]
        keying = search.keying(chosen)
    if not keying.is_keyed and thinner is not None and fits(thinner, places[chosen[1]]):
        sizes = (size, thinner)
        unlike = outline.keying(
            places[chosen[:2]],
            np.array([one.diameter for one in sizes]),
            np.array([one.slack for one in sizes]),
        )
        return Pattern(places[chosen[:2]], sizes, unlike)
    return Pattern(places[chosen], (size,) * len(chosen), keying)


def _pair(search: _Search) -> tuple[list[int], Keying] | None:
    """Return the two places farthest apart that key the seam, or failing that the farthest two."""
    kept: tuple[list[int], Keying, float] | None = None
    unkeyed: tuple[list[int], Keying, float] | None = None
    for i, j, worth in _pairs(search):
        if kept is not None and worth < _GIVE_UP * kept[2]:
            break
        if unkeyed is not None and worth < _TOO_NEAR * unkeyed[2]:
            break
        if search.misfits > _MOST_MISFITS or len(search.keyings) > _MOST_KEYINGS:
            break
        keying = search.keying([i, j])
        better = (kept is None and keying.is_keyed) or keying.step >= _WANTED_STEP
        if not better and unkeyed is not None:
            continue
        if not (search.fit(i) and search.fit(j)):
            continue
        if keying.step >= _WANTED_STEP:
            return [i, j], keying
        if keying.is_keyed and kept is None:
            kept = ([i, j], keying, worth)
        if unkeyed is None:
            unkeyed = ([i, j], keying, worth)
    found = kept or unkeyed
    return None if found is None else found[:2]


def _pairs(search: _Search) -> Iterator[tuple[int, int, float]]:
    """Yield pairs of places at the spacing or more and what they are worth, the best first."""
    i, j = np.triu_indices(len(search.places), 1)
    distance = np.linalg.norm(search.places[i] - search.places[j], axis=1)
    apart = distance >= search.size.spacing
    i, j, distance = i[apart], j[apart], distance[apart]
    # Worth is distance, less where both pins stand in one polygon and others have none.
    worth = distance * np.where(search.bodies[i] == search.bodies[j], _OTHER_BODY, 1.0)
    for index in np.argsort(-np.round(worth, 6), kind="stable").tolist():
        yield int(i[index]), int(j[index]), float(worth[index])


def _next(search: _Search, chosen: list[int], wanted: bool) -> int | None:
    """Return the place farthest from those chosen, first in a polygon that has no pin yet."""
    apart = np.linalg.norm(search.places[:, None] - search.places[chosen][None], axis=2).min(axis=1)
    fresh = ~np.isin(search.bodies, search.bodies[chosen])
    least = np.where(fresh, search.size.spacing, max(search.size.spacing, _ADDED_APART))
    usable = (apart >= least) & (fresh | wanted)
    order = np.lexsort((-np.round(apart, 6), ~fresh))
    for index in order[usable[order]].tolist()[:_MOST_TRIES]:
        if search.misfits > _MOST_MISFITS:
            break
        if search.fit(index) and search.keying([*chosen, index]).is_keyed:
            return int(index)
    return None
