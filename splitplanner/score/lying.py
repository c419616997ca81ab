"""How a piece may lie on the bed, in one word."""

from __future__ import annotations

from enum import StrEnum
from weakref import WeakKeyDictionary

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Vector
from splitplanner.score.any_fit import fits_any
from splitplanner.score.bed_fit import BedFit, best_fit
from splitplanner.score.directions import print_directions
from splitplanner.score.leaning import leaning_directions
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

_ROUNDING = 1e-6
"""Areas this near to each other, relatively, are the same."""

_stretches: WeakKeyDictionary[Solid, dict[Vector, tuple[float, float]]] = WeakKeyDictionary()


class Fit(StrEnum):
    """How a piece lies on the bed."""

    SQUARE = "fits"
    TURNED = "fits turned"
    TOO_LARGE = "does not fit"


def size_as_it_lies(solid: Solid, fit: BedFit) -> tuple[float, float, float]:
    """Return length, width and height of a piece on the bed, the longer side first, mm."""
    # Not of its hull: the kernel would take long to make it, and hold up the window.
    spans = [stretch_along(solid, to_vector(row)) for row in fit.rotation]
    one, other, height = (stop - start for start, stop in spans)
    return max(one, other), min(one, other), height


def stretch_along(solid: Solid, direction: Vector) -> tuple[float, float]:
    """Return where a solid begins and ends along a direction, mm; remembered for each solid."""
    known = _stretches.setdefault(solid, {})
    if direction not in known:
        heights = solid.vertices @ np.array(direction)
        known[direction] = float(heights.min()), float(heights.max())
    return known[direction]


def fit_of(solid: Solid, fit: BedFit) -> Fit:
    """Return whether a piece lies square on the bed, askew to its sides, or is too large.

    It lies square where the rectangle along the bed's sides is the smallest round it.
    """
    if not fit.fits:
        return Fit.TOO_LARGE
    length, width, _ = size_as_it_lies(solid, fit)
    least = fit.sides[0] * fit.sides[1]
    return Fit.SQUARE if length * width <= least * (1 + _ROUNDING) + _ROUNDING else Fit.TURNED


def quick_fit(solid: Solid, bed: Bed) -> Fit:
    """Return how a piece may lie on the bed, over the print directions that are worth a look."""
    corners: Floats = solid.hull.vertices
    fit = best_fit(corners, np.eye(3), bed)
    if fit.fits:
        return fit_of(solid, fit)
    ups = np.vstack([print_directions(solid), leaning_directions(solid, bed)])
    return Fit.TURNED if fits_any(corners, ups, bed) else Fit.TOO_LARGE
