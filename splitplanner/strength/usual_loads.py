"""Load cases to begin with: what a part meets sooner or later, for the user to change.

Heights, forces and ways are the program's own choice; nothing is known of what the part is for.
"""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Floats, to_vector
from splitplanner.plan import (
    Fall,
    Loading,
    PointLoad,
    WeightLoad,
    over_two_supports,
    twisted,
)
from splitplanner.solid import Solid

TABLE = 750.0
"""Height of a table, mm: from there things fall."""
STOPPING = 10.0
"""Way on which a fall stops, mm: carpet or turf, and what the part itself gives way. On a hard
floor it is less, and the load more."""
PUSH = 100.0
"""A push with a hand, N."""
TURN = 5000.0
"""A twist with both hands, N·mm: 50 N each, 100 mm apart."""
_INSET = 0.05
"""So far from the ends of the part it is held, as a share of its length: tips hold nothing."""
_ALONG = float(np.cos(np.radians(10.0)))
"""The longest side of the tightest box runs along x, y or z if it is no further off than that: the
part was drawn so."""
_FACING = 0.1
"""A good side faces some way if that is so of more than this share of its area on balance."""


def usual_loadings(part: Solid, good_side: Bools | None = None) -> tuple[Loading, ...]:
    """Propose load cases for a part: a fall, a push from the side, and a twist.

    Along the longest side of its box, held near both ends:

    - it falls on its back from `TABLE`, lands on both ends and stops on `STOPPING`;
    - it is pushed from the side in the middle, by `PUSH`;
    - it is held at one end and twisted at the other, by `TURN`.

    The box is the tightest one, or that along x, y and z where its longest side runs much the same
    way. The back is the side of the box that the good side looks away from; where the good side is
    not given or looks all ways, one of the broadest sides, the lower one.

    Parameters
    ----------
    part : Solid
    good_side : (m,) bool array, optional
        The part's faces on the good side.

    Raises
    ------
    ValueError
        If `good_side` does not have one entry for each face of the part.
    """
    if good_side is not None and len(good_side) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(good_side)}")
    axis, *across = _box(part)
    back, side = _back_and_side(across, _facing(part, good_side))
    heights = part.vertices @ axis
    low, high = float(heights.min()), float(heights.max())
    inset = _INSET * (high - low)
    first, last, middle = low + inset, high - inset, (low + high) / 2.0
    direction = to_vector(axis)
    # Without -0.
    falling = WeightLoad(to_vector(back + 0.0))
    pushing = PointLoad(middle, to_vector(PUSH * side))
    return (
        Loading(
            direction,
            over_two_supports(first, last, falling, name="fall on its back"),
            Fall(TABLE, STOPPING),
        ),
        Loading(direction, over_two_supports(first, last, pushing, name="push from the side")),
        Loading(direction, twisted(first, last, TURN, axis, name="twist from end to end")),
    )


def _box(part: Solid) -> list[Floats]:
    """Return the axes of the box, the longest side first; of equal ones the first."""
    for axes in (part.box_axes, np.eye(3)):
        spans = np.ptp(part.vertices @ axes.T, axis=0)
        found = [_forwards(axes[at]) for at in np.argsort(-np.round(spans, 3), kind="stable")]
        if float(found[0].max()) < _ALONG:
            break
    return found


def _forwards(axis: Floats) -> Floats:
    """Return an axis turned so that its largest component is above 0."""
    sign = np.sign(axis[int(np.round(np.abs(axis), 9).argmax())])
    result: Floats = sign * axis + 0.0
    return result


def _facing(part: Solid, good_side: Bools | None) -> Floats:
    """Return which way the good side looks on balance, (3,): 1 long if all of it does."""
    if good_side is None or not good_side.any():
        return np.zeros(3)
    areas = part.face_areas[good_side]
    result: Floats = areas @ part.face_normals[good_side] / areas.sum()
    return result


def _back_and_side(across: list[Floats], facing: Floats) -> tuple[Floats, Floats]:
    """Return which way the back looks, and the axis across that, (3,) and (3,).

    Parameters
    ----------
    across : list of two (3,) arrays
        Axes of the box across the long one, the longer first.
    facing : (3,) array
    """
    broad, thin = across
    along = [float(facing @ broad), float(facing @ thin)]
    if max(map(abs, along)) <= _FACING:
        return -thin, broad
    front, side = (broad, thin) if abs(along[0]) > abs(along[1]) else (thin, broad)
    return -np.sign(facing @ front) * front, side
