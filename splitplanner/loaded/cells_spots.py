"""Places on pieces in cells as points: spots that forces press on, and what supports touch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.solid import Section, Solid, frame_of

SPOT = 20.0
"""Diameter of the round spot on which a force presses, mm."""
_REST = 5.0
"""A support touches what of the outline is no further than this behind its outermost point, mm."""
_STEP = 4.0
"""Longest stretch of an outline that two points stand for, mm."""
_GAUSS = 0.5 / math.sqrt(3.0)
"""How far these two are beside its middle, as a share of it."""
_RINGS = (0.0, 0.35, 0.65, 0.9)
"""Rings of a spot from which rays go out, by its radius."""
_FEW = 6
"""So many points aid in place of one that is held as a whole."""
_NEAR = 1e-9
_LEVEL = 1e-6
"""Faces of pieces no further apart along a ray are met alike, mm."""


@dataclass(frozen=True, eq=False)
class Spot:
    """Points of one piece that stand for a place.

    Attributes
    ----------
    piece : int
    points : (k, 3) float array, mm
    weights : (k,) float array
        Areas or lengths that they stand for.
    """

    piece: int
    points: Floats
    weights: Floats


def spot_under(
    solids: Sequence[Solid], at: Floats, force: Floats, frame: Floats | None = None
) -> list[Spot]:
    """Return the round spot on which a force presses along a line through a point.

    Rays along the force, from outside, mark where they first meet a piece; what lies more than
    the spot's diameter behind the middle ray's place is another wall and is left out. A middle ray
    that passes through a hole or the room for glue in a seam counts as those round it.

    Parameters
    ----------
    solids : sequence of Solid
    at, force : (3,) float array
    frame : (3, 3) float array, optional
        Rows u, v and n, which is along the force: rings of rays begin along u.

    Returns
    -------
    list of Spot
        Empty where the middle ray meets nothing, and more than half of those round it either.
    """
    frame = frame_of(force) if frame is None else frame
    turns = [(0.0, 1)] + [(r, max(6, round(16 * r))) for r in _RINGS[1:]]
    flat = np.vstack(
        [
            SPOT / 2.0 * r * np.stack([np.cos(a), np.sin(a)], axis=1)
            for r, n in turns
            for a in [2.0 * np.pi * np.arange(n) / n]
        ]
    )
    depths = np.full((len(solids), len(flat)), np.inf)
    for index, solid in enumerate(solids):
        depths[index] = _first(solid, frame, at, flat)
    depth = depths.min(axis=0)
    first = float(depth[0])
    if not np.isfinite(first):
        ring = depth[1 : 1 + turns[1][1]]
        if 2 * np.isfinite(ring).sum() < len(ring):
            return []
        first = float(ring.min())
    met = np.abs(depth - first) <= SPOT
    depth = np.where(met, depth, first)
    points = at + flat @ frame[:2] + depth[:, None] * frame[2]
    # A ray that goes down a cut meets the pieces on either side of it.
    owned = met & (depths <= depth + _LEVEL)
    weights = 1.0 / np.maximum(owned.sum(axis=0), 1)
    return [
        Spot(index, points[mine], weights[mine]) for index, mine in enumerate(owned) if mine.any()
    ]


def _first(solid: Solid, frame: Floats, at: Floats, flat: Floats) -> Floats:
    """Return how far along the ray each first meets a solid, (n,) mm from `at`; inf for never."""
    own = (solid.vertices - at) @ frame.T
    corners = own[solid.faces]
    low, high = corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)
    near = ((low <= SPOT) & (high >= -SPOT)).all(axis=1)
    corners = corners[near]
    found = np.full(len(flat), np.inf)
    a, b, c = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    some = np.abs(twice) > _NEAR
    a, b, c, twice = a[some], b[some], c[some], twice[some]
    for index, ray in enumerate(flat):
        off = ray - a[:, :2]
        s = (off[:, 0] * c[:, 1] - off[:, 1] * c[:, 0]) / twice
        t = (b[:, 0] * off[:, 1] - b[:, 1] * off[:, 0]) / twice
        hit = (s >= -_NEAR) & (t >= -_NEAR) & (s + t <= 1.0 + _NEAR)
        if hit.any():
            found[index] = float((a[hit, 2] + s[hit] * b[hit, 2] + t[hit] * c[hit, 2]).min())
    return found


def outline_of(section: Section) -> Floats:
    """Return the outline of a section as straight lines, (n, 2, 3) mm."""
    rings = [shapely.get_coordinates(each) for each in shapely.get_parts(section.shape.boundary)]
    lines = np.vstack([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    found: Floats = section.plane.to_space(lines.reshape(-1, 2)).reshape(-1, 2, 3)
    return found


def touched(outlines: Sequence[Floats], push: Floats) -> list[Floats]:
    """Return what of outlines (n, 2, 3) a support touches that pushes one way.

    Lines are cut where it ends: however they are divided, the same of them counts.
    """
    lowest = min(float((each @ push).min()) for each in outlines)
    found = []
    for lines in outlines:
        heights = lines @ push - lowest - _REST
        some = heights.min(axis=1) < 0.0
        lines, heights = lines[some], heights[some]
        above = heights > 0.0
        # An end that is above goes so much of the way to the other one.
        way = heights / np.where(above, heights - heights[:, ::-1], 1.0)
        moved = np.where(above, way, 0.0)[:, :, None]
        found.append(lines + moved * (lines[:, ::-1] - lines))
    return found


def along_lines(outlines: Sequence[Floats], pieces: Sequence[int]) -> list[Spot]:
    """Return points that stand for outlines (n, 2, 3) of pieces, weighted by length.

    Two of Gauss and Legendre's on each stretch: exact to degree 3, wherever a line is divided.
    """
    spots = []
    for lines, piece in zip(outlines, pieces, strict=True):
        length = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1)
        lines, length = lines[length > _NEAR], length[length > _NEAR]
        if not len(lines):
            continue
        count = np.ceil(length / _STEP).astype(np.int64)
        line = np.repeat(np.arange(len(lines)), count)
        first = np.repeat(np.cumsum(count) - count, count)
        middle = np.arange(len(line)) - first + 0.5
        shares = np.concatenate([middle - _GAUSS, middle + _GAUSS]) / np.tile(count[line], 2)
        line = np.tile(line, 2)
        points = lines[line, 0] + shares[:, None] * (lines[line, 1] - lines[line, 0])
        spots.append(Spot(piece, points, 0.5 * length[line] / count[line]))
    return spots


def fewer(spots: Sequence[Spot]) -> list[Spot]:
    """Return some of the points of a place, evenly spread and alike in weight.

    What is held as a whole ties all freedoms of its points to each other: many of them would fill
    factors. Few do where only something like it is wanted: they are not alike left and right.
    """
    points = np.vstack([s.points for s in spots])
    piece = np.repeat([s.piece for s in spots], [len(s.points) for s in spots])
    reached = np.cumsum(np.concatenate([s.weights for s in spots]))
    wanted = (np.arange(_FEW) + 0.5) * reached[-1] / _FEW
    some = np.unique(np.searchsorted(reached, wanted))
    return [
        Spot(int(each), points[own], np.full(len(own), reached[-1] / len(some)))
        for each in np.unique(piece[some])
        if len(own := some[piece[some] == each])
    ]


def weight_of(spots: Sequence[Spot]) -> float:
    """Return the weight of all points together."""
    return float(sum(s.weights.sum() for s in spots))


def inertia_of(spots: Sequence[Spot]) -> tuple[Floats, Floats]:
    """Return the middle of points (3,) mm and their inertia about it (3, 3)."""
    points = np.vstack([s.points for s in spots])
    weights = np.concatenate([s.weights for s in spots])
    middle = weights @ points / weights.sum()
    off = points - middle
    second = (weights[:, None] * off).T @ off
    return middle, np.trace(second) * np.eye(3) - second


def row_of(values: Any) -> Any:
    """Return an array as a sparse one, (r, n); of one row if it is flat."""
    from scipy.sparse import csr_array

    return csr_array(np.atleast_2d(values))
