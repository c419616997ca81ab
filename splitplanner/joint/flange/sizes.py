"""How wide and thick a flange has to be for what it carries, and how it runs out into the wall."""

from __future__ import annotations

import math

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.pins.sizes import PinSize, pin_sizes
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.plan import Fastening, Vector
from splitplanner.workshop import Printer, Shelf

_AWAY = 0.5
"""Between the wall and a head, washer or driver beside it, mm. Common practice, no source."""
_STIFF = 1.5
"""A rim is at least so many screw diameters thick. Common practice, no source."""
_USUAL_PIN = 3.0
"""The dowel pin that a rim without screws is made for, mm. Common practice, no source."""
_GRAIN = 0.5
"""Widths and thicknesses are rounded up to this, mm."""


def flange_size(fastening: Fastening, shelf: Shelf, printer: Printer) -> tuple[float, float]:
    """Return width and thickness of a flange for the wanted pins and screws, mm.

    As wide as a head or washer and its distance from the wall, and as much material beyond the axis
    as round any hole; as thick as half a pin with its end cover, as 1.5 screw diameters, or as what
    a thread or an insert wants.

    Parameters
    ----------
    fastening : Fastening
    shelf : Shelf
    printer : Printer

    Raises
    ------
    WorkshopError
        If the wanted screw, nut or insert is not on the shelf.
    """
    widths, depths = [4 * printer.line_width], [4 * printer.line_width]
    pin = _usual_pin(shelf, printer)
    if fastening.pins and pin is not None:
        widths.append(2 * pin.margin + _AWAY)
        depths.append(pin.reach)
    if fastening.screws != "none":
        screw = screw_sizes(fastening, shelf, printer)[0]
        radius = max(screw.head_room, screw.nut_way) / 2
        widths.append(radius + _AWAY + max(radius, screw.edge_distance))
        blind = screw.least_depth + screw.end_cover if screw.least_depth else 0.0
        depths.append(max(_STIFF * screw.diameter, screw.least_seat, blind))
    return _rounded_up(max(widths)), _rounded_up(max(depths))


def _usual_pin(shelf: Shelf, printer: Printer) -> PinSize | None:
    """Return the pin of usual diameter that goes 2 d into each piece; None if none prints."""
    sizes = pin_sizes(shelf.dowel_pins, printer, 0.0)
    return min(
        sizes, key=lambda size: (abs(size.diameter - _USUAL_PIN), -size.length), default=None
    )


def slopes(normal: Vector, ups: tuple[Vector, Vector], limit: float) -> tuple[float, float]:
    """Return at which angles from the normal a flange runs out into the walls below and above.

    Its far face hangs over where the piece prints with the seam upwards: it then slopes at the
    overhang limit. Elsewhere it ends square.

    Parameters
    ----------
    normal : (x, y, z)
        Of the seam.
    ups : (up of the piece below, up of the piece above)
    limit : float
        The printer's overhang limit, degrees from vertical.
    """
    steep = math.sin(math.radians(limit))
    hangs = [
        float(np.dot(up, normal)) * side > steep for up, side in zip(ups, (1, -1), strict=True)
    ]
    below, above = (limit if each else 90.0 for each in hangs)
    return below, above


def slope_towards(free: Floats, away: Floats, up: Vector, limit: float) -> float:
    """Return at which angle from the seam's normal a flange that hangs over may run out at most.

    A piece does not always print with the seam level. With the face's angle s from the normal, its
    own normal is ``sin(s) away + cos(s) free``, and it hangs over by no more than the limit as long
    as that times up is no less than ``-sin(limit)``; solved for s.

    Parameters
    ----------
    free, away : (3,) float array
        Unit vectors: to the flange's free side, and away from the seam into the piece.
    up : (x, y, z)
        Print direction, from the piece towards the seam more or less.
    limit : float
        The printer's overhang limit, degrees from vertical.

    Returns
    -------
    float
        Degrees, 0 to 90; 0 where even a face square to the seam hangs over too much.
    """
    fall, rise = float(-np.dot(up, away)), float(np.dot(up, free))
    most, radius = math.sin(math.radians(limit)), math.hypot(fall, rise)
    if -rise > most:
        return 0.0
    if most >= radius:
        return 90.0
    # Below 0 the next crossing is a turn further on.
    slope = math.degrees(math.atan2(rise, fall) + math.asin(most / radius))
    return min(slope, 90.0) if slope >= 0.0 else 90.0


def _rounded_up(size: float) -> float:
    return math.ceil(size / _GRAIN - 1e-9) * _GRAIN
