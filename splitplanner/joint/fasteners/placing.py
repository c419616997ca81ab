"""Placing the pins and screws of a seam together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, counted
from splitplanner.joint.fasteners.distances import bars_of
from splitplanner.joint.fasteners.mirrored import MirrorLine
from splitplanner.joint.fasteners.spreading import LARGEST_PITCH, Spread, spread
from splitplanner.joint.holes.drilling import REACH
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.pins.details import as_pins, with_details
from splitplanner.joint.pins.placing import place_pins
from splitplanner.joint.screws.places import Places
from splitplanner.joint.screws.room import Access, ScrewRoom
from splitplanner.joint.screws.sizes import ScrewSize, screw_sizes
from splitplanner.plan import Fastening, Pin, Screw, Seam
from splitplanner.score import widest_place
from splitplanner.solid import Solid
from splitplanner.workshop import Printer, Shelf

WANTING = (
    "joint.screws_no_room",
    "joint.screws_not_reached",
    "joint.screws_no_length",
    "joint.one_screw",
    "joint.screws_gap",
)
"""Kinds of findings of a seam that has not the screws it should have; a flange may help."""
MOST_SCREWS = 40
"""On one seam."""
_MORE = 4
"""Screws that are added to the first guess to keep the largest pitch."""
_MOST_TRIALS = 12
"""Patterns that are tried before those screws of the last one are taken that stand."""
_POINTS = 120
"""Along the room for screws."""
_FEWER_THAN = 2
"""Fewer screws than this on a seam do not keep it closed at both ends."""
_COARSE = 5.0
"""Gaps between screws are told apart by this much, mm, when ways to place them are compared."""
_GAIN = 0.5
"""One more screw has to bring the reach down by this, mm."""


@dataclass(frozen=True, eq=False)
class _Line:
    """Points along the outlines of the room for screws, (n, 2) mm, and the outlines' length, mm."""

    points: Floats
    length: float


@dataclass(frozen=True, eq=False)
class _Pattern:
    """Screws chosen for a seam; `rank` tells better from worse, more is better."""

    places: Places
    gap: float
    pitch: float

    @property
    def is_complete(self) -> bool:
        return len(self.places.places) >= _FEWER_THAN and self.gap <= self.pitch + 2 * _GAIN

    @property
    def rank(self) -> tuple[float, ...]:
        number = len(self.places.places)
        return min(number, _FEWER_THAN), float(self.is_complete), -self.gap // _COARSE


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
) -> tuple[tuple[Pin, ...], tuple[Screw, ...], tuple[Finding, ...]]:
    """Place the pins and screws of a seam.

    Pins first, as `place_pins` does; then screws beside them, spread as `spreading` says. So many
    screws that neighbours are no further apart than ten diameters, or than the seam is wide where
    that is more, since a thick wall does not gape between them (common practice, no source); two
    at least. Heads are all on one side where that
    does. Where pins leave no room for two screws, thinner pins are tried.

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
    job = _Job(seam, below, above, printer, fastening, shelf, access, others, mirror)
    pins, notes = job.pins(math.inf)
    if not sizes:
        return pins, (), notes
    pattern = job.screws(sizes, pins)
    if pins and not pattern.is_complete:
        thin, other_notes = job.pins(sizes[0].diameter)
        if len(thin) == len(pins) and thin != pins:
            other = job.screws(sizes, thin)
            if other.rank > pattern.rank:
                pins, notes, pattern = thin, other_notes, other
    return pins, job.made(pattern), (*notes, *job.findings(pattern))


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

    @cached_property
    def _widest(self) -> tuple[float, Floats]:
        """Diameter and centre of the largest circle in the seam, mm."""
        return widest_place(self.seam.section.shape)

    def pins(self, thickest: float) -> tuple[tuple[Pin, ...], tuple[Finding, ...]]:
        """Place the pins, none thicker than a diameter (mm)."""
        if not self.fastening.pins:
            return (), ()
        shelf = [pin for pin in self.shelf.dowel_pins if pin.diameter <= thickest]
        others: list[Pin] = []
        for other in self.others:
            others += [other] if isinstance(other, Pin) else as_pins(other, REACH)
        joint, notes = place_pins(self.seam, self.below, self.above, self.printer, shelf, others)
        reach = max((pin.depth + pin.edge_distance for pin in joint.pins), default=1.0)
        material = SeamMaterial.around(self.seam, self.below, self.above, reach)
        return with_details(joint.pins, material, self.fastening, self.printer), notes

    def screws(self, sizes: Sequence[ScrewSize], pins: Sequence[Pin]) -> _Pattern:
        """Choose the first size, and the better side for its heads, with which all is well."""
        reach = max(
            size.thickest + size.nut_height + max(size.head_room, size.least_depth)
            for size in sizes
        )
        kept = [replace(pin, edge_distance=pin.edge_distance + pin.lead_in) for pin in pins]
        bars = tuple(bar for one in (*kept, *self.others) for bar in bars_of(one))
        room = ScrewRoom(
            SeamMaterial.around(self.seam, self.below, self.above, reach),
            self.access,
            bars,
            self.fastening.coat,
            self.mirror,
        )
        # One line for all sizes, so that their gaps can be compared.
        line = _line(room, sizes[0])
        best: _Pattern | None = None
        for size in sizes:
            for pattern in self._sided(room, size, line):
                if best is None or (pattern.rank, pattern.places.rank) > (
                    best.rank,
                    best.places.rank,
                ):
                    best = pattern
            if best is not None and best.is_complete:
                break
        assert best is not None
        return best

    def _sided(self, room: ScrewRoom, size: ScrewSize, line: _Line) -> list[_Pattern]:
        """Return patterns with heads on the better side; on both, where that is not enough.

        Screws of one length are tried first.
        """
        both = [room.places(size, side) for side in (-1, 1)]
        both.sort(key=lambda places: -len(places.places))
        patterns = []
        for places in both:
            for some in (places.of_one_length(), places):
                patterns.append(self._pattern(room, some, line))
                if patterns[-1].is_complete:
                    return patterns[-1:]
                if len(some.places) == len(places.places):
                    break
        if all(len(places.places) for places in both):
            patterns.append(self._pattern(room, both[0].and_of(both[1]), line))
        return patterns

    def _pattern(self, room: ScrewRoom, places: Places, line: _Line) -> _Pattern:
        """Choose among places; those that prove wrong on the solids are left out."""
        first = 0
        for trial in range(_MOST_TRIALS + 1):
            found, pitch = self._spread(places, line, first)
            fits = [room.stands(places, index) for index in found.chosen]
            if all(fits):
                break
            first = len(found.chosen)
            if trial == _MOST_TRIALS - 1:
                # Those that are known to stand have to do.
                places = places.only([i for i, ok in zip(found.chosen, fits, strict=True) if ok])
            else:
                wrong = {i for i, ok in zip(found.chosen, fits, strict=True) if not ok}
                places = places.only([i for i in range(len(places.places)) if i not in wrong])
        return _Pattern(places.only(found.chosen), _gap(places, found, line), pitch)

    def _spread(self, places: Places, line: _Line, least: int) -> tuple[Spread, float]:
        """Choose as many as keep the largest pitch; return also that, mm."""
        size, shape = places.size, self.seam.section.shape
        pitch = max(LARGEST_PITCH * size.diameter, self._widest[0])
        near = line.points[_distances(line.points, places.places) <= pitch / 2]
        share = len(near) / max(len(line.points), 1)
        first = max(_FEWER_THAN, least, math.ceil(share * line.length / 2 / pitch))
        mirrors = [self.mirror, None] if self.mirror is not None else [None]
        best = Spread((), math.inf, math.inf, 0.0, True)
        for mirror in mirrors:
            for count in range(first, first + _MORE + 1):
                found = spread(
                    places.places,
                    min(count, MOST_SCREWS),
                    size.spacing,
                    np.array(shape.centroid.coords[0]),
                    pitch=pitch,
                    line=near,
                    mirror=mirror,
                )
                if not best.chosen or found.reach < best.reach - _GAIN:
                    best = found
                if found.reach <= pitch / 2 + _GAIN or count >= MOST_SCREWS:
                    break
            if len(best.chosen) >= _FEWER_THAN:
                break
        return best, pitch

    def made(self, pattern: _Pattern) -> tuple[Screw, ...]:
        """Return the screws of a pattern."""
        places, plane = pattern.places, self.seam.plane
        return tuple(
            places.size.screw_in(plane, place, side, hardware)
            for place, side, hardware in zip(
                places.places, places.sides, places.hardware, strict=True
            )
        )

    def findings(self, pattern: _Pattern) -> list[Finding]:
        """Say what was placed, and what is wanting."""
        number = len(pattern.places.places)
        if not number:
            return [self._none(pattern)]
        found = [self._note(pattern)]
        if number < _FEWER_THAN:
            found.append(
                self._finding(
                    "joint.one_screw",
                    "there is room for one screw only, which lets the seam gape at its ends; add "
                    "or widen the flange, or take a thinner screw.",
                    pattern.places.places[0],
                )
            )
        elif not pattern.is_complete:
            found.append(
                self._finding(
                    "joint.screws_gap",
                    f"{pattern.gap:.0f} mm of it have no screw and should be no more than "
                    f"{pattern.pitch:.0f} mm, for want of room or of a way for the driver; widen "
                    "the flange there, take a thinner screw, or glue and tape it.",
                    pattern.places.places.mean(axis=0),
                    pattern.gap,
                    pattern.pitch,
                )
            )
        return found

    def _note(self, pattern: _Pattern) -> Finding:
        places, size = pattern.places, pattern.places.size
        lengths = sorted({hardware.length for hardware in places.hardware})
        sides = set(places.sides)
        heads = " and ".join(
            f"“{self.seam.above if side > 0 else self.seam.below}”" for side in sorted(sides)
        )
        message = (
            f"{counted(len(places.places), 'screw')} {size.standard} {size.size} x "
            f"{', '.join(f'{length:g}' for length in lengths)} mm, heads in "
            f"{'piece' if len(sides) == 1 else 'pieces'} {heads}."
        )
        where = self.seam.plane.to_space(places.places)
        name = self.seam.name
        return Finding("joint.screws", Severity.NOTE, f"Seam {name}: {message}", name, where)

    def _none(self, pattern: _Pattern) -> Finding:
        """Say why no screw stands."""
        size, stage = pattern.places.size, pattern.places.stage
        width, place = self._widest
        needed = 2 * size.edge_distance
        name = f"{size.standard} {size.size}"
        if stage == "reach":
            what = "head or nut" if size.hold == "nut" else "head"
            message = (
                f"no {name} screw: wherever it has room, its {what} finds no seat that can be "
                "reached; add a flange on a side that is open, or turn the seam towards one."
            )
            return self._finding("joint.screws_not_reached", message, place)
        if stage == "length":
            longest = max(size.lengths)
            message = (
                f"no {name} screw on the shelf has a length that suits this seam; the longest is "
                f"{longest:g} mm; add lengths to the shelf, or make the flange "
                f"{'thinner' if size.hold == 'nut' else 'thicker'}."
            )
            return self._finding("joint.screws_no_length", message, place, allowed=longest)
        if stage == "clear":
            message = (
                f"no room for {name} screws beside the pins and what holds other seams; widen the "
                "flange, or take thinner pins."
            )
            return self._finding("joint.screws_no_room", message, place)
        if width < needed:
            message = (
                f"no room for {name} screws: the wall is at most {width:.2f} mm thick and "
                f"{needed:.2f} mm are needed; add a flange, or take a thinner screw."
            )
            return self._finding("joint.screws_no_room", message, place, width, needed)
        deep = max(size.least_seat, size.least_depth + size.end_cover)
        message = (
            f"no room for {name} screws: nowhere {needed:.1f} mm of width have {deep:.1f} mm of "
            "material on both sides, and room for a head besides; make the flange wider or "
            "thicker, or take a thinner screw."
        )
        return self._finding("joint.screws_no_room", message, place, allowed=deep)

    def _finding(
        self,
        kind: str,
        message: str,
        place: Floats,
        measured: float | None = None,
        allowed: float | None = None,
    ) -> Finding:
        where = self.seam.plane.to_space(np.reshape(place, (1, 2)))
        name = self.seam.name
        text = f"Seam {name}: {message}"
        return Finding(kind, Severity.WARNING, text, name, where, measured, allowed, "mm")


def _line(room: ScrewRoom, size: ScrewSize) -> _Line:
    """Return points along the seam near which there should be screws."""
    lean = room.room(size).simplify(0.02)
    if lean.is_empty:
        return _Line(np.empty((0, 2)), 0.0)
    dense = shapely.segmentize(lean, max(lean.length / _POINTS, 1.0))
    return _Line(shapely.get_coordinates(dense), float(lean.length))


def _gap(places: Places, found: Spread, line: _Line) -> float:
    """Return twice the distance of the seam's farthest point from a screw, mm."""
    return 2 * float(_distances(line.points, places.places[list(found.chosen)]).max(initial=0.0))


def _distances(line: Floats, places: Floats) -> Floats:
    """Return how far each point (n, 2) of a line is from the nearest of `places`, (n,) mm."""
    apart = np.linalg.norm(line[:, None] - places[None], axis=2)
    nearest: Floats = apart.min(axis=1, initial=np.inf)
    return nearest
