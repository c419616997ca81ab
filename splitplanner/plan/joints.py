"""What holds a seam, as the plan keeps it.

Everything is in the part's frame and in mm. *Below* and *above* are the two pieces of the seam: the
plane's normal points from below to above.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Vector = tuple[float, float, float]
Line = tuple[tuple[float, float], ...]
"""Corners of a line in coordinates of the seam's plane, mm."""

Hold = Literal["nut", "insert", "plastic"]
"""What a screw's thread goes into: a nut, a heat-set insert, or the plastic itself."""
Form = Literal["lap", "tongue", "studs", "wedge"]
"""Of a register: a rebate, tongue and groove, printed pins, or a key of wedge section."""

NOWHERE: Vector = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Pin:
    """A dowel pin across a seam, half of it in each of the two pieces.

    Attributes
    ----------
    at : (x, y, z)
        Centre of the pin, on the cut plane, mm.
    axis : (x, y, z)
        Unit vector from the piece below into the piece above.
    standard : str
        Such as ``ISO 8734``.
    diameter, length : float
        Of the pin, mm.
    hole_diameter : float
        As drawn: the pin's diameter and the printer's hole allowance, mm.
    depth : float
        Depth of the blind hole in each piece, mm: half the pin and a clearance.
    edge_distance : float
        Material kept round the pin, from its axis to the nearest surface, mm.
    lead_in : float
        Width of the chamfer at both mouths, 45°, mm; 0 for none.
    vent : float
        Width of a groove along both holes that lets the air out, mm; 0 for none.
    slot : (x, y, z)
        By how much the hole in the piece above is longer than wide, and which way, mm: in the
        plane, in the direction of the other pin that locates. (0, 0, 0) for a round hole.
    """

    at: Vector
    axis: Vector
    standard: str
    diameter: float
    length: float
    hole_diameter: float
    depth: float
    edge_distance: float
    lead_in: float = 0.0
    vent: float = 0.0
    slot: Vector = NOWHERE


@dataclass(frozen=True)
class Screw:
    """A screw across a seam, square to it.

    Distances along the axis are from the cut plane, away from it on both sides.

    Attributes
    ----------
    at : (x, y, z)
        Where its axis meets the cut plane, mm.
    axis : (x, y, z)
        Unit vector from its head to its tip: the seam's normal when the head is in the piece below.
    standard : str
        Of the screw, such as ``ISO 4762``.
    size : str
        Of its thread, such as ``M4``.
    length : float
        As it is sold, mm.
    hold : "nut", "insert" or "plastic"
    seat : float
        Distance of the face on which the head, or its washer, bears, mm; of a countersunk head the
        distance of its top.
    washers : int
        0, 1 below the head, or 2 with one below the nut.
    clearance : float
        Diameter of the through hole in the head's piece, and with a nut in both, as drawn, mm.
    head_room : float
        Diameter that is clear from the seat outwards, for head, washer and driver, as drawn, mm; of
        a countersunk head the diameter of the countersink at its top.
    is_countersunk : bool
        Whether the seat is a countersink of 90°.
    depth : float
        With a nut the distance of the face on which it, or its washer, bears; else the depth of the
        hole for insert or thread, mm.
    hole : float
        Diameter of that hole as drawn, mm; the clearance with a nut.
    nut_room : float
        Width across flats of the nut's pocket as drawn, from where it bears outwards, mm; 0 where
        the nut lies open or there is none.
    edge_distance : float
        Material kept round the hole, from its axis to the nearest surface, mm.
    """

    at: Vector
    axis: Vector
    standard: str
    size: str
    length: float
    hold: Hold
    seat: float
    washers: int
    clearance: float
    head_room: float
    is_countersunk: bool
    depth: float
    hole: float
    nut_room: float
    edge_distance: float


@dataclass(frozen=True)
class Flange:
    """An internal rim along the hidden side of a seam, on both of its pieces.

    Attributes
    ----------
    lines : tuple of lines
        The stretches of the seam's outlines that it follows: corners (u, v) in the plane, mm. The
        wall is on their left.
    width : float
        From the wall to the rim's free edge, mm.
    thickness : float
        Along the normal, on each side of the seam, mm.
    slope_below, slope_above : float
        Angle from the normal at which the rim runs out into the wall on each side, so that it
        prints without support, degrees; 90 for a rim that ends square.
    """

    lines: tuple[Line, ...]
    width: float
    thickness: float
    slope_below: float = 90.0
    slope_above: float = 90.0


@dataclass(frozen=True)
class Register:
    """A form in the seam itself that keeps the pieces in line, without hardware.

    Attributes
    ----------
    form : "lap", "tongue", "studs" or "wedge"
    height : float
        How far it stands up from the piece below into the piece above, mm.
    width : float
        Of the tongue, the lap, the key, or diameter of a stud, at its foot, mm.
    gap : float
        Left between its sides, mm.
    places : tuple of (u, v)
        Of studs, in the plane, mm; empty for the other forms, which follow the middle of
        the wall.
    """

    form: Form
    height: float
    width: float
    gap: float
    places: Line = ()


@dataclass(frozen=True)
class Tape:
    """Fibre tape with resin over a seam, on its hidden side.

    Attributes
    ----------
    fibre : str
        Such as ``glass``.
    areal_weight : float
        Of one ply of dry fibre, g/m².
    plies : int
    fibre_share : float
        Of the laminate's weight, 0 to 1.
    width : float
        Over both pieces, mm.
    length : float
        mm.
    """

    fibre: str
    areal_weight: float
    plies: int
    fibre_share: float
    width: float
    length: float


@dataclass(frozen=True)
class Joint:
    """All that holds one seam.

    Attributes
    ----------
    seam : str
        Name of the seam.
    pins : tuple of Pin
    screws : tuple of Screw
    flange : Flange or None
    register : Register or None
    tape : Tape or None
    """

    seam: str
    pins: tuple[Pin, ...] = ()
    screws: tuple[Screw, ...] = ()
    flange: Flange | None = None
    register: Register | None = None
    tape: Tape | None = None

    @property
    def fasteners(self) -> tuple[Pin | Screw, ...]:
        """Pins and screws."""
        return (*self.pins, *self.screws)

    @property
    def is_empty(self) -> bool:
        """Whether nothing holds the seam."""
        return self == Joint(self.seam)
