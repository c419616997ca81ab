"""The wall that a flange stands on: where it is at some heights over the seam, and how it leans."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid import Plane, Solid

_LEAP = 1.0
"""From one height to the next a wall is found again no further than this from where it is
expected, mm."""
_FALL = 2.5
"""A surface that falls back by more than this on 1 mm is the end of what the flange stands on."""
_LEAN = 0.01
"""Outlines are drawn this much simpler, mm, which takes less time."""
_START = 0.5
"""The wall begins no further than this from the line, mm."""


@dataclass(frozen=True, eq=False)
class Walls:
    """What stations along a line meet at some heights, as distances from the line.

    Distances count to the free side, mm; the wall lies at negative ones where it is upright.

    Attributes
    ----------
    places, normals : (n, 2) float array
        The stations, and unit vectors to the free side; plane coordinates, mm.
    heights : (k,) float array
        Over the seam, mm.
    near, far : (n, k) float array
        The two surfaces of the wall, the one the flange stands on first; nan from the height on at
        which the wall has ended, or something else has swallowed the line.
    reach : (n,) float array
        Height at which the wall ends, mm; inf where it is not seen to.
    free, beyond : (n, k) float array
        Where the next thing on the free side begins and where it ends; inf for nothing.
    """

    places: Floats
    normals: Floats
    heights: Floats
    near: Floats
    far: Floats
    reach: Floats
    free: Floats
    beyond: Floats

    @property
    def is_in_rib(self) -> Bools:
        """Which stations are in the material at the seam, (n,)."""
        result: Bools = self.near[:, 0] > _START
        return result


def walls_at(
    piece: Solid,
    plane: Plane,
    side: int,
    heights: Floats,
    places: Floats,
    normals: Floats,
    *,
    past_falls: bool = False,
) -> Walls:
    """Measure the wall of a piece at stations along a line.

    A ray along the normal is crossed with sections of the piece. What the line runs along is
    followed from height to height.

    Parameters
    ----------
    piece : Solid
    plane : Plane
        The seam's.
    side : int
        1 for the piece above, -1 for the piece below.
    heights : (k,) float array
        Over the seam, rising, mm; the first is just above 0.
    places, normals : (n, 2) float array
        Stations and unit vectors to the free side, plane coordinates, mm.
    past_falls : bool
        Whether what is behind is followed where the surface falls back from the line, as behind a
        rib's edge; by default the wall ends there.
    """
    count = len(heights)
    near, far = np.full((2, len(places), count), np.nan)
    free, beyond = np.full((2, len(places), count), np.inf)
    reach = np.full(len(places), np.inf)
    levels = [_spans(piece, plane, side * height, places, normals) for height in heights]
    for station in range(len(places)):
        ends, has_ended = _followed([level[station] for level in levels], heights, past_falls)
        if has_ended:
            reach[station] = heights[len(ends) - 1] if ends else 0.0
        for at, (low, high, spans) in enumerate(ends):
            far[station, at], near[station, at] = low, high
            if after := [span for span in spans if span[0] > high]:
                free[station, at], beyond[station, at] = min(after)
    return Walls(places, normals, heights, near, far, reach, free, beyond)


Span = tuple[float, float]


def _spans(
    piece: Solid, plane: Plane, height: float, places: Floats, normals: Floats
) -> list[list[Span]]:
    """Return what each ray passes through at a height, in order."""
    shape = piece.section(plane.shifted(height)).shape.simplify(_LEAN)
    rings = [
        ring
        for polygon in shapely.get_parts(shape)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    if not rings:
        return [[] for _ in places]
    points, ring = shapely.get_coordinates(np.array(rings, dtype=object), return_index=True)
    same = ring[1:] == ring[:-1]
    starts, ends = points[:-1][same], points[1:][same]
    # Turned so that the ray runs along x: an edge is met when its ends lie on both sides of it.
    aside = np.column_stack([-normals[:, 1], normals[:, 0]])
    level = np.einsum("ij,ij->i", places, aside)[:, None]
    first, last = aside @ starts.T - level, aside @ ends.T - level
    ray, edge = np.nonzero((first >= 0) != (last >= 0))
    share = first[ray, edge] / (first[ray, edge] - last[ray, edge])
    met = starts[edge] + share[:, None] * (ends[edge] - starts[edge]) - places[ray]
    at = np.einsum("ij,ij->i", met, normals[ray])
    order = np.lexsort((at, ray))
    per_ray = np.split(at[order], np.searchsorted(ray[order], np.arange(1, len(places))))
    # Every ring is closed, so a ray goes in and out in turns.
    return [list(zip(row[::2].tolist(), row[1::2].tolist(), strict=True)) for row in per_ray]


Found = list[tuple[float, float, list[Span]]]


def _followed(levels: list[list[Span]], heights: Floats, past_falls: bool) -> tuple[Found, bool]:
    """Return low and high end of the wall at each height with all that is there, and if it ends.

    Where its surface leaps to the free side, the ray has come into another wall, as it does beside
    an inner corner whose walls lean: then nothing more is told of the wall, but it goes on. Where
    it falls back from the line, the wall has ended and something behind it is met, as beside an
    opening in front of which another wall stands.
    """
    found: Found = []
    expected, reach, lean = (-0.1, -0.1), _START, 0.0
    for at, spans in enumerate(levels):
        span = min(spans, key=lambda span: _unlike(span, expected), default=None)
        if span is None or _gap(span, expected) > reach:
            return found, True
        if found:
            if span[1] > expected[1] + _LEAP:
                return found, False
            step = heights[at] - heights[at - 1]
            # A rib along the seam ends like this too, and leaves the line on the wall.
            was_on_line = any(abs(high) <= _START for _, high, _ in found)
            ends = was_on_line and not past_falls
            if ends and span[1] < found[-1][1] - _LEAP - _FALL * step:
                return found, True
            lean = min(span[0] - found[-1][0], span[1] - found[-1][1], key=abs) / step
        found.append((*span, spans))
        if at + 1 < len(levels):
            shift = lean * (heights[at + 1] - heights[at])
            expected, reach = (span[0] + shift, span[1] + shift), _LEAP
    return found, False


def _unlike(span: Span, expected: Span) -> tuple[float, float]:
    """Return what to choose the least of: where it shares nothing, and how far its surface is off.

    Not by how much they share: behind the wall another may have begun where both were one.
    """
    return max(_gap(span, expected), 0.0), abs(span[1] - expected[1])


def _gap(span: Span, other: Span) -> float:
    """Return how far two spans are apart; less than 0, and the less the more they share."""
    return max(span[0], other[0]) - min(span[1], other[1])


@dataclass(frozen=True)
class Back:
    """The line in the wall from which a flange's section begins: ``lean · height + foot``.

    Attributes
    ----------
    foot : float
        At the seam, as a distance to the free side: below 0, mm.
    lean : float
        Of the wall over the free side.
    reach : float
        Height up to which there is a wall, mm.
    root : float
        How deep it is in the wall, mm.
    """

    foot: float
    lean: float
    reach: float
    root: float = 0.0


LEANS = np.tan(np.radians(np.arange(-60.0, 60.5, 2.5)))
ROOT, _ROOT_SHARE = 0.8, 0.4
"""A flange begins this deep in the wall, mm, or at this share of a thinner one."""
_COVER = 0.15
"""Wall left behind the root where that can be, mm."""
_BEYOND = 0.01
"""Rounding, mm."""


def back_of(walls: Walls, rows: Ints, least: float) -> Back | None:
    """Return the straight line that stays inside the wall at some stations, by number.

    It lies behind the near surface at all heights, so that no gap is left, and in front of the far
    one. Where the wall bends too much for that it ends earlier, but not below `least` (mm): there
    it comes out on the far side. None where the line is not on a surface, such as across a rib.
    """
    near, far = walls.near[rows].copy(), walls.far[rows]
    on_wall = np.abs(near) <= _START
    if not on_wall.any(axis=1).all():
        return None
    # A rib along the seam hides the wall to begin with.
    first = np.argmax(on_wall, axis=1)
    near[np.arange(near.shape[1]) < first[:, None]] = np.nan
    known = np.isfinite(near).any(axis=0)
    heights, near, far = walls.heights[known], near[:, known], far[:, known]
    root = min(ROOT, _ROOT_SHARE * float(np.nanmin(near - far)))
    low = np.nanmax(far, axis=0) + min(_COVER, 0.2 * root)
    high = np.nanmin(near, axis=0) - root
    reach = min(float(walls.reach[rows].min()), float(walls.heights[-1]))
    for count in range(len(heights), 0, -1):
        foot, lean, beyond = _line(heights[:count], low[:count], high[:count])
        if beyond <= _BEYOND or count == 1 or heights[count - 2] < least:
            break
    if count < len(heights):
        reach = min(reach, float(heights[count - 1]))
    return Back(foot, lean, reach, root)


def _line(heights: Floats, low: Floats, high: Floats) -> tuple[float, float, float]:
    """Return foot and lean of the highest line below `high`, and by how much it is below `low`."""
    feet = (high[None, :] - LEANS[:, None] * heights).min(axis=1)
    lines = feet[:, None] + LEANS[:, None] * heights
    beyond = np.maximum(low - lines, 0.0)
    depth = (high - lines).sum(axis=1)
    # At the seam it stays in the wall whatever else: there it is seen. Of lines that are as good,
    # as where the wall is met at one height only, it is the most upright one.
    upright, depth = np.abs(LEANS), np.round(depth, 6)
    order = np.lexsort((upright, depth, np.round(beyond.max(axis=1), 3), beyond[:, 0] > 0))
    best = int(order[0])
    return float(feet[best]), float(LEANS[best]), float(beyond[best].max())
