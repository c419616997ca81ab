"""Seam figures: how long a seam is, and how much of it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.plan import Seam
from splitplanner.solid import Solid, plane_segments

TOLERANCE = 0.01
"""An outline this near to a face lies on it, mm."""
_ROUNDING = 1e-6
"""Places this close are the same, mm."""
_SKEW = np.array([0.85065, 0.52573])
"""A direction in which no edge of a usual part runs: places on walls along the axes are apart when
they are sorted by it."""


@dataclass(frozen=True)
class SeamFigures:
    """Figures of one seam.

    Attributes
    ----------
    length : float
        Length of all outlines, holes included, mm; the sum of `seen_length` and `hidden_length`.
    seen_length : float
        Length on faces of the good side, mm.
    hidden_length : float
        All the rest, mm.
    inner_length : float
        Part of `hidden_length` that lies on no face of the part: the lines along which this seam
        ends on another seam, inside the material, mm.
    area : float
        mm².
    outlines : int
        Number of closed outlines, holes included.
    """

    length: float
    seen_length: float
    hidden_length: float
    inner_length: float
    area: float
    outlines: int


def seam_figures(seam: Seam, part: Solid, seen: Bools) -> SeamFigures:
    """Measure a seam and how much of it lies on the good side.

    The outlines are divided where faces of the part begin and end on them, found by crossing the
    part's faces with the seam's plane, so that each stretch lies on one face; exact. A stretch is
    seen when the face nearest to its middle (and within `TOLERANCE`) is. Where a face of the part
    lies in the plane, an edge of it is seen when the face on either side is.

    Parameters
    ----------
    seam : Seam
    part : Solid
        The uncut part the seam's pieces come from.
    seen : (m,) bool array
        Faces of the part on the good side; see `splitplanner.solid.seen_from_outside`.

    Raises
    ------
    ValueError
        If `seen` does not have one entry for each face of the part.
    """
    if len(seen) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(seen)}")
    rim = rim_of(seam, part)
    lengths = np.linalg.norm(rim.ends - rim.starts, axis=1)
    on_part, on_seen = np.zeros((2, len(lengths)), dtype=np.bool_)
    on_part[rim.places] = True
    on_seen[rim.places[seen[rim.faces]]] = True
    length, shown = float(lengths.sum()), float(lengths[on_seen].sum())
    return SeamFigures(
        length=length,
        seen_length=shown,
        hidden_length=length - shown,
        inner_length=float(lengths[~on_part].sum()),
        area=seam.section.area,
        outlines=sum(1 + len(polygon.interiors) for polygon in seam.section.polygons),
    )


@dataclass(frozen=True)
class Rim:
    """The outlines of a seam in straight stretches, and the faces of the part they lie on.

    Attributes
    ----------
    starts, ends : (n, 2) float array
        Of each stretch, mm in the plane.
    places, faces : (k,) int array
        A stretch and a face it lies on. None lies on faces that are further away than the nearest;
        inside the material there are none.
    """

    starts: Floats
    ends: Floats
    places: Ints
    faces: Ints


def rim_of(seam: Seam, part: Solid, longest: float = np.inf) -> Rim:
    """Divide the outlines of a seam where faces of `part` begin and end.

    Parameters
    ----------
    seam : Seam
    part : Solid
    longest : float, mm
        Longer stretches are divided evenly as well.
    """
    segments, owners = plane_segments(part, seam.plane)
    flat = seam.plane.to_plane(segments.reshape(-1, 3)).reshape(-1, 2, 2)
    starts, ends = _divided(*_outline_edges(seam), flat.reshape(-1, 2), longest)
    middles = 0.5 * (starts + ends)
    place, segment = _in_boxes(middles, flat[:, 0], flat[:, 1])
    gaps = _distances(middles[place], flat[segment, 0], flat[segment, 1])
    near = gaps <= TOLERANCE
    place, segment, gaps = place[near], segment[near], gaps[near]
    nearest = np.full(len(middles), np.inf)
    np.minimum.at(nearest, place, gaps)
    near = gaps <= nearest[place] + _ROUNDING
    return Rim(starts, ends, place[near], owners[segment[near]])


def _in_boxes(points: Floats, starts: Floats, ends: Floats) -> tuple[Ints, Ints]:
    """Return pairs of points and lines (from starts to ends, both (n, 2)) that may be near.

    Those where the point is no further than `TOLERANCE` from the line's box.
    """
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.score import _seam_kernels as kernels

    low, high = np.minimum(starts, ends) - TOLERANCE, np.maximum(starts, ends) + TOLERANCE
    along = points @ _SKEW
    order = np.argsort(along)
    first = np.searchsorted(along[order], low @ _SKEW - _ROUNDING)
    last = np.searchsorted(along[order], high @ _SKEW + _ROUNDING)
    place, box = kernels.in_boxes(points, order, low, high, first, last)
    return place, box


def _distances(points: Floats, starts: Floats, ends: Floats) -> Floats:
    """Return the distance of each point from its line, from starts to ends, all (n, 2), mm."""
    (ru, rv), (u, v) = (ends - starts).T, (points - starts).T
    square = ru * ru + rv * rv
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (u * ru + v * rv) / square
        aside = np.abs((u * rv - v * ru) / square) * np.sqrt(square)
    beyond = np.hypot(*(points - ends).T)
    # A line without length is a point: `share` is no number then.
    result: Floats = np.where(share >= 1.0, beyond, np.where(share > 0.0, aside, np.hypot(u, v)))
    return result


def _outline_edges(seam: Seam) -> tuple[Floats, Floats]:
    """Return start and end of each edge of the outlines, both (n, 2) mm in the plane."""
    rings = [
        ring for polygon in seam.section.polygons for ring in (polygon.exterior, *polygon.interiors)
    ]
    points, ring = shapely.get_coordinates(np.array(rings, dtype=object), return_index=True)
    same = ring[1:] == ring[:-1]
    return points[:-1][same], points[1:][same]


def _divided(starts: Floats, ends: Floats, places: Floats, longest: float) -> tuple[Floats, Floats]:
    """Divide edges (n, 2) at those of `places` (k, 2) that lie on them, and those that are long."""
    lengths = np.linalg.norm(ends - starts, axis=1)
    along = (ends - starts) / np.maximum(lengths, 1e-300)[:, None]
    place, edge = _in_boxes(places, starts, ends)
    away = places[place] - starts[edge]
    at = np.einsum("ij,ij->i", away, along[edge])
    aside = np.abs(away[:, 0] * along[edge, 1] - away[:, 1] * along[edge, 0])
    inside = (at > _ROUNDING) & (at < lengths[edge] - _ROUNDING) & (aside <= TOLERANCE)
    counts = np.maximum(np.ceil(lengths / longest), 1.0).astype(np.int64)
    even = np.repeat(np.arange(len(starts)), counts)
    number = np.arange(len(even)) - np.repeat(np.cumsum(counts) - counts, counts)
    edge = np.concatenate([even, edge[inside]])
    at = np.concatenate([number * (lengths / counts)[even], at[inside]])
    order = np.lexsort((at, edge))
    edge, at = edge[order], at[order]
    again = np.concatenate([[False], (edge[1:] == edge[:-1]) & (np.diff(at) <= _ROUNDING)])
    edge, at = edge[~again], at[~again]
    last = np.concatenate([edge[1:] != edge[:-1], [True]])[: len(edge)]
    until = np.where(last, lengths[edge], np.roll(at, -1))
    return (
        starts[edge] + at[:, None] * along[edge],
        starts[edge] + until[:, None] * along[edge],
    )
