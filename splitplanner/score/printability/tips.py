"""Places where a print begins in mid-air, as a point or as an edge."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, unit_vector
from splitplanner.plan import Vector
from splitplanner.score.overhang import CONTACT
from splitplanner.solid import Plane, Solid

SHARP = 4.0
"""What begins with less than a dot so many lines wide is sharp (common practice, no source)."""
_LEVEL = 1e-6
"""Corners whose height differs by no more than this share of the size are at one height."""


@dataclass(frozen=True)
class Tip:
    """A lowest place that hangs free.

    Attributes
    ----------
    at : (x, y, z)
        In the part's frame, mm.
    height : float
        Over the bed, mm.
    area : float
        Of its first layer, at half its height, mm².
    is_sharp : bool
        Whether that is narrower than a line, or smaller than a dot of `SHARP` lines.
    """

    at: Vector
    height: float
    area: float
    is_sharp: bool


def hanging_tips(
    solid: Solid, up: ArrayLike, layer_height: float, line_width: float
) -> tuple[Tip, ...]:
    """Return where a print begins in mid-air, the sharpest first.

    A place is a tip when all of the surface near it is higher, there is material over it, and it
    stays on its own for the height of a layer at least; what is lower by less is the roughness of a
    mesh. The lowest place of all, and whatever lies on the bed with it, is none.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    layer_height, line_width : float
        mm.
    """
    direction = unit_vector(up)
    heights = solid.vertices @ direction
    heights = heights - heights.min()
    tips = _lowest(solid, direction, heights, layer_height)
    if not len(tips):
        return ()
    base = Plane.through((0.0, 0.0, 0.0), direction)
    low = float((solid.vertices @ direction).min())
    found = []
    middles = low + heights[tips] + layer_height / 2.0
    for vertex, section in zip(tips, solid.sections(base, middles), strict=True):
        place = shapely.Point(*section.plane.to_plane(solid.vertices[vertex][None])[0])
        if section.is_empty:
            continue
        layer = min(section.polygons, key=place.distance)
        x, y, z = solid.vertices[vertex].tolist()
        dot = math.pi / 4.0 * (SHARP * line_width) ** 2
        narrow = layer.buffer(-line_width / 2.0).is_empty
        is_sharp = bool(narrow or layer.area < dot)
        found.append(Tip((x, y, z), float(heights[vertex]), float(layer.area), is_sharp))
    return tuple(sorted(found, key=lambda tip: (not tip.is_sharp, tip.area, tip.height)))


def _lowest(solid: Solid, direction: Floats, heights: Floats, layer: float) -> Ints:
    """Return one corner of each tip."""
    level = _LEVEL * solid.size
    one = solid.faces.ravel()
    other = np.roll(solid.faces, -1, axis=1).ravel()
    least = heights.copy()
    np.minimum.at(least, one, heights[other])
    np.minimum.at(least, other, heights[one])
    looking = solid.face_normals @ direction * solid.face_areas
    down = np.bincount(one, weights=np.repeat(looking, 3), minlength=len(heights))
    lowest = (least >= heights - level) & (heights > CONTACT) & (down < 0.0)
    candidates = np.flatnonzero(lowest)
    candidates = candidates[np.argsort(heights[candidates], kind="stable")]
    if not len(candidates):
        return candidates
    order = np.argsort(one, kind="stable")
    starts = np.searchsorted(one[order], np.arange(len(heights) + 1))
    beside = other[order]
    taken: set[int] = set()
    found = []
    for vertex in candidates.tolist():
        if vertex in taken:
            continue
        own = _alone(vertex, heights, beside, starts, layer, level)
        taken |= own
        if own:
            found.append(vertex)
    return np.array(found, dtype=np.int64)


def _alone(
    first: int, heights: Floats, beside: Ints, starts: Ints, layer: float, level: float
) -> set[int]:
    """Return the corners round `first` up to a layer higher; none if one of them is lower."""
    floor, ceiling = heights[first] - level, heights[first] + layer
    seen, left = {first}, [first]
    while left:
        vertex = left.pop()
        for near in beside[starts[vertex] : starts[vertex + 1]].tolist():
            if near in seen or heights[near] > ceiling:
                continue
            if heights[near] < floor:
                return set()
            seen.add(near)
            left.append(near)
    return seen
