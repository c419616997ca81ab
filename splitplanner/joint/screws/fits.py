"""What the shelf knows of the screws in a joint: what bears, how they are held, what turns them."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

from splitplanner.arrays import Bools
from splitplanner.errors import WorkshopError
from splitplanner.joint.screws.access import SeamAccess, Tool, good_side_of
from splitplanner.joint.screws.checks import ScrewFit
from splitplanner.joint.screws.from_shelf import IN_INSERT
from splitplanner.plan import Fastening, Screw, Seam
from splitplanner.solid import Solid
from splitplanner.workshop import FormingScrew, ScrewType, Shelf


def fit_of(screw: Screw, shelf: Shelf) -> ScrewFit:
    """Return what is to be known of a screw's hardware.

    Raises
    ------
    WorkshopError
        If it is not on the shelf.
    """
    washer = shelf.washer(screw.size) if screw.washers else None
    row = row_of(screw, shelf)
    # Its holes are compared with those for its thread.
    shelf.thread(screw.size)
    under_head = washer if washer is not None and not screw.is_countersunk else None
    head = row.head_diameter if isinstance(row, FormingScrew) else row.bearing_diameter
    bearing = head if under_head is None else under_head.outer
    thickness = 0.0 if washer is None else washer.thickness
    if isinstance(row, FormingScrew):
        return ScrewFit(bearing, washer=thickness, engagement=row.engagement)
    if screw.hold == "insert":
        insert = shelf.insert(screw.size)
        wanted = min(insert.length, IN_INSERT * shelf.thread(screw.size).diameter)
        return ScrewFit(bearing, washer=thickness, engagement=wanted)
    nut = shelf.nut(screw.size)
    below_nut = washer if screw.washers > 1 else None
    nut_bearing = nut.across_flats if below_nut is None else below_nut.outer
    return ScrewFit(bearing, nut_bearing, thickness, nut.height)


def tools_of(screw: Screw, shelf: Shelf) -> tuple[Tool, ...]:
    """Return what turns a screw: the hexagon key by either of its arms, and the straight driver.

    Those that stand up least over the head come first. The driver is left out where the shelf has
    none of the size.

    Raises
    ------
    WorkshopError
        If screw or key is not on the shelf.
    """
    return _tools(row_of(screw, shelf).key, shelf)


def tools_for(fastening: Fastening, shelf: Shelf) -> tuple[Tool, ...]:
    """Return what turns the screws that are wanted, or would be; see `tools_of`.

    Raises
    ------
    WorkshopError
        If screw or key is not on the shelf.
    """
    size = fastening.screw_size
    if fastening.screws == "plastic":
        return _tools(shelf.forming_screw(shelf.thread(size).diameter).key, shelf)
    return _tools(shelf.screw(fastening.screw_standard, size).key, shelf)


def access_to(
    seam: Seam, assembled: Solid, part: Solid, seen: Bools, tools: Sequence[Tool]
) -> SeamAccess:
    """Return access to a seam by any of several tools.

    Parameters
    ----------
    seam : Seam
    assembled : Solid
        The part, with flanges if there are any.
    part : Solid
        The part alone.
    seen : (m,) bool array
        Faces of the part on the good side.
    tools : sequence of Tool
    """
    return SeamAccess(seam, assembled, good_side_of(part, seen), tuple(tools))


def row_of(screw: Screw, shelf: Shelf) -> FormingScrew | ScrewType:
    """Return what the shelf has of a screw: by its name where it forms its thread in plastic.

    Raises
    ------
    WorkshopError
        If it is not on the shelf.
    """
    if screw.hold == "plastic":
        return shelf.forming_screw(screw.standard)
    return shelf.screw(screw.standard, screw.size)


def _tools(flats: float, shelf: Shelf) -> tuple[Tool, ...]:
    key = shelf.key(flats)
    found = [
        Tool("key", key.across_corners, key.short_arm, key.long_arm),
        Tool("key", key.across_corners, key.long_arm, key.short_arm),
    ]
    with suppress(WorkshopError):
        driver = shelf.driver(flats)
        found.append(
            Tool("straight", driver.shaft_diameter, driver.length, handle=driver.handle_diameter)
        )
    return tuple(sorted(found, key=lambda tool: tool.length))
