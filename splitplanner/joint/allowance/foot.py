"""A chamfer along the outline on which a piece lies on the bed: its first layers spread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.score.overhang import CONTACT
from splitplanner.solid import Solid

_STEEPEST = 60.0
"""A wall that leans by more than this, degrees from vertical, gets no chamfer: a round bottom has
its own, and an edge as sharp as that would be taken away."""
_LEAST = 0.02
"""A chamfer that is narrower than this is left out, mm."""
_BEYOND = 0.02
"""How far what is taken off reaches out of the piece, mm."""
_MITRE = 3.0
"""At a corner the chamfer goes no further than so many widths."""
_STRAIGHT = 0.9999
"""Cosine of the turn from which on two sides count as one."""
_SHORT = 1e-3
"""Corners that a side no longer than this joins are one, mm."""
_ASIDE = 2e-3
"""Corners no further than this from a straight line lie on it, mm."""
_BENT = 0.99
"""Cosine of the turn from which on a run of sides ends."""
_DUST = 1e-3
"""A body of less than this is rounding, mm³."""
_SAMPLES = np.array([0.02, 0.25, 0.5, 0.75, 0.98])
"""Where along a side the width across is looked at."""


@dataclass(frozen=True, eq=False)
class _Sides:
    """Straight sides of the outline on the bed, in its plan.

    Attributes
    ----------
    ends : (n, 2, 2) float array, mm
    corners : (n, 2) int array
        Vertices of the solid at the ends.
    inward : (n, 2) float array
        Unit vectors square to each side, into the piece.
    lean : (n,) float array
        How far the wall over each side goes outward for each mm that it goes up.
    wide : (n,) float array, mm
        Width of the chamfer there.
    """

    ends: Floats
    corners: Ints
    inward: Floats
    lean: Floats
    wide: Floats

    def only(self, some: Bools) -> _Sides:
        """Return some of the sides."""
        return _Sides(
            self.ends[some], self.corners[some], self.inward[some], self.lean[some], self.wide[some]
        )


def with_foot(solid: Solid, width: float, height: float, line_width: float) -> Solid:
    """Return a piece that lies on the bed with a chamfer along the outline of its contact.

    At the bed the outline moves into the piece by `width`, at `height` not at all, and evenly
    between, so that each first layer is as much smaller as it spreads; holes are wider by it. Walls
    that lean keep their lean above it. Where a piece is so thin that less than two lines would be
    left of it on the bed, the chamfer is narrower, or there is none.
    Common practice, no source.

    Parameters
    ----------
    solid : Solid
        Lying on the bed: z is up, and its lowest point at 0.
    width, height : float
        Of the chamfer, mm; the solid itself where one of them is 0.
    line_width : float
        mm.
    """
    if min(width, height) <= 0.0:
        return solid
    sides = _sides(solid, width, line_width)
    if not len(sides.ends):
        return solid
    tools = [Solid.hull_of(points) for points in _tools(sides, height)]
    # What goes away below the bed is nothing: the tools are made longer for clean cuts.
    bodies = solid.difference(tools[0].union(*tools[1:])).bodies()
    whole = [body for body in bodies if body.volume > _DUST]
    return whole[0].union(*whole[1:]) if whole else solid


def _sides(solid: Solid, width: float, line_width: float) -> _Sides:
    """Return the sides of the outline on the bed that get a chamfer."""
    low: Bools = solid.vertices[:, 2] <= float(solid.bounds[0, 2]) + CONTACT
    # Whichever way they look: slivers of rounding between faces on the bed are no outline.
    first, second, third = solid.faces.T
    resting = low[first] & low[second] & low[third]
    face, side = np.nonzero(resting[:, None] & ~resting[solid.neighbours])
    beyond = solid.face_normals[solid.neighbours[face, side]]
    # Seen from above, the piece is on the right of a side of a face that looks down.
    corners = np.stack([solid.faces[face, side], solid.faces[face, (side + 1) % 3]], axis=1)
    corners = _as_one(solid, corners)
    ends = solid.vertices[corners][:, :, :2]
    along = ends[:, 1] - ends[:, 0]
    length = np.maximum(np.linalg.norm(along, axis=1), 1e-300)
    inward = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, None]
    out = -np.einsum("ij,ij->i", beyond[:, :2], inward)
    lean = np.divide(-beyond[:, 2], out, np.full(len(out), np.inf), where=out > 1e-6)
    sides = _Sides(ends, corners, inward, lean, np.full(len(ends), width))
    steepest = np.tan(np.radians(_STEEPEST))
    sides = sides.only((length > _SHORT) & (np.abs(lean) <= steepest))
    if not len(sides.ends):
        return sides
    # All sides, those without a chamfer too, may be what is across.
    across = _across(sides, ends, 2 * width + line_width)
    wide = np.minimum(width, (across - line_width) / 2)
    return _straightened(replace(sides, wide=wide).only(wide >= _LEAST))


def _as_one(solid: Solid, corners: Ints) -> Ints:
    """Return the corners (n, 2) of sides, with one for all that lie in one place of the plan."""
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import KDTree

    known, which = np.unique(corners, return_inverse=True)
    near = KDTree(solid.vertices[known, :2]).query_pairs(_SHORT, output_type="ndarray")
    links = coo_array((np.ones(len(near)), (near[:, 0], near[:, 1])), shape=(len(known),) * 2)
    _, group = connected_components(links, directed=False)
    _, first = np.unique(group, return_index=True)
    result: Ints = known[first[group[which]]].reshape(corners.shape)
    return result


def _straightened(sides: _Sides) -> _Sides:
    """Return sides with those as one that go on nearly straight, under the same wall."""
    following = _following(sides)
    begins = np.ones(len(following), dtype=np.bool_)
    begins[following[following >= 0]] = False
    left = np.ones(len(following), dtype=np.bool_)
    runs: list[tuple[int, int]] = []
    # Outlines that are closed begin anywhere.
    for start in (*np.flatnonzero(begins).tolist(), *range(len(following))):
        run = [start]
        while run[-1] >= 0 and left[run[-1]]:
            left[run[-1]] = False
            after = int(following[run[-1]])
            if after < 0 or not left[after] or not _goes_on(sides, run, after):
                runs.append((run[0], run[-1]))
                run = []
            run.append(after)
    one, other = np.reshape(runs, (-1, 2)).T
    ends = np.stack([sides.ends[one, 0], sides.ends[other, 1]], axis=1)
    along = ends[:, 1] - ends[:, 0]
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    inward = np.stack([along[:, 1], -along[:, 0]], axis=1)
    corners = np.stack([sides.corners[one, 0], sides.corners[other, 1]], axis=1)
    return _Sides(ends, corners, inward, sides.lean[one], sides.wide[one])


def _goes_on(sides: _Sides, run: list[int], after: int) -> bool:
    """Return whether a run of sides may take one more: all its corners stay near to its chord."""
    first = run[0]
    alike = abs(sides.lean[first] - sides.lean[after]) < 1e-3
    if not alike or abs(sides.wide[first] - sides.wide[after]) > 1e-3:
        return False
    start, end = sides.ends[first, 0], sides.ends[after, 1]
    chord = end - start
    length = float(np.hypot(*chord))
    corners = sides.ends[run, 1] - start
    off = float(np.abs(chord[0] * corners[:, 1] - chord[1] * corners[:, 0]).max())
    ahead = float(sides.inward[first] @ sides.inward[after])
    return off <= _ASIDE * length and ahead > _BENT


def _across(sides: _Sides, ends: Floats, most: float) -> Floats:
    """Return how wide the contact is square to each side, where it is narrowest, (n,) mm.

    No more than `most` is looked at; `ends` (m, 2, 2) are those of the whole outline.
    """
    along = sides.ends[:, 1] - sides.ends[:, 0]
    starts = sides.ends[:, :1] + _SAMPLES[:, None] * along[:, None]
    reach = sides.inward[:, None]
    rays = shapely.linestrings(np.stack([starts + 1e-4 * reach, starts + most * reach], axis=2))
    rays = rays.ravel()
    outline = shapely.linestrings(ends)
    ray, met = shapely.STRtree(outline).query(rays, predicate="intersects")
    points = shapely.points(starts.reshape(-1, 2)[ray])
    away = shapely.distance(points, shapely.intersection(rays[ray], outline[met]))
    nearest = np.full(len(rays), most)
    np.minimum.at(nearest, ray, away)
    narrowest: Floats = nearest.reshape(starts.shape[:2]).min(axis=1)
    return narrowest


def _tools(sides: _Sides, height: float) -> Iterator[Floats]:
    """Yield the corners (k, 3) mm of convex bodies that together are what is taken off.

    One for each side; where two meet their bodies have one face.
    """
    following = _following(sides)
    before = np.full(len(following), -1)
    before[following[following >= 0]] = np.flatnonzero(following >= 0)
    for index in range(len(sides.ends)):
        one = _profile(sides, index, int(before[index]), 0, height)
        other = _profile(sides, index, int(following[index]), 1, height)
        yield np.concatenate([one, other])


def _following(sides: _Sides) -> Ints:
    """Return which side goes on where each ends, (n,); -1 where none does, or several may."""
    starts, ends = sides.corners.T
    found = np.full(len(starts), -1)
    order = np.argsort(starts, kind="stable")
    at = np.searchsorted(starts[order], ends)
    at = np.minimum(at, len(order) - 1)
    single = (np.bincount(starts)[starts] == 1)[order[at]]
    lone = np.bincount(ends)[ends] == 1
    meets = (starts[order[at]] == ends) & single & lone
    found[meets] = order[at[meets]]
    return found


def _profile(sides: _Sides, index: int, other: int, end: int, height: float) -> Floats:
    """Return the outline (5, 3) mm of what is taken off at one end of a side."""
    # In one order, so that both sides get the same numbers.
    both = sorted((index, other if other >= 0 else index))
    normals, lean = sides.inward[both], sides.lean[both]
    wide = float(sides.wide[both].min())
    wall = -lean * height
    corner = sides.ends[index, end]
    if other < 0:
        # What ends alone overlaps what may begin there, so that no film is left between the two.
        along = np.array([-sides.inward[index, 1], sides.inward[index, 0]])
        corner = corner + along * (5.0 * _SHORT if end else -5.0 * _SHORT)
    inside, top = _offset(normals, np.full(2, wide)), _offset(normals, wall)
    outside = _offset(normals, wall - _BEYOND), _offset(normals, np.full(2, -_BEYOND))
    plan = corner + np.array([inside, inside, top, *outside])
    return np.column_stack([plan, [-_BEYOND, 0.0, height, height, -_BEYOND]])


def _offset(normals: Floats, by: Floats) -> Floats:
    """Return how far a corner moves, (2,) mm, when its two sides move `by` (2,) mm inward."""
    middle: Floats = normals.sum(axis=0)
    cosine = float(normals[0] @ normals[1])
    if cosine > _STRAIGHT:
        # Nearly one side: what differs in them would be far along it.
        result: Floats = middle * float(by.mean()) / (1.0 + cosine)
        return result
    sharp = 1.0 - cosine**2
    if sharp < 1e-9:
        result = normals[0] * float(by.mean())
        return result
    factors = np.array([by[0] - cosine * by[1], by[1] - cosine * by[0]]) / sharp
    moved: Floats = factors @ normals
    length = float(np.linalg.norm(moved))
    return moved * min(1.0, _MITRE * float(np.abs(by).max()) / max(length, 1e-300))
