"""Planes of symmetry of a part."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.solid import Plane, Solid

_PAIRS = 12
"""Pairs of sections that are compared."""
_OFF = 0.03
"""Sections may differ by this share of their area: coarse facets need not be symmetric."""


def mirror_offset(solid: Solid, normal: Floats) -> float | None:
    """Return the offset of a plane of symmetry with `normal` (3,), mm; None if there is none.

    The plane must halve the extent. Sections at equal distances on both sides are laid over each
    other; what only one of them covers may be no more than 3 % of both, as facets may be.
    """
    base = Plane.through((0, 0, 0), normal)
    heights = base.height(solid.vertices)
    low, high = float(heights.min()), float(heights.max())
    middle, half = (low + high) / 2, (high - low) / 2
    if abs(float(base.height(solid.centroid[None])[0]) - middle) > 0.02 * half:
        return None
    steps = half * (np.arange(_PAIRS) + 0.5) / _PAIRS
    near = solid.sections(base, middle - steps)
    far = solid.sections(base, middle + steps)
    apart = whole = 0.0
    for one, other in zip(near, far, strict=True):
        apart += float(one.shape.symmetric_difference(other.shape).area)
        whole += one.area + other.area
    return middle if apart <= _OFF * whole else None
