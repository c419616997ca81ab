"""The braces of a plan: made on the pieces with their flanges, and those that cannot be made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon

from splitplanner.errors import JointError, WorkshopError
from splitplanner.findings import Finding, Severity
from splitplanner.joint.brace.building import Brace, brace_of
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Division, Fastening, Seam
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid, to_polygons
from splitplanner.workshop import Printer, Shelf

_BESIDE = 1e-3
"""What grows on two pieces touches where both have material so far from the plane of their seam,
mm."""


@dataclass(frozen=True, eq=False)
class PlannedBraces:
    """What became of the braces that a plan asks for.

    Attributes
    ----------
    braces : tuple of Brace
        Those that can be made, in the order of the plan.
    findings : tuple of Finding
        One fault for each of the others.
    """

    braces: tuple[Brace, ...] = ()
    findings: tuple[Finding, ...] = ()


def brace_screw(wish: BraceWish, shelf: Shelf, printer: Printer) -> ScrewSize:
    """Return the screw of a brace, its head and nut on washers where there are any.

    Raises
    ------
    WorkshopError
        If the shelf has not what it takes.
    """
    fastening = Fastening(
        screws=wish.hold, screw_standard=wish.screw_standard, screw_size=wish.screw_size
    )
    return screw_sizes(fastening, shelf, printer)[0]


def planned_brace(
    ground: Division, wish: BraceWish, shelf: Shelf, printer: Printer
) -> Brace | Finding:
    """Return a brace, or why it cannot be made.

    Parameters
    ----------
    ground : Division
        Part and pieces with their flanges.
    wish : BraceWish
    shelf : Shelf
    printer : Printer
    """
    try:
        return brace_of(ground, wish, brace_screw(wish, shelf, printer), shelf)
    except (JointError, WorkshopError) as fault:
        return Finding(
            "brace.impossible",
            Severity.FAULT,
            f"Brace “{wish.name}” cannot be made: {fault}",
            wish.name,
            wish.to_space([[wish.low, 0.0, 0.0], [wish.high, 0.0, 0.0]]),
        )


def sorted_out(made: Iterable[Brace | Finding]) -> PlannedBraces:
    """Return braces and findings each by themselves."""
    known = tuple(made)
    return PlannedBraces(
        tuple(each for each in known if isinstance(each, Brace)),
        tuple(each for each in known if isinstance(each, Finding)),
    )


def with_added(name: str, piece: Solid, braces: Sequence[Brace]) -> Solid:
    """Return a piece with the lands and bosses of all braces, not drilled."""
    added = [solid for brace in braces for solid in brace.added.get(name, ())]
    return piece.union(*added) if added else piece


def with_taken(name: str, piece: Solid, braces: Sequence[Brace]) -> Solid:
    """Return a piece drilled for the bolts of all braces."""
    taken = [hole for brace in braces for hole in brace.taken.get(name, ())]
    return piece.difference(*taken) if taken else piece


def brace_foot(seam: Seam, braces: Sequence[Brace]) -> MultiPolygon:
    """Return where lands and bosses on the two pieces of a seam touch, in its plane, mm."""
    sides = []
    for name, way in ((seam.below, -_BESIDE), (seam.above, _BESIDE)):
        plane = seam.plane.shifted(way)
        grown = [solid for brace in braces for solid in brace.added.get(name, ())]
        sides.append(shapely.union_all([solid.section(plane).shape for solid in grown]))
    return MultiPolygon(to_polygons(shapely.intersection(*sides)))
