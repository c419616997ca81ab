"""Where braces could seat: the part as it is met from one side, as heights along its stations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.plan.brace import BraceWish
from splitplanner.plan.joints import Vector
from splitplanner.solid import Solid, columns

_CELL = 2.0
"""Side of the cells in which heights are looked up, mm."""
_HIDDEN = 0.8
"""What is met from a side is hidden if so much of it is."""
_END = 4.0
"""Braces end this far before the part falls away, mm. Common practice, no source."""


@dataclass(frozen=True, eq=False)
class Ground:
    """What a brace would seat on, coming from one side.

    Attributes
    ----------
    along, towards : (x, y, z)
        Unit vectors, square to each other, as in `BraceWish`.
    stations, offsets : (n,) and (m,) float arrays
        Of the cells, along the brace and along the cross product of the two, mm.
    heights : (m, n) float array
        Of the first surface that is met, along `towards`, mm; NaN where there is none.
    hidden : float
        Share of what is met that is not on the good side, 0 to 1.
    """

    along: Vector
    towards: Vector
    stations: Floats
    offsets: Floats
    heights: Floats
    hidden: float

    @property
    def is_hidden(self) -> bool:
        """Whether nearly all that is met is off the good side."""
        return self.hidden >= _HIDDEN

    def strip(self, offset: float, half: float) -> Floats:
        """Return the heights below a strip as wide as twice `half` (mm), (k, n)."""
        near = np.abs(self.offsets - offset) <= max(half, 0.75 * _CELL)
        result: Floats = self.heights[near]
        return result

    def stretch(
        self, offset: float, seams: Sequence[float], like: BraceWish
    ) -> tuple[float, float] | None:
        """Return from where to where a brace over seams can reach, mm; None if it cannot.

        From the seams outwards it goes on to where the part falls away from how high it is between
        them by more than the deepest land, has a gap wider than what is bridged, or rises by more:
        it does not follow an end wall. On a hidden side it stays within the part's box.

        Parameters
        ----------
        offset : float
        seams : sequence of float
            Stations of the seams, rising, mm.
        like : BraceWish
        """
        strip = self.strip(offset, like.half_land)
        if not strip.size:
            return None
        missing = np.isnan(strip)
        lowest = np.where(missing.any(axis=0), -np.inf, np.where(missing, np.inf, strip).min(0))
        over = (self.stations >= seams[0]) & (self.stations <= seams[-1])
        over |= np.abs(self.stations - seams[0]) <= _CELL
        at_seams = lowest[over & np.isfinite(lowest)]
        if not len(at_seams):
            return None
        middle = float(np.median(at_seams))
        highest = np.where(missing, -np.inf, strip).max(axis=0)
        sound = (lowest >= middle - like.deepest) & (highest <= middle + like.deepest)
        rises = highest > middle + like.deepest
        ends = []
        for seam, way in ((seams[0], -1), (seams[-1], 1)):
            start = int(np.abs(self.stations - seam).argmin())
            ends.append(_reached(sound, rises, start, way, like.bridged / _CELL))
        inside = slice(ends[0], ends[1] + 1)
        if _widest_gap(~sound[inside]) * _CELL > 2 * like.bridged:
            return None
        top = float(highest[inside].max()) + like.clearance + like.depth
        if self.is_hidden and top > float(np.nanmax(self.heights)):
            return None
        low, high = self.stations[ends[0]] + _END, self.stations[ends[1]] - _END
        # It would follow a wall that is nearer than it is deep.
        walls = self.stations[highest > middle + like.deepest + like.depth]
        room = like.depth + like.clearance + _END
        low = max([low, *(walls[walls < seams[0]] + room)])
        high = min([high, *(walls[walls > seams[-1]] - room)])
        return (float(low), float(high)) if low < seams[0] and high > seams[-1] else None

    def lands(self, offset: float, low: float, high: float, like: BraceWish) -> float:
        """Return about how high lands would be between two stations, on average, mm.

        From the seat, the highest line below the strip with its hollows bridged by a disc, to the
        lowest.
        """
        # Imported late: loading it takes longer than most commands need to start.
        from scipy.ndimage import grey_closing

        strip = self.strip(offset, like.half_land)[
            :, (self.stations >= low) & (self.stations <= high)
        ]
        deep = float(np.nanmin(strip)) - 2 * like.bridged
        top = np.where(np.isnan(strip), deep, strip).max(axis=0)
        bottom = np.where(np.isnan(strip), deep, strip).min(axis=0)
        count = max(int(like.bridged / _CELL), 1)
        steps = np.arange(-count, count + 1) * _CELL
        ball = np.sqrt(np.maximum(like.bridged**2 - steps**2, 0.0))
        wide = np.pad(top, count, mode="edge")
        seat = grey_closing(wide, structure=ball - ball.max(), footprint=np.ones_like(ball))
        gaps = seat[count:-count] - bottom
        return float(np.minimum(np.maximum(gaps, 0.0), 2 * like.deepest).mean())


def ground_of(
    part: Solid, along: Vector, towards: Vector, seen: Bools, bare: Solid | None = None
) -> Ground:
    """Return what braces would seat on that come from one side.

    Parameters
    ----------
    part : Solid
        With flanges.
    along, towards : (x, y, z)
        Square to each other, unit vectors.
    seen : (m,) bool array
        Faces on the good side, of `bare`.
    bare : Solid, optional
        The part without flanges; `part` by default.
    """
    frame = np.array([along, np.cross(towards, along), towards])
    found = columns(part, towards, _CELL, frame=frame)
    rows, across = found.shape
    last = found.starts[1:] - 1
    met = found.starts[1:] > found.starts[:-1]
    heights = np.full(rows * across, np.nan)
    heights[met] = found.heights[last[met]]
    plain = found if bare is None or bare is part else columns(bare, towards, _CELL, frame=frame)
    first = plain.faces[plain.starts[1:][np.diff(plain.starts) > 0] - 1]
    return Ground(
        along=along,
        towards=towards,
        stations=found.corner[0] + (np.arange(across) + 0.5) * _CELL,
        # Rows run along the cross product of towards and along: the other way round.
        offsets=-(found.corner[1] + (np.arange(rows) + 0.5) * _CELL),
        heights=heights.reshape(rows, across),
        hidden=float(1.0 - np.mean(seen[first])),
    )


def _reached(sound: Bools, rises: Bools, start: int, way: int, gap: float) -> int:
    """Return the last sound cell one way from a start.

    It passes over gaps no longer than `gap`, but over nothing that rises.
    """
    last, index, missed = start, start, 0
    while 0 <= index < len(sound) and missed <= gap and not rises[index]:
        last, missed = (index, 0) if sound[index] else (last, missed + 1)
        index += way
    return last


def _widest_gap(bare: Bools) -> int:
    """Return the length of the longest run of True."""
    widest = run = 0
    for each in bare.tolist():
        run = run + 1 if each else 0
        widest = max(widest, run)
    return widest
