"""Whether pins and screws have their way, and material round them, in the pieces as they are made.

Joints are checked on pieces that have their flanges alone. Registers, room for glue, marks and the
holes of other seams come after that; what these take or leave standing is found here. Each piece is
compared with the bars of all its fasteners at once, and one by one only where something is wrong.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.fasteners.distances import drawable
from splitplanner.joint.holes.checks import FREE, blocked, guard, in_the_way, sides_of
from splitplanner.joint.holes.drilling import pin_hole, screw_bore
from splitplanner.joint.pins.checks import end_cover
from splitplanner.plan import Division, Pin, Plan, Screw, Seam, Vector
from splitplanner.plan.joints import NOWHERE
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

_NARROWER = 0.99
"""Material is looked for in this share of the edge distance: what is kept clear is a polygon inside
the circle."""
_SIDES = 16
"""Of the prisms inside round bars: few, as there are many of them, and 2 % narrower at their
flats."""
_REMEMBERED = 1024
"""What holes of so many kinds take is remembered."""
_UNEVEN = 0.02
"""A layer so thick over the whole ring round a hole may be gone, mm: rounding, faces of flanges
that are uneven."""


def check_made(
    division: Division, plan: Plan, solids: Mapping[str, Solid], faulty: Collection[Vector] = ()
) -> tuple[Finding, ...]:
    """Check on the made pieces that fasteners are free, and that material is left round them.

    Parameters
    ----------
    division : Division
    plan : Plan
        With joints, print directions, printer and coat.
    solids : mapping of piece name to Solid
        The pieces as they are printed.
    faulty : collection of (x, y, z)
        Places of fasteners of which other checks have found faults; they are left out.

    Returns
    -------
    tuple of Finding
        Faults of kind ``joint.hole_blocked``: material in the way of a pin, screw, head or nut,
        mm³; and ``joint.material_gone``: what something else than its own hole takes of the
        material within its edge distance and beyond its hole, mm³, and how much that may be.
    """
    left_out = set(faulty)
    coats = {seam.name: plan.fastening_of(seam.name).coat for seam in division.seams}
    most = max(coats.values(), default=0.0)
    by_piece: dict[str, list[_Stand]] = {}
    for seam in division.seams:
        below, above = solids[seam.below], solids[seam.above]
        ups = plan.up(seam.below), plan.up(seam.above)
        for name, fastener in drawable(plan.joint(seam.name)):
            if fastener.at in left_out:
                continue
            for _, label, side, _ in sides_of(fastener, seam, below, above, ups):
                lie = _Lie(fastener, side, plan.up(label), plan.machine, coats[seam.name], most)
                stand = _Stand(f"{name}, {piece_words(label)}", seam, lie)
                by_piece.setdefault(label, []).append(stand)
    findings: list[Finding] = []
    for label, stands in by_piece.items():
        findings += _blocked(stands, solids[label])
        findings += _gone(stands, solids[label])
    return tuple(findings)


@dataclass(frozen=True)
class _Lie:
    """A pin or screw in one of its two pieces; as for `pin_hole` and `screw_bore`.

    All faces may be set back by the thickest coat, which makes up for what it takes.
    """

    fastener: Pin | Screw
    side: int
    up: Vector
    printer: Printer
    coat: float
    thickest_coat: float

    @property
    def hole(self) -> Solid:
        """Its own hole, without the ways of heads and nuts."""
        if isinstance(self.fastener, Pin):
            return pin_hole(self.fastener, self.side, self.up, self.printer, self.coat)
        return screw_bore(self.fastener, self.side, self.up, self.printer, self.coat, mouth=1.0)

    @property
    def free(self) -> list[Solid]:
        """What has to be free."""
        # A head of ISO 4762 is as high as its thread, a nut of ISO 4032 lower; the way to them is
        # looked at when the pieces are put together.
        reach = self.fastener.clearance if isinstance(self.fastener, Screw) else 0.0
        return in_the_way(self.fastener, reach, self.side, _SIDES)

    @property
    def kept(self) -> list[Solid]:
        """What has to be material but for the hole: round it and, where it is blind, its ground."""
        one, coat = self.fastener, self.coat
        is_blind = isinstance(one, Pin) or (self.side > 0 and one.hold != "nut")
        if isinstance(one, Pin):
            deep, wide, cover = one.depth, one.hole_diameter, end_cover(one)
        else:
            deep, wide = (one.depth if self.side > 0 else one.seat), one.hole
            cover = 2 * self.printer.line_width + coat
        # A coat is made room for on the cut faces, and where heads and nuts bear.
        end = deep if is_blind else deep - coat
        radius = _NARROWER * one.edge_distance - self.thickest_coat
        found = [self._bar(coat, end, radius)] if end > coat and radius > 0 else []
        if is_blind and cover > coat:
            found.append(self._bar(deep + coat, deep + cover, _NARROWER * wide / 2))
        return found

    @property
    def nowhere(self) -> _Lie:
        """The same where every fastener of its sizes is: its hole takes as much wherever it is."""
        return replace(self, fastener=replace(self.fastener, at=NOWHERE))

    def _bar(self, low: float, high: float, radius: float) -> Solid:
        at, inward = np.array(self.fastener.at), self.side * np.array(self.fastener.axis)
        start: Floats = at + inward * low
        return guard(start, at + inward * high, radius, _SIDES)


@dataclass(frozen=True, eq=False)
class _Stand:
    """A pin or screw in one of its two pieces, and what it is called there."""

    name: str
    seam: Seam
    lie: _Lie

    @property
    def may_be_gone(self) -> float:
        """mm³."""
        return _UNEVEN * math.pi * self.lie.fastener.edge_distance**2


def _blocked(stands: Sequence[_Stand], piece: Solid) -> Iterator[Finding]:
    """Find what stands in the way of fasteners."""
    bars = [stand.lie.free for stand in stands]
    flat = [bar for each in bars for bar in each]
    caught = piece.intersection(flat[0].union(*flat[1:]))
    if caught.volume <= FREE * min(bar.volume for bar in flat):
        return
    for stand, own in zip(stands, bars, strict=True):
        yield from blocked(stand.lie.fastener, stand.seam, stand.name, own, caught)


@lru_cache(_REMEMBERED)
def _taken(lie: _Lie) -> tuple[float, ...]:
    """Return what its hole takes of each of what has to be material, mm³."""
    hole = lie.hole
    return tuple(bar.intersection(hole).volume for bar in lie.kept)


def _gone(stands: Sequence[_Stand], piece: Solid) -> Iterator[Finding]:
    """Find material that is gone round fasteners."""
    kept = [stand.lie.kept for stand in stands]
    taken = [_taken(stand.lie.nowhere) for stand in stands]
    flat = [bar for each in kept for bar in each]
    if not flat:
        return
    whole = flat[0].union(*flat[1:])
    left = piece.intersection(whole)
    missing = whole.volume - left.volume - sum(map(sum, taken))
    if missing <= min(stand.may_be_gone for stand in stands):
        return
    for stand, own, holes in zip(stands, kept, taken, strict=True):
        missing = sum(bar.volume - left.intersection(bar).volume for bar in own) - sum(holes)
        if missing > stand.may_be_gone:
            yield _material_gone(stand, missing)


def _material_gone(stand: _Stand, missing: float) -> Finding:
    one, allowed = stand.lie.fastener, stand.may_be_gone
    return Finding(
        "joint.material_gone",
        Severity.FAULT,
        f"Seam {stand.seam.name}, {stand.name}: something else takes {missing:.2f} mm³ of the "
        f"material within {one.edge_distance:.2f} mm of its axis, where {allowed:.2f} mm³ may be "
        "gone; move it, or leave out the register or hole that is in its way.",
        stand.seam.name,
        np.array([one.at]),
        missing,
        allowed,
        "mm3",
    )
