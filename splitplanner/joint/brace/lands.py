"""Lands: what is printed on to the pieces so that a brace cut as a flat profile seats on them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.joint.brace.outline import Profile, swept
from splitplanner.plan import Division, Seam
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid, to_polygons

_STEP = 0.75
"""Distance of the sections across a land by which its ends are found, mm."""
_INSIDE = 1e-3
"""The outermost sections lie inside the land by this, mm."""
SIDEWAYS = 0.05
"""What grows overlaps what stands beside it by this, mm."""
_PAD = 0.05
"""Lands end this far before the part falls away too deep, mm."""
_LEAST = 4.0
"""Lands shorter than this along the brace are left out, mm. Common practice, no source."""
_BESIDE = 40.0
"""No land or boss stands further than this from the wall, mm."""
_TOUCH = 1e-5
"""What is nearer than this touches, mm."""
_DUST = 1e-3
"""Bodies of less than this are rounding, mm³."""


@dataclass(frozen=True, eq=False)
class Growth:
    """What grows on a part between its surface and a form.

    Attributes
    ----------
    solid : Solid
        Sunk into the wall by the root; empty where nothing is missing.
    beyond : float
        What comes out of the wall on its far side, mm³: 0 where the wall is thicker than the root.
    where : (n, 3) float array, mm
        Places at which it does.
    """

    solid: Solid
    beyond: float
    where: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "where", frozen_floats(np.reshape(self.where, (-1, 3))))


@dataclass(frozen=True, eq=False)
class Lands:
    """The lands of one brace.

    Attributes
    ----------
    growth : Growth
        All of them.
    bare : tuple of (low, high)
        Stretches along the brace without a land, where the part lies too deep, mm.
    """

    growth: Growth
    bare: tuple[tuple[float, float], ...]


def _nowhere() -> Floats:
    return np.empty((0, 3))


def lands_of(part: Solid, profile: Profile) -> Lands:
    """Return the lands between a part and the line on which its brace seats.

    What is missing between them grows on the part, as wide as the sheet and a margin on both
    sides. It begins at the first surface that is met coming from the brace, so it never shows on
    the other side of the wall; where that surface is deeper than `BraceWish.deepest`, in a
    window of the wall for instance, there is no land.

    Parameters
    ----------
    part : Solid
    profile : Profile
    """
    wish = profile.wish
    band = _band(profile)
    window = wish.window(profile.reach)
    free = [_deep(part, profile, height) for height in _heights(wish.half_land)]
    bare = _spans(shapely.union_all(free), wish)
    for low, high in bare:
        window = shapely.difference(window, shapely.box(low, -profile.reach, high, profile.reach))
    shape = MultiPolygon(to_polygons(shapely.intersection(band, window), 1e-6))
    if shape.is_empty:
        return Lands(Growth(part.difference(part), 0.0, _nowhere()), bare)
    block = wish.prism(shape, -wish.half_land, wish.half_land)
    top = profile.seat.boundary
    bottom = _lowered(top, wish.deepest + wish.root)
    return Lands(grown(part, block, wish, top, bottom), bare)


def grown(
    part: Solid,
    block: Solid,
    wish: BraceWish,
    top: shapely.Geometry,
    bottom: shapely.Geometry,
) -> Growth:
    """Return what of a block lies before the first surface of the part, sunk into it by the root.

    Parameters
    ----------
    part, block : Solid
    wish : BraceWish
    top, bottom : lines of (along, towards), mm
        Where the block faces the brace, and where it ends in the wall or behind it. What reaches
        the bottom is no part of it.
    """
    near_by = part.intersection(_box_round(block, wish.root))
    missing = _before(block, near_by, wish, top, bottom)
    if missing.is_empty:
        return Growth(missing, 0.0, _nowhere())
    # What lies before the part when that is sunk by the root reaches so far into its wall.
    solid = _before(block, _sunk(near_by, wish), wish, top, bottom)
    out = solid.difference(near_by, missing)
    bodies = [body for body in out.bodies() if not body.is_empty and body.volume > _DUST]
    where = np.array([body.centroid for body in bodies]).reshape(-1, 3)
    return Growth(solid, float(sum(body.volume for body in bodies)), where)


def _sunk(part: Solid, wish: BraceWish) -> Solid:
    """Return a part sunk by the root, and a trace narrower all round, across the way of sinking.

    So what grows beside a rib overlaps that too: faces that only touch leave cracks when they are
    united.
    """
    along, towards, normal = wish.axes
    moves = [-wish.root * towards + way * SIDEWAYS for way in (along, -along, normal, -normal)]
    first, *others = (part.transformed(np.column_stack([np.eye(3), move])) for move in moves)
    return first.intersection(*others)


def _before(
    block: Solid, part: Solid, wish: BraceWish, top: shapely.Geometry, bottom: shapely.Geometry
) -> Solid:
    """Return what of a block lies before the first surface of a part; may be empty."""
    kept = []
    for body in block.difference(part).bodies():
        if body.is_empty or body.volume < _DUST:
            continue
        corners = shapely.points(wish.to_own(body.vertices)[:, :2])
        faces_the_brace = shapely.distance(corners, top).min() <= _TOUCH
        if faces_the_brace and shapely.distance(corners, bottom).min() > _TOUCH:
            kept.append(body)
    return kept[0].union(*kept[1:]) if kept else block.difference(block)


def by_piece(
    growths: Iterable[Solid], division: Division
) -> tuple[Mapping[str, tuple[Solid, ...]], tuple[Solid, ...]]:
    """Return what grows on each piece, cut by the planes of the seams, and what on none.

    Parameters
    ----------
    growths : iterable of Solid
        On the whole part, sunk into it.
    division : Division

    Returns
    -------
    of : mapping of piece name to tuple of Solid
    loose : tuple of Solid
        What has no piece to stand on: beside a cut that runs obliquely for instance.
    """
    found: dict[str, list[Solid]] = {}
    loose = []
    for growth in growths:
        if growth.is_empty:
            continue
        for solid in _cut(growth, division):
            shares = {
                piece.name: solid.intersection(piece.solid).volume
                for piece in division.pieces
                if meets(solid, piece.solid.bounds)
            }
            name = max(sorted(shares), key=shares.__getitem__, default="")
            if name and shares[name] > _DUST:
                found.setdefault(name, []).append(solid)
            elif solid.volume > _DUST:
                loose.append(solid)
    return {name: tuple(solids) for name, solids in found.items()}, tuple(loose)


def _cut(growth: Solid, division: Division) -> list[Solid]:
    """Return the bodies of a growth, cut along every seam that it crosses."""
    parts = [body for body in growth.bodies() if body.volume > _DUST]
    for seam in division.seams:
        cut = []
        for solid in parts:
            sides = solid.split(seam.plane) if meets(solid, near_seam(seam)) else (solid,)
            cut += [body for side in sides if side is not None for body in side.bodies()]
        parts = [body for body in cut if body.volume > _DUST]
    return parts


def near_seam(seam: Seam) -> tuple[Floats, Floats]:
    """Return low and high corner of the box in which what grows beside a seam is cut by it, mm."""
    points = np.vstack(seam.section.rings())
    return points.min(axis=0) - _BESIDE, points.max(axis=0) + _BESIDE


def meets(solid: Solid, box: tuple[Floats, Floats] | Floats) -> bool:
    """Return whether the box round a solid meets another, of low and high corner, mm."""
    low, high = solid.bounds
    return bool((low <= box[1]).all() and (box[0] <= high).all())


def _box_round(block: Solid, by: float) -> Solid:
    """Return a box round a block that keeps all of a part that can matter when it is moved."""
    low, high = block.bounds[0] - 1.0 - by, block.bounds[1] + 1.0 + by
    return Solid.box(high - low, low)


def _heights(half: float) -> Floats:
    count = max(3, 2 * math.ceil(half / _STEP) + 1)
    return np.linspace(-half + _INSIDE, half - _INSIDE, count)


def _lowered(shape: shapely.Geometry, by: float) -> shapely.Geometry:
    return shapely.transform(shape, lambda flat: flat - [0.0, by])


def _band(profile: Profile) -> shapely.Geometry:
    """Return what lies no deeper behind the seat than the deepest land and its root."""
    by = profile.wish.deepest + profile.wish.root
    return shapely.difference(profile.seat, _lowered(profile.seat, by))


def _deep(part: Solid, profile: Profile, height: float) -> shapely.Geometry:
    """Return where the part, at a height, lies deeper than the deepest land."""
    wish = profile.wish
    section = swept(wish.section(part, float(height)), -profile.reach)
    below = _lowered(profile.seat, wish.deepest - _TOUCH)
    deep = shapely.difference(shapely.intersection(below, wish.window(profile.reach)), section)
    return shapely.union_all(to_polygons(deep, 1e-6))


def _spans(shape: shapely.Geometry, wish: BraceWish) -> tuple[tuple[float, float], ...]:
    """Return the stretches that polygons take up along the brace, with a pad, joined."""
    found: list[tuple[float, float]] = []
    for low, _, high, _ in sorted(polygon.bounds for polygon in to_polygons(shape)):
        low, high = max(low - _PAD, wish.low), min(high + _PAD, wish.high)
        if found and low <= found[-1][1] + _LEAST:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return tuple(found)
