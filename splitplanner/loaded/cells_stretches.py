"""Which stretches of a tape or register make one tie in cells."""

from __future__ import annotations

import math

import numpy as np

from splitplanner.arrays import Floats, Ints

_MOST = 6
"""So many stretches make one tie."""
_APART = 6.0
"""Stretches further apart than this are not of one line, mm."""
_TURN = math.cos(math.radians(30.0))
"""Where a line turns by more than this it has a corner."""


def ties_along(places: Floats, tangents: Floats) -> list[Ints]:
    """Return which stretches make one tie: of runs from corner to corner, alike from both ends.

    So what is alike left and right is tied alike there, wherever an outline starts.

    Parameters
    ----------
    places : (n, 2) float array, mm
        One after the other on lines.
    tangents : (n, 2) float array
        Unit vectors along these.
    """
    if not len(places):
        return []
    away = np.linalg.norm(np.diff(places, axis=0), axis=1) > _APART
    lines = np.split(np.arange(len(places)), np.flatnonzero(away) + 1)
    return [
        tie
        for line in lines
        for run in _runs(line, places, tangents)
        for tie in np.split(run, np.cumsum(_even(len(run)))[:-1])
    ]


def _runs(line: Ints, places: Floats, tangents: Floats) -> list[Ints]:
    """Return the stretches of a line, parted at its corners; a closed one may start anywhere."""
    after = np.roll(line, -1)
    smooth = (tangents[line] * tangents[after]).sum(axis=1) > _TURN
    smooth[-1] &= bool(np.linalg.norm(places[line[-1]] - places[line[0]]) < _APART)
    corners = np.flatnonzero(~smooth)
    if not len(corners):
        return [line]
    first = int(corners[0]) + 1
    return np.split(np.roll(line, -first), corners[1:] + 1 - first)


def _even(count: int) -> list[int]:
    """Return into how many each to part stretches: the same numbers from either end."""
    parts = math.ceil(count / _MOST)
    if count % 2 and parts % 2 == 0:
        parts += 1
    sizes = [count // parts] * parts
    more = count % parts
    for index in range(more // 2):
        sizes[index] += 1
        sizes[-1 - index] += 1
    sizes[parts // 2] += more % 2
    return sizes
