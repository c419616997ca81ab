"""The screw of a brace: its length, its hole in the sheet, and the boss that it needs."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.errors import JointError
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan.brace import BraceWish
from splitplanner.workshop import Shelf

EDGE_BY_HOLE = 1.2
"""Least distance from the axis of a bolt to an edge of sheet metal, by the diameter of its hole:
EN 1993-1-8, table 3.3, e1 and e2 (from memory)."""
_WANTED_EDGE = 2.0
"""The same where there is room. Common practice, no source."""
_NUT_GRIP = 2.0
"""Thickness of a boss under a nut, by the diameter of the thread. Common practice, no source."""


@dataclass(frozen=True)
class BoltSize:
    """A screw of one length through a sheet into a boss, mm.

    Attributes
    ----------
    screw : ScrewSize
    length : float
        As it is sold.
    brace_hole : float
        Diameter of the hole in the brace.
    least_edge : float
        Least distance from its axis to an edge of the brace.
    line : float
        Distance of the bolts from the inner edge of the brace.
    depth : float
        Of the hole in the boss; through it with a nut.
    radius : float
        Of the boss.
    thickness : float
        Of the boss, along the bolt.
    head_way : float
        What head and key take over the sheet, straight along the bolt.
    """

    screw: ScrewSize
    length: float
    brace_hole: float
    least_edge: float
    line: float
    depth: float
    radius: float
    thickness: float
    head_way: float

    @property
    def nut_end(self) -> float:
        """What a nut takes beyond its boss, straight along the bolt, mm; 0 without one."""
        screw = self.screw
        return screw.nut_height + screw.head_height if screw.hold == "nut" else 0.0


def bolt_size(wish: BraceWish, screw: ScrewSize, shelf: Shelf) -> BoltSize:
    """Return a screw of the shortest length that holds the sheet, and the boss that it needs.

    The hole in metal is that of ISO 273, medium; in a printed brace as the printer draws it.

    Raises
    ------
    JointError
        If no length on the shelf does, or the strip is too narrow for the hole.
    WorkshopError
        If its thread, or the key that turns it, is not on the shelf.
    """
    hole = screw.clearance if wish.is_printed else shelf.thread(screw.size).clearance_medium
    least = max(EDGE_BY_HOLE * hole, screw.edge_distance if wish.is_printed else 0.0)
    if wish.depth < 2 * least:
        raise JointError(
            f"A brace {wish.depth:g} mm deep is too narrow for {screw.size}, which needs "
            f"{2 * least:.1f} mm; make it deeper or take a smaller screw."
        )
    line = min(wish.depth / 2, max(_WANTED_EDGE * hole, least))
    length, depth = _length(wish, screw)
    cover = 0.0 if screw.hold == "nut" else screw.end_cover
    radius = max(screw.edge_distance, screw.nut_bearing / 2)
    way = screw.head_height + _arm(screw, shelf)
    return BoltSize(screw, length, hole, least, line, depth, radius, depth + cover, way)


def _arm(screw: ScrewSize, shelf: Shelf) -> float:
    """Return how far the short arm of the key reaches, mm."""
    if screw.hold == "plastic":
        across = shelf.forming_screw(screw.standard).key
    else:
        across = shelf.screw(screw.standard, screw.size).key
    return shelf.key(across).short_arm


def _length(wish: BraceWish, screw: ScrewSize) -> tuple[float, float]:
    """Return a length and the depth of its hole in the boss, the shallowest first, mm."""
    found = []
    if screw.hold == "nut":
        depth = _NUT_GRIP * screw.diameter
        length = screw.length_for(wish.stock, depth)
        if length is not None:
            found.append((depth, length))
    for length in screw.lengths if screw.hold != "nut" else ():
        tip = length - screw.under_head - wish.stock
        if tip >= screw.engagement - 1e-9:
            found.append((max(screw.least_depth, tip + screw.tip_clearance), length))
    if not found:
        raise JointError(
            f"No {screw.standard} screw {screw.size} on the shelf is long enough for a brace "
            f"{wish.stock:g} mm thick; add longer ones or take a thinner sheet."
        )
    depth, length = min(found)
    return length, depth
