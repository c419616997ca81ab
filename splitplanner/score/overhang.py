"""Overhang area: how much of a piece hangs over air in a print direction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, unit_vector
from splitplanner.score.bridges import bridged_faces
from splitplanner.solid import Solid

CONTACT = 0.1
"""Corners this near to the lowest point lie on the bed, mm: they are in the first layer, as half a
usual layer height is (common practice, no source)."""
ANGLE_SLACK = 0.01
"""A face is over the limit when it passes it by this many degrees, so that a chamfer drawn at
exactly the limit stays within it whatever its rounding."""
_BLOCK = 4_000_000


@dataclass(frozen=True, eq=False)
class Overhang:
    """What needs support in one print direction.

    Attributes
    ----------
    area : float
        Area that needs support, bridges taken off, mm².
    bridged_area : float
        Area over the limit that needs no support because it is a bridge, mm².
    contact_area : float
        Area that rests on the bed, mm².
    faces : (m,) bool array
        Faces that need support.
    bridged : (m,) bool array
        Faces over the limit that are bridges.
    contact : (m,) bool array
        Faces that rest on the bed.
    """

    area: float
    bridged_area: float
    contact_area: float
    faces: Bools
    bridged: Bools
    contact: Bools

    def __post_init__(self) -> None:
        for mask in (self.faces, self.bridged, self.contact):
            mask.setflags(write=False)


def overhang(solid: Solid, up: ArrayLike, limit: float, bridge_span: float) -> Overhang:
    """Measure what needs support when `solid` is printed with `up` upward.

    A face needs support when its overhang angle (from vertical: wall 0°, ceiling 90°) is above the
    limit, that is, when outward normal · up < -sin(limit). Faces that look down and have all
    corners within `CONTACT` of the lowest point rest on the bed. Bridges are taken off whole; see
    `splitplanner.score.bridges.bridged_faces` for what counts as one.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    limit : float
        Steepest overhang angle that prints without support, degrees, 0 to 90.
    bridge_span : float
        Longest bridge, mm; 0 for none.

    Raises
    ------
    ValueError
        If `up` has no length or `limit` is not between 0 and 90.
    """
    direction = unit_vector(up)
    contact, steep = _over_limit(solid, direction, limit)
    bridged = _bridged(solid, direction, steep, bridge_span)
    hanging = steep & ~bridged
    areas = solid.face_areas
    return Overhang(
        area=float(areas[hanging].sum()),
        bridged_area=float(areas[bridged].sum()),
        contact_area=float(areas[contact].sum()),
        faces=hanging,
        bridged=bridged,
        contact=contact,
    )


def bridges(solid: Solid, up: ArrayLike, limit: float, bridge_span: float) -> Bools:
    """Return `bridged` of `overhang`, (m,): the faces over the limit that are bridges."""
    direction = unit_vector(up)
    _, steep = _over_limit(solid, direction, limit)
    return _bridged(solid, direction, steep, bridge_span)


def _over_limit(solid: Solid, direction: Floats, limit: float) -> tuple[Bools, Bools]:
    """Return which faces rest on the bed and which others are over the limit, both (m,)."""
    slope = solid.face_normals @ direction
    height = solid.vertices @ direction
    contact = slope < 0.0
    if len(height):
        low = height <= height.min() + CONTACT
        first, second, third = solid.faces.T
        contact &= low[first]
        # Few are left to look at.
        near = np.flatnonzero(contact)
        contact[near] = low[second[near]] & low[third[near]]
    return contact, (slope < -steepest_slope(limit)) & ~contact


def _bridged(solid: Solid, direction: Floats, steep: Bools, span: float) -> Bools:
    if span > 0.0 and steep.any():
        return bridged_faces(solid, direction, steep, span)
    return np.zeros(len(steep), dtype=np.bool_)


def overhang_areas(solid: Solid, ups: ArrayLike, limit: float) -> tuple[Floats, Floats]:
    """Return overhang and bed contact for many print directions, bridges not taken off; fast.

    Parameters
    ----------
    solid : Solid
    ups : (k, 3) array
        Print directions.
    limit : float
        Degrees, as for `overhang`.

    Returns
    -------
    overhang, contact : (k,) float arrays, mm²
        Equal to `area` and `contact_area` of ``overhang(solid, up, limit, 0)`` for each direction.
    """
    directions = np.array([unit_vector(up) for up in np.asarray(ups, float)]).reshape(-1, 3)
    threshold = -steepest_slope(limit)
    result, contact = np.zeros(len(directions)), np.zeros(len(directions))
    chunk = max(1, _BLOCK // max(len(solid.faces), 1))
    for start in range(0, len(directions), chunk):
        block = directions[start : start + chunk]
        steep = solid.face_normals @ block.T < threshold
        height = solid.vertices @ block.T
        floor = height.min(axis=0) + CONTACT if len(height) else np.zeros(len(block))
        result[start : start + chunk] = solid.face_areas @ steep
        for k in range(len(block)):
            # Only a face with a corner down there can rest on the bed: few, so looked at singly.
            low = height[:, k] <= floor[k]
            near = np.flatnonzero(steep[:, k])
            near = near[low[solid.faces[near, 0]]]
            resting = near[low[solid.faces[near]].all(axis=1)]
            contact[start + k] = solid.face_areas[resting].sum()
    return np.maximum(result - contact, 0.0), contact


def steepest_slope(limit: float) -> float:
    """Return what -normal · up has to exceed for a face to be over the limit, degrees.

    Raises
    ------
    ValueError
        If the limit is not between 0 and 90.
    """
    if not 0.0 <= limit <= 90.0:
        raise ValueError(f"the overhang limit must be between 0 and 90 degrees, got {limit}")
    # At 90 nothing is over the limit; normals may be longer than 1 by rounding.
    return float(np.sin(np.radians(min(limit + ANGLE_SLACK, 90.0)))) if limit < 90.0 else 2.0
