"""Spots of a piece that are thinner than one printed line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.progress import Report, silent
from splitplanner.score.line_widths import TOLERANCE
from splitplanner.solid import Solid, WallKind, thickness

_MOST = 1.5
"""Up to so many lines thickness is measured; what is thicker is not thin."""
_PLACES = 20


@dataclass(frozen=True, eq=False)
class ThinSpots:
    """Walls thinner than a line.

    Attributes
    ----------
    area : float
        Of both their sides, mm².
    thinnest : float
        mm; inf where there are none.
    places : (k, 3) float array, mm
        At most 20 points on them, the thinnest first.
    """

    area: float
    thinnest: float
    places: Floats


def thin_spots(solid: Solid, line_width: float, report: Report = silent) -> ThinSpots:
    """Look for walls thinner than one line by more than the tolerance of wall lines.

    Walls are what has two sides within 5° of each other (`splitplanner.solid.thickness`): edges of
    a wedge, as where a cut meets a leaning wall, always come to nothing and are not counted.
    """
    found = thickness(solid, most=_MOST * line_width, report=report)
    is_thin = (found.kinds == WallKind.WALL) & (found.values < line_width * (1.0 - TOLERANCE))
    thin = np.flatnonzero(is_thin)
    thin = thin[np.argsort(found.values[thin], kind="stable")]
    return ThinSpots(
        float(found.areas[thin].sum()),
        float(found.values[thin].min(initial=np.inf)),
        frozen_floats(found.points[thin[:_PLACES]]),
    )
