"""The outline of a brace: a strip along what the part shows it, as a plain 2D profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

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
        If the part has nothing for the brace to seat on somewhere, or the strip falls apart.
    """
    own = wish.to_own(part.vertices)
    size = wish.depth + wish.clearance + wish.bridged + wish.deepest
    reach = float(np.abs(own[:, :2]).max()) + 2 * size + abs(wish.low) + abs(wish.high)
    slab = wish.prism(shapely.box(-reach, -reach, reach, reach), -wish.half, wish.half)
    shadow = wish.cover(part.intersection(slab))
    _check_ground(shadow, wish)
    # Far below, so that what the ends of the sweep look like matters nowhere.
    seat = swept(shadow, -reach)
    if wish.bridged > 0:
        seat = _grown(_grown(seat, wish.bridged), -wish.bridged)
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
    return Profile(wish, seat, shapely.orient_polygons(strips[0]), reach)


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
