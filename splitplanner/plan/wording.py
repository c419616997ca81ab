"""Directions of the part in words, for screen and papers alike."""

from __future__ import annotations

import math
from collections.abc import Sequence

from splitplanner.arrays import Floats

_SAME = 1e-6
"""A share of an axis that is missing by less than this is that axis: within 0.1°."""


def direction_words(direction: Sequence[float] | Floats, *, minus: str = "−") -> str:
    """Return a direction as an axis of the part where it is one, else its shares of all three.

    Such as ``−z`` or ``(0.71, 0, −0.71)``; an empty text where it has no length.

    Parameters
    ----------
    direction : (x, y, z)
        In the part's frame, of any length.
    minus : str
        The sign, where there is none such to write with.
    """
    size = math.hypot(*direction)
    if size == 0.0:
        return ""
    shares = [float(each) / size for each in direction]
    for share, axis in zip(shares, "xyz", strict=True):
        if abs(share) > 1.0 - _SAME:
            return f"{'+' if share > 0.0 else minus}{axis}"
    # No “-0” for what rounds to nothing.
    rounded = (f"{round(share, 2) + 0.0:g}".replace("-", minus) for share in shares)
    return f"({', '.join(rounded)})"
