"""Flanges: internal rims along the hidden side of a seam, as solids."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import LineString, MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.joint.flange.ends import Printed
from splitplanner.joint.flange.lines import flange_lines
from splitplanner.joint.flange.outlines import line_between
from splitplanner.joint.flange.solid import half_flange
from splitplanner.plan import Division, Flange, Seam
from splitplanner.solid import Plane, Solid, to_polygons

__all__ = [
    "flange_bodies",
    "flange_foot",
    "flange_limits",
    "flange_lines",
    "trimmed",
]

_BESIDE = 1e-3
"""Distance from the seam's plane at which the foot is measured, mm."""
_GRID = 1e-6
"""mm."""
_SLIVER = 0.01
"""mm²."""


def flange_bodies(
    flange: Flange,
    seam: Seam,
    below: Solid,
    above: Solid,
    limits: tuple[Sequence[Plane], Sequence[Plane]] = ((), ()),
    part: Solid | None = None,
    printed: tuple[Printed, Printed] | None = None,
) -> tuple[Solid | None, Solid | None]:
    """Return what a flange adds to the pieces below and above its seam.

    Each stretch of a line becomes a convex solid of one section: from inside the wall to the
    flange's width at the seam, up to its thickness, then at its slope to the wall. Where the wall
    is, and how it leans, is measured on sections of the piece at eight heights: the back of the
    section is the straight line that lies nowhere before the wall's near surface and, where that
    can be, nowhere behind its far one. A stretch ends at the height at which the wall does, and
    before it would come out of something on its free side. Neighbours are mitred. What comes out
    on the far side of a wall all the same, or stands loose, is taken off.

    The bodies are rooted in the wall by up to 0.8 mm, so that their union with the piece is one
    solid without a film between; what they add is the body less the piece.

    Parameters
    ----------
    flange : Flange
    seam : Seam
    below, above : Solid
        The two pieces, as cut.
    limits : two sequences of Plane
        For the piece below and the piece above: planes below which the flange stays, such as the
        planes of the piece's other seams (`flange_limits`), and the bed it stands on.
    part : Solid, optional
        The uncut part: stretches whose free edge would be outside of its convex hull are left out,
        and what else comes out of it is cut off.
    printed : two of Printed, optional
        How the two pieces print. Where one does not with the seam level, stretches whose free side
        looks down run out at less than the flange's slope, and ends of lines that look down run out
        to the wall, so that they still print without support.

    Returns
    -------
    below, above : Solid or None
        To be united with the piece; None where nothing is left.
    """
    prints = (None, None) if printed is None else printed
    lower = half_flange(flange, seam, below, -1, limits[0], part, prints[0])
    upper = half_flange(flange, seam, above, 1, limits[1], part, prints[1])
    return lower, upper


def flange_limits(piece: str, seam: Seam, division: Division) -> tuple[Plane, ...]:
    """Return the planes of a piece's other seams, each so that the piece lies below it."""
    planes = [
        other.plane if other.below == piece else other.plane.flipped()
        for other in division.seams
        if piece in (other.below, other.above) and other.cut != seam.cut
    ]
    return tuple(dict.fromkeys(planes))


def flange_foot(seam: Seam, below: Solid | None, above: Solid | None) -> MultiPolygon:
    """Return by how much a flange makes the contact area in the seam's plane larger.

    Parameters
    ----------
    seam : Seam
    below, above : Solid or None
        The bodies of `flange_bodies`.

    Returns
    -------
    MultiPolygon
        Plane coordinates, mm: where both bodies have a face in the plane, and the seam is not.
    """
    if below is None or above is None:
        return MultiPolygon()
    # Just beside the plane, where no face lies; sides of a flange are upright but for its root.
    lower = below.section(seam.plane.shifted(-_BESIDE)).shape
    upper = above.section(seam.plane.shifted(_BESIDE)).shape
    both = MultiPolygon(to_polygons(shapely.intersection(lower, upper, grid_size=_GRID)))
    added = shapely.difference(both, seam.section.shape, grid_size=_GRID)
    return MultiPolygon(to_polygons(added, smallest=_SLIVER))


def trimmed(flange: Flange, places: ArrayLike, reach: float) -> Flange:
    """Return a flange that is only there where fasteners sit: bosses.

    Parameters
    ----------
    flange : Flange
    places : (n, 2) array
        Plane coordinates of the fasteners, mm. Each belongs to the line nearest to it.
    reach : float
        Length of line that is kept on both sides of a fastener, mm.

    Returns
    -------
    Flange
        With the stretches within reach, in the order of the lines; without lines if there are no
        places. What would leave a gap of less than the flange's width between two is kept too.
    """
    lines = [LineString(line) for line in flange.lines]
    asked = shapely.points(np.reshape(np.asarray(places, float), (-1, 2)))
    if not lines or not len(asked):
        return replace(flange, lines=())
    nearest = np.argmin([shapely.distance(line, asked) for line in lines], axis=0)
    kept = []
    for number, line in enumerate(lines):
        at = shapely.line_locate_point(line, asked[nearest == number])
        kept += _within_reach(shapely.get_coordinates(line), np.sort(at), reach, flange.width)
    return replace(flange, lines=tuple(tuple(map(tuple, line.tolist())) for line in kept))


def _within_reach(points: Floats, at: Floats, reach: float, gap: float) -> list[Floats]:
    """Return the stretches of a line (n, 2) within reach of places `at` along it, mm.

    Those that are less than `gap` apart are one: a slit prints badly and weakens both.
    """
    if not len(at):
        return []
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    is_closed = bool((points[0] == points[-1]).all())
    spans: list[list[float]] = []
    for place in at.tolist():
        if spans and place - reach < spans[-1][1] + gap:
            spans[-1][1] = place + reach
        else:
            spans.append([place - reach, place + reach])
    if not is_closed:
        return [line_between(points, max(low, 0.0), min(high, length)) for low, high in spans]
    if len(spans) > 1 and spans[-1][1] - length + gap > spans[0][0]:
        low, _ = spans.pop()
        spans[0][0] = min(low - length, spans[0][0])
    if spans[0][1] - spans[0][0] > length - gap:
        return [points]
    # Gone round once more, so that a stretch may pass the line's first corner.
    twice = np.vstack([points[:-1], points[:-1], points])
    return [line_between(twice, low + length, high + length) for low, high in spans]
