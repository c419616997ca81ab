"""In which direction a piece is pushed: as an arrow, and in words."""

from __future__ import annotations

import numpy as np

from splitplanner.plan import Vector

_WORDS = (("to the left", "to the right"), ("to the front", "to the back"), ("down", "up"))
"""Along x, y and z, against and with the axis, for one who stands before the part."""
_ARROWS = "→↗↑↖←↙↓↘"
"""Each 45° on from the right, as the part is seen from the front."""
_AWAY, _TOWARDS = "⊗", "⊙"
"""Of an arrow that is seen from its tail and from its tip, as in drawings of currents."""
_LEAST = np.sin(np.radians(10.0))
"""What a direction has less of than this goes without a word."""


def way_arrow(way: Vector) -> str:
    """Return an arrow for a direction of the part, seen from the front: x to the right, z up."""
    across, depth, height = way
    if abs(depth) > float(np.hypot(across, height)):
        return _AWAY if depth > 0.0 else _TOWARDS
    return _ARROWS[round(float(np.degrees(np.arctan2(height, across))) / 45.0) % 8]


def way_words(way: Vector) -> str:
    """Return a direction in words, what there is most of first, such as ``up and to the right``."""
    ranked = sorted(range(3), key=lambda axis: -abs(round(way[axis], 6)))
    said = [_WORDS[axis][way[axis] > 0.0] for axis in ranked if abs(way[axis]) >= _LEAST]
    return " and ".join(filter(None, [", ".join(said[:-1]), said[-1]]))


def way_brief(way: Vector) -> str:
    """Return a direction in as few words as tell it, such as ``to the right``, ``up and right``."""
    words = way_words(way)
    return words.replace("to the ", "") if " and " in words else words
