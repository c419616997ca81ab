"""What a single screw or pin holds, pulled and sideways: steel, threads, heads, and the plastic.

Every function gives one way to fail by a formula that can be held against a handbook. Nothing has a
safety factor in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from splitplanner.errors import WorkshopError
from splitplanner.plan import Pin, Screw
from splitplanner.strength.plastic import Plastic
from splitplanner.workshop import Shelf, Thread

Way = Literal["pulled", "sideways"]

CLASSES = {
    "4.6": (400.0, 225.0),
    "4.8": (420.0, 310.0),
    "5.6": (500.0, 280.0),
    "5.8": (520.0, 380.0),
    "8.8": (800.0, 580.0),
    "10.9": (1040.0, 830.0),
    "12.9": (1220.0, 970.0),
    "A2-50": (500.0, 210.0),
    "A2-70": (700.0, 450.0),
    "A4-80": (800.0, 600.0),
}
"""Tensile strength and proof stress by property class, MPa: ISO 898-1:2013 table 3 up to M16, and
for stainless steels ISO 3506-1 with the 0.2 % stress as proof. From memory."""
LOW_HEADS = ("ISO 7380", "ISO 10642")
"""Standards of screws whose heads are too low for the full load."""
LOW_HEAD_SHARE = 0.8
"""Of the thread's load that such a head is assumed to stand (scope of ISO 7380-2:2022)."""
SHEAR_OF_STEEL = 0.6
"""Shear strength of a screw by its tensile strength. Common practice; 0.577 by theory."""
HARDENED_PIN, SOFT_PIN = 1050.0, 240.0
"""Shear strength of pins, MPa: hardened ones by what ASME B18.8.5M has for single shear, by area;
others 0.6 times the 400 MPa of mild steel. From memory."""
HARDENED = ("ISO 8734",)
"""Standards of hardened pins."""


@dataclass(frozen=True)
class Resistance:
    """One way in which a fastener fails, and at what force.

    Attributes
    ----------
    mode : str
        Stable name, such as ``screw.thread``.
    way : "pulled" or "sideways"
    force : float
        N.
    note : str
        How it was found, for people.
    """

    mode: str
    way: Way
    force: float
    note: str


def steel_class(name: str) -> tuple[float, float]:
    """Return tensile strength and proof stress of a property class, MPa.

    Raises
    ------
    WorkshopError
        If it is none of those known.
    """
    try:
        return CLASSES[name]
    except KeyError:
        raise WorkshopError(
            f"“{name}” is no property class that is known; choose from {', '.join(CLASSES)}."
        ) from None


def screw_tension(thread: Thread, name: str = "8.8", share: float = 1.0) -> float:
    """Return the proof load of a screw, N: stress area times proof stress (ISO 898-1).

    Parameters
    ----------
    thread : Thread
    name : str
        Its property class.
    share : float
        Of it that the head stands.

    Raises
    ------
    WorkshopError
        As in `steel_class`.
    """
    return thread.stress_area * steel_class(name)[1] * share


def screw_shear(thread: Thread, name: str = "8.8") -> float:
    """Return the force that shears a screw in its thread, N: ``0.6 R_m A_s``.

    Raises
    ------
    WorkshopError
        As in `steel_class`.
    """
    return SHEAR_OF_STEEL * steel_class(name)[0] * thread.stress_area


def thread_pull_out(diameter: float, engagement: float, shear: float) -> float:
    """Return the force that strips a thread in plastic, N: ``pi d L tau / 3``.

    A third of the whole cylinder: the first turns take most of it, and little is left between the
    turns (NASA RP-1228, Fastener Design Manual, pull-out load of tapped holes; from memory).

    Parameters
    ----------
    diameter : float
        Mean diameter of the thread, mm.
    engagement : float
        Length of thread in the plastic, mm.
    shear : float
        Shear strength, MPa.
    """
    return cylinder_shear(diameter, engagement, shear) / 3


def cylinder_shear(diameter: float, length: float, shear: float) -> float:
    """Return the force that shears a cylinder out of a material, N: ``pi d L tau``.

    For an insert with the diameter of its hole, as an estimate where its maker gives no pull-out
    force; for a head or washer that is pulled through with its diameter and the thickness below.

    Parameters
    ----------
    diameter, length : float
        mm.
    shear : float
        Shear strength, MPa.
    """
    return math.pi * diameter * length * shear


def rigid_pin_bearing(diameter: float, engagement: float, bearing: float) -> float:
    """Return the force across a pin that brings its hole to the bearing strength, N: ``p d L / 4``.

    A stiff pin without gap in one of two pieces, loaded in the seam, presses with ``4 F / (d L)``
    at the seam and ``-2 F / (d L)`` at its end: a straight line in equilibrium of force and moment.

    Parameters
    ----------
    diameter, engagement : float
        mm.
    bearing : float
        Pressure that the material stands, MPa.
    """
    return bearing * diameter * engagement / 4


def tear_out(edge: float, diameter: float, engagement: float, shear: float) -> float:
    """Return the force across a pin that tears it out to an edge, N: ``tau (e - d/2) L / 2``.

    Two planes from the hole to the edge shear; at the seam they have four times what they have on
    average, as in `rigid_pin_bearing`, and printed plastic does not even that out.

    Parameters
    ----------
    edge : float
        From the axis to the edge that it is pushed towards, mm.
    diameter, engagement : float
        mm.
    shear : float
        Shear strength, MPa.
    """
    return shear * max(edge - diameter / 2, 0.0) * engagement / 2


def pin_resistances(
    pin: Pin, sides: tuple[Plastic, Plastic], edge: float = 0.0
) -> tuple[Resistance, ...]:
    """Return how a dowel pin fails sideways; it takes nothing when it is pulled.

    Parameters
    ----------
    pin : Pin
    sides : (plastic of the piece below, of the piece above)
    edge : float
        From its axis to the edge that it is pushed towards, mm; what is kept round it counts if
        that is more.
    """
    strength = HARDENED_PIN if pin.standard.startswith(HARDENED) else SOFT_PIN
    length = min(pin.length / 2, pin.depth)
    bearing = min(side.bearing for side in sides)
    shear = min(side.shear for side in sides)
    return (
        Resistance(
            "pin.steel",
            "sideways",
            strength * math.pi / 4 * pin.diameter**2,
            f"shear of the pin at {strength:g} MPa",
        ),
        Resistance(
            "pin.bearing",
            "sideways",
            rigid_pin_bearing(pin.diameter, length, bearing),
            "pressure on the hole at the seam, 4 F / (d L)",
        ),
        Resistance(
            "pin.tear_out",
            "sideways",
            tear_out(max(edge, pin.edge_distance), pin.diameter, length, shear),
            "shear from the hole to the edge that it is pushed towards",
        ),
    )


@dataclass(frozen=True)
class ScrewHardware:
    """What is to be known of a screw from the shelf.

    Attributes
    ----------
    thread : Thread
    diameter : float
        Outer diameter of what is in the far hole: the thread, or the insert's hole, mm.
    head_area, head_width : float
        On which head or washer bears, mm² and the outer diameter, mm.
    nut_area, nut_width : float
        The same of a nut; 0 without one.
    grip : float
        Length of through hole in the head's piece that guides the shank, mm.
    engagement : float
        Length in the far piece: of the through hole, of the insert, or of thread, mm.
    """

    thread: Thread
    diameter: float
    head_area: float
    head_width: float
    nut_area: float
    nut_width: float
    grip: float
    engagement: float


def screw_hardware(screw: Screw, shelf: Shelf) -> ScrewHardware:
    """Return what is to be known of a screw.

    Raises
    ------
    WorkshopError
        If screw, thread, washer, nut or insert are not on the shelf.
    """
    thread = shelf.thread(screw.size)
    cone = (screw.head_room - screw.clearance) / 2 if screw.is_countersunk else 0.0
    grip = max(screw.seat - cone, 0.0)
    if screw.hold == "plastic":
        forming = shelf.forming_screw(screw.standard)
        area, width = forming.bearing_area(screw.clearance), forming.head_diameter
        engagement = float(np.clip(screw.length - screw.seat, 0.0, screw.depth))
        return ScrewHardware(thread, forming.diameter, area, width, 0.0, 0.0, grip, engagement)
    row, washer = shelf.screw(screw.standard, screw.size), None
    area, width = row.bearing_area(screw.clearance), row.bearing_diameter
    if screw.washers:
        washer = shelf.washer(screw.size)
    if washer is not None and not screw.is_countersunk:
        area, width = washer.bearing_area(screw.clearance), washer.outer
    if screw.hold == "insert":
        insert = shelf.insert(screw.size)
        length = min(insert.length, screw.depth)
        return ScrewHardware(thread, insert.hole_diameter, area, width, 0.0, 0.0, grip, length)
    nut = shelf.nut(screw.size)
    nut_area, nut_width = nut.bearing_area(screw.clearance), nut.across_flats
    if screw.washers > 1 and washer is not None:
        nut_area, nut_width = washer.bearing_area(screw.clearance), washer.outer
    return ScrewHardware(
        thread, thread.diameter, area, width, nut_area, nut_width, grip, screw.depth
    )


def screw_resistances(
    screw: Screw,
    hardware: ScrewHardware,
    sides: tuple[Plastic, Plastic],
    steel: str = "8.8",
    insert_pull_out: float | None = None,
    edge: float = 0.0,
) -> tuple[Resistance, ...]:
    """Return how a screw fails, pulled and sideways.

    Parameters
    ----------
    screw : Screw
    hardware : ScrewHardware
    sides : (plastic of the head's piece, of the other piece)
    steel : str
        Its property class.
    insert_pull_out : float, optional
        Force that pulls an insert out, by its maker or the user's own test, N.
    edge : float
        As for `pin_resistances`, mm.

    Raises
    ------
    WorkshopError
        As in `steel_class`.
    """
    low = screw.is_countersunk or screw.standard.startswith(LOW_HEADS)
    share = LOW_HEAD_SHARE if low else 1.0
    found = [
        Resistance(
            "screw.steel",
            "pulled",
            screw_tension(hardware.thread, steel, share),
            f"proof load of class {steel}" + (", 0.8 of it for a low head" if low else ""),
        ),
        Resistance(
            "screw.head",
            "pulled",
            hardware.head_area * sides[0].bearing,
            "pressure below head or washer",
        ),
        Resistance(
            "screw.pull_through",
            "pulled",
            cylinder_shear(hardware.head_width, screw.seat, sides[0].shear),
            "shear round head or washer, through what is below it",
        ),
        *_far_end(screw, hardware, sides[1], insert_pull_out),
        Resistance(
            "screw.steel",
            "sideways",
            screw_shear(hardware.thread, steel),
            f"shear of the thread, 0.6 R_m, class {steel}",
        ),
    ]
    return (*found, *_sideways(screw, hardware, sides, max(edge, screw.edge_distance)))


def _far_end(
    screw: Screw, hardware: ScrewHardware, side: Plastic, insert_pull_out: float | None
) -> tuple[Resistance, ...]:
    """Return how the end that is not the head's fails when it is pulled."""
    if screw.hold == "nut":
        pressed = hardware.nut_area * side.bearing
        through = cylinder_shear(hardware.nut_width, screw.depth, side.shear)
        return (
            Resistance("screw.nut", "pulled", pressed, "pressure below nut or its washer"),
            Resistance("screw.nut_pull_through", "pulled", through, "shear round the nut"),
        )
    if screw.hold == "insert":
        if insert_pull_out is not None:
            note = "pull-out of its insert, by the force that you gave"
            return (Resistance("screw.insert", "pulled", insert_pull_out, note),)
        force = cylinder_shear(hardware.diameter, hardware.engagement, side.shear)
        note = "pull-out of its insert, estimated by shear round it; its maker's value is better"
        return (Resistance("screw.insert", "pulled", force, note),)
    middle = (hardware.diameter + min(screw.hole, hardware.diameter)) / 2
    force = thread_pull_out(middle, hardware.engagement, side.shear)
    note = "a third of the cylinder of the thread in shear (NASA RP-1228)"
    return (Resistance("screw.thread", "pulled", force, note),)


def _sideways(
    screw: Screw, hardware: ScrewHardware, sides: tuple[Plastic, Plastic], edge: float
) -> tuple[Resistance, Resistance]:
    """Return how the plastic on both sides fails when a screw is pushed across."""
    thin, far = hardware.thread.diameter, hardware.diameter
    pressed = min(
        rigid_pin_bearing(thin, hardware.grip, sides[0].bearing),
        rigid_pin_bearing(far, hardware.engagement, sides[1].bearing),
    )
    torn = min(
        tear_out(edge, screw.clearance, hardware.grip, sides[0].shear),
        tear_out(edge, far, hardware.engagement, sides[1].shear),
    )
    return (
        Resistance("screw.bearing", "sideways", pressed, "pressure on its holes at the seam"),
        Resistance(
            "screw.tear_out",
            "sideways",
            torn,
            "shear from the hole to the edge that it is pushed towards",
        ),
    )
