"""The outline of a brace: a strip along what the part shows it, as a plain 2D profile."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats
from splitplanner.errors import JointError
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid, to_polygons

_QUARTER = 32
"""Chords in a quarter of a circle of offset outlines."""
_LEAN = 0.002
"""Outlines are drawn this much simpler at most, mm, and never by more than a tenth of the
clearance."""
_DUST = 1e-6
"""Polygons of less than this (mm²) are rounding."""
LEFT = 0.05
"""Material that a cutter may leave in a corner, mm: less than a printed land gives way."""
_FINE = 64
"""Chords in a quarter of a circle where it is told what a cutter leaves."""
_WIDER = 0.02
"""Reliefs are drawn for a cutter wider than the wished one by this, mm: it has to get round."""
_PASSES = 6
"""Corners are relieved again where those beside them were, so often at most."""


@dataclass(frozen=True, eq=False)
class Profile:
    """What a brace follows and is, in its own coordinates (along, towards), mm.

    Attributes
    ----------
    wish : BraceWish
    seat : MultiPolygon
        All that lies behind the line on which the brace seats: the shadow of the part within the
        sheet, swept away from the brace, its hollows bridged.
    outline : Polygon
        Of the brace, without holes.
    reach : float
        No coordinate of part or brace is larger than this, mm.
    """

    wish: BraceWish
    seat: MultiPolygon
    outline: Polygon
    reach: float

    @property
    def size(self) -> tuple[float, float]:
        """Sides of the smallest rectangle round the outline, the longer first, mm."""
        box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.outline))
        one, other = np.hypot(*np.diff(box[:3], axis=0).T).tolist()
        return max(one, other), min(one, other)

    def solid(self) -> Solid:
        """Return the brace in the part's frame, without holes for bolts."""
        return self.wish.prism(self.outline, -self.wish.half, self.wish.half)

    def line(self, distance: float) -> shapely.LineString:
        """Return the line at a distance from the inner edge towards the outer one, mm.

        It runs along the brace from its low to its high end.
        """
        grown = _grown(self.seat, self.wish.clearance + distance)
        edge = grown.boundary.intersection(self.outline)
        lines = [part for part in shapely.get_parts(edge) if part.geom_type == "LineString"]
        merged = shapely.line_merge(shapely.multilinestrings(lines))
        longest = max(shapely.get_parts(merged), key=shapely.length)
        ends = shapely.get_coordinates(longest)[[0, -1], 0]
        return longest if ends[0] < ends[1] else shapely.reverse(longest)


def swept(shape: MultiPolygon, bottom: float) -> MultiPolygon:
    """Return all that lies below the outlines of `shape` (second coordinate), down to `bottom`.

    Exact: the union of the trapezia under the edges.
    """
    quads = []
    for polygon in to_polygons(shape):
        corners = shapely.get_coordinates(polygon.exterior)
        starts, ends = corners[:-1], corners[1:]
        chosen = np.abs(starts[:, 0] - ends[:, 0]) > 1e-9
        starts, ends = starts[chosen], ends[chosen]
        feet = [
            np.column_stack([side[:, 0], np.full(len(side), bottom)]) for side in (ends, starts)
        ]
        quads.append(np.stack([starts, ends, *feet], axis=1))
    if not quads:
        return MultiPolygon()
    under = shapely.union_all(shapely.polygons(np.concatenate(quads)))
    return MultiPolygon(to_polygons(shapely.union(under, shape), _DUST))


def profile_of(part: Solid, wish: BraceWish) -> Profile:
    """Return the profile that a brace follows on a part, and its outline.

    The part within the sheet counts, whatever its height there: the shadow of what lies between
    two planes one thickness apart. So the strip clears it everywhere, and what of the part lies
    lower across the sheet is made up by lands.

    Parameters
    ----------
    part : Solid
        Uncut, or with what its pieces are to have besides.
    wish : BraceWish

    Raises
    ------
    JointError
        If the brace's plane is beside the part, the part has nothing for the brace to seat on
        somewhere, or the strip falls apart.
    """
    own = wish.to_own(part.vertices)
    size = wish.depth + wish.clearance + wish.bridged + wish.deepest
    reach = float(np.abs(own[:, :2]).max()) + 2 * size + abs(wish.low) + abs(wish.high)
    slab = wish.prism(shapely.box(-reach, -reach, reach, reach), -wish.half, wish.half)
    shadow = wish.cover(part.intersection(slab))
    if shadow.is_empty:
        low, high = own[:, 2].min() + wish.offset, own[:, 2].max() + wish.offset
        raise JointError(
            f"The plane of the brace, at an offset of {wish.offset:g} mm, is beside the part, "
            f"which reaches from {low:.1f} to {high:.1f} mm that way; move it there."
        )
    _check_ground(shadow, wish)
    # Far below, so that what the ends of the sweep look like matters nowhere.
    seat = swept(shadow, -reach)
    if wish.bridged > 0:
        # What is higher beyond its ends counts for its clearance alone: they climb no wall there.
        top = shapely.intersection(seat, wish.window(reach)).bounds[3]
        below = shapely.intersection(seat, shapely.box(-reach, -2 * reach, reach, top))
        bridged = _grown(_grown(below, wish.bridged), -wish.bridged)
        seat = shapely.union(seat, bridged)
    seat = MultiPolygon(to_polygons(seat, _DUST))
    inner = _grown(seat, wish.clearance)
    outer = _grown(seat, wish.clearance + wish.depth)
    # What lies beside the part, all the way down, belongs to no strip on it.
    window = shapely.box(wish.low, own[:, 1].min() - size, wish.high, reach)
    strip = shapely.intersection(shapely.difference(outer, inner), window)
    strips = to_polygons(strip.simplify(min(_LEAN, wish.clearance / 10)), _DUST)
    if len(strips) != 1 or strips[0].interiors:
        raise JointError(
            f"The brace falls into {len(strips)} strips between {wish.low:g} and {wish.high:g} mm; "
            "bridge its hollows more widely or make it deeper or shorter."
        )
    outline = strips[0] if wish.is_printed else relieved(strips[0], inner, wish.cutter)
    return Profile(wish, seat, shapely.orient_polygons(outline), reach)


def left_by(outline: Polygon, radius: float, least: float) -> Iterator[tuple[Floats, float]]:
    """Yield where a disc rolling round an outline leaves more than `least`, and how much, mm.

    What it does not reach is the difference between the outline closed by the disc (offset out
    and back in) and itself.
    """
    if radius <= 0:
        return
    closed = _closed(outline, radius)
    for rest in shapely.get_parts(shapely.difference(closed, outline)):
        corners = shapely.get_coordinates(rest)
        away = shapely.distance(shapely.points(corners), closed.boundary)
        if len(away) and away.max() > least:
            yield corners[int(away.argmax())], float(away.max())


def relieved(outline: Polygon, inner: shapely.Geometry, cutter: float) -> Polygon:
    """Return an outline that a cutter can cut all of.

    On the outer edge it leaves standing what it does not reach into. An inner corner that the
    brace seats round is cut a little beyond, as far as the cutter has to go to reach it.

    Parameters
    ----------
    outline : Polygon
        mm.
    inner : polygons
        What the inner edge goes round, and must not reach into, mm.
    cutter : float
        Diameter, mm.
    """
    radius = cutter / 2 + _WIDER
    for _ in range(_PASSES):
        ways, kept = [], []
        for place, _ in left_by(outline, radius, LEFT / 2):
            corner = shapely.Point(place)
            if shapely.distance(corner, inner) > _LEAN * 2:
                kept.append(corner.buffer(2 * cutter))
            else:
                ways.append(_way_to(place, outline, radius))
        if not ways and not kept:
            break
        if kept:
            filled = shapely.intersection(_closed(outline, radius), shapely.union_all(kept))
            filled = shapely.difference(filled, inner)
            outline = _largest(shapely.union(outline, filled))
        if ways:
            outline = _largest(shapely.difference(outline, shapely.union_all(ways)))
    return outline


def _way_to(place: Floats, outline: Polygon, radius: float) -> shapely.Geometry:
    """Return what a cutter takes on its way from where it has room to a corner at a place (2,)."""
    middles = outline.buffer(radius, quad_segs=_FINE).exterior
    corner = shapely.Point(place)
    start = shapely.get_coordinates(middles.interpolate(middles.project(corner)))[0]
    way = place - start
    end = place - way / max(float(np.hypot(*way)), 1e-9) * (radius - _WIDER / 2)
    return shapely.LineString([start, end]).buffer(radius, quad_segs=_FINE)


def _closed(outline: Polygon, radius: float) -> shapely.Geometry:
    return outline.buffer(radius, quad_segs=_FINE).buffer(-radius, quad_segs=_FINE)


def _largest(shape: shapely.Geometry) -> Polygon:
    return max(to_polygons(shape, _DUST), key=lambda each: float(each.area))


def _grown(shape: shapely.Geometry, by: float) -> shapely.Geometry:
    """Return a shape offset by a distance with round corners, mm; itself for 0."""
    return shape.buffer(by, quad_segs=_QUARTER) if by else shape


def _check_ground(shadow: MultiPolygon, wish: BraceWish) -> None:
    """Raise if nothing is under an end of the brace, or under more of it than is bridged."""
    spans = [
        shapely.LineString([(low, 0), (high, 0)])
        for low, _, high, _ in (polygon.bounds for polygon in shadow.geoms)
    ]
    way = shapely.LineString([(wish.low, 0), (wish.high, 0)])
    bare = shapely.difference(way, shapely.union_all(spans)) if spans else way
    for gap in shapely.get_parts(bare):
        low, _, high, _ = gap.bounds
        is_end = low <= wish.low or high >= wish.high
        if gap.length > (0.0 if is_end else 2 * wish.bridged) + 1e-6:
            raise JointError(
                f"The part has nothing for the brace to seat on from {low:.1f} to {high:.1f} mm "
                "along it; shorten the brace, move its plane, or bridge more."
            )
