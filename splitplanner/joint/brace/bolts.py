"""Bolts through a brace into bosses beside it, at least two on every piece that it crosses."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Bools, Floats, Ints, to_vector
from splitplanner.joint.brace.bolt_sizes import BoltSize
from splitplanner.joint.brace.lands import Growth, grown, near_seam
from splitplanner.joint.brace.outline import Profile
from splitplanner.plan import Division, Hold
from splitplanner.plan.brace import BraceWish
from splitplanner.plan.joints import Vector
from splitplanner.solid import Solid

LEAST_BOLTS = 2
"""On every piece, or it turns about the one. Common practice, no source."""
_STEP = 2.0
"""Distance of the places tried along the brace, mm."""
_TRIED = 12
"""So many places nearest to a wanted one are tried, in case its boss would fall through a hole."""
_LEVELS = 3.0
"""Distance of the sections by which the ways of key and nut are looked at, mm."""
_ROOMY = 1.02
"""Ways are looked at so much wider: bars that are compared with the pieces have corners."""
_SHAVING = 0.05
"""Sections of a boss are taken so far inside its faces, mm."""


@dataclass(frozen=True)
class BraceBolt:
    """One bolt, its head on the open side of the brace.

    Attributes
    ----------
    piece : str
        On whose boss it is.
    at : (x, y, z)
        On its axis, in the middle of the sheet, mm.
    axis : (x, y, z)
        Unit vector from head to tip, square to the sheet.
    station : float
        Along the brace, mm.
    standard, size : str
    length : float
        mm.
    hold : "nut", "insert" or "plastic"
    brace_hole, hole : float
        Diameters in the brace and in the boss, mm.
    depth : float
        Of the hole in the boss, from its face, mm.
    """

    piece: str
    at: Vector
    axis: Vector
    station: float
    standard: str
    size: str
    length: float
    hold: Hold
    brace_hole: float
    hole: float
    depth: float


@dataclass(frozen=True, eq=False)
class Bosses:
    """The bolts of a brace and what they go into.

    Attributes
    ----------
    size : BoltSize
    bolts : tuple of BraceBolt
        Along the brace.
    growths : tuple of Growth
        The boss of each.
    crossed : tuple of str
        Names of the pieces that the brace passes over.
    room : mapping of piece name to float
        Length of the brace on which bolts of a piece can stand, mm.
    """

    size: BoltSize
    bolts: tuple[BraceBolt, ...]
    growths: tuple[Growth, ...]
    crossed: tuple[str, ...]
    room: Mapping[str, float]


def bosses_of(division: Division, profile: Profile, size: BoltSize) -> Bosses:
    """Return bolts spread along a brace, with their bosses.

    A bolt can stand where its boss, straight down from the bolt, meets one and the same piece no
    deeper than lands go, and so it is for half the least spacing on both sides. Of these places a
    piece gets the first, the last, and so many between them, evenly, that they are no further
    apart than wanted. Places with nothing in the way of key and nut are taken alone where they are
    enough.

    Parameters
    ----------
    division : Division
    profile : Profile
    size : BoltSize
    """
    wish = profile.wish
    line = profile.line(size.line)
    steps = np.linspace(0.0, line.length, max(2, math.ceil(line.length / _STEP) + 1))
    places = shapely.get_coordinates(shapely.line_interpolate_point(line, steps))
    names = [piece.name for piece in division.pieces]
    middle, _ = _first_hits(division, profile, places, [0.0], [0.0], 2 * profile.reach)
    crossed = tuple(names[index] for index in sorted({*middle.ravel().tolist()} - {-1}))
    stands = _stands(division, profile, size, places)
    reached = _reached(division, wish, size, places)
    bolts, growths, room = [], [], {}
    for index, name in enumerate(names):
        mine = np.flatnonzero(stands == index)
        easy = mine[reached[mine]]
        if len(easy) and steps[easy[-1]] - steps[easy[0]] >= size.screw.spacing:
            mine = easy
        if name in crossed:
            room[name] = float(len(mine) * (steps[1] - steps[0]))
        for place, growth in _placed(division.part, wish, size, places[mine], steps[mine]):
            bolts.append(_bolt(wish, size, place, name))
            growths.append(growth)
    order = sorted(range(len(bolts)), key=lambda one: bolts[one].station)
    return Bosses(
        size,
        tuple(bolts[one] for one in order),
        tuple(growths[one] for one in order),
        crossed,
        room,
    )


def holes_of(wish: BraceWish, bolt: BraceBolt) -> tuple[Solid, Solid]:
    """Return what is taken out for a bolt: of the brace, and of the boss."""
    at, axis = np.array(bolt.at), np.array(bolt.axis)
    ends = at - axis * (wish.half + 1.0), at + axis * (wish.half + 1.0)
    # The boss begins in the face of the sheet; the hole a little before it, so no film is left.
    start, end = at + axis * (wish.half - 0.01), at + axis * (wish.half + bolt.depth)
    if bolt.hold == "nut":
        end = end + axis
    return (
        Solid.cylinder(*ends, bolt.brace_hole / 2),
        Solid.cylinder(start, end, bolt.hole / 2),
    )


def _lug(size: BoltSize, wish: BraceWish) -> float:
    """Return how far a boss reaches from its bolt towards the part, mm."""
    return size.line + wish.clearance + wish.deepest


def _stands(division: Division, profile: Profile, size: BoltSize, places: Floats) -> Ints:
    """Return for each place (n, 2) the index of the piece on which a boss can stand, or -1."""
    wish = profile.wish
    low, high = wish.half + _SHAVING, wish.half + size.thickness - _SHAVING
    heights = [low, (low + high) / 2, high]
    # Half the spacing from a seam, so that bolts on its two sides keep clear of each other.
    aside = max(size.radius, size.screw.spacing / 2)
    across = [-aside, 0.0, aside]
    hits, near = _first_hits(
        division, profile, places, heights, across, _lug(size, wish) - size.radius
    )
    flat = hits.reshape(len(places), -1)
    one = (flat == flat[:, :1]).all(axis=1)
    # Where the wall comes up to the bolt its hole could come out on the far side.
    clear = near > size.screw.hole / 2 + size.screw.end_cover
    edge = shapely.distance(shapely.points(places), profile.outline.boundary)
    whole = ~_crossed_by_seams(division, wish, size, places)
    result: Ints = np.where(one & clear & whole & (edge >= size.least_edge - 1e-9), flat[:, 0], -1)
    return result


def _reached(division: Division, wish: BraceWish, size: BoltSize, places: Floats) -> Bools:
    """Return at which places (n, 2) nothing is in the way of head, key and nut, (n,)."""
    free = np.ones(len(places), dtype=np.bool_)
    points = shapely.points(places)
    ways = [(-wish.half - size.head_way, -wish.half, size.screw.head_room / 2)]
    if size.nut_end:
        start = wish.half + size.thickness
        ways.append((start, start + size.nut_end, size.screw.nut_way / 2))
    for low, high, radius in ways:
        count = max(2, math.ceil((high - low) / _LEVELS) + 1)
        round_all = shapely.box(*shapely.total_bounds(points)).buffer(2 * radius)
        for height in np.linspace(low + _SHAVING, high - _SHAVING, count).tolist():
            for piece in division.pieces:
                section = shapely.intersection(wish.section(piece.solid, height), round_all)
                if not section.is_empty:
                    free &= shapely.distance(points, section) > radius * _ROOMY
    return free


def _crossed_by_seams(division: Division, wish: BraceWish, size: BoltSize, places: Floats) -> Bools:
    """Return at which places (n, 2) a boss would stand across the plane of a seam, (n,).

    Over an oblique seam it can, though all of its foot is on one piece.
    """
    down = size.line + wish.clearance
    box = [
        (across, up, height)
        for across in (-size.radius, size.radius)
        for up in (-down, size.radius)
        for height in (wish.half, wish.half + size.thickness)
    ]
    corners = np.column_stack([places, np.zeros(len(places))])[:, None] + np.array(box)
    points = wish.to_space(corners.reshape(-1, 3)).reshape(len(places), -1, 3)
    crossed = np.zeros(len(places), dtype=np.bool_)
    for seam in division.seams:
        low, high = near_seam(seam)
        inside = np.all((points >= low) & (points <= high), axis=2)
        near = np.any(inside, axis=1)
        heights = seam.plane.height(points.reshape(-1, 3)).reshape(len(places), -1)
        crossed |= near & (heights.min(axis=1) < 0) & (heights.max(axis=1) > 0)
    return crossed


def _first_hits(
    division: Division,
    profile: Profile,
    places: Floats,
    heights: list[float],
    across: list[float],
    down: float,
) -> tuple[Ints, Floats]:
    """Return which piece is met first, going from places down towards the part.

    Returns
    -------
    hits : (n, heights, across) int array
        Index of the piece, -1 for none within `down`.
    near : (n,) float array
        Distance from each place to the nearest material at any of the heights, mm.
    """
    wish = profile.wish
    starts = places[:, None, :] + np.column_stack([across, np.zeros(len(across))])
    ends = starts - [0.0, down]
    lines = shapely.linestrings(np.stack([starts, ends], axis=2))
    points = shapely.points(places)
    best = np.full((len(places), len(heights), len(across)), -np.inf)
    hits = np.full(best.shape, -1, dtype=np.int64)
    near = np.full(len(places), np.inf)
    round_all = shapely.box(*shapely.total_bounds(lines)).buffer(1.0)
    for index, piece in enumerate(division.pieces):
        for level, height in enumerate(heights):
            section = shapely.intersection(wish.section(piece.solid, height), round_all)
            if section.is_empty:
                continue
            near = np.minimum(near, shapely.distance(points, section))
            met = shapely.bounds(shapely.intersection(lines, section))[..., 3]
            better = np.nan_to_num(met, nan=-np.inf) > best[:, level] + 1e-9
            best[:, level][better] = met[better]
            hits[:, level][better] = index
    return hits, near


def _placed(
    part: Solid, wish: BraceWish, size: BoltSize, places: Floats, steps: Floats
) -> list[tuple[Floats, Growth]]:
    """Return places spread over those of a piece, with their bosses.

    Parameters
    ----------
    places : (n, 2) float array, mm
    steps : (n,) float array
        Their way along the brace, mm.
    """
    if not len(steps):
        return []
    span = float(steps[-1] - steps[0])
    count = max(LEAST_BOLTS, math.ceil(span / wish.spacing - 1e-9) + 1)
    chosen: list[int] = []
    found = []
    for target in np.linspace(steps[0], steps[-1], count):
        for index in np.argsort(np.abs(steps - target), kind="stable")[:_TRIED].tolist():
            if any(abs(steps[index] - steps[one]) < size.screw.spacing - 1e-9 for one in chosen):
                continue
            growth = _boss(part, wish, size, places[index])
            if growth is not None:
                chosen.append(index)
                found.append((places[index], growth))
                break
    return found


def _bolt(wish: BraceWish, size: BoltSize, place: Floats, piece: str) -> BraceBolt:
    return BraceBolt(
        piece=piece,
        at=to_vector(wish.to_space([[*place, 0.0]])[0]),
        axis=wish.plane.normal,
        station=float(place[0]),
        standard=size.screw.standard,
        size=size.screw.size,
        length=size.length,
        hold=size.screw.hold,
        brace_hole=size.brace_hole,
        hole=size.screw.hole,
        depth=size.depth,
    )


def _boss(part: Solid, wish: BraceWish, size: BoltSize, place: Floats) -> Growth | None:
    """Return the boss of a bolt, as an upright lug beside the sheet; None if it has no ground."""
    upper = shapely.Point(place).buffer(size.radius, quad_segs=16)
    foot = place - [0.0, _lug(size, wish) + wish.root]
    lug = shapely.union(upper, shapely.Point(foot).buffer(size.radius, quad_segs=16)).convex_hull
    block = wish.prism(lug, wish.half, wish.half + size.thickness)
    top, bottom = _half(lug, place[1], above=True), _half(lug, foot[1], above=False)
    growth = grown(part, block, wish, top, bottom)
    return None if growth.solid.is_empty else growth


def _half(lug: Polygon | MultiPolygon, level: float, above: bool) -> shapely.Geometry:
    """Return the outline of a lug above or below a level."""
    low, bottom, high, top = lug.buffer(1.0).bounds
    box = shapely.box(low, level, high, top) if above else shapely.box(low, bottom, high, level)
    return shapely.intersection(lug.boundary, box)
