"""From stations along an axis to pixels and back, and where ticks stand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

_SLACK = 0.015
"""Left free beyond either end of the part, as a share of its length, so that cuts at an end are
seen."""
_CLOSEST = 1.0
"""The view is never shorter than this, mm."""
_MM_STEPS = (1.0, 2.0, 5.0)
_FINEST_INCH = 1.0 / 32.0


@dataclass(frozen=True)
class ChartScale:
    """Which stretch of an axis is shown between two pixels.

    Attributes
    ----------
    left, right : float
        Pixels between which it is drawn.
    low, high : float
        Where the part begins and ends, mm.
    start, stop : float
        What is shown, mm.
    """

    left: float
    right: float
    low: float
    high: float
    start: float
    stop: float

    @staticmethod
    def whole(left: float, right: float, low: float, high: float) -> ChartScale:
        """Return the scale that shows all of the part."""
        slack = max(_SLACK * (high - low), 1e-3)
        return ChartScale(left, max(right, left + 1.0), low, high, low - slack, high + slack)

    @property
    def mm_per_pixel(self) -> float:
        """How much of the axis a pixel takes in, mm."""
        return (self.stop - self.start) / (self.right - self.left)

    @property
    def is_whole(self) -> bool:
        """Whether all of the part is shown."""
        return self.start <= self.low and self.stop >= self.high

    def pixel(self, station: float) -> float:
        """Return where a station is drawn."""
        return self.left + (station - self.start) / self.mm_per_pixel

    def station(self, pixel: float) -> float:
        """Return the station that is drawn at a pixel, mm."""
        return self.start + (pixel - self.left) * self.mm_per_pixel

    def clamped(self, station: float) -> float:
        """Return the station on the part that is nearest to one, mm."""
        return min(max(station, self.low), self.high)

    def resized(self, left: float, right: float) -> ChartScale:
        """Return the same stretch between other pixels."""
        return replace(self, left=left, right=max(right, left + 1.0))

    def zoomed(self, factor: float, pixel: float) -> ChartScale:
        """Return the scale with all `factor` times as long, the station at `pixel` kept there."""
        whole = self._whole()
        extent = (self.stop - self.start) / factor
        extent = min(max(extent, min(_CLOSEST, whole.stop - whole.start)), whole.stop - whole.start)
        share = (pixel - self.left) / (self.right - self.left)
        start = self.station(pixel) - share * extent
        return self._moved_to(start, extent)

    def panned(self, pixels: float) -> ChartScale:
        """Return the scale with all drawn `pixels` further to the right."""
        return self._moved_to(self.start - pixels * self.mm_per_pixel, self.stop - self.start)

    def showing(self, station: float) -> ChartScale:
        """Return the scale moved, if need be, so that a station is shown."""
        if self.start <= station <= self.stop:
            return self
        extent = self.stop - self.start
        return self._moved_to(station - extent / 2, extent)

    def _whole(self) -> ChartScale:
        return ChartScale.whole(self.left, self.right, self.low, self.high)

    def _moved_to(self, start: float, extent: float) -> ChartScale:
        whole = self._whole()
        start = min(max(start, whole.start), whole.stop - extent)
        return replace(self, start=start, stop=start + extent)


def round_step(least: float, *, halves: bool = False) -> float:
    """Return the least round step that is no shorter than `least`.

    Parameters
    ----------
    least : float
        Above 0.
    halves : bool
        Below 1 in halves, quarters, down to 1/32, as rulers in inches have it; else 1, 2 or 5
        times a power of ten.
    """
    if halves and _FINEST_INCH / 2 < least <= 1.0:
        return float(2.0 ** math.ceil(math.log2(max(least, _FINEST_INCH)) - 1e-9))
    power = 10.0 ** math.floor(math.log10(least) + 1e-9)
    for step in _MM_STEPS:
        if step * power >= least * (1.0 - 1e-9):
            return step * power
    return 10.0 * power


def decimals_of(step: float) -> int:
    """Return how many decimals tell multiples of a round step apart; 5 at most."""
    for digits in range(5):
        if abs(step * 10**digits - round(step * 10**digits)) < 1e-9 * 10**digits:
            return digits
    return 5


def ticks_between(start: float, stop: float, step: float) -> list[float]:
    """Return the multiples of a step between two values, both included."""
    first, last = math.ceil(start / step - 1e-9), math.floor(stop / step + 1e-9)
    return [index * step for index in range(first, last + 1)]
