"""Whether the sizes written in screws suit the hardware that is to go into their holes.

Screws that are placed have the sizes of `splitplanner.joint.screws.sizes`. In a plan that somebody
has edited they may have any: holes through which the thread does not go, or in which nothing holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from splitplanner.findings import Finding, Severity
from splitplanner.joint.fasteners.distances import drawable
from splitplanner.joint.screws.fits import row_of
from splitplanner.plan import Joint, Screw
from splitplanner.workshop import FormingScrew, Printer, ScrewType, Shelf

_ROUNDING = 1e-6
"""mm; plan files keep six digits."""


def check_screw_sizes(joint: Joint, shelf: Shelf, printer: Printer) -> tuple[Finding, ...]:
    """Check that the sizes of screws suit what is on the shelf.

    Parameters
    ----------
    joint : Joint
        Screws without any sensible size are left to `check_screws`.
    shelf : Shelf
        Has all of them.
    printer : Printer
        Gives the hole allowance, by which holes are drawn wider than they are to be.

    Returns
    -------
    tuple of Finding
        Faults ``joint.clearance`` (a through hole outside of the series of ISO 273),
        ``joint.thread_hole`` (a hole in which insert or thread does not hold, or that takes
        neither), ``joint.insert_depth``, ``joint.countersink`` (a countersink for a head that is
        none, or the other way round), ``joint.washers`` (where there is no place for them),
        ``joint.bearing`` (no washer where the head or nut would sink into its hole),
        ``joint.head_room``, ``joint.nut_room`` (too narrow for the nut, or so wide that it turns)
        and ``joint.printer_edge``; and warnings ``joint.not_stocked`` of lengths that are not sold.

    Raises
    ------
    WorkshopError
        If a screw is not on the shelf.
    """
    findings: list[Finding] = []
    for name, each in drawable(joint):
        if isinstance(each, Screw):
            case = _Case(f"Seam {joint.seam}, {name}", joint.seam, each, shelf, printer)
            findings += case.findings()
    return tuple(findings)


@dataclass(frozen=True)
class _Case:
    """One screw and its hardware."""

    name: str
    seam: str
    screw: Screw
    shelf: Shelf
    printer: Printer

    @property
    def row(self) -> FormingScrew | ScrewType:
        """What the shelf has of the screw."""
        return row_of(self.screw, self.shelf)

    @property
    def wants_countersink(self) -> bool:
        """Whether its head is a cone."""
        row = self.row
        return isinstance(row, ScrewType) and row.is_countersunk

    @property
    def bearing(self) -> float:
        """Diameter of what bears under the head without a washer, mm."""
        row = self.row
        return row.bearing_diameter if isinstance(row, ScrewType) else row.head_diameter

    def findings(self) -> Iterator[Finding]:
        """Find what is wrong with it."""
        yield from self._clearance()
        yield from self._thread_hole()
        yield from self._head()
        yield from self._washers()
        if self.screw.hold == "nut":
            yield from self._nut()
        yield from self._edge()
        yield from self._length()

    def _clearance(self) -> Iterator[Finding]:
        thread, size = self.shelf.thread(self.screw.size), self.screw.clearance
        series = thread.clearance_fine, thread.clearance_coarse
        low, high = (self.printer.hole_diameter(hole) for hole in series)
        row = self.row
        if isinstance(row, FormingScrew):
            own = self.printer.hole_diameter(row.clearance)
            low, high = min(low, own), max(high, own)
        yield from self._between(
            "joint.clearance", "its through hole", size, low, high,
            f"for a thread {thread.size} (ISO 273, fine to coarse, and the printer's allowance)",
        )  # fmt: skip

    def _thread_hole(self) -> Iterator[Finding]:
        """Check a hole for insert or thread: half of what bites may be gone, or too much."""
        screw, row = self.screw, self.row
        if isinstance(row, FormingScrew):
            wanted, outer = row.pilot_diameter, row.diameter
            what, why = "its pilot hole", f"for “{row.name}”"
        elif screw.hold == "insert":
            insert = self.shelf.insert(screw.size)
            wanted, outer = insert.hole_diameter, insert.outer_diameter
            what, why = "the hole for its insert", f"for “{insert.name}”"
            if screw.depth < insert.length - _ROUNDING:
                yield self._fault(
                    "joint.insert_depth",
                    f"{what} is {screw.depth:g} mm deep, and “{insert.name}” is "
                    f"{insert.length:g} mm long; deepen the hole.",
                    screw.depth,
                    insert.length,
                )
        else:
            return
        middle, bite = self.printer.hole_diameter(wanted), max((outer - wanted) / 2, 0.0)
        yield from self._between(
            "joint.thread_hole", what, screw.hole, middle - bite, middle + bite, why
        )

    def _head(self) -> Iterator[Finding]:
        screw, row = self.screw, self.row
        if screw.is_countersunk != self.wants_countersink:
            has, head = ("has", "flat") if screw.is_countersunk else ("lacks", "a cone of 90°")
            yield self._fault(
                "joint.countersink",
                f"its seat {has} a countersink, and the head of {screw.standard} is {head} below; "
                "place the screws of this seam again.",
                float(screw.is_countersunk),
                float(self.wants_countersink),
                "1",
            )
            return
        # The sharp rim of a countersunk head is not made.
        wide = self.bearing if screw.is_countersunk else row.head_diameter
        what = "head"
        if screw.washers and not screw.is_countersunk:
            outer = self.shelf.washer(screw.size).outer
            wide, what = max(wide, outer), "washer" if outer > wide else what
        least = self.printer.hole_diameter(wide)
        if screw.head_room < least - _ROUNDING:
            yield self._fault(
                "joint.head_room",
                f"the room for its {what} is {screw.head_room:g} mm wide and should be "
                f"{least:g} mm; widen it.",
                screw.head_room,
                least,
            )

    def _washers(self) -> Iterator[Finding]:
        screw, most = self.screw, 2 if self.screw.hold == "nut" else 1
        if self.wants_countersink:
            most = 0
        if screw.washers > most:
            yield self._fault(
                "joint.washers",
                f"it has {screw.washers} washers and a place for {most}; leave out "
                f"{screw.washers - most}.",
                float(screw.washers),
                float(most),
                "1",
            )
        if screw.washers == 0 and not screw.is_countersunk:
            yield from self._ring("head", self.bearing)
        if screw.hold == "nut" and screw.washers < 2:
            yield from self._ring("nut", self.shelf.nut(screw.size).across_flats)

    def _ring(self, what: str, bearing: float) -> Iterator[Finding]:
        """Find a head or nut that bears on less than a printed line round its hole."""
        width, least = (bearing - self.screw.clearance) / 2, self.printer.line_width
        if width < least - _ROUNDING:
            yield self._fault(
                "joint.bearing",
                f"the ring under its {what} is {width:.2f} mm wide and should be {least:g} mm, one "
                "printed line; take a washer, or a narrower through hole.",
                width,
                least,
            )

    def _nut(self) -> Iterator[Finding]:
        screw, nut = self.screw, self.shelf.nut(self.screw.size)
        washer = self.shelf.washer(screw.size).outer if screw.washers > 1 else 0.0
        if screw.nut_room > 0:
            # The nut's flats are made no wider than this; one as wide as its corners lets it turn.
            low, high = max(nut.across_flats, washer), nut.across_corners
            yield from self._between(
                "joint.nut_room", "its nut's pocket", screw.nut_room, low, max(low, high),
                f"for a nut of {nut.across_flats:g} mm"
                + (f" and its washer of {washer:g} mm" if washer else "")
                + f", {high:.2f} mm over its corners",
            )  # fmt: skip
            return
        least = self.printer.hole_diameter(max(nut.across_corners, washer))
        if screw.head_room < least - _ROUNDING:
            yield self._fault(
                "joint.nut_room",
                f"the room for its nut is as wide as that for its head, {screw.head_room:g} mm, "
                f"and should be {least:.2f} mm; widen it.",
                screw.head_room,
                least,
            )

    def _edge(self) -> Iterator[Finding]:
        """Check the material kept round it, as the printer's rule and the data sheets want it."""
        screw, row = self.screw, self.row
        if isinstance(row, FormingScrew):
            least = max(row.boss_diameter / 2, self.printer.edge_distance(row.diameter))
        else:
            least = self.printer.edge_distance(self.shelf.thread(screw.size).clearance_medium)
            if screw.hold == "insert":
                insert = self.shelf.insert(screw.size)
                least = max(least, insert.hole_diameter / 2 + insert.least_wall)
            elif screw.hold == "nut" and screw.nut_room > 0:
                least = max(least, screw.nut_room / math.sqrt(3) + 2 * self.printer.line_width)
        if screw.edge_distance < least - _ROUNDING:
            yield self._fault(
                "joint.printer_edge",
                f"it keeps {screw.edge_distance:g} mm of material from its axis, and should keep "
                f"{least:.2f} mm on this printer; place the screws of this seam again.",
                screw.edge_distance,
                least,
            )

    def _length(self) -> Iterator[Finding]:
        lengths = self.row.lengths
        nearest = min(lengths, key=lambda length: abs(length - self.screw.length))
        if abs(nearest - self.screw.length) > _ROUNDING:
            yield Finding(
                "joint.not_stocked",
                Severity.WARNING,
                f"{self.name}: {self.screw.standard} {self.screw.size} is not sold "
                f"{self.screw.length:g} mm long; the nearest is {nearest:g} mm.",
                self.seam,
                np.array([self.screw.at]),
                self.screw.length,
                nearest,
                "mm",
            )

    def _between(
        self, kind: str, what: str, size: float, low: float, high: float, why: str
    ) -> Iterator[Finding]:
        """Find a size outside of two limits, mm."""
        if size < low - _ROUNDING or size > high + _ROUNDING:
            yield self._fault(
                kind,
                f"{what} is drawn {size:g} mm wide and should be {low:.2f} to {high:.2f} mm "
                f"{why}; change it, or place the screws of this seam again.",
                size,
                low if size < low else high,
            )

    def _fault(
        self, kind: str, message: str, measured: float, allowed: float, unit: str = "mm"
    ) -> Finding:
        where, text = np.array([self.screw.at]), f"{self.name}: {message}"
        return Finding(kind, Severity.FAULT, text, self.seam, where, measured, allowed, unit)
