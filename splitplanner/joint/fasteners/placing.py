"""Placing the pins and screws of a seam together."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from splitplanner.findings import Finding, Severity
from splitplanner.joint.fasteners.distances import Bar, bars_to_keep_off
from splitplanner.joint.fasteners.mirrored import MirrorLine
from splitplanner.joint.fasteners.patterns import Pattern, PatternSearch
from splitplanner.joint.fasteners.telling import Told
from splitplanner.joint.holes.drilling import REACH
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.pins.details import LEAD_IN, as_pins, with_details
from splitplanner.joint.pins.placing import PinRoom, deepest
from splitplanner.joint.pins.sizes import PinSize, pin_sizes
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.screws.room import Access, ScrewRoom
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Fastening, Pin, Screw, Seam
from splitplanner.score import widest_place
from splitplanner.solid import Solid
from splitplanner.workshop import Printer, Shelf


def place_fasteners(
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    fastening: Fastening,
    shelf: Shelf,
    access: Access,
    others: Sequence[Pin | Screw] = (),
    mirror: MirrorLine | None = None,
    reserved: Sequence[Bar] = (),
) -> tuple[tuple[Pin, ...], tuple[Screw, ...], tuple[Finding, ...]]:
    """Place the pins and screws of a seam.

    Screws are spread as `spreading` says: so many that neighbours are no further apart than ten
    diameters, or than the seam is wide where that is more, since a thick wall does not gape between
    them (common practice, no source); two at least. Heads are all on one side where that does.

    Pins are as far apart as `place_pins` finds them, and screws beside them. Where that keeps
    screws from where they are wanted, both give way in turn: pins go where the best screws leave
    room, or are thinner. Taken is what leaves least to be wished for, then two pins, then the
    evenest screws.

    Parameters
    ----------
    seam : Seam
        With the foot of its flange, if it has one.
    below, above : Solid
        The two pieces with their flanges, before any hole is drilled.
    printer : Printer
    fastening : Fastening
    shelf : Shelf
    access : Access
        Where heads can sit and be driven, and nuts be held.
    others : sequence of Pin or Screw
        Of other seams of the two pieces.
    mirror : MirrorLine, optional
        About which the seam is symmetric: screws are then placed in mirrored pairs.
    reserved : sequence of Bar
        Where heads of other seams, which are still open, will want to be: screws keep clear of
        that where it costs them nothing.

    Returns
    -------
    pins : tuple of Pin
    screws : tuple of Screw
    findings : tuple of Finding
        Those of `place_pins`; a note ``joint.screws`` of what was placed, and warnings of the kinds
        `WANTING`: no room, no seat that is reached, no length on the shelf, one only, or
        neighbours further apart than they should be.

    Raises
    ------
    WorkshopError
        If the shelf has not what the screws take.
    """
    sizes = screw_sizes(fastening, shelf, printer) if fastening.screws != "none" else ()
    job = _Job(seam, below, above, printer, fastening, shelf, access, others, mirror, sizes)
    if not sizes:
        pins, notes = job.pins()
        return pins, (), notes
    search = PatternSearch(job.screw_room, sizes, job.widest, reserved)
    best: _Held | None = None
    for held in job.ways(search):
        if best is None or held.rank > best.rank:
            best = held
        if best.is_complete:
            break
    assert best is not None
    findings = (*best.notes, *Told(seam).findings(best.pattern))
    return best.pins, best.pattern.screws(job.screw_room), findings


@dataclass(frozen=True, eq=False)
class _Held:
    """One way to hold a seam; `rank` tells better from worse, more is better."""

    pins: tuple[Pin, ...]
    notes: tuple[Finding, ...]
    pattern: Pattern

    @property
    def is_complete(self) -> bool:
        return self.lacks == 0

    @property
    def lacks(self) -> int:
        warned = sum(note.severity is not Severity.NOTE for note in self.notes)
        return warned + (not self.pattern.is_complete)

    @property
    def rank(self) -> tuple[float, ...]:
        # Two pins locate the pieces, which screws in their clearance holes do not.
        return (-self.lacks, min(len(self.pins), 2), *self.pattern.rank, len(self.pins))


@dataclass(frozen=True, eq=False)
class _Job:
    """What the steps of placing on one seam share."""

    seam: Seam
    below: Solid
    above: Solid
    printer: Printer
    fastening: Fastening
    shelf: Shelf
    access: Access
    others: Sequence[Pin | Screw]
    mirror: MirrorLine | None
    sizes: Sequence[ScrewSize]

    def ways(self, search: PatternSearch) -> Iterator[_Held]:
        """Yield ways to hold the seam, until one is complete or nothing better is to be had."""
        pins, notes = self.pins()
        pattern = search.best(bars_to_keep_off((*pins, *self.others)))
        yield _Held(pins, notes, pattern)
        if not pins or pattern.is_complete:
            return
        free = search.best(bars_to_keep_off(self.others))
        if free.rank <= pattern.rank:
            # It is not the pins that are in the way.
            return
        screws = free.screws(self.screw_room)
        yield _Held(*self.pins(beside=screws), free)
        thin, notes = self.pins(self.sizes[0].diameter)
        if thin != pins:
            yield _Held(thin, notes, search.best(bars_to_keep_off((*thin, *self.others))))

    def pins(
        self, thickest: float = math.inf, beside: Sequence[Screw] = ()
    ) -> tuple[tuple[Pin, ...], tuple[Finding, ...]]:
        """Place the pins, none thicker than a diameter (mm), beside screws of this seam."""
        if not self.fastening.pins:
            return (), ()
        kept: list[Pin] = []
        for other in self.others:
            kept += [other] if isinstance(other, Pin) else as_pins(other, REACH)
        for screw in beside:
            # Room for the chamfer at the mouth of a pin's hole is left between the two.
            kept += [
                replace(bar, edge_distance=bar.edge_distance + LEAD_IN)
                for bar in as_pins(screw, REACH)
            ]
        joint, notes = self._pin_room.place(kept, thickest)
        return with_details(joint.pins, self._material, self.fastening, self.printer), notes

    @cached_property
    def widest(self) -> float:
        """Diameter of the largest circle in the seam, mm."""
        return widest_place(self.seam.section.shape)[0]

    @cached_property
    def screw_room(self) -> ScrewRoom:
        """Where screws have room."""
        return ScrewRoom(self._material, self.access, self.fastening.coat, self.mirror)

    @cached_property
    def _pin_room(self) -> PinRoom:
        return PinRoom(self._material, self._pin_sizes[0])

    @cached_property
    def _pin_sizes(self) -> tuple[tuple[PinSize, ...], float]:
        return deepest(pin_sizes(self.shelf.dowel_pins, self.printer, self.widest))

    @cached_property
    def _material(self) -> SeamMaterial:
        pins = self._pin_sizes[1] if self.fastening.pins else 0.0
        reach = max(pins, *(size.reach for size in self.sizes), 1.0)
        return SeamMaterial.around(self.seam, self.below, self.above, reach)
