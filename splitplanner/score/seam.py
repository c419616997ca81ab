"""Seam figures: how long a seam is, and how much of it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.plan import Seam
from splitplanner.solid import Solid, plane_segments

SPACING = 1.0
"""Outlines are looked at in steps of at most this, mm."""
TOLERANCE = 0.01
"""An outline this near to a face lies on it, mm."""


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

    The outlines are divided into steps of at most `SPACING`; a step is seen when its middle lies
    (within `TOLERANCE`) on a seen face of the part, found by crossing the part's faces with the
    seam's plane. Where a face of the part lies in the plane, an edge of it is seen when the face on
    either side is.

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
    starts, ends = outline_steps(seam)
    lengths = np.linalg.norm(ends - starts, axis=1)
    on_part, on_seen = _lies_on(seam, part, seen, 0.5 * (starts + ends))
    length, shown = float(lengths.sum()), float(lengths[on_seen].sum())
    return SeamFigures(
        length=length,
        seen_length=shown,
        hidden_length=length - shown,
        inner_length=float(lengths[~on_part].sum()),
        area=seam.section.area,
        outlines=sum(1 + len(polygon.interiors) for polygon in seam.section.polygons),
    )


def outline_steps(seam: Seam) -> tuple[Floats, Floats]:
    """Return start and end of each step along the outlines, both (n, 2) mm in the plane.

    No step is longer than `SPACING`.
    """
    rings = [
        ring for polygon in seam.section.polygons for ring in (polygon.exterior, *polygon.interiors)
    ]
    points, ring = shapely.get_coordinates(
        shapely.segmentize(np.array(rings, dtype=object), SPACING), return_index=True
    )
    same = ring[1:] == ring[:-1]
    return points[:-1][same], points[1:][same]


def faces_at(seam: Seam, part: Solid, places: Floats) -> tuple[Ints, Ints]:
    """Return on which faces of `part` places in the seam's plane lie, to `TOLERANCE`.

    Parameters
    ----------
    seam : Seam
    part : Solid
    places : (n, 2) float array, mm
        Plane coordinates.

    Returns
    -------
    place, face : (k,) int arrays
        One pair for each face that a place lies on.
    """
    segments, faces = plane_segments(part, seam.plane)
    flat = seam.plane.to_plane(segments.reshape(-1, 3)).reshape(-1, 2, 2)
    tree = shapely.STRtree(shapely.linestrings(flat))
    place, segment = tree.query(shapely.points(places), predicate="dwithin", distance=TOLERANCE)
    return place.astype(np.int64), faces[segment]


def _lies_on(seam: Seam, part: Solid, seen: Bools, places: Floats) -> tuple[Bools, Bools]:
    """Return which plane points (n, 2) lie on a face of `part`, and which on a seen one."""
    place, face = faces_at(seam, part, places)
    on_part = np.bincount(place, minlength=len(places)) > 0
    on_seen = np.bincount(place, weights=seen[face], minlength=len(places)) > 0
    return on_part, on_seen
