"""The screws that a fastening asks for, as shelf and printer give them."""

from __future__ import annotations

import math
from dataclasses import replace

from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Fastening, Hold
from splitplanner.workshop import Printer, Shelf

_PLAY = 0.5
"""By how much the room of a head or nut is wider than it, mm. Common practice, no source."""
IN_INSERT = 1.5
"""Length of thread in an insert by diameter, where the insert is longer. Common practice, no
source."""


def screw_sizes(fastening: Fastening, shelf: Shelf, printer: Printer) -> tuple[ScrewSize, ...]:
    """Return how the wanted screw can be put in, in the order in which it is to be tried.

    With washers, which spread its load on the plastic, first; then without. A nut lies open first,
    and then in a pocket, without a washer of its own. A countersunk head has no washer.

    Parameters
    ----------
    fastening : Fastening
        With screws.
    shelf : Shelf
    printer : Printer

    Raises
    ------
    ValueError
        If it wants no screws.
    WorkshopError
        If the shelf has not what it takes.
    """
    if fastening.screws == "none":
        raise ValueError("no screws are wanted")
    if fastening.screws == "plastic":
        return (_forming(fastening, shelf, printer),)
    bare = _machine(fastening, shelf, printer, fastening.screws)
    sizes = [bare] if bare.is_countersunk else [_with_washers(bare, shelf, printer), bare]
    if fastening.screws == "nut":
        sizes.append(_in_pocket(sizes[0], shelf, printer))
    return tuple(sizes)


def _machine(fastening: Fastening, shelf: Shelf, printer: Printer, hold: Hold) -> ScrewSize:
    """Return a screw of a standard without washers, its nut lying open if it has one."""
    row = shelf.screw(fastening.screw_standard, fastening.screw_size)
    thread = shelf.thread(row.size)
    clearance = printer.hole_diameter(thread.clearance_medium)
    play = 0.0 if row.is_countersunk else _PLAY
    size = ScrewSize(
        standard=row.standard,
        size=row.size,
        hold=hold,
        diameter=thread.diameter,
        pitch=thread.pitch,
        lengths=row.lengths,
        is_countersunk=row.is_countersunk,
        head_height=0.0 if row.is_countersunk else row.head_height,
        bearing=row.bearing_diameter,
        washers=0,
        washer=0.0,
        clearance=clearance,
        head_room=printer.hole_diameter(row.head_diameter) + play,
        hole=clearance,
        least_depth=0.0,
        engagement=0.0,
        nut_height=0.0,
        nut_bearing=0.0,
        nut_room=0.0,
        nut_way=0.0,
        edge_distance=printer.edge_distance(thread.clearance_medium),
        end_cover=2 * printer.line_width,
    )
    return _with_nut(size, shelf, printer) if hold == "nut" else _with_insert(size, shelf, printer)


def _with_nut(size: ScrewSize, shelf: Shelf, printer: Printer) -> ScrewSize:
    """Return a screw with a nut that lies open."""
    nut = shelf.nut(size.size)
    way = printer.hole_diameter(nut.across_corners) + _PLAY
    return replace(
        size,
        # One width is bored on both sides, so a nut has room where the head has.
        head_room=size.head_room if size.is_countersunk else max(size.head_room, way),
        nut_height=nut.height,
        nut_bearing=nut.across_flats,
        nut_way=way,
    )


def _with_insert(size: ScrewSize, shelf: Shelf, printer: Printer) -> ScrewSize:
    """Return a screw that goes into a heat-set insert."""
    insert, thread = shelf.insert(size.size), shelf.thread(size.size)
    return replace(
        size,
        hole=printer.hole_diameter(insert.hole_diameter),
        least_depth=insert.hole_depth(thread),
        engagement=min(insert.length, IN_INSERT * thread.diameter),
        edge_distance=max(size.edge_distance, insert.hole_diameter / 2 + insert.least_wall),
    )


def _with_washers(bare: ScrewSize, shelf: Shelf, printer: Printer) -> ScrewSize:
    washer = shelf.washer(bare.size)
    room = printer.hole_diameter(washer.outer) + _PLAY
    has_nut = bare.hold == "nut"
    return replace(
        bare,
        head_height=bare.head_height + washer.thickness,
        bearing=washer.outer,
        washers=2 if has_nut else 1,
        washer=washer.thickness,
        head_room=max(bare.head_room, room),
        nut_bearing=washer.outer if has_nut else 0.0,
        nut_way=max(bare.nut_way, room) if has_nut else 0.0,
    )


def _in_pocket(size: ScrewSize, shelf: Shelf, printer: Printer) -> ScrewSize:
    """Return a screw whose nut is held by a pocket, with walls as round any hole."""
    nut = shelf.nut(size.size)
    room = printer.hole_diameter(nut.across_flats)
    corners = 2 * room / math.sqrt(3)
    return replace(
        size,
        washers=min(size.washers, 1),
        nut_bearing=nut.across_flats,
        nut_room=room,
        nut_way=corners,
        edge_distance=max(size.edge_distance, corners / 2 + size.end_cover),
    )


def _forming(fastening: Fastening, shelf: Shelf, printer: Printer) -> ScrewSize:
    """Return a thread-forming screw; its maker says how much thread and which boss it needs."""
    thread = shelf.thread(fastening.screw_size)
    row = shelf.forming_screw(thread.diameter)
    return ScrewSize(
        standard=row.name,
        size=thread.size,
        hold="plastic",
        diameter=row.diameter,
        pitch=thread.pitch,
        lengths=row.lengths,
        is_countersunk=False,
        head_height=row.head_height,
        bearing=row.head_diameter,
        washers=0,
        washer=0.0,
        clearance=printer.hole_diameter(row.clearance),
        head_room=printer.hole_diameter(row.head_diameter) + _PLAY,
        hole=printer.hole_diameter(row.pilot_diameter),
        least_depth=row.pilot_depth,
        engagement=row.engagement,
        nut_height=0.0,
        nut_bearing=0.0,
        nut_room=0.0,
        nut_way=0.0,
        edge_distance=max(row.boss_diameter / 2, printer.edge_distance(row.diameter)),
        end_cover=2 * printer.line_width,
    )
