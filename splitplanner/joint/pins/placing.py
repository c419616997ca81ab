"""Placing dowel pins on a seam: as far apart as it allows, in material, and off symmetry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, Ints
from splitplanner.findings import Finding, Severity
from splitplanner.joint.material import SeamMaterial, segment_distances
from splitplanner.joint.pins.checks import axis_ends
from splitplanner.joint.pins.keying import VISIBLE_STEP, Keying, SeamOutline
from splitplanner.joint.pins.pattern import MOST_PINS, Pattern, candidates, choose
from splitplanner.joint.pins.sizes import LEAST_HOLE, PinSize, pin_sizes
from splitplanner.plan import Joint, Pin, Seam
from splitplanner.score import shrunk, widest_place
from splitplanner.solid import Solid
from splitplanner.workshop import DowelPin, Printer, dowel_pins

_NEARLY_AS_FAR = 0.75
"""A thicker pin is taken when its room spans this share of the widest span of any pin."""
_USUAL_SMALLEST, _SMALL = 3.0, 2 / 3
"""For pins thinner than this (mm) the widest span counts only by this share: makers use 3 to 6 mm.
Common practice, no source."""
_CLOSE = 0.3
"""Pins nearer together than this share of the seam's extent hold it badly in line. Common
practice, no source."""
_ROOMY = 0.9
"""More material is kept round the pins when their room then spans this share of the full one."""
_MOST_SINGLES = 10
"""Places tried for a lone pin of each size."""
_ONE_FOR_EACH = 120.0
"""Seam length for each pin on long seams, mm. Common practice, no source."""
_Option = tuple[PinSize, MultiPolygon, float]
"""A size, its room on the seam and the span of the room, mm."""


@dataclass(frozen=True, eq=False)
class PinRoom:
    """A seam and the pins that have room on it; what has been found is remembered.

    Attributes
    ----------
    material : SeamMaterial
        Deep enough for all pins of `sizes`.
    sizes : tuple of PinSize
        In the order in which they are wanted; none if the shelf has nothing that prints.
    """

    material: SeamMaterial
    sizes: tuple[PinSize, ...]
    _rooms: dict[PinSize, MultiPolygon] = field(default_factory=dict, repr=False)
    _held: dict[tuple[PinSize, float, float], bool] = field(default_factory=dict, repr=False)

    @property
    def seam(self) -> Seam:
        """The seam."""
        return self.material.seam

    @cached_property
    def outline(self) -> SeamOutline:
        """Its outline, for keying."""
        return SeamOutline(self.seam.section.shape)

    @cached_property
    def widest(self) -> tuple[float, Floats]:
        """Diameter and centre of the largest circle in the seam, mm."""
        return widest_place(self.seam.section.shape)

    def room(self, size: PinSize) -> MultiPolygon:
        """Return where the axis of a pin may stand by its margin."""
        if size not in self._rooms:
            bare = shrunk(self.seam.section.shape, size.margin)
            deep = bare if bare.is_empty else self.material.common(size.reach)
            self._rooms[size] = bare if bare.is_empty else shrunk(deep, size.margin)
        return self._rooms[size]

    def fits(self, size: PinSize, place: Floats) -> bool:
        """Return whether a pin at `place` (2,) mm stands in material."""
        key = size, float(place[0]), float(place[1])
        if key not in self._held:
            self._held[key] = self.material.holds(place, size.edge_distance, size.reach)
        return self._held[key]

    def place(
        self, others: Sequence[Pin] = (), thickest: float = math.inf
    ) -> tuple[Joint, tuple[Finding, ...]]:
        """Place pins no thicker than a diameter (mm), clear of others; see `place_pins`."""
        sizes = [size for size in self.sizes if size.diameter <= thickest]
        if not sizes:
            return Joint(self.seam.name), (_nothing_on_shelf(self.seam),)
        job = _Job(self, tuple(others))
        options = _options(self, sizes)
        for size, room, span in options:
            if span < size.spacing:
                continue
            pattern = _placed(job, size, room, span, [option[0] for option in options])
            if pattern is not None:
                return _joint(job, pattern), (
                    _keying_finding(job, pattern.keying),
                    *_close(job, pattern),
                )
        for size, room, _ in options:
            place = _single(job, size, room)
            if place is not None:
                return Joint(self.seam.name, (job.pin(size, place),)), (_one_pin(job, size, place),)
        return Joint(self.seam.name), (_no_room(job, sizes, bool(options)),)


def deepest(sizes: Sequence[PinSize]) -> tuple[tuple[PinSize, ...], float]:
    """Return the sizes that come into question, and how deep they reach into a piece, mm."""
    reach = max(
        (size.reach for size in sizes if size.diameter <= max(8.0, sizes[0].diameter)), default=0.0
    )
    return tuple(size for size in sizes if size.reach <= reach), reach


@dataclass(frozen=True, eq=False)
class _Job:
    """What the steps of placing on one seam beside others share."""

    on: PinRoom
    others: tuple[Pin, ...]

    @property
    def seam(self) -> Seam:
        return self.on.seam

    def places(self, size: PinSize, room: MultiPolygon) -> tuple[Floats, Ints]:
        """Return the candidates in `room` that stay clear of the other pins."""
        places, bodies = candidates(room, self.seam.section.shape)
        if not self.others or not len(places):
            return places, bodies
        start, end = axis_ends(self.pin(size, places[0]))
        shift = self.seam.plane.to_space(places) - self.seam.plane.to_space(places[:1])
        clear = np.ones(len(places), dtype=np.bool_)
        for other in self.others:
            apart = segment_distances(start + shift, end + shift, *axis_ends(other))
            clear &= apart >= size.edge_distance + other.edge_distance
        return places[clear], bodies[clear]

    def pin(self, size: PinSize, place: Floats) -> Pin:
        """Return the pin at `place`."""
        plane = self.seam.plane
        x, y, z = (float(value) for value in plane.to_space(place[None, :])[0])
        return Pin(
            at=(x, y, z),
            axis=plane.normal,
            standard=size.pin.standard,
            diameter=size.diameter,
            length=size.length,
            hole_diameter=size.hole_diameter,
            depth=size.depth,
            edge_distance=size.edge_distance,
        )


def place_pins(
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    shelf: Sequence[DowelPin] | None = None,
    others: Sequence[Pin] = (),
) -> tuple[Joint, tuple[Finding, ...]]:
    """Place dowel pins on a seam.

    At least two where there is room, blind, with the edge distance of the printer in both pieces
    and the same material beyond each hole; as far apart as the seam allows; one for each 120 mm
    of a long seam, up to six; and so that a piece put on the wrong way round visibly stands off.

    Parameters
    ----------
    seam : Seam
    below, above : Solid
        The two pieces, before any hole is drilled.
    printer : Printer
    shelf : sequence of DowelPin, optional
        Pins to choose from; of each diameter the first. The built-in table when not given.
    others : sequence of Pin
        Pins at other seams of the two pieces, which must stay clear of these.

    Returns
    -------
    joint : Joint
        Without pins where none fits.
    findings : tuple of Finding
        A note ``joint.keyed`` with the step by which the pieces stand off when put together the
        wrong way; or warnings: ``joint.no_room``, ``joint.one_pin``, ``joint.close`` (the pins
        are near together on a long seam), ``joint.not_keyed``, ``joint.no_pin`` (the shelf has
        nothing that prints).
    """
    widest = widest_place(seam.section.shape)[0]
    offered = dowel_pins() if shelf is None else shelf
    sizes, reach = deepest(pin_sizes(offered, printer, widest))
    return PinRoom(SeamMaterial.around(seam, below, above, reach), sizes).place(others)


def _options(on: PinRoom, sizes: list[PinSize]) -> list[_Option]:
    """Return the sizes with room on the seam, those that span it well first."""
    found: list[_Option] = []
    for size in sizes:
        room = on.room(size)
        if not room.is_empty:
            found.append((size, room, _span(room)))
    longest = max(
        (span * (1.0 if size.diameter >= _USUAL_SMALLEST else _SMALL) for size, _, span in found),
        default=0.0,
    )
    return sorted(found, key=lambda option: option[2] < _NEARLY_AS_FAR * longest)


def _span(shape: shapely.Geometry) -> float:
    """Return the greatest distance between two points of `shape`, to 0.1 mm."""
    corners = shapely.get_coordinates(shape.convex_hull.simplify(0.05))
    return float(np.linalg.norm(corners[:, None, :] - corners[None, :, :], axis=2).max())


def _placed(
    job: _Job, size: PinSize, room: MultiPolygon, span: float, sizes: list[PinSize]
) -> Pattern | None:
    """Return two pins or more of one size, with more material round them where that is cheap."""
    count = _wanted(job.seam)
    tries = [job.places(size, room)]
    roomy = shrunk(room, size.roomy_margin - size.margin)
    if not roomy.is_empty and _span(roomy) >= max(_ROOMY * span, size.spacing):
        inner = job.places(size, roomy)
        # Pins of other seams may have taken one end of it.
        still = _span(shapely.multipoints(inner[0])) if len(inner[0]) else 0.0
        spans = still >= _ROOMY * _span(shapely.multipoints(tries[0][0]))
        if spans and set(inner[1].tolist()) == set(tries[0][1].tolist()):
            tries.insert(0, inner)
    thinner = next((other for other in sizes if other.diameter < size.diameter), None)
    for places, bodies in tries:
        pattern = choose(places, bodies, size, count, job.on.outline, job.on.fits, thinner)
        if pattern is not None:
            return pattern
    return None


def _wanted(seam: Seam) -> int:
    """Return how many pins a seam should have; half its outline is the length of a thin wall."""
    return min(MOST_PINS, max(2, round(seam.section.length / 2 / _ONE_FOR_EACH)))


def _single(job: _Job, size: PinSize, room: MultiPolygon) -> Floats | None:
    """Return a place for a lone pin, with the most material round it if it may stand there."""
    places, _ = job.places(size, room)
    inner = np.linalg.norm(places - widest_place(room)[1], axis=1)
    order = np.argsort(np.round(inner, 6), kind="stable")[:_MOST_SINGLES]
    return next((place for place in places[order] if job.on.fits(size, place)), None)


def _joint(job: _Job, pattern: Pattern) -> Joint:
    pairs = zip(pattern.sizes, pattern.places, strict=True)
    return Joint(job.seam.name, tuple(job.pin(size, place) for size, place in pairs))


def _finding(
    job: _Job,
    kind: str,
    severity: Severity,
    message: str,
    place: Floats,
    measured: float | None = None,
    allowed: float | None = None,
) -> Finding:
    where = job.seam.plane.to_space(place[None, :])
    name = job.seam.name
    return Finding(
        kind, severity, f"Seam {name}: {message}", name, where, measured, allowed, unit="mm"
    )


def _keying_finding(job: _Job, keying: Keying) -> Finding:
    centre = job.seam.section.shape.centroid
    place = np.array([centre.x, centre.y])
    if math.isinf(keying.step):
        message = "the pins go into their holes in one way only."
        return _finding(job, "joint.keyed", Severity.NOTE, message, place)
    stands = f"put together the wrong way round, the pieces stand off by {keying.step:.1f} mm"
    if keying.is_keyed:
        kind, severity, rest = "joint.keyed", Severity.NOTE, ", which shows at once."
    else:
        kind, severity = "joint.not_keyed", Severity.WARNING
        rest = ", which is easily overlooked; mark both pieces."
    return _finding(job, kind, severity, stands + rest, place, keying.step, VISIBLE_STEP)


def _close(job: _Job, pattern: Pattern) -> tuple[Finding, ...]:
    """Warn when the only room is in one corner of the seam."""
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial.distance import pdist

    apart = float(pdist(pattern.places).max())
    wanted = _CLOSE * _span(job.seam.section.shape)
    if apart >= wanted:
        return ()
    message = (
        f"the pins are only {apart:.0f} mm apart on a seam that reaches over {wanted / _CLOSE:.0f} "
        "mm, for want of better room; add a flange."
    )
    place = pattern.places.mean(axis=0)
    return (_finding(job, "joint.close", Severity.WARNING, message, place, apart, wanted),)


def _one_pin(job: _Job, size: PinSize, place: Floats) -> Finding:
    return _finding(
        job,
        "joint.one_pin",
        Severity.WARNING,
        f"there is room for one pin only ({size.diameter:g} mm), which does not keep the pieces "
        "from turning; add a flange, or hold them in line while the glue sets.",
        place,
    )


def _nothing_on_shelf(seam: Seam) -> Finding:
    return Finding(
        "joint.no_pin",
        Severity.WARNING,
        f"Seam {seam.name}: no dowel pin on the shelf has a hole that prints; add one for a hole "
        f"of {LEAST_HOLE:g} mm or more.",
        seam.name,
        seam.section.centroid[None, :],
        allowed=LEAST_HOLE,
        unit="mm",
    )


def _no_room(job: _Job, sizes: list[PinSize], has_room: bool) -> Finding:
    """Say why no pin fits: the wall is too thin, or runs away below, or other pins are there."""
    smallest = min(sizes, key=lambda size: (size.margin, size.reach))
    needed = 2 * smallest.margin
    measured, place = job.on.widest
    pin = f"the smallest pin ({smallest.diameter:g} mm) needs {needed:.2f} mm"
    advice = "add a flange, or join this seam by glue and tape"
    if measured < needed:
        message = f"no pin fits: the wall is at most {measured:.2f} mm thick and {pin}; {advice}."
        return _finding(job, "joint.no_room", Severity.WARNING, message, place, measured, needed)
    if not has_room:
        below, spot = widest_place(job.on.material.common(smallest.reach))
        message = (
            f"no pin fits: a circle of {measured:.1f} mm fits in the seam, but only one of "
            f"{below:.2f} mm has material {smallest.reach:.1f} mm deep on both sides, and {pin}; "
            f"{advice}, or cut elsewhere, square to the wall."
        )
        where = place if np.isnan(spot).any() else spot
        return _finding(job, "joint.no_room", Severity.WARNING, message, where, below, needed)
    message = (
        "no pin fits: wherever the wall is thick enough, the hole would meet a hollow or a pin of "
        f"another seam; move the cut, or {advice}."
    )
    return _finding(job, "joint.no_room", Severity.WARNING, message, place, measured, needed)
