"""Sensible places for a cut along an axis: what a plane that is dragged by hand clicks into."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from splitplanner.plan import Vector
from splitplanner.solid import Solid
from splitplanner.suggest.box_sizes import bed_sizes
from splitplanner.suggest.stations import Stations
from splitplanner.workshop import Bed

_APART = 1e-3
"""Places closer than this are one, mm."""
_MOST_FLATS, _MOST_SHORT = 12, 4


@dataclass(frozen=True)
class Place:
    """A sensible place for a cut.

    Attributes
    ----------
    station : float
        Offset along the axis, mm.
    why : str
        A few words.
    """

    station: float
    why: str


def sensible_places(part: Solid, axis: Vector, bed: Bed) -> tuple[Place, ...]:
    """Return sensible places for cuts across an axis, in order along it.

    The middle of a symmetric part, even shares, as far as the bed reaches from either end, large
    flats such as ends of ribs, and where the section is shortest.

    Parameters
    ----------
    part : Solid
        The part or a light stand-in.
    axis : (x, y, z)
        Unit vector.
    bed : Bed
    """
    found: list[Place] = []
    for place in _places(part, axis, bed):
        if all(abs(place.station - other.station) > _APART for other in found):
            found.append(place)
    return tuple(sorted(found, key=lambda place: place.station))


def _places(part: Solid, axis: Vector, bed: Bed) -> Iterator[Place]:
    """Yield places, the more telling of equal ones first; none at or beyond the part's ends."""
    heights = part.vertices @ np.array(axis)
    low, high = float(heights.min()), float(heights.max())
    for place in _all_places(Stations(part, bed), axis, bed, low, high):
        if low + 1.0 < place.station < high - 1.0:
            yield place


def _all_places(
    known: Stations, axis: Vector, bed: Bed, low: float, high: float
) -> Iterator[Place]:
    span = high - low
    middle = known.mirror(axis)
    if middle is not None:
        yield Place(middle, "middle of a symmetric part")
    for offset in known.flats(axis)[:_MOST_FLATS]:
        yield Place(offset, "level with a flat")
    reach = max(bed_sizes(bed))
    if reach < span:
        yield Place(low + reach, f"{reach:g} mm, a side of the bed, from the low end")
        yield Place(high - reach, f"{reach:g} mm, a side of the bed, from the high end")
    shares = max(2, math.ceil(span / reach - 1e-9))
    for share in range(1, shares):
        yield Place(low + span * share / shares, f"{share} of {shares} even shares")
    for offset in known.profile(axis).natural_places(low, high, _MOST_SHORT):
        yield Place(round(2 * offset) / 2, "short section")
