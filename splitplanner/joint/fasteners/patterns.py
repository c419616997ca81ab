"""Which of the places for screws on a seam are taken, of which size, with heads on which side."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.joint.fasteners.distances import Bar
from splitplanner.joint.fasteners.spreading import LARGEST_PITCH, Spread, spread
from splitplanner.joint.screws.places import Places
from splitplanner.joint.screws.room import ScrewRoom
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Screw
from splitplanner.score import shrunk, widest_place

MOST_SCREWS = 40
"""On one seam."""
FEWER_THAN = 2
"""Fewer screws than this on a seam do not keep it closed at both ends."""
_MORE = 4
"""Screws that are added to the first guess to keep the largest pitch."""
_MOST_TRIALS = 12
"""Patterns that are tried before those screws of the last one are taken that stand."""
_POINTS = 120
"""Along the room for screws."""
_COARSE = 5.0
"""Gaps between screws are told apart by this much, mm, when ways to place them are compared."""
_BARE = 0.2
"""A seam of whose outline this share is too far from any screw wants a flange. Common practice, no
source."""
_GAIN = 0.5
"""One more screw has to bring the reach down by this, mm."""


@dataclass(frozen=True, eq=False)
class Pattern:
    """Screws chosen for a seam.

    Attributes
    ----------
    places : Places
    gap : float
        Twice the distance of the seam's farthest point from a screw, mm; inf without screws.
    pitch : float
        What that should be at most, mm.
    """

    places: Places
    gap: float
    pitch: float

    @property
    def is_complete(self) -> bool:
        """Whether there are screws enough, and none too far from the next."""
        return len(self.places.places) >= FEWER_THAN and self.gap <= self.pitch + 2 * _GAIN

    @property
    def rank(self) -> tuple[float, ...]:
        """Tells better from worse; more is better."""
        number = len(self.places.places)
        return min(number, FEWER_THAN), float(self.is_complete), -self.gap // _COARSE

    def screws(self, room: ScrewRoom) -> tuple[Screw, ...]:
        """Return its screws."""
        places, plane = self.places, room.material.seam.plane
        return tuple(
            places.size.screw_in(plane, place, side, hardware)
            for place, side, hardware in zip(
                places.places, places.sides, places.hardware, strict=True
            )
        )


def largest_pitch(size: ScrewSize, widest: float) -> float:
    """Return how far apart neighbours may be on a seam that is `widest` wide, mm."""
    return max(LARGEST_PITCH * size.diameter, widest)


def is_bare(shape: MultiPolygon, sizes: Sequence[ScrewSize]) -> bool:
    """Return whether walls hold no screw along much of a seam: for want of width.

    Parameters
    ----------
    shape : MultiPolygon
        The seam, in its plane, mm.
    sizes : sequence of ScrewSize
        Any of which would do.
    """
    widest = widest_place(shape)[0]
    leanest = min(sizes, key=lambda size: size.edge_distance)
    if widest < 2 * leanest.edge_distance:
        return True
    room = shrunk(shape, leanest.edge_distance)
    held = room.buffer(largest_pitch(leanest, widest) / 2)
    outline = shape.boundary
    return bool(outline.difference(held).length > _BARE * outline.length)


@dataclass(frozen=True, eq=False)
class PatternSearch:
    """Looks for patterns of screws on one seam.

    Attributes
    ----------
    room : ScrewRoom
    sizes : sequence of ScrewSize
        In the order in which they are tried.
    widest : float
        Diameter of the largest circle in the seam, mm.
    reserved : sequence of Bar
        Where hardware of other seams will want to be: kept clear of where that costs nothing.
    """

    room: ScrewRoom
    sizes: Sequence[ScrewSize]
    widest: float
    reserved: Sequence[Bar] = ()

    def best(self, bars: Sequence[Bar]) -> Pattern:
        """Return the pattern of the first size, and the better side for its heads, that is whole.

        Parameters
        ----------
        bars : sequence of Bar
            What is there: pins, and hardware of other seams.
        """
        best: Pattern | None = None
        for size in self.sizes:
            for pattern in self._sided(size, bars):
                if best is None or (pattern.rank, pattern.places.rank) > (
                    best.rank,
                    best.places.rank,
                ):
                    best = pattern
            if best is not None and best.is_complete:
                break
        assert best is not None
        return best

    @cached_property
    def _room(self) -> MultiPolygon:
        """Along whose outlines there should be screws.

        The same for all sizes, so that their gaps can be compared.
        """
        return self.room.room(self.sizes[0]).simplify(0.02)

    @cached_property
    def _line(self) -> Floats:
        """Points along these outlines, (n, 2) mm."""
        if self._room.is_empty:
            return np.empty((0, 2))
        dense = shapely.segmentize(self._room, max(self._room.length / _POINTS, 1.0))
        points: Floats = shapely.get_coordinates(dense)
        return points

    def _sided(self, size: ScrewSize, bars: Sequence[Bar]) -> list[Pattern]:
        """Return patterns with heads on the better side; on both, where that is not enough."""
        both = [self.room.clear_of(self.room.places(size, side), bars) for side in (-1, 1)]
        both.sort(key=lambda places: -len(places.places))
        patterns = []
        for places in both:
            for some in self._courteous(places):
                patterns.append(self._pattern(some))
                if patterns[-1].is_complete:
                    return patterns[-1:]
        if all(len(places.places) for places in both):
            patterns.append(self._pattern(both[0].and_of(both[1])))
        return patterns

    def _courteous(self, places: Places) -> Iterator[Places]:
        """Yield those clear of what is reserved, then all; of one length first."""
        most = len(places.places)
        clear = self.room.clear_of(places, self.reserved) if self.reserved else places
        tried: set[int] = set()
        for some in (clear.of_one_length(), clear, places.of_one_length(), places):
            number = len(some.places)
            # Each is among the next but one, so that as many are the same.
            if number not in tried and (number or not most):
                tried.add(number)
                yield some

    def _pattern(self, places: Places) -> Pattern:
        """Choose among places; those that prove wrong on the solids are left out."""
        first = 0
        for trial in range(_MOST_TRIALS + 1):
            found, pitch = self._spread(places, first)
            fits = [self.room.stands(places, index) for index in found.chosen]
            if all(fits):
                break
            first = len(found.chosen)
            if trial == _MOST_TRIALS - 1:
                # Those that are known to stand have to do.
                places = places.only([i for i, ok in zip(found.chosen, fits, strict=True) if ok])
            else:
                wrong = {i for i, ok in zip(found.chosen, fits, strict=True) if not ok}
                places = places.only([i for i in range(len(places.places)) if i not in wrong])
        chosen = places.only(found.chosen)
        return Pattern(
            chosen, 2 * float(_distances(self._line, chosen.places).max(initial=0.0)), pitch
        )

    def _spread(self, places: Places, least: int) -> tuple[Spread, float]:
        """Choose as many as keep the largest pitch; return also that, mm."""
        size, mirror = places.size, self.room.mirror
        shape = self.room.material.seam.section.shape
        pitch = largest_pitch(size, self.widest)
        near = self._line[_distances(self._line, places.places) <= pitch / 2]
        share = len(near) / max(len(self._line), 1)
        first = max(FEWER_THAN, least, math.ceil(share * self._room.length / 2 / pitch))
        best = Spread((), math.inf, math.inf, 0.0, True)
        for line in [mirror, None] if mirror is not None else [None]:
            for count in range(first, first + _MORE + 1):
                found = spread(
                    places.places,
                    min(count, MOST_SCREWS),
                    size.spacing,
                    np.array(shape.centroid.coords[0]),
                    pitch=pitch,
                    line=near,
                    mirror=line,
                )
                if not best.chosen or found.reach < best.reach - _GAIN:
                    best = found
                if found.reach <= pitch / 2 + _GAIN or count >= MOST_SCREWS:
                    break
            if len(best.chosen) >= FEWER_THAN:
                break
        return best, pitch


def _distances(line: Floats, places: Floats) -> Floats:
    """Return how far each point (n, 2) of a line is from the nearest of `places`, (n,) mm."""
    apart = np.linalg.norm(line[:, None] - places[None], axis=2)
    nearest: Floats = apart.min(axis=1, initial=np.inf)
    return nearest
