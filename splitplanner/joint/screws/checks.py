"""Whether screws hold: material round them, what their heads bear on, their length.

The pieces are those with flange and before any hole is drilled.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.holes.checks import Ups, sides_of
from splitplanner.joint.holes.drilling import (
    bore_of,
    countersink,
    screw_bore,
)
from splitplanner.joint.holes.forms import circle
from splitplanner.joint.material import block_around, is_solid_round
from splitplanner.joint.screws.sizes import TIP_CLEARANCE
from splitplanner.plan import Joint, Screw, Seam
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

LEAST_BEARING = 0.8
"""Share of the ring under a head or nut that has to be material (common practice, no source)."""
_ON_PLANE = 1e-3
"""A screw this near the cut plane lies on it, mm; plan files keep six digits."""
_LEAN = 0.1
"""degrees."""
_ROUNDING = 1e-6
_PRECISION = 1e-3
"""To which a size that is too small is measured, mm."""
_SKIN = 0.2
"""Thickness of the material under a head that is looked at, mm: about one layer."""


@dataclass(frozen=True)
class ScrewFit:
    """What is to be known of a screw's hardware, from the shelf.

    Attributes
    ----------
    bearing : float
        Diameter of what bears on the seat, the head or its washer, mm; not used for a countersunk
        head.
    nut_bearing : float
        Diameter of what bears on the other side: across the nut's flats, or of its washer, mm.
    washer : float
        Thickness of one washer, mm.
    nut_height : float
        mm.
    engagement : float
        Least length of thread in insert or plastic, mm.
    """

    bearing: float
    nut_bearing: float = 0.0
    washer: float = 0.0
    nut_height: float = 0.0
    engagement: float = 0.0


def tip_distance(screw: Screw, fit: ScrewFit) -> float:
    """Return how far a screw's tip lies beyond the cut plane, mm.

    The length of a screw counts from below its head, of a countersunk one from its top (ISO 4762,
    ISO 7380-1, ISO 10642).
    """
    under = fit.washer if screw.washers >= 1 and not screw.is_countersunk else 0.0
    return screw.length - screw.seat - under


def check_screws(
    joint: Joint,
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    fits: Sequence[ScrewFit],
    ups: Ups,
    coat: float = 0.0,
) -> tuple[Finding, ...]:
    """Check that the screws of a joint stand in material, bear, and are of the right length.

    Parameters
    ----------
    joint : Joint
    seam : Seam
        The seam that it holds.
    below, above : Solid
        The two pieces with their flange, before any hole is drilled.
    printer : Printer
    fits : sequence of ScrewFit
        One for each screw.
    ups : two (3,) arrays
        Print directions of the two pieces: holes that lie across have roofs.
    coat : float
        mm, as for `splitplanner.joint.holes.drilling.screw_holes`.

    Returns
    -------
    tuple of Finding
        Faults; empty when all is sound. Kinds: ``joint.size`` (no screw has such sizes),
        ``joint.off_plane``, ``joint.edge_distance``, ``joint.seat`` (too little bears under head or
        nut), ``joint.end_cover``, ``joint.screw_bottoms`` and ``joint.screw_short``.

    Raises
    ------
    ValueError
        If there are not as many fits as screws.
    """
    findings: list[Finding] = []
    for number, (screw, fit) in enumerate(zip(joint.screws, fits, strict=True), 1):
        case = _Case(f"Seam {seam.name}, screw {number}", screw, seam)
        first = [*_sizes(case, screw), *_stance(case, screw)]
        findings += first
        if first:
            continue
        findings += _length(case, screw, fit)
        for piece, label, side, up in sides_of(screw, seam, below, above, ups):
            sided = _Case(f"{case.name}, {piece_words(label)}", screw, seam)
            block = _block(piece, seam, screw)
            findings += _cover(sided, screw, block, side, printer, coat)
            findings += _bearing(sided, screw, block, side, up, printer, fit, coat)
    return tuple(findings)


@dataclass(frozen=True)
class _Case:
    name: str
    screw: Screw
    seam: Seam

    def fault(
        self, kind: str, message: str, measured: float, allowed: float, unit: str = "mm"
    ) -> Finding:
        text = f"{self.name}: {message}"
        where = np.array([self.screw.at])
        name = self.seam.name
        return Finding(kind, Severity.FAULT, text, name, where, measured, allowed, unit)


def _block(piece: Solid, seam: Seam, screw: Screw) -> Solid:
    """Return what has to be looked at of a piece, so that work on it is quick."""
    flat = seam.plane.to_plane([screw.at])
    widest = screw.edge_distance + screw.head_room + screw.nut_room
    reach = max(screw.seat, screw.depth) + widest
    return block_around(piece, seam.plane, np.vstack([flat - widest, flat + widest]), reach)


def _sizes(case: _Case, screw: Screw) -> Iterator[Finding]:
    """Find the first size that no screw can have; somebody may have edited it."""
    sizes = (
        screw.length,
        screw.seat,
        screw.clearance,
        screw.depth,
        screw.hole,
        screw.edge_distance,
    )
    half = max(screw.clearance, screw.hole) / 2
    cone = (screw.head_room - screw.clearance) / 2 if screw.is_countersunk else 0.0
    rules = (
        ("its smallest size", min(sizes), "0 mm", 0.0),
        ("the room for its head", screw.head_room, "its clearance hole", screw.clearance),
        ("its edge distance", screw.edge_distance, "half its hole", half),
        ("the material under its head", screw.seat, "the countersink", cone - _ROUNDING),
    )
    for what, measured, limit, allowed in rules:
        if measured <= allowed:
            yield case.fault(
                "joint.size",
                f"{what} is {measured:g} mm and should be above {limit} ({allowed:.3g} mm); place "
                "the screws of this seam again.",
                measured,
                allowed,
            )
            return


def _stance(case: _Case, screw: Screw) -> Iterator[Finding]:
    plane = case.seam.plane
    height = float(plane.height([screw.at])[0])
    cosine = abs(float(np.dot(screw.axis, plane.normal)))
    lean = math.degrees(math.acos(min(cosine, 1.0)))
    if abs(height) > _ON_PLANE or lean > _LEAN:
        yield case.fault(
            "joint.off_plane",
            f"it stands {abs(height):.3f} mm off the seam and leans {lean:.2f}°; place the screws "
            "of this seam again.",
            abs(height),
            0.0,
        )


def _length(case: _Case, screw: Screw, fit: ScrewFit) -> Iterator[Finding]:
    tip = tip_distance(screw, fit)
    if screw.hold == "nut":
        least = screw.depth + fit.nut_height + (fit.washer if screw.washers >= 2 else 0.0)
        what = "the far side of its nut"
    else:
        least, what = fit.engagement, "the thread that it needs"
        most = screw.depth - TIP_CLEARANCE
        if tip > most + _ROUNDING:
            yield case.fault(
                "joint.screw_bottoms",
                f"its tip lies {tip:.2f} mm beyond the seam and should be no further than "
                f"{most:.2f} mm in a hole of {screw.depth:g} mm; take a shorter screw.",
                tip,
                most,
            )
    if tip < least - _ROUNDING or tip <= 0:
        yield case.fault(
            "joint.screw_short",
            f"its tip lies {tip:.2f} mm beyond the seam and {what} at {least:.2f} mm; take a "
            "longer screw.",
            tip,
            least,
        )


def _cover(
    case: _Case, screw: Screw, block: Solid, side: int, printer: Printer, coat: float
) -> Iterator[Finding]:
    """Check the material round the hole, and beyond a blind one."""
    inward = side * np.array(screw.axis)
    deep = screw.depth if side > 0 else screw.seat

    def holds(radius: float, length: float) -> bool:
        return is_solid_round(block, screw.at, inward, radius, length)

    if not holds(screw.edge_distance, deep):
        found = _largest(lambda radius: holds(radius, deep), screw.edge_distance)
        yield case.fault(
            "joint.edge_distance",
            f"the nearest surface is {found:.2f} mm from its axis and should be "
            f"{screw.edge_distance:.2f} mm over {deep:g} mm; move it inward or widen the flange.",
            found,
            screw.edge_distance,
        )
    elif side > 0 and screw.hold != "nut":
        cover = 2 * printer.line_width
        reach = deep + coat + cover
        if not holds(screw.hole / 2, reach):
            found = _largest(lambda length: holds(screw.hole / 2, length), reach) - deep - coat
            yield case.fault(
                "joint.end_cover",
                f"{found:.2f} mm of material are left beyond its hole and should be "
                f"{cover:.2f} mm; take a shorter screw or move it.",
                found,
                cover,
            )


def _bearing(
    case: _Case,
    screw: Screw,
    block: Solid,
    side: int,
    up: ArrayLike,
    printer: Printer,
    fit: ScrewFit,
    coat: float,
) -> Iterator[Finding]:
    """Check what is left, once drilled, of the ring under head or nut."""
    if side > 0 and screw.hold != "nut":
        return
    bore = bore_of(screw, side, up, printer)
    face = (screw.depth if side > 0 else screw.seat) - coat
    width = fit.nut_bearing if side > 0 else fit.bearing
    if side < 0 and screw.is_countersunk:
        hole = screw_bore(screw, side, up, printer, coat)
        ring = countersink(screw, bore, coat, deeper=_SKIN).difference(hole)
        all_of_it, left = ring.volume, block.intersection(ring).volume
    else:
        ring = bore.prism(circle(width), face - _SKIN, face)
        taken = bore.prism(bore.round(screw.clearance), face - 2 * _SKIN, face + _SKIN)
        all_of_it = (circle(width).area - circle(screw.clearance).area) * _SKIN
        left = block.intersection(ring).difference(taken).volume
    share = left / all_of_it if all_of_it > 0 else 0.0
    if share < LEAST_BEARING:
        yield case.fault(
            "joint.seat",
            f"{share:.0%} of the ring under its {'nut' if side > 0 else 'head'} rest on material "
            f"and should be {LEAST_BEARING:.0%}; move it, or take a washer or a thicker flange.",
            share,
            LEAST_BEARING,
            "1",
        )


def _largest(holds: Callable[[float], bool], limit: float) -> float:
    """Return the largest size below `limit` that still holds; 0 when none does."""
    low, high = 0.0, limit
    while high - low > _PRECISION:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
