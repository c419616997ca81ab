"""Where a flange goes: the stretches of a seam's outlines that nobody sees."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from splitplanner.arrays import Bools, Floats
from splitplanner.joint.flange.outlines import (
    SAME,
    Bit,
    area_of,
    hidden_bits,
    length_of,
    line_between,
    oriented,
    rings_of,
    sides_of,
)
from splitplanner.joint.flange.walls import walls_at
from splitplanner.plan import Seam
from splitplanner.plan.joints import Line
from splitplanner.solid import Section, Solid

SHORTEST = 5.0
"""Lines shorter than this hold nothing, mm (common practice, no source)."""
SIMPLER = 0.05
"""Lines run no further than this from the outline, mm."""
_BACK = 1.0
"""A line ends this much before the end of what is hidden, mm."""
_EDGE = 60.0
"""An outline that turns round the material by this, in degrees, within `_WITHIN` (mm) goes round an
edge: the end of a wall, say."""
_WITHIN = 3.0
_ASTRAY = 40.0
"""At the foot of a rib the wall goes on behind it, turned by less than this, degrees."""
_WIDEST_RIB = 3.0
"""Ribs up to so many rim widths thick are passed through."""
_THICKEST = 2.0
"""A wall has two sides when it is no thicker than so many rim widths."""
_STEP = 2.0
"""Lines are looked at in steps of this, mm."""
_FAR_STEP = 6.0
"""And in steps of this where sections are taken, mm."""
_NEAR = 0.5
"""A line this near to a place passes it, mm."""
_DEPTHS = np.array([0.02, 1.0, 2.0, 3.0, 4.0])
"""Heights over the seam at which the wall is looked for, mm."""
_FALL = 2.5
"""A surface that falls back by more than this on 1 mm is the back of a rib."""
_STRAIGHT = 0.1
"""Sides whose turn has a smaller sine go straight on."""
_DETOUR = 2.0
"""A rib's outline is longer than its foot by more than this, mm, or both feet are corners."""
_LEVEL = 0.01
"""mm."""


def flange_lines(
    seam: Seam, part: Solid, seen: Bools, width: float, shortest: float | None = None
) -> tuple[Line, ...]:
    """Return where the internal rim of a seam goes: along all of its outlines that are hidden.

    A stretch is hidden when it lies on faces of the part, none of which is on the good side. From
    this is left out

    * where a rim would stick out of the convex hull of the whole part's section, such as on the
      edge that a part stands on, or in a shell shallower than the rim is wide;
    * the ends of walls and ribs, between two edges, when they are no wider than three rims;
    * one side of a wall where both are hidden: that of a hole stays, else the longer line.

    Ribs up to three widths thick are passed through, from foot to foot, and what the rim has in
    common with the rib is the rib's. So a rib that stands out further than the rim divides it, and
    the rim runs up to it on both sides, square, which prints and makes the rib a gusset of the rim;
    a lower one is swallowed, and the rim goes on unbroken. Thicker ribs are followed along their
    flanks.

    A line ends 1 mm before what is hidden ends; where the outline turns there by less than 90°, so
    much earlier that the corner of the rim keeps that distance from the outline's next side. So a
    rim never wraps round onto the good side. Along other seams it ends so too, which leaves room
    for saw and file.

    Parameters
    ----------
    seam : Seam
    part : Solid
        The uncut part.
    seen : (m,) bool array
        Faces of the part on the good side.
    width : float
        Of the rim, mm.
    shortest : float, optional
        Shorter lines are dropped, mm; by default those shorter than wide, or than 5 mm.

    Returns
    -------
    tuple of lines
        Corners (u, v) in the plane, mm, no more than 0.05 mm from the outline, with the wall on
        their left. A closed line ends in its first corner.

    Raises
    ------
    ValueError
        If `seen` does not have one entry for each face of the part, or `width` is not above 0.
    """
    if len(seen) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(seen)}")
    if not width > 0:
        raise ValueError(f"a flange is wider than 0 mm, got {width}")
    seam = replace(seam, section=Section(seam.plane, oriented(seam)))
    shape = seam.section.shape.buffer(_LEVEL)
    hull = part.section(seam.plane).shape.convex_hull.buffer(_LEVEL)
    found: list[tuple[bool, float, Bit]] = []
    for starts, ends, hidden in rings_of(seam, part, seen):
        for bit in hidden_bits(starts, ends, hidden):
            for piece in _divided(_across_ribs(_simpler(bit), shape, width)):
                if not _is_end(piece, width):
                    found += [
                        (area_of(starts) > 0, -round(length_of(left.points), 3), left)
                        for left in _inside(piece, shape, hull, width)
                    ]
    kept: list[Bit] = []
    # Holes first, and the longer ones; what is on the other side of the same wall goes.
    for _, _, bit in sorted(found, key=lambda item: item[:2]):
        kept += _not_backed(bit, kept, shape, width)
    least = max(SHORTEST, width) if shortest is None else shortest
    lines = [_cut_back(on, width) for bit in kept for on in _on_wall(bit, seam, part)]
    return tuple(_as_line(points) for points in lines if length_of(points) >= least)


def _simpler(bit: Bit) -> Bit:
    lean = shapely.get_coordinates(LineString(bit.points).simplify(SIMPLER))
    return replace(bit, points=lean)


# -- ribs and edges ------------------------------------------------------------------------
def _across_ribs(bit: Bit, shape: MultiPolygon, width: float) -> Bit:
    """Replace the outlines of thin ribs by their feet, the longest way round first."""
    points = bit.points
    while len(points) > 3:
        found = _rib(points, shape, width)
        if found is None:
            break
        points = np.delete(points, np.arange(found[0] + 1, found[1]), axis=0)
    return replace(bit, points=points)


def _rib(points: Floats, shape: MultiPolygon, width: float) -> tuple[int, int] | None:
    """Return the two corners at the foot of a rib.

    The foot lies in the material, the wall goes on behind it, and the way round is longer.
    """
    steps = np.diff(points, axis=0)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(steps, axis=1))])
    inside = np.arange(1, len(points) - 1)
    first, last = (inside[index] for index in np.triu_indices(len(inside), 1))
    feet = points[last] - points[first]
    foot = np.hypot(*feet.T)
    detour = along[last] - along[first] - foot
    corner = np.concatenate([[0.0], _turns(steps[:-1], steps[1:])])
    is_sharp = (corner[first] < -_ASTRAY) & (corner[last] < -_ASTRAY)
    is_rib = (detour > _DETOUR) | (is_sharp & (detour > SIMPLER))
    some = np.flatnonzero((foot <= _WIDEST_RIB * width) & (foot > SAME) & is_rib)
    turns = np.stack(
        [_turns(steps[first[some] - 1], feet[some]), _turns(feet[some], steps[last[some]])]
    )
    some = some[(turns < _ASTRAY).all(axis=0)]
    for index in some[np.argsort(-detour[some], kind="stable")]:
        i, j = int(first[index]), int(last[index])
        # Round a rib the outline runs counter-clockwise, round a hollow it does not.
        if area_of(points[i : j + 1]) > 0 and shape.covers(LineString(points[[i, j]])):
            return i, j
    return None


def _turns(before: Floats, after: Floats) -> Floats:
    """Return by how much each way (n, 2) is turned to the left of another, (n,) degrees."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    result: Floats = np.degrees(np.arctan2(cross, np.einsum("ij,ij->i", before, after)))
    return result


def _divided(bit: Bit) -> list[Bit]:
    """Divide a line at the edges that it goes round."""
    points = bit.points
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    if len(points) < 3:
        return [bit]
    turns = np.zeros(len(points))
    turns[1:-1] = _turns(steps[:-1], steps[1:])
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    until = np.searchsorted(along, along + _WITHIN, side="right")
    total = np.concatenate([[0.0], np.cumsum(turns)])
    sharp = np.zeros(len(points), dtype=np.bool_)
    for start, stop in enumerate(until):
        inside = turns[start:stop] > 0
        if turns[start] > 0 and total[stop] - total[start] >= _EDGE:
            sharp[start:stop] |= inside
    at = np.flatnonzero(sharp)
    if not len(at):
        return [bit]
    stops = [0, *at.tolist(), len(points) - 1]
    bits = []
    for number, (start, stop) in enumerate(itertools.pairwise(stops)):
        before = bit.before if number == 0 else _sum_near(turns, along, start)
        after = bit.after if number == len(stops) - 2 else _sum_near(turns, along, stop)
        bits.append(Bit(points[start : stop + 1], before, after))
    if bit.is_closed and len(bits) > 1:
        # It was begun somewhere: the first and the last are one.
        last = bits.pop()
        around = np.vstack([last.points[:-1], bits[0].points[1:]])
        bits[0] = Bit(around, last.before, bits[0].after)
    return bits


def _sum_near(turns: Floats, along: Floats, at: int) -> float:
    near = np.abs(along - along[at]) <= _WITHIN
    return float(turns[near & (turns > 0)].sum())


def _is_end(bit: Bit, width: float) -> bool:
    """Return whether a line is the end of a wall or a rib: an edge at both ends, and short."""
    is_short = length_of(bit.points) <= _WIDEST_RIB * width
    return is_short and min(bit.before, bit.after) >= _EDGE and not bit.is_closed


def _inside(bit: Bit, shape: MultiPolygon, hull: Polygon, width: float) -> list[Bit]:
    """Return what is left of a line where a rim on it, up to what is in its way, is in a hull."""
    fine = shapely.get_coordinates(shapely.segmentize(LineString(bit.points), _STEP))
    middles, normals, _ = sides_of(fine)
    across = np.stack([middles + 2 * SIMPLER * normals, middles + width * normals], axis=1)
    met = shapely.intersection(shapely.linestrings(across), shape)
    away = shapely.distance(met, shapely.points(middles))
    away = np.where(np.isnan(away), width, away)[:, None]
    across = np.stack([middles, middles + away * normals], axis=1)
    return _chosen(bit, fine, shapely.covers(hull, shapely.linestrings(across)))


def _not_backed(bit: Bit, kept: Sequence[Bit], shape: MultiPolygon, width: float) -> list[Bit]:
    """Return what is left of a line where none of those kept is on the wall's other side."""
    if not kept:
        return [bit]
    rims = shapely.union_all([LineString(other.points) for other in kept])
    fine = shapely.get_coordinates(shapely.segmentize(LineString(bit.points), _STEP))
    middles, normals, _ = sides_of(fine)
    into = np.stack([middles, middles - _THICKEST * width * normals], axis=1)
    away = shapely.distance(
        shapely.difference(shapely.linestrings(into), shape), shapely.points(middles)
    )
    # Where the ray does not leave the wall again there is no other side.
    through = np.isfinite(away)
    exits = middles - np.where(through, away, 0.0)[:, None] * normals
    backed = through & (shapely.distance(shapely.points(exits), rims) <= _NEAR)
    return _chosen(bit, fine, ~backed)


def _chosen(bit: Bit, fine: Floats, good: Bools) -> list[Bit]:
    """Return the stretches of a line, given by its corners (n, 2), that consist of good sides.

    Parameters
    ----------
    good : (n - 1,) bool array
    """
    if good.all():
        return [bit]
    if bit.is_closed and good[0] and good[-1]:
        at = int(np.argmin(good))
        fine, good = np.vstack([fine[at:], fine[1 : at + 1]]), np.roll(good, -at)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(np.int64)))
    return [
        Bit(
            shapely.get_coordinates(LineString(fine[a : b + 1]).simplify(SIMPLER)),
            bit.before if a == 0 else 0.0,
            bit.after if b == len(good) else 0.0,
        )
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]


# -- cuts along ribs -----------------------------------------------------------------------
def _on_wall(bit: Bit, seam: Seam, part: Solid) -> list[Bit]:
    """Move a line to the wall if the cut goes along a rib, which ends just behind the seam.

    What does not go along with most of it then, where the rib meets something else, is left out.
    """
    fine = [
        shapely.get_coordinates(shapely.segmentize(LineString(ends), _FAR_STEP))
        for ends in itertools.pairwise(bit.points)
    ]
    sides = [sides_of(points) for points in fine]
    middles, normals = (np.vstack([side[k] for side in sides]) for k in (0, 1))
    owners = np.repeat(np.arange(len(fine)), [len(side[2]) for side in sides])
    moves = _moves(middles, normals, seam, part)
    if (moves < 0).mean() < 0.5:
        return [bit]
    usual = float(np.median(moves[moves < 0]))
    along = np.array([np.median(moves[owners == at]) for at in range(len(fine))])
    good = np.abs(along - usual) <= _FALL
    _, straight, _ = sides_of(bit.points)
    moved = _offset(bit, straight, np.where(good, along, usual))
    return _chosen(replace(bit, points=moved), moved, good)


def _moves(middles: Floats, normals: Floats, seam: Seam, part: Solid) -> Floats:
    """Return how far the surface falls back behind the seam at some places, (n,) mm, 0 or less."""
    moves = np.zeros(len(middles))
    for side in (-1, 1):
        near = walls_at(part, seam.plane, side, _DEPTHS, middles, normals, past_falls=True).near
        falls = np.diff(near, axis=1) < -_FALL * np.diff(_DEPTHS)
        has_fallen = falls.any(axis=1)
        after = near[np.arange(len(near)), 1 + np.argmax(falls, axis=1)]
        moves[has_fallen] = np.minimum(moves, after)[has_fallen]
    return moves


def _offset(bit: Bit, normals: Floats, moves: Floats) -> Floats:
    """Return the corners (n, 2) of a line whose sides were each moved along its normal."""
    count = len(normals)
    corners = []
    for at, corner in enumerate(bit.points):
        before, after = at - 1, at
        if at in (0, count):
            before, after = (count - 1, 0) if bit.is_closed else (min(at, count - 1),) * 2
        both = normals[[before, after]]
        if abs(np.linalg.det(both)) > _STRAIGHT:
            corners.append(corner + np.linalg.solve(both, moves[[before, after]]))
        else:
            corners.append(corner + normals[after] * moves[[before, after]].mean())
    return np.array(corners)


# -- ends ----------------------------------------------------------------------------------
def _cut_back(bit: Bit, width: float) -> Floats:
    """Return the corners of a line that ends a little early, (n, 2); none if nothing is left."""
    if bit.is_closed:
        return bit.points
    length = length_of(bit.points)
    low, high = _needed(bit.before, width), length - _needed(bit.after, width)
    if high - low <= SAME:
        return np.empty((0, 2))
    return line_between(bit.points, low, high)


def _needed(turn: float, width: float) -> float:
    """Return how much earlier than the outline a rim ends before a turn to the left, mm."""
    angle = np.radians(np.clip(turn, 0.0, 180.0))
    if angle < np.radians(_ASTRAY) or angle >= 0.5 * np.pi:
        return _BACK
    return _BACK + width / float(np.tan(angle))


def _as_line(points: Floats) -> Line:
    return tuple((float(u), float(v)) for u, v in points)
