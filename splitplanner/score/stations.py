"""Figures of the uncut part at stations along an axis: what a cut there would meet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, Ints, frozen_floats, to_vector, unit_vector
from splitplanner.plan import Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.score.figures import REFERENCE_PIN
from splitplanner.score.overhang import overhang
from splitplanner.score.room import room, shrunk
from splitplanner.solid import Plane, Solid
from splitplanner.strength import area_moments
from splitplanner.workshop import Printer

_INSET = 1e-3
"""The first and the last station lie inside the part by this share of its length, so that they
cut it."""
_COUNTED = 20
"""Pins are counted for about so many stretches of the axis, in each of which the free area is much
the same: a count takes longer than all else at a station."""
_SAME = 0.01
"""Rooms whose areas and outlines differ by no more than this share have the same count, as in the
two halves of a symmetric part."""
_ROUND = 1e-3
"""Moments that differ by less than this share count as equal about every axis."""
_ALIKE = 1.0 - 1e-9
"""Cosine from which on two axes are one."""


@dataclass(frozen=True, eq=False)
class Stations:
    """Figures of a part at stations along an axis.

    Attributes
    ----------
    axis : (x, y, z)
        Unit vector.
    ends : (low, high)
        Where the part begins and ends along the axis, mm.
    positions : (n,) float array
        Offset ``axis · p`` of the plane at each station, mm, rising.
    area : (n,) float array
        Of the section, mm².
    length : (n,) float array
        Of all outlines of the section, mm: how long a seam there would be.
    room : (n,) float array
        How many dowel pins of `REFERENCE_PIN` fit on the section at 3 d with their edge distance.
        Of stations with about as much room one is counted for all; 0 is exact.
    overhang : (n,) float array
        Area that needs support if the uncut part is printed as it stands, +z up, bridges taken
        off, per length of axis, mm²/mm. A station stands for what is nearer to it than to the
        next, faces divided where they reach over; so nothing of the part's overhang is lost.
    wall : (n,) float array
        Mean wall thickness of the section, mm: 2 x area / length, the hydraulic thickness of a
        thin-walled section (common practice, no source); nan where there is no section.
    modulus : (n,) float array
        Least elastic section modulus, mm³; see `section_modulus`.
    """

    axis: Vector
    ends: tuple[float, float]
    positions: Floats
    area: Floats
    length: Floats
    room: Floats
    overhang: Floats
    wall: Floats
    modulus: Floats

    def __post_init__(self) -> None:
        shape = (len(self.positions),)
        for name in ("positions", "area", "length", "room", "overhang", "wall", "modulus"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), shape))


def stations(
    part: Solid, axis: ArrayLike, printer: Printer, count: int = 200, report: Report = silent
) -> Stations:
    """Measure a part at stations evenly spaced along an axis.

    Parameters
    ----------
    part : Solid
        The part or a light stand-in.
    axis : (3,) array
        Of any length but zero.
    printer : Printer
        For edge distances, overhang limit and bridges.
    count : int
        How many stations, 2 or more.
    report : progress callback

    Raises
    ------
    ValueError
        If there are fewer than two stations, or the axis has no length.
    """
    if count < 2:
        raise ValueError(f"at least two stations are needed, got {count}")
    direction = unit_vector(axis)
    heights = part.vertices @ direction
    low, high = float(heights.min()), float(heights.max())
    inset = _INSET * (high - low)
    positions = np.linspace(low + inset, high - inset, count)
    base = Plane(to_vector(direction), 0.0)
    shapes = []
    slicing = part_of(report, 0.0, 0.4)
    for index, (_, section) in enumerate(part.each_section(base, positions)):
        slicing(index / count, "cutting sections along the axis")
        shapes.append(section.shape)
    area = np.array([shape.area for shape in shapes])
    length = np.array([shape.length for shape in shapes])
    with np.errstate(divide="ignore", invalid="ignore"):
        wall = 2.0 * area / length
    return Stations(
        axis=base.normal,
        ends=(low, high),
        positions=positions,
        area=area,
        length=length,
        room=_pins(shapes, printer, part_of(report, 0.4, 1.0)),
        overhang=_overhang_along(part, heights, positions, printer),
        wall=wall,
        modulus=np.array([section_modulus(shape) for shape in shapes]),
    )


def station_axes(part: Solid) -> tuple[tuple[str, Vector], ...]:
    """Return the axes along which a part is worth looking at, each with what it is called.

    Its long axis comes first, pointing the way in which its largest component grows; then x, y
    and z. One of these that is the long axis is not given again.
    """
    long = part.long_axis
    long = long * np.sign(long[int(np.argmax(np.abs(long)))])
    own = [(name, row) for name, row in zip("xyz", np.eye(3), strict=True)]
    alike = [name for name, row in own if float(row @ long) > _ALIKE]
    axes = [(f"long axis, {alike[0]}", np.eye(3)["xyz".index(alike[0])])] if alike else []
    axes = axes or [("long axis", long)]
    axes += [(name, row) for name, row in own if name not in alike]
    return tuple((name, to_vector(unit_vector(row))) for name, row in axes)


def section_modulus(shape: MultiPolygon) -> float:
    """Return the least elastic section modulus of a section, mm³.

    The second moment of area about a principal axis through the centroid over the distance of the
    farthest point from it, I / c (Roark's Formulas for Stress and Strain, appendix A), of the two
    principal axes the lesser. If both moments are equal, every axis is principal, and the least is
    that of the farthest point from the centroid. All polygons count as one rigid section.

    It stands in for strength, and is not one: it knows of no layers and no wall that buckles.

    Parameters
    ----------
    shape : MultiPolygon
        Plane coordinates, mm.

    Returns
    -------
    float
        0 when `shape` is empty.
    """
    if shape.is_empty:
        return 0.0
    # About the middle of the box, since the terms are small differences of large numbers far away.
    low_u, low_v, high_u, high_v = shape.bounds
    middle = np.array([(low_u + high_u) / 2, (low_v + high_v) / 2])
    points, area, first, second = area_moments(shape, middle)
    if not area > 0.0:
        return 0.0
    centroid = first / area
    tensor = second - area * np.outer(centroid, centroid)
    moments, axes = np.linalg.eigh(tensor)
    away = points - centroid
    if moments[1] - moments[0] <= _ROUND * moments[1]:
        return float(moments[0] / np.sqrt((away**2).sum(axis=1).max()))
    # The spread along an axis is the moment about the axis across it.
    reach = np.abs(away @ axes).max(axis=0)
    return float((moments / reach).min())


def _pins(shapes: list[MultiPolygon], printer: Printer, report: Report) -> Floats:
    """Return how many reference pins fit at each station, (n,)."""
    distance, pins = printer.edge_distance(REFERENCE_PIN), np.zeros(len(shapes))
    inner = [shrunk(shape, distance) for shape in shapes]
    free = np.array([shape.area for shape in inner])
    rims = np.array([shape.length for shape in inner])
    stretches = [run for run in _stretches(np.sqrt(free)) if free[run[0]] > 0.0]
    counted: list[int] = []
    for index, run in enumerate(stretches):
        report(index / len(stretches), "counting pins that fit")
        # The one in the middle of them by its free area speaks for all.
        middle = int(run[int(np.argsort(free[run], kind="stable")[len(run) // 2])])
        known = [
            at
            for at in counted
            if abs(free[at] - free[middle]) <= _SAME * free[at]
            and abs(rims[at] - rims[middle]) <= _SAME * rims[at]
        ]
        if known:
            pins[run] = pins[known[0]]
        else:
            pins[run] = room(shapes[middle], distance, 3 * REFERENCE_PIN).count
            counted.append(middle)
    return pins


def _stretches(levels: Floats) -> list[Ints]:
    """Return stretches of stations that have about the same level, some `_COUNTED` of them.

    A stretch is as long as its levels lie within a tolerance; the least tolerance is found that
    leaves few enough. Stations with level 0 are kept apart from others.
    """
    below, above = 0.0, float(np.ptp(levels))
    found = _within(levels, above)
    for _ in range(20):
        middle = (below + above) / 2
        tried = _within(levels, middle)
        if sum(levels[run[0]] > 0.0 for run in tried) <= _COUNTED:
            above, found = middle, tried
        else:
            below = middle
    return found


def _within(levels: Floats, tolerance: float) -> list[Ints]:
    """Return the longest stretches, from the first on, whose levels lie within a tolerance."""
    starts, least, most = [0], levels[0], levels[0]
    for index, level in enumerate(levels):
        least, most = min(least, level), max(most, level)
        if most - least > tolerance or (least == 0.0) != (most == 0.0):
            starts.append(index)
            least = most = level
    return np.split(np.arange(len(levels)), starts[1:])


def _overhang_along(part: Solid, heights: Floats, positions: Floats, printer: Printer) -> Floats:
    """Return the overhang of the standing part per length of axis round each station, (n,)."""
    hanging = overhang(part, (0.0, 0.0, 1.0), printer.overhang_limit, printer.bridge_span).faces
    edges = np.concatenate([[heights.min()], (positions[1:] + positions[:-1]) / 2])
    # Beyond the end, so that faces that lie there are counted.
    edges = np.append(edges, heights.max())
    below = _area_below(heights[part.faces[hanging]], part.face_areas[hanging], edges[1:-1])
    total = float(part.face_areas[hanging].sum())
    shares = np.diff(np.concatenate([[0.0], below, [total]]))
    along: Floats = np.maximum(shares, 0.0) / np.diff(edges)
    return along


def _area_below(heights: Floats, areas: Floats, limits: Floats) -> Floats:
    """Return how much of triangles lies below each limit, (k,) mm².

    A plane across a triangle cuts off a corner similar to the part of it that the middle corner's
    height leaves on that side, so the area grows with the square of the height (plane geometry).

    Parameters
    ----------
    heights : (m, 3) float array
        Of the corners, mm.
    areas : (m,) float array, mm²
    limits : (k,) float array, mm
    """
    low, middle, high = np.sort(heights, axis=1).T[:, :, None]
    rise, lower, upper = high - low, middle - low, high - middle
    with np.errstate(divide="ignore", invalid="ignore"):
        before = np.clip(limits - low, 0.0, None) ** 2 / (rise * lower)
        after = 1.0 - np.clip(high - limits, 0.0, None) ** 2 / (rise * upper)
    share = np.where(limits < middle, before, after)
    # A limit outside, and a triangle that lies level, are told without dividing.
    share = np.where(limits <= low, 0.0, np.where(limits >= high, 1.0, share))
    below: Floats = areas @ share
    return below
