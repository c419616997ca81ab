"""Choosing which of many places a pattern of fasteners takes.

What makes a good pattern, first things first:

1. *Fit*: no two fasteners nearer than the spacing, none nearer to what is there already than its
   clearance.
2. *Even*: the least distance between two fasteners is at least `EVEN` of the greatest that any such
   pattern has. On a row that holds both ends and keeps one pitch all along; on a block it takes the
   corners, then the middle of the sides.
3. *Held*: no point of the seam is farther from its nearest fastener than half the largest pitch;
   or, where so many fasteners cannot do that, than 1 / `EVEN` of the least that an even pattern of
   them can. Points near which there is no place at all do not count.
4. *Wide*: among all these, the largest lever arm: the sum of squared distances from the seam's
   centroid, which is what a bolt group resists a moment and a twist with (elastic method: Shigley,
   Mechanical Engineering Design, section 8-12).

The lever arm alone would crowd fasteners at the ends and leave the middle open, an even pitch alone
gives away what costs nothing. Distances are straight ones in the plane.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.joint.fasteners.mirrored import MirrorLine

EVEN = 0.85
"""Share of the greatest least distance that a pattern keeps. The program's own choice: less than
√3/2, the share that the corners of any rectangle keep beside the most even four places, which are
staggered."""
LARGEST_PITCH, LEAST_PITCH = 10.0, 3.0
"""Distance of neighbours by their diameter, at most and at least. Common practice, no source."""
_ROUNDING = 1e-9
_SAME = 0.01
"""A place is another's mirror image when it is this near to it, mm."""
_STEPS = 40_000
"""Of one search, before what exchanges found is taken instead."""
_MOST_STARTS = 40


@dataclass(frozen=True)
class Spread:
    """A pattern of places.

    Attributes
    ----------
    chosen : tuple of int
        Indices of the places, rising.
    least : float
        Least distance between two of them, mm; inf for fewer than two.
    reach : float
        Distance of the farthest point of the seam from the nearest of them, mm; inf for none.
    lever : float
        Sum of squared distances from the seam's centroid, mm²; see `lever_sum`.
    is_exact : bool
        Whether no pattern is better; else it is what exchanges found.
    """

    chosen: tuple[int, ...]
    least: float
    reach: float
    lever: float
    is_exact: bool


def lever_sum(places: ArrayLike, centre: ArrayLike) -> float:
    """Return the sum of squared distances of `places` (n, 2) from `centre` (2,), mm²."""
    return float(((np.asarray(places, float) - np.asarray(centre, float)) ** 2).sum())


def spread(
    places: ArrayLike,
    count: int,
    spacing: float,
    centre: ArrayLike,
    taken: ArrayLike = (),
    clearances: ArrayLike = (),
    *,
    pitch: float = math.inf,
    line: ArrayLike | None = None,
    mirror: MirrorLine | None = None,
) -> Spread:
    """Choose places for fasteners: evenly spread, and with the largest lever arm.

    See the head of this module for what that means. A single fastener goes to the place nearest to
    the centre.

    Parameters
    ----------
    places : (n, 2) array, mm
        Plane coordinates.
    count : int
        How many are wanted; when they do not fit, as many as do.
    spacing : float
        Least distance between two, mm.
    centre : (2,) array, mm
        The seam's centroid.
    taken : (k, 2) array, mm
        What is there already.
    clearances : (k,) array, mm
        Least distance of a chosen place from each of `taken`.
    pitch : float
        The largest pitch, mm.
    line : (h, 2) array, mm, optional
        Points of the seam that should have a fastener near; the places by default.
    mirror : MirrorLine, optional
        Places are then chosen in mirrored pairs, or on the line; those without an image are left
        out.

    Returns
    -------
    Spread
        Exact when branch and bound comes to its end within its steps; it is empty where no place
        is left.

    Raises
    ------
    ValueError
        If the arrays do not fit together, or a figure is out of range.
    """
    spots = np.asarray(places, float).reshape(-1, 2)
    others = np.asarray(taken, float).reshape(-1, 2)
    gaps = np.asarray(clearances, float).reshape(-1)
    if len(others) != len(gaps):
        raise ValueError(f"{len(others)} places are taken but there are {len(gaps)} clearances")
    if count < 0 or not spacing > 0 or not pitch > 0:
        raise ValueError("count must be 0 or more, spacing and pitch above 0 mm")
    apart = np.linalg.norm(spots[:, None] - others[None], axis=2)
    free = np.flatnonzero((apart >= gaps - _ROUNDING).all(axis=1))
    points = spots if line is None else np.asarray(line, float).reshape(-1, 2)
    task = _Task(spots, _units(spots, free, mirror), np.asarray(centre, float), points, pitch)
    wanted = min(count, int(task.weight.sum())) if len(task.units) else 0
    for number in range(wanted, 0, -1):
        found = task.single() if number == 1 else task.best(number, spacing)
        if found is not None:
            return found
    return Spread((), math.inf, math.inf, 0.0, True)


def _units(spots: Floats, free: Ints, mirror: MirrorLine | None) -> list[tuple[int, ...]]:
    """Return what is chosen as one: each free place, or with a mirror each pair of images."""
    if mirror is None or not len(free):
        return [(index,) for index in free.tolist()]
    mine = spots[free]
    apart = np.linalg.norm(mirror.image(mine)[:, None] - mine[None], axis=2)
    image = np.argmin(apart, axis=1)
    is_found = apart[np.arange(len(mine)), image] <= _SAME
    units = {
        tuple(sorted({int(free[index]), int(free[image[index]])}))
        for index in np.flatnonzero(is_found).tolist()
    }
    return sorted(units)


@dataclass(frozen=True, eq=False)
class _Task:
    """The units to choose from, and what is known of each."""

    spots: Floats
    units: list[tuple[int, ...]]
    centre: Floats
    line: Floats
    pitch: float

    @cached_property
    def weight(self) -> Ints:
        return np.array([len(unit) for unit in self.units], dtype=np.int64)

    @cached_property
    def ends(self) -> tuple[Ints, Ints]:
        """First and last place of each unit; the same of a lone one."""
        return (
            np.array([unit[0] for unit in self.units]),
            np.array([unit[-1] for unit in self.units]),
        )

    def _nearest(self, points: Floats) -> Floats:
        """Return the distance of each unit's nearest place from each of `points`."""
        result: Floats = np.minimum(
            *(np.linalg.norm(points[:, None] - self.spots[end][None], axis=2) for end in self.ends)
        )
        return result

    @cached_property
    def apart(self) -> Floats:
        first, last = self.ends
        apart = np.minimum(self._nearest(self.spots[first]), self._nearest(self.spots[last]))
        np.fill_diagonal(apart, 0.0)
        return apart

    @cached_property
    def inner(self) -> Floats:
        first, last = self.ends
        return np.where(
            self.weight == 1, np.inf, np.linalg.norm(self.spots[first] - self.spots[last], axis=1)
        )

    @cached_property
    def away(self) -> Floats:
        return np.ascontiguousarray(self._nearest(self.line))

    @cached_property
    def holdable(self) -> Floats:
        """The rows of `away` of points that some unit comes near enough to."""
        near = self.away.min(axis=1) <= self.pitch / 2
        return np.ascontiguousarray(self.away[near])

    @cached_property
    def worth(self) -> Floats:
        each = ((self.spots - self.centre) ** 2).sum(axis=1)
        return np.array([each[list(unit)].sum() for unit in self.units])

    @cached_property
    def by_worth(self) -> Ints:
        """The units by what a place of theirs is worth, the dearest first."""
        return np.argsort(-np.round(self.worth / self.weight, 6), kind="stable")

    @cached_property
    def chain(self) -> Ints:
        """The units so that each is followed by the nearest one left, from the outermost on."""
        apart = self.apart.copy()
        np.fill_diagonal(apart, np.inf)
        at = int(self.by_worth[0])
        order = [at]
        while len(order) < len(self.units):
            apart[:, at] = np.inf
            at = int(np.argmin(apart[at]))
            order.append(at)
        return np.array(order)

    def spread(self, chosen: Ints, is_exact: bool) -> Spread:
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.joint.fasteners import _spread_kernels as kernels

        least, reach = kernels.figures(chosen, self.apart, self.inner, self.away)
        places = sorted(index for unit in chosen.tolist() for index in self.units[unit])
        return Spread(
            tuple(places),
            float(least),
            float(reach),
            float(self.worth[chosen].sum()),
            is_exact,
        )

    def single(self) -> Spread | None:
        """Return the lone place nearest to the centre, if there is one."""
        lone = np.flatnonzero(self.weight == 1)
        if not len(lone):
            return None
        return self.spread(lone[[int(np.argmin(np.round(self.worth[lone], 6)))]], True)

    def best(self, count: int, spacing: float) -> Spread | None:
        """Return the pattern of `count` places; None if there is none."""
        from splitplanner.joint.fasteners import _spread_kernels as kernels

        even, least, is_sure = self._most_even(count, spacing)
        if even is None:
            return None
        least = max(spacing, EVEN * least) - _ROUNDING
        start, reach, is_known = self._held(even, count, least)
        wide = kernels.widened(start, *self._arrays, least, reach)
        floor = float(self.worth[wide].sum()) + 1e-6
        better, is_complete = self._search(count, least, reach, floor)
        if better is not None:
            wide = better if is_complete else kernels.widened(better, *self._arrays, least, reach)
        return self.spread(wide, is_sure and is_known and is_complete)

    @property
    def _arrays(self) -> tuple[Any, ...]:
        return self.apart, self.inner, self.weight, self.worth, self.holdable

    def _most_even(self, count: int, spacing: float) -> tuple[Ints | None, float, bool]:
        """Return a pattern of the greatest least distance, that distance, and if it is certain."""
        from splitplanner.joint.fasteners import _spread_kernels as kernels

        found, least, _ = kernels.most_even(
            self.apart, self.inner, self.weight, self.away, count, self._starts(count)
        )
        is_sure = True
        if not len(found) or least < spacing - _ROUNDING:
            found, is_sure = self._search(count, spacing - _ROUNDING, math.inf)
            if found is None:
                return None, 0.0, is_sure
            least, _ = kernels.figures(found, self.apart, self.inner, self.away)
        steps = np.unique(np.append(self.apart.ravel(), self.inner[np.isfinite(self.inner)]))
        better, is_complete = self._last_that(
            steps[steps > least + _ROUNDING],
            lambda step: self._search(count, step - _ROUNDING, math.inf),
        )
        if better is not None:
            found = better
            least, _ = kernels.figures(found, self.apart, self.inner, self.away)
        return found, float(least), is_sure and is_complete

    def _starts(self, count: int) -> Ints:
        every = max(1, len(self.units) // _MOST_STARTS)
        starts = list(self.chain[::every])
        if count % 2:
            # An odd number needs a place on the mirror's line.
            starts += np.flatnonzero(self.weight == 1)[:_MOST_STARTS].tolist()
        return np.array(starts)

    def _held(self, even: Ints, count: int, least: float) -> tuple[Ints, float, bool]:
        """Return an even pattern and the reach that is to be kept, and whether that is certain."""
        from splitplanner.joint.fasteners import _spread_kernels as kernels

        reach = self.pitch / 2
        farthest = kernels.figures(even, self.apart, self.inner, self.holdable)[1]
        if farthest <= reach + _ROUNDING:
            return even, reach + _ROUNDING, True
        steps = np.unique(np.maximum(self.holdable, reach))
        better, is_complete = self._last_that(
            steps[steps < farthest - _ROUNDING][::-1],
            lambda step: self._search(count, least, step + _ROUNDING),
        )
        if better is not None:
            even = better
            farthest = kernels.figures(even, self.apart, self.inner, self.holdable)[1]
        return even, max(reach, farthest / EVEN) + _ROUNDING, is_complete

    def _last_that(
        self, steps: Floats, search: Callable[[float], tuple[Ints | None, bool]]
    ) -> tuple[Ints | None, bool]:
        """Return the pattern of the last of `steps` for which there is one, and if that is certain.

        The steps grow harder; the first is tried first, since there is rarely one.
        """
        best: Ints | None = None
        is_certain = True
        low, high, middle = 0, len(steps), 0
        while low < high:
            found, is_complete = search(float(steps[middle]))
            is_certain = is_certain and (found is not None or is_complete)
            if found is None:
                high = middle
            else:
                best, low = found, middle + 1
            middle = (low + high) // 2
        return best, is_certain

    def _search(
        self, count: int, least: float, reach: float, floor: float | None = None
    ) -> tuple[Ints | None, bool]:
        """Search the units by branch and bound; the first pattern will do without a `floor`."""
        from splitplanner.joint.fasteners import _spread_kernels as kernels

        order = self.chain if floor is None else self.by_worth
        back = np.empty_like(order)
        back[order] = np.arange(len(order))
        worth = self.worth if floor is not None else np.zeros(len(order))
        arrays: list[Any] = [
            np.ascontiguousarray(self.apart[np.ix_(order, order)]),
            self.inner[order],
            self.weight[order],
            worth[order],
            np.ascontiguousarray(self.holdable[: None if math.isfinite(reach) else 0, order]),
            back[self.chain],
        ]
        best, _, is_complete = kernels.search(
            *arrays,
            least,
            reach,
            count,
            -1.0 if floor is None else floor,
            floor is None,
            _STEPS,
        )
        return (order[best] if len(best) else None), bool(is_complete)
