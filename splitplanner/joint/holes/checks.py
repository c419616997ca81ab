"""Whether holes lie in material as they are drawn, and are free once they are drilled."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.fasteners.distances import drawable
from splitplanner.joint.holes.drilling import REACH, direction_of, pin_hole, screw_bore
from splitplanner.plan import Joint, Pin, Screw, Seam
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

FREE = 1e-6
"""Share of a volume that may be off by rounding."""
_UNEVEN = 0.01
"""Faces of a flange lie in one plane but for this, mm; see `flange.stretches`."""
_GUARD_SIDES = 96

Ups = tuple[ArrayLike, ArrayLike]
"""Print directions of the piece below and of the piece above."""


def hole_volumes_inside(
    joint: Joint,
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    ups: Ups,
    coat: float = 0.0,
) -> tuple[Finding, ...]:
    """Check that every hole lies in material on both sides of the seam, as it is drawn.

    With slots, vents, lead-ins and roofs, from the plane to the bottom, or to where a head or nut
    bears. Parameters as for `splitplanner.joint.screws.checks.check_screws`.

    Returns
    -------
    tuple of Finding
        Faults of kind ``joint.hole_volume``: the volume of the hole that is material, and all
        of it, mm³.
    """
    findings = []
    for name, fastener in drawable(joint):
        for piece, label, side, up in sides_of(fastener, seam, below, above, ups):
            if isinstance(fastener, Pin):
                hole = pin_hole(fastener, side, up, printer, coat, mouth=0.0)
            else:
                hole = screw_bore(fastener, side, up, printer, coat)
            inside = piece.intersection(hole).volume
            if inside < hole.volume * (1 - FREE) - _out_of_it(fastener, side):
                findings.append(
                    _fault(
                        f"Seam {seam.name}, {name}, {piece_words(label)}",
                        fastener,
                        seam,
                        "joint.hole_volume",
                        f"{inside:.2f} mm³ of its hole lie in material and should be "
                        f"{hole.volume:.2f} mm³; move it inward.",
                        inside,
                        hole.volume,
                    )
                )
    return tuple(findings)


def _out_of_it(fastener: Pin | Screw, side: int) -> float:
    """Return what a hole may have outside of the face on which a head or nut bears, mm³."""
    if isinstance(fastener, Pin) or (side > 0 and fastener.hold != "nut"):
        return 0.0
    is_cone = side < 0 and fastener.is_countersunk
    width = fastener.head_room if is_cone else fastener.clearance
    return _UNEVEN * math.pi / 4 * width**2


def check_free(
    joint: Joint, seam: Seam, below: Solid, above: Solid, reach: float = REACH
) -> tuple[Finding, ...]:
    """Check on the drilled pieces that pins, screws, heads and the way to them are free.

    Parameters
    ----------
    joint : Joint
    seam : Seam
    below, above : Solid
        The two pieces after all holes are drilled.
    reach : float
        How far outward of head and nut nothing may stand, mm.

    Returns
    -------
    tuple of Finding
        Faults of kind ``joint.hole_blocked``: the volume that is in the way, mm³. Round bars of the
        sizes in the joint, without roofs and slots, are laid into the pieces.
    """
    findings: list[Finding] = []
    for name, fastener in drawable(joint):
        bars = in_the_way(fastener, reach)
        for piece, label in ((below, seam.below), (above, seam.above)):
            findings += blocked(fastener, seam, f"{name}, {piece_words(label)}", bars, piece)
    return tuple(findings)


def in_the_way(
    fastener: Pin | Screw, reach: float, side: int = 0, sides: int = _GUARD_SIDES
) -> list[Solid]:
    """Return the bars that have to be free for a pin or screw; see `check_free`.

    Parameters
    ----------
    fastener : Pin or Screw
    reach : float
        How far outward of head and nut, mm.
    side : +1, -1 or 0
        Of the piece for which they are: +1 where the axis points into it; 0 for both.
    sides : int
        Of the prisms that stand for the bars.
    """
    at, axis = np.array(fastener.at), np.array(fastener.axis)
    least, most = (0.0 if side > 0 else -np.inf), (0.0 if side < 0 else np.inf)
    ends = [(max(low, least), min(high, most), wide) for low, high, wide in _ways(fastener, reach)]
    return [
        guard(at + axis * low, at + axis * high, wide / 2, sides)
        for low, high, wide in ends
        if high > low
    ]


def blocked(
    fastener: Pin | Screw, seam: Seam, name: str, bars: Sequence[Solid], piece: Solid
) -> Iterator[Finding]:
    """Find what a piece has in the bars of a pin or screw, called `name`; see `check_free`."""
    caught = sum(piece.intersection(bar).volume for bar in bars)
    if caught > FREE * sum(bar.volume for bar in bars):
        yield _fault(
            f"Seam {seam.name}, {name}",
            fastener,
            seam,
            "joint.hole_blocked",
            f"{caught:.2f} mm³ of material are in its way and should be 0 mm³; move it or turn it "
            "about.",
            caught,
            0.0,
        )


def sides_of(
    fastener: Pin | Screw, seam: Seam, below: Solid, above: Solid, ups: Ups
) -> Iterator[tuple[Solid, str, int, ArrayLike]]:
    """Yield the pieces of a seam as the holes for a pin or screw want them.

    Yields
    ------
    piece : Solid
    label : str
        Its name.
    side : +1 or -1
        +1 where the fastener's axis points into it.
    up : (3,) array
        Its print direction.
    """
    turn = direction_of(fastener, seam) if isinstance(fastener, Screw) else 1
    yield below, seam.below, -turn, ups[0]
    yield above, seam.above, turn, ups[1]


def _fault(
    name: str,
    fastener: Pin | Screw,
    seam: Seam,
    kind: str,
    message: str,
    measured: float,
    allowed: float,
) -> Finding:
    text, where = f"{name}: {message}", np.array([fastener.at])
    return Finding(kind, Severity.FAULT, text, seam.name, where, measured, allowed, "mm3")


def _ways(fastener: Pin | Screw, reach: float) -> list[tuple[float, float, float]]:
    """Return where along its axis from the plane bars are to be free, and their diameters, mm."""
    if isinstance(fastener, Pin):
        return [(-fastener.depth, fastener.depth, fastener.hole_diameter)]
    seat, depth, head = fastener.seat, fastener.depth, fastener.head_room
    ways = [(-seat, 0.0, fastener.clearance), (-seat - reach, -seat, head)]
    if fastener.hold == "nut":
        ways += [
            (0.0, depth, fastener.clearance),
            (depth, depth + reach, fastener.nut_room or head),
        ]
    else:
        ways += [(0.0, depth, fastener.hole)]
    return ways


def guard(start: Floats, end: Floats, radius: float, sides: int = _GUARD_SIDES) -> Solid:
    """Return the bar as a prism with its corners on the circle, as `is_solid_round` has it."""
    return Solid.cylinder(start, end, radius * math.cos(math.pi / sides), sides)
