"""Whether pins and screws keep their distance from each other, in one joint and across joints."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.holes.drilling import REACH
from splitplanner.joint.material import segment_distances
from splitplanner.joint.pins.checks import end_cover
from splitplanner.joint.pins.rules import is_sensible
from splitplanner.plan import Joint, Pin, Screw

_ROUNDING = 1e-6

Kind = Literal["hole", "way", "body"]


@dataclass(frozen=True, eq=False)
class Bar:
    """A round bar that stands for some of a pin or screw.

    Attributes
    ----------
    kind : "hole", "way" or "body"
        A hole that wants material round it; the way of a head or nut, which is cleared; the head
        or nut itself.
    start, end : (3,) float array, mm
    radius : float
    wall : float
        Material kept round it, mm.
    """

    kind: Kind
    start: Floats
    end: Floats
    radius: float
    wall: float = 0.0


def keep_apart(one: Bar, other: Bar) -> bool:
    """Return whether two bars must keep apart; the ways of two drivers may cross."""
    return {one.kind, other.kind} in ({"hole"}, {"hole", "way"}, {"body"})


def named(joint: Joint) -> list[tuple[str, Pin | Screw]]:
    """Return the pins and screws of a joint with what a user calls them, such as ``pin 1``."""
    pins = [(f"pin {number}", pin) for number, pin in enumerate(joint.pins, 1)]
    return [*pins, *((f"screw {number}", screw) for number, screw in enumerate(joint.screws, 1))]


def drawable(joint: Joint) -> list[tuple[str, Pin | Screw]]:
    """Return those of `named` whose sizes give holes; others are found by the checks of sizes."""
    return [(name, fastener) for name, fastener in named(joint) if _is_drawable(fastener)]


def _is_drawable(fastener: Pin | Screw) -> bool:
    if isinstance(fastener, Pin):
        return is_sensible(fastener)
    sizes = (fastener.seat, fastener.clearance, fastener.depth, fastener.hole)
    return min(sizes) > 0 and fastener.head_room > fastener.clearance


def bars_of(fastener: Pin | Screw, reach: float = REACH) -> list[Bar]:
    """Return the bars that stand for a pin or screw.

    Parameters
    ----------
    fastener : Pin or Screw
        Of sensible sizes.
    reach : float
        How far the way of a head or nut is cleared, mm.

    Returns
    -------
    list of Bar
        A head or nut is taken as wide as its room and as high as the clearance hole is wide: a
        head of ISO 4762 is as high as its thread, a nut of ISO 4032 lower. A pin's hole goes on
        through the material kept beyond its bottoms.
    """
    at, axis = np.array(fastener.at), np.array(fastener.axis)

    def bar(kind: Kind, low: float, high: float, radius: float, wall: float = 0.0) -> Bar:
        return Bar(kind, at + axis * low, at + axis * high, radius, wall)

    if isinstance(fastener, Pin):
        deep, radius = fastener.depth + end_cover(fastener), fastener.hole_diameter / 2
        return [bar("hole", -deep, deep, radius, fastener.edge_distance - radius)]
    seat, depth, high = fastener.seat, fastener.depth, fastener.clearance
    is_blind = fastener.hold != "nut"
    radius = max(high, fastener.hole) / 2 if is_blind else high / 2
    wall = fastener.edge_distance - radius
    head = fastener.head_room / 2
    bars = [
        bar("hole", -seat, depth + (wall if is_blind else 0.0), radius, wall),
        bar("way", -seat - reach, -seat, head),
        bar("body", -seat - high, -seat, head),
    ]
    if not is_blind:
        nut = fastener.nut_room / math.sqrt(3) if fastener.nut_room > 0 else head
        bars += [bar("way", depth, depth + reach, nut), bar("body", depth, depth + high, nut)]
    return bars


def bars_to_keep_off(fasteners: Iterable[Pin | Screw]) -> tuple[Bar, ...]:
    """Return the bars of fasteners that are there, with the chamfers at the mouths of pins."""
    kept = (
        replace(each, edge_distance=each.edge_distance + each.lead_in)
        if isinstance(each, Pin)
        else each
        for each in fasteners
    )
    return tuple(bar for each in kept for bar in bars_of(each))


def check_hardware(
    joint: Joint, others: Sequence[Joint] = (), reach: float = REACH
) -> tuple[Finding, ...]:
    """Check that the hardware of a joint keeps its distance, in itself and from other joints.

    Each hole keeps its wall from every other hole, and from the way of every head and nut; heads
    and nuts do not touch. Two pins of one joint are left to `check_pins`; what has no sensible
    sizes, to the checks of sizes.

    Parameters
    ----------
    joint : Joint
    others : sequence of Joint
        Those of other seams that are to be compared with it.
    reach : float
        How far the way of head and nut is cleared, mm.

    Returns
    -------
    tuple of Finding
        Faults of kind ``joint.hardware_touches``, one for each two that are too near: the distance
        of their axes where they are nearest to what is allowed, mm.
    """
    known = [
        (f"{name} of seam {other.seam}", fastener, False)
        for other in others
        for name, fastener in drawable(other)
    ]
    findings = []
    for name, fastener in drawable(joint):
        against = [
            (label, other)
            for label, other, is_own in known
            if not (is_own and isinstance(fastener, Pin) and isinstance(other, Pin))
        ]
        bars = [bars_of(other, reach) for _, other in against]
        for index, apart, allowed in too_near(bars_of(fastener, reach), bars):
            findings.append(
                Finding(
                    "joint.hardware_touches",
                    Severity.FAULT,
                    f"Seam {joint.seam}: {name} and {against[index][0]} are {apart:.2f} mm apart "
                    f"and should be {allowed:.2f} mm; move one of them.",
                    joint.seam,
                    np.array([fastener.at]),
                    apart,
                    allowed,
                    "mm",
                )
            )
        known.append((name, fastener, True))
    return tuple(findings)


def too_near(
    mine: Sequence[Bar], theirs: Sequence[Sequence[Bar]]
) -> list[tuple[int, float, float]]:
    """Return index, distance and allowed distance of what of `theirs` is too near to `mine`, mm."""
    flat = [(index, bar) for index, bars in enumerate(theirs) for bar in bars]
    worst: dict[int, tuple[float, float, float]] = {}
    for bar in mine:
        meet = [(index, other) for index, other in flat if keep_apart(bar, other)]
        if not meet:
            continue
        starts = np.array([other.start for _, other in meet])
        ends = np.array([other.end for _, other in meet])
        distances = segment_distances(starts, ends, bar.start, bar.end)
        for (index, other), apart in zip(meet, distances.tolist(), strict=True):
            allowed = bar.radius + other.radius + max(bar.wall, other.wall)
            short = allowed - apart
            if short > _ROUNDING and short > worst.get(index, (0.0, 0.0, 0.0))[0]:
                worst[index] = (short, apart, allowed)
    return [(index, apart, allowed) for index, (_, apart, allowed) in sorted(worst.items())]
