"""Whether a brace can be cut, put on and bolted, and whether it clears all that is round it."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from splitplanner.findings import Finding, Severity, capital, counted, piece_words
from splitplanner.joint.brace.bolts import LEAST_BOLTS, BraceBolt
from splitplanner.joint.brace.building import Brace, near_brace
from splitplanner.joint.brace.lands import meets
from splitplanner.joint.brace.outline import LEFT, left_by
from splitplanner.plan import Division
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid

_EXACT = 0.005
"""The same by which the radius of a corner is told, mm."""
_ROUND = 1e-6
"""What distances may be short by, mm."""
_DUST = 1e-3
"""Volumes of less than this are rounding, mm³."""


@dataclass(frozen=True)
class Corner:
    """An inner corner of an outline that a cutter does not reach into.

    Attributes
    ----------
    place : (x, y)
        Of its deepest point, mm.
    radius : float
        The largest that a cutter for it may have, mm.
    left : float
        How much the cutter leaves standing there, mm.
    """

    place: tuple[float, float]
    radius: float
    left: float


def tight_corners(outline: Polygon, cutter: float) -> tuple[Corner, ...]:
    """Return the inner corners of an outline that are tighter than a cutter.

    See `left_by`.

    Parameters
    ----------
    outline : Polygon
        mm.
    cutter : float
        Diameter, mm.
    """
    found = []
    for place, left in left_by(outline, cutter / 2, LEFT):
        low, high = 0.0, cutter / 2
        near_by = shapely.intersection(outline, shapely.Point(place).buffer(4 * cutter))
        while high - low > 0.01:
            middle = (low + high) / 2
            near = [
                left
                for other, left in left_by(near_by, middle, _EXACT)
                if np.linalg.norm(other - place) < cutter / 4
            ]
            low, high = (low, middle) if near else (middle, high)
        found.append(Corner((float(place[0]), float(place[1])), (low + high) / 2, left))
    return tuple(found)


def check_brace(
    division: Division,
    brace: Brace,
    made: Mapping[str, Solid] | None = None,
) -> tuple[Finding, ...]:
    """Return what is wrong with a brace on the pieces of a division.

    Parameters
    ----------
    division : Division
    brace : Brace
        Of `brace_of` with the same division.
    made : mapping of piece name to Solid, optional
        The pieces as they are printed; with what this brace takes alone by default.
    """
    size = brace.bosses.size
    near = near_brace(division, brace.profile, size)
    if made is None:
        solids = {piece.name: brace.made(piece.name, piece.solid) for piece in near.pieces}
    else:
        printed = [replace(each, solid=made[each.name]) for each in division.pieces]
        as_made = near_brace(replace(division, pieces=tuple(printed)), brace.profile, size)
        solids = {piece.name: piece.solid for piece in as_made.pieces}
    found = (
        *_check_bolts(brace),
        *_check_brace_edges(brace),
        *_check_boss_edges(near, brace),
        *_check_corners(brace),
        *_check_overlap(brace, solids),
        *_check_pieces(near, brace),
        *_check_lands(brace),
        *_check_driver(brace, solids),
    )
    return tuple(_of(brace, each) for each in found)


def _of(brace: Brace, finding: Finding) -> Finding:
    """Return a finding that says which brace it is about."""
    said = finding.message[0].lower() + finding.message[1:]
    return replace(
        finding,
        message=f"Brace “{brace.wish.name}”: {said}",
        subject=finding.subject or brace.wish.name,
    )


def _check_bolts(brace: Brace) -> Iterator[Finding]:
    """Check that every piece has two bolts, and that none are too near to each other."""
    bolts = brace.bosses.bolts
    for name in brace.bosses.crossed:
        mine = [bolt for bolt in bolts if bolt.piece == name]
        if len(mine) < LEAST_BOLTS:
            yield Finding(
                "brace.bolts",
                Severity.FAULT,
                f"{capital(piece_words(name))} holds the brace by {counted(len(mine), 'bolt')} on "
                f"{brace.bosses.room[name]:.0f} mm of room; take a smaller screw, allow deeper "
                "lands, or move the brace.",
                name,
                np.array([bolt.at for bolt in mine]).reshape(-1, 3),
                float(len(mine)),
                float(LEAST_BOLTS),
                "1",
            )
    least = brace.bosses.size.screw.spacing
    for one, other in itertools.pairwise(bolts):
        apart = float(np.linalg.norm(np.subtract(one.at, other.at)))
        if apart < least - _ROUND:
            yield Finding(
                "brace.spacing",
                Severity.WARNING,
                f"Two bolts of the brace are {apart:.1f} mm apart at station {one.station:.0f} mm, "
                f"{least:.1f} mm are wanted; take out one of them or make its spacing wider.",
                one.piece,
                np.array([one.at, other.at]),
                apart,
                least,
                "mm",
            )


def _check_brace_edges(brace: Brace) -> Iterator[Finding]:
    wish, size = brace.profile.wish, brace.bosses.size
    for bolt in brace.bosses.bolts:
        place = shapely.Point(wish.to_own([bolt.at])[0, :2])
        edge = float(shapely.distance(place, brace.profile.outline.boundary))
        if edge < size.least_edge - _ROUND or not brace.profile.outline.contains(place):
            yield _too_near("brace.edge", bolt, edge, size.least_edge, "the edge of the brace")


def _check_boss_edges(division: Division, brace: Brace) -> Iterator[Finding]:
    """Check the material round each bolt in its boss, on the piece before it is drilled."""
    wish, size = brace.profile.wish, brace.bosses.size
    level = wish.half + size.thickness / 2
    for name in {bolt.piece: None for bolt in brace.bosses.bolts}:
        solid = division.piece(name).solid.union(*brace.added.get(name, ()))
        section = wish.section(solid, level)
        for bolt in (bolt for bolt in brace.bosses.bolts if bolt.piece == name):
            place = shapely.Point(wish.to_own([bolt.at])[0, :2])
            inside = section.contains(place)
            edge = float(shapely.distance(place, section.boundary)) if inside else 0.0
            # The rim of a boss is a polygon, whose sides lie a little inside the circle.
            least = size.screw.edge_distance * np.cos(np.pi / 64)
            if edge < least - _ROUND:
                yield _too_near("brace.boss", bolt, edge, least, "the edge of its boss")


def _too_near(kind: str, bolt: BraceBolt, edge: float, least: float, what: str) -> Finding:
    return Finding(
        kind,
        Severity.FAULT,
        f"The bolt at station {bolt.station:.0f} mm on {piece_words(bolt.piece)} is {edge:.2f} "
        f"mm from {what}, at least {least:.2f} mm are needed; move it or take a smaller screw.",
        bolt.piece,
        np.array([bolt.at]),
        edge,
        float(least),
        "mm",
    )


def _check_corners(brace: Brace) -> Iterator[Finding]:
    wish = brace.profile.wish
    if wish.is_printed:
        return
    for corner in tight_corners(brace.profile.outline, wish.cutter):
        yield Finding(
            "brace.corner",
            Severity.WARNING,
            f"An inner corner of the brace at station {corner.place[0]:.1f} mm has a radius of "
            f"{corner.radius:.2f} mm, and a cutter of {wish.cutter:g} mm leaves {corner.left:.2f} "
            "mm standing there; take a thinner cutter, file it out, or leave more clearance.",
            "",
            wish.to_space([[*corner.place, 0.0]]),
            corner.radius,
            wish.cutter / 2,
            "mm",
        )


def _check_overlap(brace: Brace, made: dict[str, Solid]) -> Iterator[Finding]:
    for name, solid in made.items():
        shared = brace.solid.intersection(solid)
        if not shared.is_empty and shared.volume > _DUST:
            yield Finding(
                "brace.overlap",
                Severity.FAULT,
                f"The brace and {piece_words(name)} share {shared.volume:.1f} mm³; move or "
                "shorten the brace.",
                name,
                shared.centroid,
                shared.volume,
                0.0,
                "mm3",
            )


def _check_pieces(division: Division, brace: Brace) -> Iterator[Finding]:
    """Check that what grows on one piece is not in another."""
    for name, solids in brace.added.items():
        for piece in division.pieces:
            shared = sum(
                max(solid.intersection(piece.solid).volume, 0.0)
                for solid in (solids if piece.name != name else ())
                if meets(solid, piece.solid.bounds)
            )
            if shared > _DUST:
                yield Finding(
                    "brace.pieces",
                    Severity.FAULT,
                    f"Lands or bosses of {piece_words(name)} reach {shared:.2f} mm³ into "
                    f"{piece_words(piece.name)}; move the brace or its bolts.",
                    name,
                    np.array([solid.centroid for solid in solids]),
                    shared,
                    0.0,
                    "mm3",
                )


def _check_lands(brace: Brace) -> Iterator[Finding]:
    wish = brace.profile.wish
    beyond = [brace.lands.growth, *brace.bosses.growths]
    volume = sum(growth.beyond for growth in beyond)
    if volume > _DUST:
        yield Finding(
            "brace.root",
            Severity.FAULT,
            f"Lands or bosses come out of the far side of the wall by {volume:.2f} mm³; sink them "
            f"in by less than {wish.root:g} mm.",
            "",
            np.vstack([growth.where for growth in beyond]),
            volume,
            0.0,
            "mm3",
        )
    if brace.loose:
        yield Finding(
            "brace.loose",
            Severity.WARNING,
            f"{counted(len(brace.loose), 'bit')} of lands or bosses beside a seam stand on no "
            "piece and are left out; look at them, and move the brace if it has to seat there.",
            "",
            np.array([solid.centroid for solid in brace.loose]),
            float(len(brace.loose)),
            0.0,
            "1",
        )
    bare = sum(high - low for low, high in brace.lands.bare)
    if bare > 0:
        middles = [((low + high) / 2, 0.0, 0.0) for low, high in brace.lands.bare]
        yield Finding(
            "brace.bare",
            Severity.NOTE,
            f"The brace has no land on {bare:.0f} of its {wish.high - wish.low:.0f} mm, where the "
            f"part lies deeper than {wish.deepest:g} mm; allow deeper lands or bridge less.",
            "",
            wish.to_space(middles),
            bare,
            0.0,
            "mm",
        )


def _check_driver(brace: Brace, made: dict[str, Solid]) -> Iterator[Finding]:
    """Check that nothing is in the way of head, key and nut, straight along each bolt."""
    wish, size = brace.profile.wish, brace.bosses.size
    for bolt in brace.bosses.bolts:
        at, axis = np.array(bolt.at), np.array(bolt.axis)
        start = at - axis * (wish.half + 0.01)
        ways = [
            ("key", Solid.cylinder(start - axis * size.head_way, start, size.screw.head_room / 2))
        ]
        if bolt.hold == "nut":
            face = at + axis * (wish.half + size.thickness + 0.01)
            nut = face + axis * size.nut_end
            ways.append(("nut", Solid.cylinder(face, nut, size.screw.nut_way / 2)))
        for what, way in ways:
            yield from _blocked(what, way, bolt, made.values(), wish)


def _blocked(
    what: str, way: Solid, bolt: BraceBolt, solids: Iterable[Solid], wish: BraceWish
) -> Iterator[Finding]:
    taken = sum(
        max(way.intersection(solid).volume, 0.0) for solid in solids if meets(way, solid.bounds)
    )
    if taken > _DUST:
        yield Finding(
            f"brace.{what}",
            Severity.WARNING,
            f"The part is in the way of the {what} of the bolt at station {bolt.station:.0f} mm on "
            f"{piece_words(bolt.piece)}; turn the brace's way round, so that heads are on "
            "its other side, or move it.",
            bolt.piece,
            np.array([bolt.at]),
            taken,
            0.0,
            "mm3",
        )
