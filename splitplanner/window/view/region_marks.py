"""Outlines and names of keep-out regions and must-cut planes, to be drawn over the view."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, to_vector
from splitplanner.score import KeepOutBox, KeepOutFaces, KeepOutSphere, Region, Wishes
from splitplanner.solid import Plane, Solid, frame_of
from splitplanner.window.view.values import Mark, Outline
from splitplanner.window.wishing.painting import KEEP_OUT_COLOUR

MUST_CUT_COLOUR = "#CC79A7"
"""Okabe & Ito (2008): reddish purple, which no piece's neighbour and no fit has here."""
_ROUND = 72
"""Corners of a circle."""
_OVER = 0.04
"""How far a must-cut plane is drawn beyond the part, as a share of the part's size."""
_WIDTH = 2.0
_CHOSEN_WIDTH = 4.0
_CORNERS = np.array([[(k >> axis) & 1 for axis in range(3)] for k in range(8)])
"""Of a box from 0 to 1."""
_EDGES = [(a, b) for a, b in combinations(range(8), 2) if (a ^ b) in (1, 2, 4)]


def box_outlines(box: KeepOutBox) -> list[Floats]:
    """Return the edges of a box, mm: two sides as closed lines (5, 3), four edges (2, 3)."""
    low, high = np.asarray(box.low, float), np.asarray(box.high, float)
    corners = low + _CORNERS * (high - low)
    rounds = [corners[[0, 1, 3, 2, 0]], corners[[4, 5, 7, 6, 4]]]
    return rounds + [corners[[k, k + 4]] for k in range(4)]


def sphere_outlines(sphere: KeepOutSphere) -> list[Floats]:
    """Return three great circles of a ball, square to the axes, closed lines (n, 3), mm."""
    turn = np.linspace(0.0, 2.0 * np.pi, _ROUND + 1)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    circle[-1] = circle[0]
    centre = np.asarray(sphere.centre, float)
    return [
        centre + sphere.radius * circle @ frame_of(axis)[:2]
        for axis in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    ]


def plane_outline(plane: Plane, bounds: ArrayLike) -> Floats:
    """Return where a plane passes through the box around the part, a closed line (n, 3), mm.

    Parameters
    ----------
    plane : Plane
    bounds : (2, 3) array, mm
        Of the part; the line is drawn a little outside of it. Empty where the plane misses it.
    """
    low, high = np.asarray(bounds, float)
    over = _OVER * float(np.linalg.norm(high - low))
    corners = low - over + _CORNERS * (high - low + 2.0 * over)
    height = plane.height(corners)
    ends = [
        corners[a] + (corners[b] - corners[a]) * height[a] / (height[a] - height[b])
        for a, b in _EDGES
        if (height[a] < 0.0) != (height[b] < 0.0)
    ]
    if len(ends) < 3:
        return np.empty((0, 3))
    found = np.array(ends)
    # A plane and a box meet in a convex polygon: its corners go round its middle.
    flat = plane.to_plane(found - found.mean(axis=0))
    ring = found[np.argsort(np.arctan2(flat[:, 1], flat[:, 0]))]
    return np.vstack([ring, ring[:1]])


def rims(part: Solid, faces: ArrayLike) -> list[Floats]:
    """Return the lines around painted faces (k,), closed where they close, (n, 3) each, mm."""
    inside = np.zeros(len(part.faces), dtype=np.bool_)
    inside[np.asarray(faces, dtype=np.int64)] = True
    own = np.flatnonzero(inside)
    face, side = np.nonzero(~inside[part.neighbours[own]])
    corners = part.faces[own[face]]
    row = np.arange(len(side))
    starts, ends = corners[row, side].tolist(), corners[row, (side + 1) % 3].tolist()
    onward: dict[int, list[int]] = {}
    for start, end in zip(starts, ends, strict=True):
        onward.setdefault(start, []).append(end)
    lines = []
    for first in starts:
        # As many lines leave a corner as reach it, so each walk ends where it began.
        walk = [first]
        while onward.get(walk[-1]):
            walk.append(onward[walk[-1]].pop())
        if len(walk) > 1:
            lines.append(part.vertices[walk])
    return lines


def region_outlines(region: Region, part: Solid | None = None) -> list[Floats]:
    """Return the lines of a keep-out region, (n, 3) each, mm; of painted faces only with `part`."""
    if isinstance(region, KeepOutBox):
        return box_outlines(region)
    if isinstance(region, KeepOutSphere):
        return sphere_outlines(region)
    return [] if part is None else rims(part, _existing(region, part))


def wish_outlines(
    wishes: Wishes, bounds: ArrayLike, part: Solid | None = None, chosen: int = -1
) -> list[Outline]:
    """Return the lines of all keep-out regions and must-cut planes as the view draws them.

    Parameters
    ----------
    wishes : Wishes
    bounds : (2, 3) array, mm
        Of the part.
    part : Solid or None
        For the rims of painted faces.
    chosen : int
        The region that is drawn with bolder lines; -1 for none.
    """
    found = []
    for number, region in enumerate(wishes.keep_out):
        width = _CHOSEN_WIDTH if number == chosen else _WIDTH
        lines = region_outlines(region, part)
        found += [Outline(line, KEEP_OUT_COLOUR, width) for line in lines]
    for plane in wishes.must_cut:
        line = plane_outline(plane, bounds)
        if len(line):
            found.append(Outline(line, MUST_CUT_COLOUR, _WIDTH))
    return found


def wish_marks(wishes: Wishes, bounds: ArrayLike, part: Solid | None = None) -> list[Mark]:
    """Return the names of all keep-out regions and must-cut planes, each at a place on it.

    They are numbered as in the lists and in what is said of a plan that breaks them, so none has
    to be told by its colour.
    """
    found = []
    for number, region in enumerate(wishes.keep_out, 1):
        at = _name_place(region, part)
        if at is not None:
            found.append(Mark(to_vector(at), f"keep out {number}", KEEP_OUT_COLOUR, False))
    for number, plane in enumerate(wishes.must_cut, 1):
        line = plane_outline(plane, bounds)
        if len(line):
            # A corner: the middle is inside the part.
            at = line[int(np.argmax(line @ (1.0, 1.0, 2.0)))]
            found.append(Mark(to_vector(at), f"must cut {number}", MUST_CUT_COLOUR, False))
    return found


def _name_place(region: Region, part: Solid | None) -> Floats | None:
    if isinstance(region, KeepOutBox):
        return np.asarray(region.high, float)
    if isinstance(region, KeepOutSphere):
        top: Floats = np.add(region.centre, (0.0, 0.0, region.radius))
        return top
    faces = [] if part is None else _existing(region, part)
    if part is None or not len(faces):
        return None
    # The middle of the largest face, which is on the surface where that of all need not be.
    corners = part.vertices[part.faces[faces]]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    place: Floats = corners[int(np.argmax(np.linalg.norm(across, axis=1)))].mean(axis=0)
    return place


def _existing(region: KeepOutFaces, part: Solid) -> list[int]:
    return [face for face in region.faces if 0 <= face < len(part.faces)]
