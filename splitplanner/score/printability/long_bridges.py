"""Flat undersides that hang between walls too far apart to be bridged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, unit_vector
from splitplanner.plan import Vector
from splitplanner.score.bridges import flat_patches, is_bridge
from splitplanner.solid import Solid

_STEPS = 30
_EXACT = 1e-3
"""A span is found to this, mm."""


@dataclass(frozen=True)
class LongBridge:
    """A flat underside that is held at both ends.

    Attributes
    ----------
    at : (x, y, z)
        In its middle, mm.
    span : float
        Longest chord in the direction in which that is shortest, mm; to 0.1 %.
    area : float
        mm².
    """

    at: Vector
    span: float
    area: float


def long_bridges(solid: Solid, up: ArrayLike, hanging: Bools) -> tuple[LongBridge, ...]:
    """Return what would be a bridge if it were shorter, the longest span first.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    hanging : (m,) bool array
        Faces that need support: `Overhang.faces`. What counts as a bridge is told at
        `splitplanner.score.bridges.bridged_faces`.
    """
    patches = flat_patches(solid, unit_vector(up), hanging)
    if patches is None:
        return ()
    flat, patch, ends, anchored, starts = patches
    found = []
    for index in np.unique(patch):
        rim = slice(starts[index], starts[index + 1])
        span = _span(ends[rim], anchored[rim])
        if span is None:
            continue
        own = flat[patch == index]
        areas = solid.face_areas[own]
        x, y, z = (areas @ solid.face_centroids[own] / max(areas.sum(), 1e-300)).tolist()
        found.append(LongBridge((x, y, z), span, float(areas.sum())))
    return tuple(sorted(found, key=lambda bridge: (-bridge.span, bridge.at)))


def _span(ends: Floats, anchored: Bools) -> float | None:
    """Return the shortest span that bridges an outline, mm; None where none does."""
    # An edge that is held up at each end of a chord takes two.
    if int(anchored.sum()) < 2:
        return None
    low, high = 0.0, float(np.hypot(*np.ptp(ends.reshape(-1, 2), axis=0))) * 1.01
    if not is_bridge(ends, anchored, high):
        return None
    for _ in range(_STEPS):
        if high - low <= _EXACT:
            break
        middle = (low + high) / 2.0
        low, high = (low, middle) if is_bridge(ends, anchored, middle) else (middle, high)
    return high
