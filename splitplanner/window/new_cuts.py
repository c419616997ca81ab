"""Where a cut, or a pin, goes that the user adds without saying where."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.plan import Pin, Plan
from splitplanner.score import SeamRow
from splitplanner.solid import Plane, Solid
from splitplanner.window.session import Session

_CLEAR = 3.0
"""Pins stand so many diameters apart at least (common practice, no source)."""


def good_plane(session: Session, piece: str | None) -> Plane:
    """Return a plane across the longest side of the chosen piece, or of the largest, in its middle.

    Or at the sensible place of the chart that is nearest to there.
    """
    solid = _solid_of(session, piece)
    low, high = solid.bounds
    side = int(np.argmax(high - low))
    normal = to_vector(np.eye(3)[side])
    middle = float(low[side] + high[side]) / 2
    reach = float(high[side] - low[side]) / 8
    if normal == session.axis:
        near = [place.station for place in session.places if abs(place.station - middle) < reach]
        middle = min(near, key=lambda station: abs(station - middle), default=middle)
    return Plane(normal, round(middle, 1))


def _solid_of(session: Session, piece: str | None) -> Solid:
    division, part = session.division, session.part
    assert part is not None
    if division is None:
        return part
    if piece is not None and piece in division.by_name:
        return division.piece(piece).solid
    return max((each.solid for each in division.pieces), key=lambda solid: solid.size)


def one_more_pin(row: SeamRow, plan: Plan) -> Pin | None:
    """Return a pin like those of a seam, in what room is left; None if there is none.

    Of the places that fit, the one furthest from the pins that are there.
    """
    pins = plan.joint(row.seam.name).pins
    like = pins[0] if pins else next((p for joint in plan.joints for p in joint.pins), None)
    places = row.deep_room.positions if len(row.deep_room.positions) else row.room.positions
    if like is None or not len(places):
        return None
    points = row.seam.plane.to_space(places)
    gaps = np.full(len(points), np.inf)
    for pin in pins:
        gaps = np.minimum(gaps, np.linalg.norm(points - pin.at, axis=1))
    best = int(gaps.argmax())
    if gaps[best] < _CLEAR * like.diameter:
        return None
    return Pin(
        to_vector(points[best]),
        row.seam.plane.normal,
        like.standard,
        like.diameter,
        like.length,
        like.hole_diameter,
        like.depth,
        like.edge_distance,
    )
