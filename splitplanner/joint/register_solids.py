"""Registers as solids: where on a seam they stand, what is added below and removed above.

What a register keeps from the outline follows from its width and its gap alone, so that a plan
needs no more than those. A tongue divides the wall, less its gaps, into three leaves of equal
thickness, a lap into two; a wedge leaves 0.6 of its width on each side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon, Polygon

from splitplanner.arrays import Floats
from splitplanner.joint.material import SeamMaterial
from splitplanner.plan import Register, Seam
from splitplanner.score import shrunk
from splitplanner.solid import Plane, Solid, to_polygons

DEEPER = 0.3
"""By how much what is removed is deeper than the register is high, mm: room for glue and for the
first layers, which spread. Common practice, no source."""
COVER = 1.0
"""Material kept beyond the bottom of a groove, and below the foot, mm."""
CHEEK = {"tongue": 1.0, "lap": 1.0, "wedge": 0.6}
"""Material beside the gap by the width of the register."""
TAPER = 15.0
"""Of each side of a wedge from the normal, degrees. Common practice, no source."""
STEP = 0.2
"""Height of the steps of a wedge, mm: no more than a usual layer."""
TIP_STEP = 0.1
"""Height of the steps of a chamfered tip, mm."""
DRAFT = 5.0
"""Of a stud from its axis, degrees. Common practice, no source."""
_ROOT = 0.2
"""How far what is added goes down into the piece below, mm: bodies that only touch may not join."""
_MOUTH = 1.0
"""How far what is removed starts before the face, mm."""
_ARC = 32
"""Lines per quarter circle of an offset outline."""
_SIDES = 48
"""Of a stud."""
_OPEN = 0.49
"""Where a band is narrower than twice this by its width it ends."""
_LEAN = 1e-3
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
    return _lean(ground)


def _lean(shape: MultiPolygon) -> MultiPolygon:
    """Return `shape` with fewer corners, off by no more than 0.001 mm."""
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
    if register.form == "lap":
        lines = inner_lines(material.seam.section.shape) if hidden is None else hidden
        foot = _lap_foot(register, material.seam.section.shape, common, lines)
    else:
        inside = shrunk(common, side_of(register))
        core = opened(shrunk(inside, register.width), register.width / 2 + register.gap)
        foot = less(inside, core)
    if clear is not None:
        foot = less(foot, grown(clear, register.gap))
    foot = opened(foot, _OPEN * register.width)
    return _lean(MultiPolygon(to_polygons(foot, smallest=2 * register.width**2)))


def _lap_foot(
    register: Register, seam: MultiPolygon, common: MultiPolygon, hidden: MultiLineString
) -> MultiPolygon:
    """Return what is near to the hidden outlines and far enough from all others."""
    if hidden.is_empty:
        return MultiPolygon()
    near = grown(hidden, register.width)
    other = shapely.difference(seam.boundary, hidden.buffer(_TOUCH))
    # A wall that leans away under the outline counts as the outline, but not on the hidden side.
    leaning = less(less(seam, common), grown(hidden, register.width / 2))
    # A little less than what is left beside it, so that the two never run along each other.
    away = 2 * _OPEN * register.width + register.gap
    foot = MultiPolygon(to_polygons(shapely.intersection(seam, near)))
    return less(foot, other.buffer(away, quad_segs=_ARC), leaning.buffer(away, quad_segs=_ARC))


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


def register_bodies(
    register: Register,
    seam: Seam,
    below: Solid,
    above: Solid,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
) -> tuple[Solid, Solid]:
    """Return a register as solids.

    Parameters
    ----------
    register : Register
    seam : Seam
    below, above : Solid
        The two pieces, before anything is added or removed.
    hidden, clear
        See `foot_of`; the same as those with which it was planned.

    Returns
    -------
    added : Solid
        To be united with the piece below. It goes 0.2 mm down into that piece, so that the two
        surely join.
    removed : Solid
        To be taken from the piece above: larger by the gap all round, deeper by 0.3 mm, and
        starting 1 mm before the face. Both are empty where nothing fits.

    Notes
    -----
    Tapered sides are steps no higher than a layer, 0.2 mm, and 0.1 mm at a chamfered tip. Steps of
    what is added lie inside the true taper, those of what is removed outside: the gap is never
    smaller than asked, and larger by no more than twice ``step x tan(taper)``, 0.11 mm on a wedge.
    A stud has 48 sides inside its circle, its hole 48 outside.
    """
    if register.form == "studs":
        return _studs(register, seam.plane)
    material = material_of(seam, below, above, register.height)
    foot = foot_of(register, material, hidden, clear)
    if foot.is_empty:
        return _nothing(), _nothing()
    if register.form == "lap":
        return _lap(register, foot, material)
    rise = _tongue_levels if register.form == "tongue" else _wedge_levels
    inner, outer = rise(register, foot)
    return _tower(inner, seam.plane, -_ROOT), _tower(outer, seam.plane, -_MOUTH)


def _nothing() -> Solid:
    """Return a solid without anything in it."""
    return Solid.box((1, 1, 1)).difference(Solid.box((3, 3, 3), (-1, -1, -1)))


_Levels = list[tuple[MultiPolygon, float]]
"""Outlines that lie within each other, and how far up each reaches, mm."""


def _tongue_levels(register: Register, foot: MultiPolygon) -> tuple[_Levels, _Levels]:
    """Return a straight tongue with a chamfered tip, and its square groove."""
    chamfer = chamfer_of(register)
    straight = register.height - chamfer
    inner: _Levels = [(foot, straight)]
    for top in _steps(chamfer, TIP_STEP):
        inner.append((_lean(shrunk(foot, top)), straight + top))
    return inner, [(_lean(grown(foot, register.gap)), register.height + DEEPER)]


def chamfer_of(register: Register) -> float:
    """Return the chamfer of the tip of a tongue or stud, 45°, mm."""
    return min(0.5, register.width / 5, register.height / 3)


def _wedge_levels(register: Register, foot: MultiPolygon) -> tuple[_Levels, _Levels]:
    """Return a wedge, and a groove that it meets with both sides at once."""
    lean = math.tan(math.radians(TAPER))
    tops = _steps(register.height, STEP)
    inner = [(_lean(shrunk(foot, top * lean)), top) for top in tops]
    starts = [0.0, *tops[:-1]]
    outer = [
        (_lean(offset(foot, register.gap - low * lean)), top)
        for low, top in zip(starts, tops, strict=True)
    ]
    outer[-1] = (outer[-1][0], register.height + DEEPER)
    return inner, outer


def _steps(height: float, most: float) -> list[float]:
    """Return the tops of equal steps of at most `most`, up to `height`, mm."""
    count = max(math.ceil(height / most - 1e-9), 1)
    return [height * (number + 1) / count for number in range(count)]


def _tower(levels: _Levels, plane: Plane, low: float) -> Solid:
    """Return prisms standing in each other, of outlines that lie within each other."""
    prisms = []
    for shape, top in levels:
        if not shape.is_empty:
            prisms.append(Solid.prism(shape, plane, low, top))
        # Begun inside the one below, so that no two faces lie in one plane.
        low = (max(low, 0.0) + top) / 2
    return prisms[0].union(*prisms[1:]) if len(prisms) > 1 else prisms[0]


def _lap(
    register: Register, foot: MultiPolygon, material: SeamMaterial
) -> tuple[Solid, Solid]:
    """Return a lap that ends in the hidden surface of the piece above, and its rebate."""
    plane, height = material.seam.plane, register.height
    step = Solid.prism(foot, plane, 0.0, height).intersection(material.above)
    root = shrunk(foot, _ROOT + 0.05)
    if not root.is_empty:
        step = step.union(Solid.prism(root, plane, -_ROOT, min(_ROOT, height / 2)))
    groove = grown(foot, register.gap)
    lip = _lip(foot, material, height + DEEPER)
    if not lip.is_empty:
        groove = MultiPolygon(to_polygons(shapely.union(groove, lip.buffer(0.05))))
    return step, Solid.prism(groove, plane, -_MOUTH, height + DEEPER)


def _lip(foot: MultiPolygon, material: SeamMaterial, height: float) -> MultiPolygon:
    """Return what hangs over the foot's own outline, where the wall above leans over it.

    It would be left as a thin lip in front of the lap.
    """
    plane = material.seam.plane
    heights = np.linspace(0.01, height, max(math.ceil(height / 0.5), 2))
    sections = [material.above.section(plane.shifted(float(at))).shape for at in heights]
    over = less(MultiPolygon(to_polygons(shapely.union_all(sections))), sections[0])
    at_foot = foot.buffer(10 * _TOUCH)
    touching = [part for part in opened(over, _TOUCH).geoms if part.intersects(at_foot)]
    near = shapely.intersection(shapely.union_all(touching), foot.buffer(height))
    return MultiPolygon(to_polygons(near))


def _studs(register: Register, plane: Plane) -> tuple[Solid, Solid]:
    """Return studs and their holes."""
    if not register.places:
        return _nothing(), _nothing()
    foot, height, chamfer = register.width / 2, register.height, chamfer_of(register)
    neck = foot - (height - chamfer) * math.tan(math.radians(DRAFT))
    round_out = 1 / math.cos(math.pi / _SIDES)
    inner = [(foot, -_ROOT), (foot, 0.0), (neck, height - chamfer), (neck - chamfer, height)]
    wide = [(radius + register.gap) * round_out for radius, _ in inner]
    heights = (-_MOUTH, 0.0, height - chamfer, height + DEEPER)
    outer = list(zip(wide, heights, strict=True))
    studs = [_turned(plane, place, inner) for place in register.places]
    holes = [_turned(plane, place, outer) for place in register.places]
    return studs[0].union(*studs[1:]), holes[0].union(*holes[1:])


def _turned(
    plane: Plane, place: tuple[float, float], profile: Sequence[tuple[float, float]]
) -> Solid:
    """Return the hull of circles (radius, height) about the normal at a place."""
    turns = np.linspace(0, 2 * math.pi, _SIDES, endpoint=False)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    points: list[Floats] = [
        plane.to_space(np.array(place) + radius * circle) + plane.frame[2] * at
        for radius, at in profile
    ]
    return Solid.hull_of(np.vstack(points))
