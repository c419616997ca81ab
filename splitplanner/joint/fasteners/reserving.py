"""Where the heads on a flange will want to be, so that other seams' screws keep clear of that."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.joint.fasteners.distances import Bar
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Flange, Seam

_LEAN = 1.0
"""By how much the line along a flange is drawn simpler, mm."""


def reserved_on(flange: Flange, seam: Seam, sizes: Sequence[ScrewSize]) -> tuple[Bar, ...]:
    """Return bars over the middle of a flange, on both of its sides, that are kept for heads.

    Parameters
    ----------
    flange : Flange
    seam : Seam
    sizes : sequence of ScrewSize
        What may be put there.

    Returns
    -------
    tuple of Bar
        As high as the highest head, from the flange's face outwards, and as wide as the widest.
    """
    radius = max(max(size.head_room, size.nut_way) for size in sizes) / 2
    high = max(max(size.head_height, size.nut_height) for size in sizes)
    level = flange.thickness + high / 2
    bars = []
    for line in flange.lines:
        for start, end in _along(np.array(line), flange.width / 2):
            for height in (level, -level):
                shift = height * np.array(seam.plane.normal)
                first, last = seam.plane.to_space(np.array([start, end])) + shift
                bars.append(Bar("hole", first, last, radius))
    return tuple(bars)


def _along(line: Floats, away: float) -> list[tuple[Floats, Floats]]:
    """Return the stretches of the line `away` to the right of a line (n, 2), mm."""
    lean = shapely.offset_curve(shapely.linestrings(line), -away).simplify(_LEAN)
    found = []
    for part in shapely.get_parts(lean):
        corners = shapely.get_coordinates(part)
        found += [
            (start, end) for start, end in pairwise(corners) if np.linalg.norm(end - start) > _LEAN
        ]
    return found
