"""Room for the driver: which screws across a seam can be reached and turned."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.plan import Seam
from splitplanner.solid import Sight, Solid, fibonacci_sphere, frame_of

SCREW = 3.0
"""Diameter (mm) of the screw that is looked for: M3, a common small size."""
LEAST_SEAT = 2.0
"""Thinnest plastic under a screw head or nut, mm (common practice, no source)."""
ENGAGEMENT = 2 * SCREW
"""Plastic that a self-threading screw or an insert wants, mm: 2 to 3 diameters (Lincoln, Gomes &
Braden, Mechanical Fastening of Plastics, on threaded fasteners)."""
THICKEST_SEAT = 30.0 - ENGAGEMENT
"""Thickest plastic under a screw head, mm: M3 socket screws are up to 30 mm long (ISO 4762)."""
_RIM = 12
_WAYS_OUT = 128
_LEAST_OUT = 3


@dataclass(frozen=True)
class Driver:
    """What must have room above a screw head.

    Attributes
    ----------
    diameter : float
        Of the head or the tool, whichever is wider, mm. By default the head of an M3 socket screw
        (ISO 4762: 5.5 mm); its 2.5 mm hex key is thinner.
    length : float
        How far the tool stands up from the plastic, mm. By default the long arm of the hex key of
        2.5 mm and the head (ISO 2936, about 58 mm; from memory).

    Raises
    ------
    ValueError
        If a size is not above 0 mm.
    """

    diameter: float = 5.5
    length: float = 60.0

    def __post_init__(self) -> None:
        if not (0 < self.diameter < np.inf and 0 < self.length < np.inf):
            raise ValueError(
                f"a driver needs a diameter and a length above 0 mm, got {self.diameter} and "
                f"{self.length}"
            )


def reachable(
    seam: Seam, part: Solid, good_side: Bools, positions: Floats, driver: Driver | None = None
) -> Bools:
    """Return at which places of a seam a screw could be put in and turned.

    The screw's axis is the seam's normal. It is followed from the seam into the material on either
    side to where it comes out of the part. That place is a seat when it is not on the good side,
    lies `LEAST_SEAT` to `THICKEST_SEAT` from the seam and has above it a free cylinder of the
    driver's size, from whose far end at least 3 of 128 directions lead out into the open, so that
    a hand gets there. A screw fits where one side is a seat and the other gives its thread
    `ENGAGEMENT` of plastic or is a seat too, for the nut.

    All is looked at on the assembled part: what can be reached in it can be reached in any order of
    assembly, and undone again. The cylinder is sampled by its axis and 12 lines along its rim.

    Parameters
    ----------
    seam : Seam
    part : Solid
        The uncut part.
    good_side : (m,) bool array
        Faces of the part on the good side.
    positions : (n, 2) float array, mm
        Plane coordinates of the screws' axes, such as those of `splitplanner.score.Room`.
    driver : Driver, optional

    Returns
    -------
    (n,) bool array

    Raises
    ------
    ValueError
        If `good_side` does not have one entry for each face of the part.
    """
    if len(good_side) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(good_side)}")
    if not len(positions):
        return np.zeros(0, dtype=np.bool_)
    points = seam.plane.to_space(positions)
    tool = driver or Driver()
    seats, grips = [], []
    for side in (1.0, -1.0):
        seat, thickness = _seats(points, side * np.array(seam.plane.normal), part, good_side, tool)
        seats.append(seat)
        grips.append(thickness >= ENGAGEMENT)
    result: Bools = (seats[0] & (seats[1] | grips[1])) | (seats[1] & grips[0])
    return result


def _seats(
    points: Floats, axis: Floats, part: Solid, good_side: Bools, driver: Driver
) -> tuple[Bools, Floats]:
    """Return at which points (n, 3) of a seam a head can sit out along `axis`, and how far, mm."""
    sight = Sight.of(part)
    along = np.tile(axis, (len(points), 1))
    thickness, face = sight.first(points, along, along)
    seat = (thickness >= LEAST_SEAT) & (thickness <= THICKEST_SEAT) & ~good_side[face]
    for index in np.flatnonzero(seat):
        foot = points[index] + (thickness[index] + 2 * sight.off) * axis
        tip = foot + driver.length * axis
        seat[index] = _is_free(sight, foot, axis, driver) and _leads_out(sight, tip)
    return seat, thickness


def _is_free(sight: Sight, foot: Floats, axis: Floats, driver: Driver) -> bool:
    """Return whether nothing is in the driver's cylinder that stands on `foot`."""
    angles = 2 * np.pi * np.arange(_RIM) / _RIM
    across = np.column_stack([np.cos(angles), np.sin(angles)]) @ frame_of(axis)[:2]
    radius = driver.diameter / 2
    still = np.zeros_like(across)
    # First out to the rim: a rim point inside the material would not meet the face round it.
    to_rim = sight.is_open(np.tile(foot, (_RIM, 1)), still, across, np.full(_RIM, radius))
    starts = np.vstack([foot, foot + radius * across])
    along = np.tile(axis, (len(starts), 1))
    upward = sight.is_open(
        starts, np.zeros_like(starts), along, np.full(len(starts), driver.length)
    )
    return bool(to_rim.all() and upward.all())


def _leads_out(sight: Sight, place: Floats) -> bool:
    """Return whether enough directions from `place` meet nothing."""
    ways = fibonacci_sphere(_WAYS_OUT)
    starts = np.tile(place, (len(ways), 1))
    is_open = sight.is_open(starts, np.zeros_like(starts), ways)
    return int(is_open.sum()) >= _LEAST_OUT


def unreachable_share(
    seam: Seam, part: Solid, good_side: Bools, positions: Floats, driver: Driver | None = None
) -> float:
    """Return the share of `positions` (n, 2) at which no screw can be turned, 0 to 1.

    1 where there are no positions at all; see `reachable`.
    """
    if not len(positions):
        return 1.0
    return float(1.0 - np.mean(reachable(seam, part, good_side, positions, driver)))
