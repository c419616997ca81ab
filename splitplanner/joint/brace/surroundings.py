"""Whether the braces of a plan go with each other, with the hardware of its seams, and the bed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity
from splitplanner.joint.brace.building import Brace
from splitplanner.joint.brace.checks import check_brace
from splitplanner.joint.brace.lands import meets
from splitplanner.joint.fasteners.distances import Bar, bars_of, drawable, too_near
from splitplanner.plan import Division, Joint, Plan
from splitplanner.score import bed_fit
from splitplanner.solid import Solid
from splitplanner.workshop import Bed, Shelf

_DUST = 1e-3
"""Volumes of less than this are rounding, mm³."""
_WAY = 5.0
"""Beyond head and nut hardware of other joints keeps out of the way for so long, mm."""
_SIDES = 32
"""Of heads and nuts, as prisms."""


def check_braces(
    ground: Division,
    braces: Sequence[Brace],
    made: Mapping[str, Solid],
    plan: Plan,
    shelf: Shelf,
) -> tuple[Finding, ...]:
    """Return what is wrong with the braces of a plan.

    Each by itself (see `check_brace`), with each other, with pins and screws of the seams, with the
    bed where it is printed, and with the sheet metals on the shelf where not.

    Parameters
    ----------
    ground : Division
        Part and pieces with their flanges, on which the braces were made.
    braces : sequence of Brace
    made : mapping of piece name to Solid
        The pieces as they are printed.
    plan : Plan
    shelf : Shelf
    """
    found: list[Finding] = []
    for brace in braces:
        found += check_brace(ground, brace, made)
        found += _check_stuff(brace, shelf, plan.machine.bed)
        for joint in plan.joints:
            found += _check_joint(brace, joint)
    for one, other in itertools.combinations(braces, 2):
        found += _check_pair(one, other)
    return tuple(found)


def bolt_bars(brace: Brace) -> list[list[Bar]]:
    """Return the bars that stand for each bolt of a brace; see `bars_of`."""
    wish, size = brace.wish, brace.bosses.size
    screw = size.screw
    found = []
    for bolt in brace.bosses.bolts:
        at, axis = np.array(bolt.at), np.array(bolt.axis)
        face, back = at - axis * wish.half, at + axis * wish.half
        cover = 0.0 if bolt.hold == "nut" else screw.end_cover
        radius = bolt.hole / 2
        end = back + axis * (bolt.depth + cover)
        bars = [
            Bar("hole", back, end, radius, screw.edge_distance - radius),
            Bar("body", face - axis * screw.head_height, face, screw.bearing / 2),
        ]
        if bolt.hold == "nut":
            far = back + axis * size.thickness
            nut = far + axis * (screw.nut_height + screw.washer)
            bars.append(Bar("body", far, nut, screw.nut_way / 2))
        found.append(bars)
    return found


def _check_stuff(brace: Brace, shelf: Shelf, bed: Bed) -> Iterator[Finding]:
    """Check that the bed holds a printed brace, and that the metal of another is known."""
    wish = brace.wish
    if not wish.is_printed:
        try:
            shelf.sheet_metal(wish.metal)
        except WorkshopError as fault:
            yield Finding(
                "brace.metal",
                Severity.WARNING,
                f"Brace “{wish.name}”: {fault} What it weighs and stands is not known.",
                wish.name,
            )
        return
    fit = bed_fit(brace.solid, wish.plane.normal, bed)
    if not fit.fits:
        yield Finding(
            "brace.bed",
            Severity.FAULT,
            f"Brace “{wish.name}” is printed flat, {fit.sides[0]:.0f} x {fit.sides[1]:.0f} mm, and "
            f"is {fit.over:.1f} mm too large for the bed; make it shorter, or of sheet metal.",
            wish.name,
            np.array([bolt.at for bolt in brace.bosses.bolts]).reshape(-1, 3),
            fit.over,
            0.0,
            "mm",
        )


def _check_joint(brace: Brace, joint: Joint) -> Iterator[Finding]:
    """Check a brace against the pins and screws of a seam."""
    wish, known = brace.wish, drawable(joint)
    bars = [bars_of(fastener, _WAY) for _, fastener in known]
    for bolt, mine in zip(brace.bosses.bolts, bolt_bars(brace), strict=True):
        for index, apart, allowed in too_near(mine, bars):
            yield Finding(
                "brace.hardware_touches",
                Severity.FAULT,
                f"Brace “{wish.name}”: the bolt at station {bolt.station:.0f} mm and "
                f"{known[index][0]} of seam {joint.seam} are {apart:.2f} mm apart and should be "
                f"{allowed:.2f} mm; move one of them.",
                wish.name,
                np.array([bolt.at]),
                apart,
                allowed,
                "mm",
            )
    for (name, fastener), each in zip(known, bars, strict=True):
        heads = [Solid.cylinder(b.start, b.end, b.radius, _SIDES) for b in each if b.kind == "body"]
        shared = sum(
            max(brace.solid.intersection(head).volume, 0.0)
            for head in heads
            if meets(head, brace.solid.bounds)
        )
        if shared > _DUST:
            yield Finding(
                "brace.on_hardware",
                Severity.FAULT,
                f"Brace “{wish.name}” is where head or nut of {name} of seam {joint.seam} is "
                f"({shared:.0f} mm³); move the brace.",
                wish.name,
                np.array([fastener.at]),
                shared,
                0.0,
                "mm3",
            )


def _check_pair(one: Brace, other: Brace) -> Iterator[Finding]:
    """Check that two braces, and their bolts, are not in each other's way."""
    names = f"Braces “{one.wish.name}” and “{other.wish.name}”"
    shared = one.solid.intersection(other.solid) if meets(one.solid, other.solid.bounds) else None
    if shared is not None and not shared.is_empty and shared.volume > _DUST:
        yield Finding(
            "brace.cross",
            Severity.FAULT,
            f"{names} share {shared.volume:.1f} mm³; move one of them.",
            one.wish.name,
            shared.centroid,
            shared.volume,
            0.0,
            "mm3",
        )
    theirs = bolt_bars(other)
    for bolt, mine in zip(one.bosses.bolts, bolt_bars(one), strict=True):
        for index, apart, allowed in too_near(mine, theirs):
            yield Finding(
                "brace.bolts_touch",
                Severity.FAULT,
                f"{names}: their bolts at stations {bolt.station:.0f} and "
                f"{other.bosses.bolts[index].station:.0f} mm are {apart:.2f} mm apart and should "
                f"be {allowed:.2f} mm; move one of the braces.",
                one.wish.name,
                np.array([bolt.at, other.bosses.bolts[index].at]),
                apart,
                allowed,
                "mm",
            )
    for brace, against in ((one, other), (other, one)):
        yield from _check_heads(brace, against)


def _check_heads(brace: Brace, against: Brace) -> Iterator[Finding]:
    """Check that heads and nuts of a brace are not where another brace is."""
    for bolt, bars in zip(brace.bosses.bolts, bolt_bars(brace), strict=True):
        for bar in (each for each in bars if each.kind == "body"):
            head = Solid.cylinder(bar.start, bar.end, bar.radius, _SIDES)
            if not meets(head, against.solid.bounds):
                continue
            shared = head.intersection(against.solid)
            if not shared.is_empty and shared.volume > _DUST:
                yield Finding(
                    "brace.head",
                    Severity.FAULT,
                    f"Brace “{brace.wish.name}”: head or nut of the bolt at station "
                    f"{bolt.station:.0f} mm is where brace “{against.wish.name}” is "
                    f"({shared.volume:.0f} mm³); move one of the braces.",
                    brace.wish.name,
                    np.array([bolt.at]),
                    shared.volume,
                    0.0,
                    "mm3",
                )
