"""The yaw at which a convex plan view fits a bed of any outline at the largest scale.

Whether it fits is exact at each yaw (see `outline_fit`); which yaws are tried is a search. Yaws at
which an edge of the piece is parallel to one of the bed come first, since most plans lie best so.
Then the turn is halved again and again: a window of yaws is dropped when what its yaws have in
common does not fit at the best scale (see `turning`). The best yaw is refined to 1e-6°.
"""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.score.outline_fit import FreeArea, fits_at
from splitplanner.score.plan_fit import widths
from splitplanner.score.turning import is_point_symmetric, shared_by_turns

_GAIN = 1e-10
_WINDOW = 8.0
_LEAST_WINDOW = 0.1
_MOST_TESTS = 500
_LEAST_STEP = 1e-6
_LONGEST_EDGES = 24
_MOST_SIDES = 64


def largest_scale(
    free: FreeArea, outline: Floats, enough: float, beat: float = 0.0
) -> tuple[float, float] | None:
    """Return the largest scale at which `outline` (n, 2) fits `free`, and its yaw in degrees.

    Parameters
    ----------
    free : FreeArea
    outline : (n, 2) float array, mm
        Convex, counter-clockwise, with an area.
    enough : float
        The search stops when this scale is reached (such as the scale the height allows).
    beat : float
        Scales up to this one are of no interest: None is returned for them.
    """
    if not len(free.corners):
        return (0.0, 0.0) if beat <= 0.0 else None
    search = _YawSearch(free, outline, enough, beat)
    middles = np.arange(_WINDOW / 2.0, search.period, _WINDOW)
    parallel = np.unique(np.mod(parallel_yaws(free, outline), search.period))
    bounds = search.bounds(parallel)
    first = parallel[np.lexsort((parallel, -np.round(bounds, 9)))[:1]]
    for yaw in (*first, *middles[:1]):
        search.offer(float(yaw), 1e-3)
    if search.done:
        return search.scale, search.yaw % 360.0
    middles = middles[[search.may_hold_better(float(yaw), _WINDOW) for yaw in middles]]
    for yaw in parallel[np.isin(np.floor(parallel / _WINDOW), np.floor(middles / _WINDOW))]:
        search.offer(float(yaw), 1e-3)
    search.refine(_WINDOW / 8.0)
    before = search.scale
    if not search.done:
        _halve(search, middles)
    if search.scale > before:
        search.refine(_LEAST_WINDOW)
    return (search.scale, search.yaw % 360.0) if search.found else None


def _halve(search: _YawSearch, middles: Floats) -> None:
    """Look for a better yaw in windows round `middles` (m,), in smaller and smaller ones."""
    window, start = _WINDOW, search.tests
    while window > _LEAST_WINDOW and search.tests - start < _MOST_TESTS:
        kept = []
        for yaw in middles:
            search.offer(float(yaw), 1e-3)
            if search.done:
                return
            if search.may_hold_better(float(yaw), window):
                kept.append(float(yaw))
        window /= 2.0
        middles = np.concatenate([np.array(kept) - window / 2.0, np.array(kept) + window / 2.0])


class _YawSearch:
    """The best scale so far, its yaw, and yaws that may be better when measured more closely.

    A smaller copy of a convex outline lies in the larger one, so fitting is monotone in scale:
    a yaw is first asked whether it beats the best, and only then measured, by bisection.
    """

    def __init__(self, free: FreeArea, outline: Floats, enough: float, beat: float) -> None:
        self._free, self._enough = free, enough
        self._outline = outline - outline.mean(axis=0)
        self._shared: dict[float, Floats] = {}
        self.period = 180.0 if is_point_symmetric(self._outline) else 360.0
        self._open: list[tuple[float, float]] = []
        self._normals = free.normals[:: max(1, len(free.normals) // 32)]
        self._across = np.ptp(free.corners @ self._normals.T, axis=0)
        self.scale, self.yaw, self.found, self.tests = beat, 0.0, False, 0

    @property
    def done(self) -> bool:
        """Whether a scale was found that is enough."""
        return self.found and self.scale >= self._enough * (1.0 - _GAIN)

    def bounds(self, yaws: Floats) -> Floats:
        """Return for each yaw (m,) a scale it cannot pass: widths across the bed's hull."""
        normals = np.arctan2(self._normals[:, 1], self._normals[:, 0])
        angles = normals[:, None] - np.radians(yaws)[None, :]
        own = widths(self._outline, angles.ravel()).reshape(angles.shape)
        bounds: Floats = (self._across[:, None] / np.maximum(own, 1e-300)).min(axis=0)
        return np.minimum(bounds, self._enough)

    def may_hold_better(self, middle: float, window: float) -> bool:
        """Return whether a yaw in the `window` (degrees wide) round `middle` may beat the best.

        What all turns within the window have in common fits wherever one of them does.
        """
        if window not in self._shared:
            self._shared[window] = shared_by_turns(self._outline, window / 2.0)
        shared = self._shared[window]
        if self.scale <= 0.0 or len(shared) < 3:
            return True
        self.tests += 1
        return fits_at(self._free, shared, middle, self.scale)

    def offer(self, yaw: float, precision: float, high: float | None = None) -> None:
        """Measure `yaw` if it beats the best, by bisection to a relative `precision`."""
        if high is None:
            high = float(self.bounds(np.array([yaw]))[0])
        low = self.scale * (1.0 + _GAIN)
        if high <= low or not self._fits(yaw, low):
            return
        if self._fits(yaw, high):
            low = high
        while high - low > precision * high:
            middle = (low + high) / 2.0
            if self._fits(yaw, middle):
                low = middle
            else:
                high = middle
        self.scale, self.yaw, self.found = low, yaw, True
        self._open.append((high, yaw))

    def refine(self, step: float) -> None:
        """Measure the best yaws to the end, then move the best by `step` (degrees) and less."""
        self._settle()
        while step > _LEAST_STEP and self.found and self.scale < self._enough:
            before, yaw = self.scale, self.yaw
            for turn in (yaw - step, yaw + step):
                self.offer(turn, max(_GAIN, 1e-2 * float(np.radians(step))))
            if self.scale <= before * (1.0 + 1e-9):
                step /= 2.0
        self._settle()

    def _settle(self) -> None:
        waiting, self._open = sorted(self._open, reverse=True), []
        for high, yaw in waiting:
            if high > self.scale * (1.0 + _GAIN):
                self.offer(yaw, _GAIN, high)
        self._open = []

    def _fits(self, yaw: float, scale: float) -> bool:
        if scale <= 0.0:
            return True
        self.tests += 1
        return fits_at(self._free, self._outline, yaw, scale)


def parallel_yaws(free: FreeArea, outline: Floats) -> Floats:
    """Return the yaws in [0, 360) at which a long edge is parallel to a side of the bed."""
    edges = np.roll(outline, -1, axis=0) - outline
    longest = np.argsort(-np.hypot(edges[:, 0], edges[:, 1]), kind="stable")[:_LONGEST_EDGES]
    sides = [np.array([[1.0, 0.0], [0.0, 1.0]])]
    if free.disc is None:
        sides.append(np.roll(free.corners, -1, axis=0) - free.corners)
    if len(free.obstacles):
        sides.append((np.roll(free.obstacles, -1, axis=1) - free.obstacles).reshape(-1, 2))
    side = np.concatenate(sides)
    own = np.degrees(np.arctan2(edges[longest, 1], edges[longest, 0]))
    bed = np.unique(np.round(np.mod(np.degrees(np.arctan2(side[:, 1], side[:, 0])), 180.0), 9))
    if len(bed) > _MOST_SIDES:  # A rounded outline: its sides are no better than the windows.
        bed = np.array([0.0, 90.0])
    parallel = np.mod(bed[:, None] - own[None, :], 180.0).ravel()
    return np.unique(np.round(np.concatenate([parallel, parallel + 180.0]), 9) % 360.0)
