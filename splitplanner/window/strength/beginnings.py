"""What a new load case may begin with."""

from __future__ import annotations

from dataclasses import replace

from splitplanner.plan import (
    Fall,
    LoadCase,
    Loading,
    PointLoad,
    SpreadLoad,
    Vector,
    WeightLoad,
    between_clamps,
    cantilever,
    over_two_supports,
    twisted,
)

_FORCE, _COUPLE, _HEIGHT, _STOPPING = 100.0, 5000.0, 500.0, 10.0
"""N, N·mm, mm and mm: to begin with, common practice, no source."""
_END = 0.06
"""Supports stand so far from the ends, of the part's length."""
KINDS = (
    "bends over two supports",
    "pressed along a stretch",
    "held at one end",
    "clamped at both ends",
    "twisted",
    "pushed aside",
    "pushed at its end",
    "falls",
)
"""By these words."""


def beginning(kind: str, axis: Vector, length: float, weight: float) -> Loading:
    """Return a load case to begin with, its stations from the low end of the part.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    axis : (x, y, z)
    length : float
        Of the part along the axis, mm.
    weight : float
        Of the part, N.
    """
    first, last = (round(share * length) for share in (_END, 1.0 - _END))
    middle, end = round(length / 2), float(int(length))
    down, aside = _across(axis)
    pressing = PointLoad(middle, _times(down, _FORCE))
    along = _times(axis, -_FORCE)
    cases: dict[str, LoadCase] = {
        "bends over two supports": over_two_supports(first, last, pressing),
        "pressed along a stretch": over_two_supports(
            first, last, SpreadLoad(round(0.3 * length), round(0.7 * length), pressing.force)
        ),
        "held at one end": cantilever(0.0, replace(pressing, station=end)),
        "clamped at both ends": between_clamps(0.0, end, pressing),
        "twisted": twisted(0.0, end, _COUPLE, axis),
        "pushed aside": over_two_supports(first, last, PointLoad(middle, _times(aside, _FORCE))),
        "pushed at its end": cantilever(0.0, PointLoad(end, along)),
        "falls": over_two_supports(first, last, WeightLoad(_times(down, weight))),
    }
    fall = Fall(_HEIGHT, _STOPPING) if kind == "falls" else None
    return Loading(axis, replace(cases[kind], name=kind), fall)


def _across(axis: Vector) -> tuple[Vector, Vector]:
    """Return which way is down and which aside, square to an axis or nearly so."""
    steep = [abs(each) for each in axis]
    down = (0.0, 0.0, -1.0) if steep[2] < max(steep[:2]) else (0.0, -1.0, 0.0)
    aside = (0.0, 1.0, 0.0) if steep[1] < max(steep[0], steep[2]) else (1.0, 0.0, 0.0)
    return down, aside


def _times(vector: Vector, factor: float) -> Vector:
    x, y, z = vector
    return factor * x + 0.0, factor * y + 0.0, factor * z + 0.0
