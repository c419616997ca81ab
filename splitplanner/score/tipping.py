"""How firmly a print stands on what it has on the bed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, unit_vector
from splitplanner.score.overhang import CONTACT
from splitplanner.score.plan_fit import convex_outline
from splitplanner.solid import Solid, frame_of

BRIM = 5.0
"""A brim of this width, mm, is laid round a print without a second thought (common practice, no
source)."""


def tipping_angle(solid: Solid, up: ArrayLike) -> float:
    """Return by how many degrees a print may be tilted before it falls over.

    A body on level ground falls when its centre of mass comes to lie beyond the edge of the convex
    outline of what it stands on: ``atan(d / h)`` for the centre at the height h and the distance d
    inside the nearest edge (elementary statics). Below 0 it falls by itself, if supports do not
    hold it. It stands on all corners within `CONTACT` of the lowest. Supports and what sticks to
    the bed are left out.

    Parameters
    ----------
    solid : Solid
        Of one material throughout.
    up : (3,) array
        Print direction.

    Raises
    ------
    ValueError
        If `up` has no length.
    """
    direction = unit_vector(up)
    heights = solid.vertices @ direction
    low = float(heights.min())
    return tipping_on(solid, direction, low, np.flatnonzero(heights <= low + CONTACT))


def tipping_on(solid: Solid, up: Floats, low: float, standing: ArrayLike) -> float:
    """Return `tipping_angle` of a solid that stands on some of its corners, at the height `low`."""
    frame = frame_of(up)
    *middle, height = (frame @ solid.centroid).tolist()
    outline = convex_outline(solid.vertices[np.asarray(standing)] @ frame[:2].T)
    inside = _depth(outline - middle)
    return float(np.degrees(np.arctan2(inside, height - low)))


def tipping_with_brim(tip: float, middle: float, brim: float = BRIM) -> float:
    """Return by how many degrees a print on a brim may be tilted before it falls over.

    A brim moves the edge of the convex outline outward by its width, all round (Minkowski sum with
    a disc), so a centre at the distance d inside it is d + brim inside: ``atan((d + brim) / h)``.

    Parameters
    ----------
    tip : float
        As `tipping_angle`, without a brim: ``atan(d / h)``, degrees.
    middle : float
        Height h of the centre of mass above the bed, mm, above 0.
    brim : float
        Its width, mm.
    """
    return float(np.degrees(np.arctan(np.tan(np.radians(tip)) + brim / middle)))


def _depth(outline: Floats) -> float:
    """Return how far the origin lies inside a convex outline (k, 2), below 0 outside, mm."""
    edges = np.roll(outline, -1, axis=0) - outline
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    if len(outline) < 3 or not (lengths > 0.0).all():
        return -_distance(outline)
    # Counter-clockwise, so that what is inside lies to the left of every edge.
    left = (outline[:, 0] * edges[:, 1] - outline[:, 1] * edges[:, 0]) / lengths
    return float(left.min()) if left.min() >= 0.0 else -_distance(outline)


def _distance(outline: Floats) -> float:
    """Return how far the origin is from the outline, mm."""
    edges = np.roll(outline, -1, axis=0) - outline
    square = np.maximum((edges**2).sum(axis=1), 1e-300)
    share = np.clip(-(outline * edges).sum(axis=1) / square, 0.0, 1.0)
    return float(np.hypot(*(outline + share[:, None] * edges).T).min())
