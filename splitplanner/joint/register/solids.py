"""Registers as solids: what is added to the piece below and removed from the piece above."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon, Point

from splitplanner.arrays import Floats
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.register.foot import (
    DEEPER,
    foot_of,
    grown,
    lean,
    less,
    material_of,
    offset,
    opened,
)
from splitplanner.plan import Register, Seam
from splitplanner.score import shrunk
from splitplanner.solid import Plane, Solid, to_polygons

TAPER = 15.0
"""Of each side of a wedge from the normal, degrees. Common practice, no source."""
STEP = 0.2
"""Height of the steps of a wedge, mm: no more than a usual layer."""
TIP_STEP = 0.1
"""Height of the steps of a chamfered tip, mm."""
DRAFT = 5.0
"""Of a stud from its axis, degrees. Common practice, no source."""
_ROOT = 0.8
"""How far what is added goes down into the piece below, mm: bodies that only touch may not join,
and the face may have been set back for glue or a coat."""
_SHY = 0.25
"""How far the root of a lap stays off the surface, mm."""
_MOUTH = 1.0
"""How far what is removed starts before the face, mm."""
_SIDES = 48
"""Of a stud."""
_TOUCH = 1e-3
"""What is this near to each other touches, mm."""


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
        To be united with the piece below. It goes 0.8 mm down into that piece, so that the two
        surely join, also where its face was set back by less.
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
        return _lap(register, foot, material, clear)
    rise = _tongue_levels if register.form == "tongue" else _wedge_levels
    inner, outer = rise(register, foot)
    return _tower(inner, seam.plane, -_ROOT), _tower(outer, seam.plane, -_MOUTH)


def register_zone(
    register: Register,
    seam: Seam,
    below: Solid,
    above: Solid,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
) -> MultiPolygon:
    """Return what a register and its gap take of the seam, plane coordinates, mm.

    Parameters
    ----------
    register, seam, below, above, hidden, clear
        See `register_bodies`.
    """
    if register.form == "studs":
        points = [Point(place) for place in register.places]
        foot = grown(shapely.union_all(points), register.width / 2)
    else:
        foot = foot_of(register, material_of(seam, below, above, register.height), hidden, clear)
    return foot if foot.is_empty else grown(foot, register.gap)


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
        inner.append((lean(shrunk(foot, top)), straight + top))
    return inner, [(lean(grown(foot, register.gap)), register.height + DEEPER)]


def chamfer_of(register: Register) -> float:
    """Return the chamfer of the tip of a tongue or stud, 45°, mm."""
    return min(0.5, register.width / 5, register.height / 3)


def _wedge_levels(register: Register, foot: MultiPolygon) -> tuple[_Levels, _Levels]:
    """Return a wedge, and a groove that it meets with both sides at once."""
    slant = math.tan(math.radians(TAPER))
    tops = _steps(register.height, STEP)
    inner = [(lean(shrunk(foot, top * slant)), top) for top in tops]
    starts = [0.0, *tops[:-1]]
    outer = [
        (lean(offset(foot, register.gap - low * slant)), top)
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
    register: Register, foot: MultiPolygon, material: SeamMaterial, clear: MultiPolygon | None
) -> tuple[Solid, Solid]:
    """Return a lap that ends in the hidden surface of the piece above, and its rebate."""
    plane, height = material.seam.plane, register.height
    step = Solid.prism(foot, plane, 0.0, height).intersection(material.above)
    root = shrunk(foot, _SHY)
    if not root.is_empty:
        # Its upper part lies in the material however the wall leans, the lower is cut off by it.
        neck = Solid.prism(root, plane, -_SHY, min(_SHY, height / 2))
        deep = Solid.prism(root, plane, -_ROOT, -_SHY / 2).intersection(material.below)
        step = step.union(neck, deep)
    groove = grown(foot, register.gap)
    lip = _lip(foot, material, height + DEEPER)
    if not lip.is_empty:
        lip = less(grown(lip, 0.05), MultiPolygon() if clear is None else clear)
        groove = MultiPolygon(to_polygons(shapely.union(groove, lip)))
    return step, Solid.prism(groove, plane, -_MOUTH, height + DEEPER)


def _lip(foot: MultiPolygon, material: SeamMaterial, height: float) -> MultiPolygon:
    """Return what hangs over the foot's own outline, where the wall above leans over it.

    It would be left as a thin lip in front of the lap.
    """
    plane = material.seam.plane
    heights = np.linspace(0.01, height, max(math.ceil(height / 0.5), 2))
    sections = [material.above.section(plane.shifted(float(at))).shape for at in heights]
    over = less(MultiPolygon(to_polygons(shapely.union_all(sections))), sections[0])
    # Only straight across the foot's own stretch of the outline, and not round the end of a wall.
    rim = material.seam.section.shape.boundary
    own = shapely.line_merge(shapely.intersection(foot.boundary, rim.buffer(10 * _TOUCH)))
    across = own.buffer(height, cap_style="flat")
    touching = [part for part in opened(over, _TOUCH).geoms if part.distance(own) < 10 * _TOUCH]
    near = shapely.intersection(shapely.union_all(touching), across)
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
