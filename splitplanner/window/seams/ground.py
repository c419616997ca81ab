"""Where pins and screws may stand on one seam: the room for each, and how far one is from what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import (
    LinearRing,
    LineString,
    MultiLineString,
    MultiPolygon,
    Point,
    Polygon,
)
from shapely.ops import nearest_points

from splitplanner.arrays import Bools
from splitplanner.joint.register.foot import inner_lines
from splitplanner.plan import Flange, Joint, Seam
from splitplanner.score import SeamRow, shrunk, widest_place
from splitplanner.score.seam import TOLERANCE
from splitplanner.solid import Solid, plane_segments, to_polygons
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.bands import Bands, bands_of, register_shape, tape_lines
from splitplanner.window.seams.flat import FlatFastener, title

_SLACK = 0.005
"""Kept over the edge distance, mm: more than the error of the offset outlines."""
_SIMPLER = 0.1
"""So much simpler than the wall, and wider than it can be built, a flange is drawn at most, mm."""
_ROUNDING = 1e-6
"""mm."""
_AROUND = 3.0
"""Pins and screws are shown with so many edge distances round them."""
_SEWN = 0.01
"""A flange is drawn so far into the wall, mm."""


def rim_of(flange: Flange | None) -> MultiPolygon:
    """Return what a flange covers in the plane of its seam: beside its lines, on their right.

    Its thickness and how it ends at ribs are not in it.
    """
    parts: list[shapely.Geometry] = []
    for line in () if flange is None else flange.lines:
        width = flange.width  # type: ignore[union-attr]
        if len(line) > 3 and line[0] == line[-1]:
            inside = Polygon(line)
            # The right of a ring that turns to the left is outside of it.
            if LinearRing(line).is_ccw:
                parts.append(inside.buffer(width).difference(inside))
            else:
                parts.append(inside.difference(inside.buffer(-width)))
        else:
            parts.append(LineString(line).buffer(-width, single_sided=True))
        # A little into the wall, so that both are one.
        parts.append(LineString(line).buffer(_SEWN, quad_segs=2))
    return MultiPolygon(to_polygons(shapely.union_all(parts))) if parts else MultiPolygon()


def ground_of(
    row: SeamRow, joint: Joint | None, shown: MultiLineString | None = None
) -> SeamGround:
    """Return the ground of a seam as it was measured, with the flange that a plan adds to it.

    And with the register and the tape of the joint, if there are any.
    """
    bands = Bands() if joint is None else bands_of(joint, row.seam.plane)
    shape, deep = row.seam.section.shape, row.deep_room.polygons
    return SeamGround(shape, deep, shown, rim_of(bands.flange), bands)


def shown_lines(seam: Seam, part: Solid, seen: Bools) -> MultiLineString:
    """Return what of the outlines of a seam lies on the good side, plane coordinates, mm.

    Parameters
    ----------
    seam : Seam
    part : Solid
        The uncut part.
    seen : (m,) bool array
        Its faces on the good side.
    """
    segments, faces = plane_segments(part, seam.plane)
    flat = seam.plane.to_plane(segments[seen[faces]].reshape(-1, 3)).reshape(-1, 2, 2)
    lines = shapely.linestrings(flat)
    # The plane may cross the part outside of this seam as well.
    outline = seam.section.shape.boundary.buffer(TOLERANCE, quad_segs=2)
    shapely.prepare(outline)
    whole = shapely.contains_properly(outline, lines)
    partly = shapely.intersects(outline, lines) & ~whole
    found = np.concatenate([lines[whole], shapely.intersection(outline, lines[partly])])
    parts = shapely.get_parts(found)
    return MultiLineString(list(parts[shapely.length(parts) > 0]))


class SeamGround:
    """The polygons of one seam, and where on them a pin or a screw may stand.

    Parameters
    ----------
    shape : MultiPolygon
        The seam, plane coordinates, mm.
    deep : MultiPolygon
        Where the axis of a common small pin has material behind it in both pieces.
    shown : MultiLineString, optional
        What of the outlines lies on the good side; see `shown_lines`.
    rim : MultiPolygon, optional
        A flange beside the seam; see `rim_of`.
    bands : Bands, optional
        What else runs along the seam.
    """

    def __init__(
        self,
        shape: MultiPolygon,
        deep: MultiPolygon,
        shown: MultiLineString | None = None,
        rim: MultiPolygon | None = None,
        bands: Bands | None = None,
    ) -> None:
        self.shape, self.deep = shape, deep
        self.shown = MultiLineString() if shown is None else shown
        self._is_known = shown is not None
        self.rim = MultiPolygon() if rim is None else rim
        self.bands = bands or Bands()
        self._rooms: dict[float, MultiPolygon] = {}

    def is_like(self, other: SeamGround) -> bool:
        """Return whether another is drawn in the same way."""
        mine = (self.bands, self.shape, self.deep, self.shown, self.rim)
        return mine == (other.bands, other.shape, other.deep, other.shown, other.rim)

    @cached_property
    def whole(self) -> MultiPolygon:
        """The seam and its flange as one, plane coordinates, mm."""
        if self.rim.is_empty:
            return self.shape
        both = self.shape.union(self.rim)
        # A flange's lines are a little simpler than the wall: slits between the two are closed.
        closed = both.buffer(_SIMPLER, join_style="mitre").buffer(-_SIMPLER, join_style="mitre")
        return MultiPolygon(to_polygons(closed))

    @property
    def _shown_surely(self) -> shapely.Geometry:
        """What of the outlines is seen; where that is not known, what is likely to be."""
        if self._is_known:
            return self.shown
        return shapely.difference(self.shape.boundary, inner_lines(self.shape).buffer(_SEWN))

    @cached_property
    def register_shape(self) -> MultiPolygon:
        """The foot of the seam's register, mm; empty without one."""
        return register_shape(self.bands, self.shape)

    @cached_property
    def tape_lines(self) -> MultiLineString:
        """The outlines along which there is tape, mm; empty without any."""
        return tape_lines(self.bands, self.whole, self._shown_surely)

    @cached_property
    def middle(self) -> tuple[float, float]:
        """The centroid of the seam, about which lever arms are taken, mm."""
        centre = self.shape.centroid
        return centre.x, centre.y

    @cached_property
    def widest(self) -> tuple[float, tuple[float, float]]:
        """Diameter and centre of the largest circle that fits in seam and flange, mm."""
        diameter, centre = widest_place(self.whole)
        return diameter, (float(centre[0]), float(centre[1]))

    def room(self, edge_distance: float) -> MultiPolygon:
        """Return where the axis of a pin or a screw may stand that keeps this edge distance, mm."""
        if edge_distance not in self._rooms:
            self._rooms[edge_distance] = shrunk(self.whole, edge_distance + _SLACK)
        return self._rooms[edge_distance]

    def needs(self, edge_distance: float) -> float:
        """Return how wide the wall has to be for it, mm."""
        return 2 * (edge_distance + _SLACK)

    def holds(self, u: float, v: float, edge_distance: float) -> bool:
        """Return whether a pin or a screw may stand at a place."""
        off = _ROUNDING if self.rim.is_empty else _SIMPLER
        return bool(self.room(edge_distance).distance(Point(u, v)) <= off)

    def nearest(self, u: float, v: float, edge_distance: float) -> tuple[float, float]:
        """Return the place in the room that is nearest; the place itself where there is no room."""
        room = self.room(edge_distance)
        if room.is_empty:
            return u, v
        found, _ = nearest_points(room, Point(u, v))
        return found.x, found.y

    def to_edge(self, u: float, v: float) -> float:
        """Return how far a place is from the outline, mm; below 0 outside of seam and flange."""
        point = Point(u, v)
        distance = float(self.whole.boundary.distance(point))
        return distance if self.whole.intersects(point) else -distance

    def roomiest(
        self, others: Sequence[FlatFastener], edge_distance: float
    ) -> tuple[float, float] | None:
        """Return the place in the room furthest from the pins and screws that are there.

        Of the corners of the room and the middles of its bodies; where there is none yet, where
        the wall is widest. None if all of the room is too near to one.
        """
        room = self.room(edge_distance)
        if room.is_empty:
            return None
        if not others:
            return self.nearest(*self.widest[1], edge_distance)
        bodies = [body.representative_point() for body in room.geoms]
        places = np.vstack([shapely.get_coordinates(room), shapely.get_coordinates(bodies)])
        stands = np.array([(each.u, each.v) for each in others])
        gaps = np.linalg.norm(places[:, None] - stands[None], axis=2)
        allowed = np.array([each.edge_distance + edge_distance for each in others])
        gaps = np.where((gaps >= allowed).all(axis=1), gaps.min(axis=1), -1.0)
        best = int(gaps.argmax())
        return (float(places[best, 0]), float(places[best, 1])) if gaps[best] > 0 else None


def near_by(
    ground: SeamGround, fasteners: Sequence[FlatFastener], edge_distance: float
) -> tuple[float, float, float, float]:
    """Return low u, low v, high u and high v of pins and screws with what is near by, mm.

    Without any, of the room for this edge distance, or of where the wall is widest.
    """
    room = ground.room(edge_distance)
    if fasteners:
        spots = [(each.u, each.v, _AROUND * each.edge_distance) for each in fasteners]
    elif not room.is_empty:
        low_u, low_v, high_u, high_v = room.bounds
        spots = [(u, v, 2 * edge_distance) for u, v in ((low_u, low_v), (high_u, high_v))]
    else:
        diameter, (u, v) = ground.widest
        spots = [(u, v, 2 * diameter)]
    return (
        min(u - round_it for u, _, round_it in spots),
        min(v - round_it for _, v, round_it in spots),
        max(u + round_it for u, _, round_it in spots),
        max(v + round_it for _, v, round_it in spots),
    )


@dataclass(frozen=True)
class Standing:
    """How one pin or screw of a seam stands.

    Attributes
    ----------
    to_edge : float
        From its axis to the outline, mm; below 0 outside of seam and flange.
    is_clear : bool
        Whether it keeps its edge distance.
    near : int or None
        Index of the one next to it; None if it is alone.
    apart : float
        The distance to the axis of that, mm; inf if there is none.
    too_near : tuple of int
        Those that are nearer than the sum of both edge distances.
    """

    to_edge: float
    is_clear: bool
    near: int | None
    apart: float
    too_near: tuple[int, ...]


def standing(ground: SeamGround, fasteners: Sequence[FlatFastener], index: int) -> Standing:
    """Return how the pin or screw of an index stands among `fasteners`."""
    mine = fasteners[index]
    gaps = {
        other: math.hypot(mine.u - each.u, mine.v - each.v)
        for other, each in enumerate(fasteners)
        if other != index
    }
    near = min(gaps, key=lambda other: gaps[other], default=None)
    return Standing(
        ground.to_edge(mine.u, mine.v),
        ground.holds(mine.u, mine.v, mine.edge_distance),
        near,
        math.inf if near is None else gaps[near],
        tuple(
            other
            for other, gap in gaps.items()
            if gap < mine.edge_distance + fasteners[other].edge_distance - _ROUNDING
        ),
    )


def told(fasteners: Sequence[FlatFastener], index: int, stands: Standing, q: Quantities) -> str:
    """Return where a pin or a screw stands, in words."""
    mine = fasteners[index]
    parts = [f"u {q.length(mine.u)}", f"v {q.length(mine.v)}"]
    if stands.to_edge < 0:
        parts.append(f"{q.length(-stands.to_edge)} outside of the seam")
    elif not stands.is_clear:
        needed = q.length(mine.edge_distance, 2)
        parts.append(f"only {q.length(stands.to_edge, 2)} to the edge, needs {needed}")
    else:
        parts.append(f"{q.length(stands.to_edge)} to the edge")
    if stands.near is not None:
        other = title(fasteners, stands.near)
        gap = f"{q.length(stands.apart)} to {other[0].lower()}{other[1:]}"
        if stands.near in stands.too_near:
            needed = q.length(mine.edge_distance + fasteners[stands.near].edge_distance)
            gap = f"only {gap}, better {needed}"
        parts.append(gap)
    name = title(fasteners, index)
    if mine.screw is not None:
        name += f", {mine.screw.size}, head in piece {mine.screw.head_in}"
    return f"{name}: {', '.join(parts)}"


def told_no_room(ground: SeamGround, edge_distance: float, q: Quantities) -> str:
    """Say that no pin fits, and why."""
    widest = ground.widest[0]
    return (
        f"No room for a pin: the wall is {q.length(widest, 2)} wide at its widest place, and the "
        f"smallest pin needs {q.length(ground.needs(edge_distance), 2)}."
    )
