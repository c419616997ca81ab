"""Which width of printed lines makes the most wall area a whole number of lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.errors import WorkshopError

FINEST, WIDEST = 1.0, 1.5
"""Lines are printed between so many times the nozzle's bore (common practice, no source; a nozzle
of 0.6 mm has printed lines of 0.74 mm well)."""
TOLERANCE = 0.1
"""A wall may be this share of a line thicker or thinner than its lines: that closes in the print,
or is pressed aside (common practice, no source)."""
NEARLY = 0.01
"""Widths at which less is whole by no more than this share of all wall area are as good as the
best: of these the one that fits best is chosen, and not one that catches some odd spot besides."""
_ROUNDING = 1.0 + 1e-9


@dataclass(frozen=True, eq=False)
class Lines:
    """The lines that come nearest to thicknesses.

    Attributes
    ----------
    counts : (n,) int array
        Lines side by side, 1 or more.
    gaps : (n,) float array, mm
        By how much each thickness is more than that, less than 0 for less; 0 where there is filler.
    off : (n,) bool array
        Where that is more than the tolerance.
    filled : (n,) bool array
        Where there is room for filler between the lines.
    """

    counts: Ints
    gaps: Floats
    off: Bools
    filled: Bools


@dataclass(frozen=True)
class LineRule:
    """Which thickness of walls suits printed lines.

    Attributes
    ----------
    most : int
        So many lines a wall has without filler. One line more still counts as a whole number; from
        a line and a half of room on there is filler.
    lines : int or None
        So many lines every wall should have, and no filler; None where any whole number will do.
    tolerance : float
        As share of a line, above 0 and below 0.5.

    Raises
    ------
    WorkshopError
        If the tolerance or the number of lines makes no sense.
    """

    most: int
    lines: int | None = None
    tolerance: float = TOLERANCE

    def __post_init__(self) -> None:
        if not 0 < self.tolerance < 0.5:
            raise WorkshopError(
                "The tolerance of wall lines is a share of a line above 0 and below 0.5, got "
                f"{self.tolerance:g}."
            )
        if self.lines is not None and self.lines < 1:
            raise WorkshopError(f"A wall has at least one line, got {self.lines}.")

    def nearest(self, values: Floats, width: float) -> Lines:
        """Return the lines of `width` mm that come nearest to thicknesses (n,), mm."""
        if self.lines is not None:
            counts = np.full(len(values), self.lines, dtype=np.int64)
            filled = np.zeros(len(values), dtype=np.bool_)
        else:
            filled = values >= (self.most + 1.5) * width
            counts = np.clip(np.rint(values / width), 1, self.most + 1).astype(np.int64)
            counts[filled] = self.most
        gaps = np.where(filled, 0.0, values - counts * width)
        return Lines(counts, gaps, np.abs(gaps) > self.tolerance * width * _ROUNDING, filled)

    def counts(self, thickest: float, width: float) -> range:
        """Return the numbers of lines that walls up to a thickness can have, mm."""
        if self.lines is not None:
            return range(self.lines, self.lines + 1)
        return range(1, min(self.most, int(thickest / width)) + 2)


@dataclass(frozen=True, eq=False)
class LineWidths:
    """How much wall area is a whole number of lines, by line width; get it with `line_widths`.

    Attributes
    ----------
    edges : (k + 1,) float array, mm
        Line widths, rising, between which nothing changes.
    shares : (k,) float array
        Share of all wall area that is whole between two of them, 0 to 1.
    best : float
        The line width to print with, mm.
    whole : float
        Share that is whole at it.
    least, largest : float
        Between these line widths round the best one nearly as much is whole, mm.
    others : tuple of (width, share)
        The best line widths of other stretches at which nearly as much is whole; that next to the
        line width that is set comes first.
    """

    edges: Floats
    shares: Floats
    best: float
    whole: float
    least: float
    largest: float
    others: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        for name in ("edges", "shares"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), (-1,)))


def line_widths(
    values: Floats,
    areas: Floats,
    between: tuple[float, float],
    rule: LineRule,
    *,
    wanted: float,
    nearly: float = NEARLY,
) -> LineWidths:
    """Find the line width at which the most wall area is a whole number of lines.

    A thickness t is n lines of the width w, give or take the share e of a line, from t / (n + e)
    to t / (n - e): the sums over these ranges change only at their ends, so that all line widths
    are looked at, and none is missed between two of a grid. Of those at which nearly the most
    is whole, and of these nearly the least is off, that stretch is chosen which is next to
    `wanted`, and in it the width that leaves the least gaps: the median of t / n, weighted by area
    and n.

    Parameters
    ----------
    values, areas : (n,) float arrays
        Thickness, mm, and area, mm², of walls.
    between : (low, high)
        Line widths that come into question, mm.
    rule : LineRule
    wanted : float
        The line width that is set now, mm.
    nearly : float
        See `NEARLY`; 0 for the very most.
    """
    low, high = between
    edges, sums = _steps(values, areas, between, rule)
    shares = sums / max(float(areas.sum()), 1e-300)
    if shares.max() <= 0.0:
        return LineWidths(edges, shares, min(max(wanted, low), high), 0.0, low, high, ())
    found = []
    for first, last in _stretches(shares >= shares.max() - nearly - 1e-12):
        start, stop = float(edges[first]), float(edges[last + 1])
        top = first + int(shares[first : last + 1].argmax())
        middle = (float(edges[top]) + float(edges[top + 1])) / 2
        width = min(max(_fitting(values, areas, middle, rule), start), stop)
        here = min(max(int(np.searchsorted(edges, width, side="right")) - 1, first), last)
        off = float(areas[rule.nearest(values, width).off].sum()) / max(float(areas.sum()), 1e-300)
        found.append((off, abs(width - wanted), width, float(shares[here]), start, stop))
    least = min(found)[0]
    # What is not whole had better have filler.
    found.sort(key=lambda each: (each[0] > least + nearly, each[1:]))
    _, _, best, whole, start, stop = found[0]
    others = tuple((each[2], each[3]) for each in found[1:])
    return LineWidths(edges, shares, best, whole, start, stop, others)


def _steps(
    values: Floats, areas: Floats, between: tuple[float, float], rule: LineRule
) -> tuple[Floats, Floats]:
    """Return line widths, and the area that is whole between each and the next."""
    low, high = between
    starts, stops, sizes = [], [], []
    for count in rule.counts(float(values.max(initial=0.0)), low):
        start = np.maximum(values / (count + rule.tolerance), low)
        stop = np.minimum(values / (count - rule.tolerance), high)
        some = start < stop
        starts.append(start[some])
        stops.append(stop[some])
        sizes.append(areas[some])
    at = np.concatenate([*starts, *stops, [low, high]])
    change = np.concatenate([*sizes, *(-size for size in sizes), [0.0, 0.0]])
    edges, which = np.unique(at, return_inverse=True)
    sums = np.cumsum(np.bincount(which, weights=change, minlength=len(edges)))[:-1]
    return edges, np.maximum(sums, 0.0)


def _stretches(good: Bools) -> list[tuple[int, int]]:
    """Return the first and the last index of each run of True."""
    turns = np.diff(np.concatenate([[False], good, [False]]).astype(np.int8))
    first, last = np.flatnonzero(turns == 1), np.flatnonzero(turns == -1) - 1
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _fitting(values: Floats, areas: Floats, width: float, rule: LineRule) -> float:
    """Return the width that leaves the least gaps in what is whole at a width.

    The sum of ``area · |t - n w|`` is least at the weighted median of t / n.
    """
    near = rule.nearest(values, width)
    whole = ~near.off & ~near.filled
    ratios = values[whole] / near.counts[whole]
    order = np.argsort(ratios, kind="stable")
    total = np.cumsum((areas[whole] * near.counts[whole])[order])
    return float(ratios[order][np.searchsorted(total, total[-1] / 2)])
