"""Whether the braces of a plan go with each other, with the hardware of its seams, and the bed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity
from splitplanner.joint.brace.bolts import BraceBolt
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


def _holes(brace: Brace) -> list[list[Bar]]:
    """Return the hole of each bolt in its boss as a bar; see `bars_of`."""
    wish, screw = brace.wish, brace.bosses.size.screw
    found = []
    for bolt in brace.bosses.bolts:
        axis = np.array(bolt.axis)
        face, radius = np.array(bolt.at) + axis * wish.half, bolt.hole / 2
        cover = 0.0 if bolt.hold == "nut" else screw.end_cover
        end = face + axis * (bolt.depth + cover)
        found.append([Bar("hole", face, end, radius, screw.edge_distance - radius)])
    return found


def _ends(brace: Brace) -> list[list[Solid]]:
    """Return head and nut of each bolt with their washers, as wide as these."""
    wish, size = brace.wish, brace.bosses.size
    screw = size.screw
    found = []
    for bolt in brace.bosses.bolts:
        at, axis = np.array(bolt.at), np.array(bolt.axis)
        face = at - axis * wish.half
        ends = [Solid.cylinder(face - axis * screw.head_height, face, screw.bearing / 2, _SIDES)]
        if bolt.hold == "nut":
            far = at + axis * (wish.half + size.thickness)
            nut = far + axis * (screw.nut_height + screw.washer)
            ends.append(Solid.cylinder(far, nut, screw.nut_way / 2, _SIDES))
        found.append(ends)
    return found


def _shared(one: Solid, other: Solid) -> float:
    """Return what two solids have in common, mm³; 0 for what is rounding."""
    if not meets(one, other.bounds):
        return 0.0
    volume = one.intersection(other).volume
    return volume if volume > _DUST else 0.0


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
    known = drawable(joint)
    bars = [bars_of(fastener, _WAY) for _, fastener in known]
    for bolt, hole in zip(brace.bosses.bolts, _holes(brace), strict=True):
        for index, apart, allowed in too_near(hole, bars):
            yield _touching(brace, bolt, f"{known[index][0]} of seam {joint.seam}", apart, allowed)
    for (name, fastener), each in zip(known, bars, strict=True):
        heads = [Solid.cylinder(b.start, b.end, b.radius, _SIDES) for b in each if b.kind == "body"]
        ends = [end for both in _ends(brace) for end in both]
        shared = sum(_shared(solid, head) for head in heads for solid in (brace.solid, *ends))
        if shared > 0.0:
            yield Finding(
                "brace.on_hardware",
                Severity.FAULT,
                f"Brace “{brace.wish.name}”, or a head or nut of its bolts, is where head or nut "
                f"of {name} of seam {joint.seam} is ({shared:.0f} mm³); move the brace.",
                brace.wish.name,
                np.array([fastener.at]),
                shared,
                0.0,
                "mm3",
            )


def _touching(brace: Brace, bolt: BraceBolt, other: str, apart: float, allowed: float) -> Finding:
    return Finding(
        "brace.hardware_touches",
        Severity.FAULT,
        f"Brace “{brace.wish.name}”: the bolt at station {bolt.station:.0f} mm and {other} are "
        f"{apart:.2f} mm apart and should be {allowed:.2f} mm; move one of them.",
        brace.wish.name,
        np.array([bolt.at]),
        apart,
        allowed,
        "mm",
    )


def _check_pair(one: Brace, other: Brace) -> Iterator[Finding]:
    """Check that two braces, and their bolts, are not in each other's way."""
    shared = _shared(one.solid, other.solid)
    if shared > 0.0:
        yield Finding(
            "brace.cross",
            Severity.FAULT,
            f"Braces “{one.wish.name}” and “{other.wish.name}” share {shared:.1f} mm³; move one "
            "of them.",
            one.wish.name,
            one.solid.intersection(other.solid).centroid,
            shared,
            0.0,
            "mm3",
        )
    theirs = _holes(other)
    for bolt, hole in zip(one.bosses.bolts, _holes(one), strict=True):
        for index, apart, allowed in too_near(hole, theirs):
            station = other.bosses.bolts[index].station
            what = f"the bolt at {station:.0f} mm of brace “{other.wish.name}”"
            yield _touching(one, bolt, what, apart, allowed)
    ends = [end for both in _ends(other) for end in both]
    yield from _check_ends(one, (other.solid, *ends), other)
    yield from _check_ends(other, (one.solid,), one)


def _check_ends(brace: Brace, solids: Sequence[Solid], against: Brace) -> Iterator[Finding]:
    """Check that heads and nuts of a brace are not where another brace or its bolts are."""
    for bolt, ends in zip(brace.bosses.bolts, _ends(brace), strict=True):
        shared = sum(_shared(end, solid) for end in ends for solid in solids)
        if shared > 0.0:
            yield Finding(
                "brace.head",
                Severity.FAULT,
                f"Brace “{brace.wish.name}”: head or nut of the bolt at station "
                f"{bolt.station:.0f} mm is where brace “{against.wish.name}” or one of its bolts "
                f"is ({shared:.0f} mm³); move one of the braces.",
                brace.wish.name,
                np.array([bolt.at]),
                shared,
                0.0,
                "mm3",
            )
