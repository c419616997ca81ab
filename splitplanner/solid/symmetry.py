"""Planes of symmetry of a solid, and the frame along which it was drawn."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.solid.axes import axes_of_flats, nearest_turn, principal_axes
from splitplanner.solid.plane import Plane
from splitplanner.solid.solid import Solid

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


def axes_of_form(solid: Solid) -> Floats:
    """Return the frame along which a solid seems to have been drawn, however it is turned.

    That of its flats (see `axes_of_flats`). Without one the axes of the part's own frame, unless
    it is its own mirror image across none of these and across one of its principal axes, as a round
    part is that was turned afterwards: then those.

    Returns
    -------
    (3, 3) float array
        Unit vectors in rows, right-handed.
    """
    own = np.eye(3)
    flats = axes_of_flats(solid)
    if not np.array_equal(flats, own) or _is_mirrored(solid, own):
        return flats
    principal = principal_axes(solid)
    return frozen_floats(nearest_turn(principal) if _is_mirrored(solid, principal) else own)


def _is_mirrored(solid: Solid, axes: Floats) -> bool:
    return any(mirror_offset(solid, axis) is not None for axis in axes)
