"""Where on a seam a register stands, and how much it keeps from the outlines.

That follows from its width and its gap alone, so that a plan needs no more than those. A tongue
divides the wall, less its gaps, into three leaves of equal thickness, a lap into two; a wedge
leaves 0.6 of its width on each side.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon, Polygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.material import SeamMaterial
from splitplanner.plan import Register, Seam
from splitplanner.score import shrunk
from splitplanner.solid import Solid, to_polygons

LEAST_LINES = 2.0
"""Printed lines that a register and what is left beside it have at least. Common practice, no
source."""
DEEPER = 0.3
"""By how much what is removed is deeper than the register is high, mm: room for glue and for the
first layers, which spread. Common practice, no source."""
COVER = 1.0
"""Material kept beyond the bottom of a groove, and below the foot, mm."""
CHEEK = {"tongue": 1.0, "lap": 1.0, "wedge": 0.6}
"""Material beside the gap by the width of the register."""
_ARC = 32
"""Lines per quarter circle of an offset outline."""
_OPEN = 0.49
"""Where a band is narrower than twice this by its width it ends."""
_LEAN = 2e-3
"""Outlines are drawn this much simpler, mm."""
_GRID = 1e-4
"""Grid on which sections are laid, mm."""
_APART = 1.4
"""Distance of the sections taken, mm."""
_TOUCH = 1e-3
"""What is this near to each other touches, mm."""


def grown(shape: shapely.Geometry, distance: float) -> MultiPolygon:
    """Return the points no further than `distance` (mm, above 0) from `shape`."""
    return MultiPolygon(to_polygons(shape.buffer(distance, quad_segs=_ARC)))


def offset(shape: MultiPolygon, distance: float) -> MultiPolygon:
    """Return `shape` with its outline moved outwards by `distance`, or inwards where negative."""
    return grown(shape, distance) if distance > 0 else shrunk(shape, -distance)


def opened(shape: MultiPolygon, radius: float) -> MultiPolygon:
    """Return the points of `shape` that lie in a disc of `radius` (mm) inside it.

    The opening of mathematical morphology: what is narrower than the disc goes, corners get round.
    """
    inner = shrunk(shape, radius)
    return inner if inner.is_empty else grown(inner, radius)


def less(shape: MultiPolygon, *others: shapely.Geometry) -> MultiPolygon:
    """Return `shape` without `others`."""
    for other in others:
        if not other.is_empty:
            shape = MultiPolygon(to_polygons(shapely.difference(shape, other)))
    return shape


def reach_of(height: float) -> float:
    """Return how deep a register of `height` (mm) needs material on both sides of the seam, mm."""
    return height + DEEPER + COVER


def material_of(seam: Seam, below: Solid, above: Solid, height: float) -> SeamMaterial:
    """Return the two pieces near their seam, for a register of `height` (mm)."""
    return SeamMaterial.around(seam, below, above, reach_of(height))


def ground_of(material: SeamMaterial, height: float) -> MultiPolygon:
    """Return the part of the seam on which a register of `height` (mm) has material enough.

    Parameters
    ----------
    material : SeamMaterial
        With its reach or more; see `material_of`.
    height : float

    Returns
    -------
    MultiPolygon
        Plane coordinates, mm: the seam and all sections of the piece above as far up as the
        groove and its cover go, at most 1.4 mm apart, and of both pieces down to 1 mm.
    """
    ground = material.common(COVER)
    top = reach_of(height)
    for at in np.linspace(COVER, top, math.ceil((top - COVER) / _APART) + 1)[1:]:
        if ground.is_empty:
            break
        section = material.above.section(material.seam.plane.shifted(float(at))).shape
        over = shapely.set_precision(section.simplify(_LEAN), _GRID)
        ground = MultiPolygon(to_polygons(shapely.intersection(ground, over)))
    return lean(ground)


def lean(shape: MultiPolygon) -> MultiPolygon:
    """Return `shape` with fewer corners, off by no more than 0.002 mm."""
    return MultiPolygon(to_polygons(shape.simplify(_LEAN)))


def side_of(register: Register) -> float:
    """Return the least distance of the register's foot from an outline that is not its own, mm."""
    return CHEEK[register.form] * register.width + register.gap


def foot_of(
    register: Register,
    material: SeamMaterial,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
) -> MultiPolygon:
    """Return the area on which a tongue, a wedge or a lap stands.

    Parameters
    ----------
    register : Register
        Of any form but studs.
    material : SeamMaterial
        With the reach of the register; see `material_of`.
    hidden : MultiLineString, optional
        The stretches of the seam's outlines along which a lap may show, plane coordinates, mm;
        `inner_lines` where not given.
    clear : MultiPolygon, optional
        Kept free, for the holes of pins for instance.

    Returns
    -------
    MultiPolygon
        Plane coordinates, mm; may be empty. Tongue and wedge: the points of the common material
        that are at least `side_of` from its outline; where it is so thick that they would be
        wider than three widths, only a band along the outline. The band ends where it would be
        narrower than 0.98 of the width.
    """
    common = ground_of(material, register.height)
    return foot_on(register, material.seam.section.shape, common, hidden, clear)


def foot_on(
    register: Register,
    shape: MultiPolygon,
    common: MultiPolygon,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
) -> MultiPolygon:
    """Return the area on which a register stands, as `foot_of`, on material that is known.

    Parameters
    ----------
    register, hidden, clear
        See `foot_of`.
    shape, common : MultiPolygon
        The seam, and what of it has material enough; the seam itself where the walls are taken to
        be upright. Plane coordinates, mm.
    """
    if register.form == "lap":
        lines = inner_lines(shape) if hidden is None else hidden
        foot = _lap_foot(register, shape, common, lines)
    else:
        inside = shrunk(common, side_of(register))
        core = opened(shrunk(inside, register.width), register.width / 2 + register.gap)
        foot = less(inside, core)
    if clear is not None:
        foot = less(foot, grown(clear, register.gap))
    foot = opened(foot, _OPEN * register.width)
    return lean(MultiPolygon(to_polygons(foot, smallest=2 * register.width**2)))


def _lap_foot(
    register: Register, seam: MultiPolygon, common: MultiPolygon, hidden: MultiLineString
) -> MultiPolygon:
    """Return what is near to the hidden outlines and far enough from all others."""
    if hidden.is_empty:
        return MultiPolygon()
    other = shapely.difference(seam.boundary, hidden.buffer(_TOUCH))
    beside = grown(hidden, register.width)
    # A wall that leans away under its outline counts as the outline, on either side.
    leaning = less(seam, common)
    outer = less(leaning, beside)
    inner = shapely.union(less(leaning, outer), hidden.buffer(_TOUCH))
    near = grown(inner, register.width - _TOUCH)
    # A little less than what is left beside it, so that the two never run along each other.
    away = 2 * _OPEN * register.width + register.gap
    foot = MultiPolygon(to_polygons(shapely.intersection(seam, near)))
    return less(foot, other.buffer(away, quad_segs=_ARC), outer.buffer(away, quad_segs=_ARC))


def inner_lines(shape: MultiPolygon) -> MultiLineString:
    """Return the outlines of a seam that are likely to lie on the hidden side of a wall.

    Parameters
    ----------
    shape : MultiPolygon
        Plane coordinates, mm.

    Returns
    -------
    MultiLineString
        Of each polygon the outlines of its holes; without holes what does not lie on the convex
        outline of the whole seam, such as the inside of a U; and where that is hardly anything,
        or nearly all, one of its long sides: that which looks to the middle of the seam.
    """
    rim = shape.convex_hull.exterior.buffer(10 * _TOUCH)
    lines: list[shapely.Geometry] = []
    for polygon in shape.geoms:
        if polygon.interiors:
            lines += polygon.interiors
            continue
        inner = shapely.difference(polygon.exterior, rim)
        share = inner.length / polygon.exterior.length
        lines.append(inner if 0.25 <= share <= 0.6 else _long_side(polygon, shape))
    parts = shapely.get_parts([shapely.force_2d(line) for line in lines])
    return MultiLineString([part for part in parts if part.length > 0])


def _long_side(polygon: Polygon, shape: MultiPolygon) -> MultiLineString:
    """Return the edges of a polygon on that long side which looks to the middle of `shape`."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(polygon))
    edges = np.diff(corners[:3], axis=0)
    along = edges[int(np.argmax(np.hypot(*edges.T)))]
    across = np.array([-along[1], along[0]]) / np.hypot(*along)
    middle = shapely.get_coordinates([shape.convex_hull.centroid, polygon.centroid])
    toward = float((middle[0] - middle[1]) @ across)
    if toward < -_TOUCH or (abs(toward) <= _TOUCH and tuple(across) < (0.0, 0.0)):
        across = -across
    ring = shapely.get_coordinates(shapely.orient_polygons(polygon).exterior)
    steps = np.diff(ring, axis=0)
    outward = np.column_stack([steps[:, 1], -steps[:, 0]])
    chosen = outward @ across > 0.7 * np.hypot(*steps.T)
    pairs = np.stack([ring[:-1], ring[1:]], axis=1)[chosen]
    return MultiLineString(list(pairs))


def finding(
    kind: str,
    message: str,
    seam: Seam,
    places: Floats,
    measured: float | None = None,
    allowed: float | None = None,
    unit: str = "mm",
    severity: Severity = Severity.WARNING,
) -> Finding:
    """Return a finding at places (n, 2) of a seam's plane, mm."""
    where = seam.plane.to_space(places)
    text = f"Seam {seam.name}: {message}"
    return Finding(kind, severity, text, seam.name, where, measured, allowed, unit)
