"""Where a cut goes that the user adds without saying where."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.solid import Plane, Solid
from splitplanner.window.session import Session


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
