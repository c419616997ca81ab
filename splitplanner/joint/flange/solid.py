"""The solid of a flange on one side of its seam: convex stretches along its lines, made one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, Ints
from splitplanner.joint.flange.ends import Printed, end_planes
from splitplanner.joint.flange.sizes import slope_towards
from splitplanner.joint.flange.stretches import Stretch, corners_of, profile, stretches_of
from splitplanner.joint.flange.walls import ROOT, Back, Walls, back_of, walls_at
from splitplanner.joint.material import block_around
from splitplanner.plan import Flange, Seam
from splitplanner.solid import Plane, Solid

_MARGIN = 1.0
"""A flange is looked up to this much beyond its width, for its root, mm."""
_MOST_WIDTHS = 3.0
_LEAST_SLOPE = 10.0
"""No flange runs out at less than this, degrees: it would be too long (common practice, no
source)."""
_LEVELS = 7
_FINER = 4
"""And so many between two where the wall ends."""
_FIRST, _SECOND = 0.02, 0.4
"""Heights of the first two sections, mm: where the wall is, and how it leans."""
_STATIONS = (0.15, 0.5, 0.85)
"""Shares of a stretch at which the wall is looked at."""
_LAP, _MOST_LAP = 0.4, 0.8
"""Where a flange would pass through something thin, it ends in it at this share, or so deep, mm."""
_GRIP = 0.1
"""Where a stretch is cut free, so much is taken beyond the surface, mm."""
_CRUMB = 1.0
"""A body of less than this is no flange, mm³."""
_BESIDE = 0.4
"""Distance from the line at which a body that belongs to it is found, mm."""
_LOW = 0.05
"""And height over the seam, mm."""
_COVERED = 0.2
"""What a flange ends in goes on for this, mm."""
_OUT = 0.05
"""A flange may be outside of the hull by this, mm."""
_RECESS = 1e-7
"""Flanges end this much before planes in which faces of their piece lie, mm: where faces coincide
but for rounding, the kernel's difference of two solids was off by as much as 4 mm³."""
_DUST = 1e-6
"""Crumbs of less than this are rounding, mm³."""


def heights_of(flange: Flange, slope: float) -> tuple[float, ...]:
    """Return the heights up to which a flange is tried, mm: the usual one, one for leaning walls.

    Where a wall leans away by nearly the slope, they would meet far off; the second height is where
    a flange ends in any case, and then it runs out at more than its slope.
    """
    if slope >= 90.0:
        return (flange.thickness,)
    rise = 1.0 / float(np.tan(np.radians(slope)))
    usual = flange.thickness + (flange.width + _MARGIN) * rise
    return usual, flange.thickness + _MOST_WIDTHS * flange.width * rise


def _levels(height: float) -> Floats:
    return np.concatenate([[_FIRST, _SECOND], np.linspace(_SECOND, height, _LEVELS)[1:]])


# -- one side ------------------------------------------------------------------------------
@dataclass(frozen=True, eq=False)
class _Side:
    """One side of a seam, and the piece near it."""

    seam: Seam
    flange: Flange
    side: int
    slope: float
    piece: Solid
    part: Solid | None = None
    printed: Printed | None = None

    def slope_of(self, stretch: Stretch) -> float:
        """Return at which angle from the seam's normal a stretch runs out, degrees."""
        if self.printed is None or self.slope >= 90.0:
            return self.slope
        right, front, normal = self.seam.plane.frame
        free = stretch.normal[0] * right + stretch.normal[1] * front
        allowed = slope_towards(free, self.side * normal, self.printed.up, self.slope)
        return min(self.slope, max(allowed, _LEAST_SLOPE))

    def sticks_out(self, stretch: Stretch, section: Floats) -> bool:
        """Return whether the free edge of a stretch is outside of the part's hull."""
        if self.part is None:
            return False
        hull, plane = self.part.hull, self.seam.plane
        flat = np.array([stretch.start, stretch.end]) + section[1, 0] * stretch.normal
        edge = plane.to_space(flat)
        edge = np.vstack([edge, edge + self.side * section[2, 1] * plane.frame[2]])
        offsets = np.einsum("ij,ij->i", hull.face_normals, hull.face_centroids)
        return bool((edge @ hull.face_normals.T - offsets).max() > _OUT)

    def solid(self, corners: Floats) -> Solid:
        """Return the hull of corners (n, 3): plane coordinates and height over the seam, mm."""
        plane = self.seam.plane
        flat = plane.to_space(corners[:, :2])
        return Solid.hull_of(flat + self.side * corners[:, 2:] * plane.frame[2])


def half_flange(
    flange: Flange,
    seam: Seam,
    piece: Solid,
    side: int,
    limits: Sequence[Plane] = (),
    part: Solid | None = None,
    printed: Printed | None = None,
) -> Solid | None:
    """Return what a flange adds to the piece on one side of its seam; see `flange_bodies`.

    Parameters
    ----------
    flange : Flange
    seam : Seam
    piece : Solid
    side : int
        1 for the piece above, -1 for the piece below.
    limits : sequence of Plane
        The flange stays below each of them.
    part : Solid, optional
        Stretches whose free edge would be outside of its convex hull are left out, and what else
        comes out of it is cut off.
    printed : Printed, optional
        How the piece prints; with the seam level by default.
    """
    stretches = stretches_of(flange.lines)
    if not stretches:
        return None
    slope = flange.slope_above if side > 0 else flange.slope_below
    heights = heights_of(flange, slope)
    corners = np.array([corner for line in flange.lines for corner in line])
    margin = 2.0 * (heights[-1] + flange.width)
    room = np.vstack([corners - margin, corners + margin])
    block = block_around(piece, seam.plane, room, heights[-1] + 2.0)
    if block.is_empty:
        return None
    near = _Side(seam, flange, side, slope, block, part, printed)
    parts = _parts(near, stretches, heights)
    if not parts:
        return None
    return _kept(near, parts, limits)


Part = tuple[Stretch, Solid, Floats]
"""A stretch, its solid and its section."""


def _parts(near: _Side, stretches: Sequence[Stretch], heights: tuple[float, ...]) -> list[Part]:
    """Return the solid of each stretch, rooted in the wall."""
    planned = _planned(near, stretches, heights[0])
    for height in heights[1:]:
        if any(section[-1, 1] >= heights[0] - _LOW for _, section, _ in planned):
            taller = _planned(near, stretches, height)
            planned = [
                more if less[1][-1, 1] >= heights[0] - _LOW else less
                for less, more in zip(planned, taller, strict=True)
            ]
    parts = []
    printed, plane = near.printed, near.seam.plane
    cuts = {} if printed is None else end_planes(stretches, planned, plane, printed)
    for number, (stretch, (back, section, width)) in enumerate(
        zip(stretches, planned, strict=True)
    ):
        if width > 2 * _BESIDE and section[:, 1].max() > _LOW:
            before, after = (
                None if at is None else (planned[at][0], stretches[at].normal)
                for at in (stretch.before, stretch.after)
            )
            corners = corners_of(stretch, section, back, before, after)
            if near.sticks_out(stretch, section):
                continue
            solid = _limited(near.solid(corners), cuts.get(number, ()))
            if solid is not None:
                parts.append((stretch, solid, section))
    return parts


def _planned(
    near: _Side, stretches: Sequence[Stretch], height: float
) -> list[tuple[Back, Floats, float]]:
    """Return back line, section and width of each stretch, as the wall is up to a height."""
    share = np.array(_STATIONS)[:, None]
    places = np.vstack([s.start + share * (s.end - s.start) for s in stretches])
    normals = np.repeat([s.normal for s in stretches], len(share), axis=0)
    walls = _measured(near, _levels(height), places, normals)
    rows = np.arange(len(places)).reshape(len(stretches), -1)
    found = []
    least = near.flange.thickness
    shape = near.seam.section.shape.buffer(_LOW)
    shapely.prepare(shape)
    backs = _filled([back_of(walls, row, least) for row in rows], height)
    for stretch, row, back in zip(stretches, rows, backs, strict=True):
        slope = near.slope_of(stretch)
        width = _free_width(near, walls, row, back.reach, slope, shape)
        found.append((back, profile(back, width, near.flange.thickness, slope), width))
    return found


def _measured(near: _Side, levels: Floats, places: Floats, normals: Floats) -> Walls:
    """Measure the wall at some heights, and at finer steps from where it was last met to its end.

    How high a flange can be depends on where the wall ends.
    """
    walls = walls_at(near.piece, near.seam.plane, near.side, levels, places, normals)
    last = np.unique(np.searchsorted(levels, walls.reach[np.isfinite(walls.reach)]))
    finer = [
        np.linspace(levels[at], levels[at + 1], _FINER + 2)[1:-1]
        for at in last.tolist()
        if at + 1 < len(levels)
    ]
    if not finer:
        return walls
    levels = np.unique(np.concatenate([levels, *finer]))
    return walls_at(near.piece, near.seam.plane, near.side, levels, places, normals)


def _filled(backs: list[Back | None], height: float) -> list[Back]:
    """Give stretches across ribs the back line of the nearest stretch on a wall."""
    known = {at: back for at, back in enumerate(backs) if back is not None}
    if not known:
        return [Back(-2 * _GRIP, 0.0, height)] * len(backs)
    return [known[min(known, key=lambda other: abs(other - at))] for at in range(len(backs))]


def _free_width(
    near: _Side, walls: Walls, row: Ints, reach: float, slope: float, shape: MultiPolygon
) -> float:
    """Return how wide a flange can be so that it comes out of nothing on its way, mm.

    But for a rib, behind which is a flange as well.
    """
    flange = near.flange
    over = np.maximum(walls.heights - flange.thickness, 0.0)
    receding = over * np.tan(np.radians(min(slope, 89.9)))
    width = flange.width
    for station in row:
        free, beyond = walls.free[station], walls.beyond[station]
        for at in np.flatnonzero(beyond < width - receding + _COVERED):
            depth = beyond[at] - free[at]
            inside = walls.places[station] + walls.normals[station] * (free[at] + 0.5 * depth)
            if walls.heights[at] <= reach and not _in_rib(walls, inside, shape):
                width = min(width, free[at] + min(_LAP * depth, _MOST_LAP) + receding[at])
    return float(width)


def _in_rib(walls: Walls, place: Floats, shape: MultiPolygon) -> bool:
    """Return whether a place (2,) is in a rib: in the material in front of a station in it."""
    feet = walls.places[walls.is_in_rib]
    ways = shapely.linestrings(np.stack([feet, np.broadcast_to(place, feet.shape)], axis=1))
    return bool(shapely.covers(shape, ways).any())


# -- what is kept --------------------------------------------------------------------------
def _kept(near: _Side, parts: list[Part], limits: Sequence[Plane]) -> Solid | None:
    """Return the parts as one, without what lies on the wrong side of the wall or loose."""
    seam = near.seam.plane.flipped() if near.side > 0 else near.seam.plane
    limits = (seam, *limits)
    whole = _limited(_united([solid for _, solid, _ in parts]), limits)
    if whole is None:
        return None
    heights = _LOW, 0.5 * near.flange.thickness, 0.9 * near.flange.thickness
    places = [(height, _places_beside(parts, height)) for height in heights]
    added = whole.difference(near.piece)
    bodies = [] if added.is_empty else added.bodies()
    good = [body for body in bodies if _belongs(near, body, places)]
    crumbs = [body for body in bodies if body not in good and body.volume > _DUST]
    if not good:
        return None
    if crumbs:
        freed = [_freed(near, solid, crumbs) for _, solid, _ in parts]
        left = [solid for solid in freed if solid is not None]
        whole = _limited(_united(left), limits) if left else None
    return None if whole is None else _in_hull(whole, near.part)


def _in_hull(whole: Solid, part: Solid | None) -> Solid | None:
    """Return what is inside of the part's hull; ends of leaning stretches may come out of it."""
    if part is None:
        return whole
    outside = whole.difference(part.hull)
    if outside.is_empty or outside.volume <= _DUST:
        return whole
    inside = whole.intersection(part.hull)
    return None if inside.is_empty else inside


def _united(solids: list[Solid]) -> Solid:
    return solids[0].union(*solids[1:]) if len(solids) > 1 else solids[0]


def _limited(solid: Solid, limits: Sequence[Plane]) -> Solid | None:
    """Return what lies below all of some planes."""
    left: Solid | None = solid
    for plane in limits:
        if left is not None:
            left = left.split(plane.shifted(-_RECESS))[0]
    return left


def _places_beside(parts: list[Part], height: float) -> Floats:
    """Return places in the flange beside the wall at a height over the seam, (n, 2) mm."""
    found = []
    for stretch, _, section in parts:
        (foot, _), (width, _), (_, rise), *_ = section
        lean = (section[-1, 0] - foot) / section[-1, 1]
        beside = max(foot + lean * height + ROOT, 0.0) + _BESIDE
        if height > rise or beside > width:
            continue
        for share in (0.1, 0.5, 0.9):
            place = stretch.start + share * (stretch.end - stretch.start)
            found += [place + out * stretch.normal for out in (beside, 0.5 * (beside + width))]
    return np.reshape(found, (-1, 2))


def _belongs(near: _Side, body: Solid, places: list[tuple[float, Floats]]) -> bool:
    """Return whether a body stands beside the line at one of some heights.

    Not only at the seam: in a cut along a rib it begins behind the rib.
    """
    if body.volume < _CRUMB:
        return False
    for height, beside in places:
        shape = body.section(near.seam.plane.shifted(near.side * height)).shape
        if shapely.contains_xy(shape, beside[:, 0], beside[:, 1]).any():
            return True
    return False


def _freed(near: _Side, solid: Solid, crumbs: list[Solid]) -> Solid | None:
    """Return the solid of a stretch without what it has of crumbs, and a little more."""
    touched = [crumb for crumb in crumbs if _boxes_meet(solid, crumb)]
    if not touched:
        return solid
    outside = solid.difference(near.piece)
    bodies = () if outside.is_empty else outside.bodies()
    taken = [
        _grown(body)
        for body in bodies
        if body.volume > _DUST and any(_is_part(body, crumb) for crumb in touched)
    ]
    if not taken:
        return solid
    left = solid.difference(*taken)
    return None if left.is_empty else left


def _grown(body: Solid) -> Solid:
    """Return the hull of a small body, made larger all round."""
    away = _GRIP * np.vstack([np.eye(3), -np.eye(3)])
    return Solid.hull_of((body.vertices[:, None, :] + away).reshape(-1, 3))


def _boxes_meet(one: Solid, other: Solid) -> bool:
    return bool(
        (one.bounds[0] <= other.bounds[1]).all() and (other.bounds[0] <= one.bounds[1]).all()
    )


def _is_part(body: Solid, crumb: Solid) -> bool:
    shared = body.intersection(crumb)
    return not shared.is_empty and shared.volume > 0.5 * body.volume
