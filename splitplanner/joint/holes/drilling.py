"""The holes for pins and screws as solids, and pieces with all of them drilled."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from splitplanner.arrays import to_vector, unit_vector
from splitplanner.joint.holes.forms import Bore, circle, slot
from splitplanner.plan import Joint, Pin, Screw, Seam
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

MOUTH = 1.0
"""Holes start this far outside the piece, so that nothing is left standing over them, mm."""
REACH = 60.0
"""How far the way of head and driver is cleared, mm, if nothing else is said: the long arm of the
hex key of an M3 socket screw (ISO 2936, about 58 mm; from memory)."""
INSERT_LEAD_IN = 0.5
"""Chamfer at the mouth of an insert's hole, mm (common practice, no source)."""

Sided = tuple[Pin, int]
SidedScrew = tuple[Screw, int]


def pin_hole(
    pin: Pin,
    side: int,
    up: ArrayLike,
    printer: Printer,
    coat: float = 0.0,
    *,
    mouth: float = MOUTH,
) -> Solid:
    """Return the blind hole for a pin, with its lead-in, vent and slot.

    Parameters
    ----------
    pin : Pin
    side : +1 or -1
        +1 for the piece that its axis points into (the one above), -1 for the other.
    up : (3,) array
        Print direction of the piece.
    printer : Printer
        Gives the form of holes that lie across; see `splitplanner.joint.holes.forms.form_for`.
    coat : float
        Thickness of a coat, by which every surface lies further out, mm.
    mouth : float
        How far it starts outside the piece, mm.

    Returns
    -------
    Solid
        The vent is a groove along the wall that is down in the print, where it prints best, half as
        deep as it is wide. Only the hole in the piece above has the slot.

    Raises
    ------
    ValueError
        If `side` is neither.
    """
    bore = _bore(pin, side, up, printer)
    run = bore.across(pin.slot) if side > 0 else np.zeros(2)

    def outline(diameter: float) -> Polygon:
        bare = slot(diameter, run) if np.any(run) else circle(diameter)
        return bore.drawn(bare, diameter)

    wide, bottom = pin.hole_diameter + 2 * coat, pin.depth + coat
    parts = [bore.prism(outline(wide), -mouth, bottom)]
    if pin.lead_in > 0:
        parts.append(_lead_in(bore, outline(wide), outline(wide + 2 * pin.lead_in), pin, mouth))
    if pin.vent > 0:
        groove = _groove(outline(wide), pin.vent, coat)
        parts.append(bore.prism(groove, -mouth, bottom))
    return parts[0].union(*parts[1:]) if len(parts) > 1 else parts[0]


def screw_holes(
    screw: Screw,
    side: int,
    up: ArrayLike,
    printer: Printer,
    coat: float = 0.0,
    *,
    reach: float = REACH,
    nut_face: float | None = None,
) -> Solid:
    """Return everything that a screw needs to be free in one of its two pieces.

    Parameters
    ----------
    screw : Screw
    side : +1 or -1
        -1 for the head's piece, +1 for the one that its axis points into.
    up : (3,) array
        Print direction of the piece.
    printer : Printer
    coat : float
        Thickness of a coat, mm: holes get wider and deeper, faces that bear lie deeper.
    reach : float
        How far the way of head and driver, and of a nut, is cleared, mm.
    nut_face : float, optional
        Diameter of the spot face under a nut without a pocket, mm; `Screw.head_room` if it is
        not given.

    Returns
    -------
    Solid
        For the head's piece the through hole and, from the seat outwards, the head room; of a
        countersunk screw the cone of 90° (ISO 10642) below that. For the other one the through hole
        and the nut's pocket or spot face, or the blind hole of insert or thread. A flat ring that
        looks down in the print is left as it is: the bridge is short.

    Raises
    ------
    ValueError
        If `side` is neither.
    """
    bore = _bore(screw, side, up, printer)
    held = screw_bore(screw, side, up, printer, coat, mouth=MOUTH)
    if side > 0 and screw.hold != "nut":
        return held
    if side > 0:
        face = screw.depth - coat
        if screw.nut_room > 0:
            room = bore.nut(screw.nut_room + 2 * coat)
        else:
            room = bore.round((nut_face or screw.head_room) + 2 * coat)
    elif screw.is_countersunk:
        face, room = screw.seat, bore.round(_top_of_cone(screw, coat))
    else:
        face, room = screw.seat - coat, bore.round(screw.head_room + 2 * coat)
    return held.union(bore.prism(room, face, face + coat + reach))


def screw_bore(
    screw: Screw,
    side: int,
    up: ArrayLike,
    printer: Printer,
    coat: float = 0.0,
    *,
    mouth: float = 0.0,
) -> Solid:
    """Return the part of `screw_holes` that material has to surround, from the plane on.

    With the countersink, and without head room and nut's pocket; parameters as for `screw_holes`.

    Raises
    ------
    ValueError
        If `side` is neither.
    """
    bore = _bore(screw, side, up, printer)
    if side > 0 and screw.hold != "nut":
        hole = bore.round(screw.hole + 2 * coat)
        blind = bore.prism(hole, -mouth, screw.depth + coat)
        if screw.hold != "insert":
            return blind
        wide = bore.round(screw.hole + 2 * coat + 2 * INSERT_LEAD_IN)
        return blind.union(bore.hull((wide, -mouth), (wide, 0.0), (hole, INSERT_LEAD_IN)))
    hole = bore.round(screw.clearance + 2 * coat)
    through = bore.prism(hole, -mouth, screw.depth if side > 0 else screw.seat)
    if side > 0 or not screw.is_countersunk:
        return through
    return through.union(countersink(screw, bore, coat))


def countersink(screw: Screw, bore: Bore, coat: float = 0.0, deeper: float = 0.0) -> Solid:
    """Return the cone of 90° under a countersunk head.

    Parameters
    ----------
    screw : Screw
    bore : Bore
        Of the head's piece.
    coat : float
        mm; the cone's surface lies this much further out, square to it.
    deeper : float
        By how much the cone is moved along its axis towards the cut plane, mm.
    """
    top, foot = _top_of_cone(screw, coat), screw.clearance + 2 * coat
    level = screw.seat - deeper
    return bore.hull((bore.round(top), level), (bore.round(foot), level - (top - foot) / 2))


def drilled(
    piece: Solid,
    pins: Sequence[Sided],
    screws: Sequence[SidedScrew],
    up: ArrayLike,
    printer: Printer,
    coat: float = 0.0,
    *,
    reach: float = REACH,
) -> Solid:
    """Return `piece` with all holes of its seams drilled.

    Parameters
    ----------
    piece : Solid
    pins : sequence of (Pin, side)
    screws : sequence of (Screw, side)
        Sides as for `pin_hole` and `screw_holes`; `holes_in` gives both.
    up : (3,) array
        Print direction of the piece.
    printer : Printer
    coat, reach : float
        As for `screw_holes`, mm.
    """
    holes = [pin_hole(pin, side, up, printer, coat) for pin, side in pins]
    holes += [screw_holes(screw, side, up, printer, coat, reach=reach) for screw, side in screws]
    return piece.difference(*holes) if holes else piece


def holes_in(joint: Joint, seam: Seam, side: int) -> tuple[list[Sided], list[SidedScrew]]:
    """Return the pins and screws of a joint with their side in one of the seam's pieces.

    Parameters
    ----------
    joint : Joint
    seam : Seam
    side : +1 or -1
        Of the piece: above or below the seam.
    """
    return (
        [(pin, side) for pin in joint.pins],
        [(screw, side * direction_of(screw, seam)) for screw in joint.screws],
    )


def direction_of(screw: Screw, seam: Seam) -> int:
    """Return +1 where a screw's head is in the piece below the seam, -1 where it is above."""
    return 1 if float(np.dot(screw.axis, seam.plane.normal)) > 0 else -1


def bore_of(fastener: Pin | Screw, side: int, up: ArrayLike, printer: Printer) -> Bore:
    """Return how the hole of a pin or screw lies in one of its pieces.

    Raises
    ------
    ValueError
        If `side` is neither +1 nor -1.
    """
    return _bore(fastener, side, up, printer)


def _bore(fastener: Pin | Screw, side: int, up: ArrayLike, printer: Printer) -> Bore:
    if side not in (1, -1):
        raise ValueError(
            f"side is +1 for the piece that the axis points into and -1 for the other, got {side}"
        )
    inward = to_vector(unit_vector(side * np.asarray(fastener.axis, float)))
    return Bore(fastener.at, inward, to_vector(unit_vector(up)), printer)


def _lead_in(bore: Bore, hole: Polygon, wide: Polygon, pin: Pin, mouth: float) -> Solid:
    """Return the chamfer of 45° at the mouth of a pin's hole, and the mouth before it."""
    outlines = [(wide, 0.0), (hole, pin.lead_in)]
    return bore.hull(*outlines, (wide, -mouth)) if mouth > 0 else bore.hull(*outlines)


def _groove(hole: Polygon, vent: float, coat: float) -> Polygon:
    """Return the outline of the groove that lets the air out, from the axis down."""
    down = shapely.LineString([(0.0, 0.0), (0.0, 2 * float(hole.bounds[1]))])
    wall = float(hole.intersection(down).bounds[1])
    return shapely.box(-vent / 2 - coat, wall - vent / 2, vent / 2 + coat, 0.0)


def _top_of_cone(screw: Screw, coat: float) -> float:
    """Return the drawn diameter of a countersink at its top, mm: its surface slopes by 45°."""
    return screw.head_room + 2 * math.sqrt(2) * coat
