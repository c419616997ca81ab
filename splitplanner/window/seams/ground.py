"""Where pins may stand on one seam: its room for each size, and how far a pin is from what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon, Point
from shapely.ops import nearest_points

from splitplanner.arrays import Bools
from splitplanner.plan import Pin, Seam
from splitplanner.score import SeamRow, shrunk, widest_place
from splitplanner.score.seam import TOLERANCE
from splitplanner.solid import Solid, plane_segments
from splitplanner.window.quantities import Quantities

_SLACK = 0.005
"""Kept over the edge distance, mm: more than the error of the offset outlines."""
_ROUNDING = 1e-6
"""mm."""


@dataclass(frozen=True)
class FlatPin:
    """A pin as it is seen in the plane of its seam.

    Attributes
    ----------
    u, v : float
        Its axis, plane coordinates, mm.
    diameter, edge_distance : float
        mm.
    """

    u: float
    v: float
    diameter: float
    edge_distance: float


def flat_pins(row: SeamRow, pins: Sequence[Pin]) -> tuple[FlatPin, ...]:
    """Return pins of a seam as they are seen in its plane."""
    if not pins:
        return ()
    places = row.seam.plane.to_plane([pin.at for pin in pins]).tolist()
    return tuple(
        FlatPin(u, v, pin.diameter, pin.edge_distance)
        for (u, v), pin in zip(places, pins, strict=True)
    )


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
    """The polygons of one seam, and where on them a pin may stand.

    Parameters
    ----------
    shape : MultiPolygon
        The seam, plane coordinates, mm.
    deep : MultiPolygon
        Where the axis of a common small pin has material behind it in both pieces.
    shown : MultiLineString, optional
        What of the outlines lies on the good side; see `shown_lines`.
    """

    def __init__(
        self, shape: MultiPolygon, deep: MultiPolygon, shown: MultiLineString | None = None
    ) -> None:
        self.shape, self.deep = shape, deep
        self.shown = MultiLineString() if shown is None else shown
        self._rooms: dict[float, MultiPolygon] = {}

    def is_like(self, other: SeamGround) -> bool:
        """Return whether another is drawn in the same way."""
        mine = (self.shape, self.deep, self.shown)
        return mine == (other.shape, other.deep, other.shown)

    @cached_property
    def middle(self) -> tuple[float, float]:
        """The centroid of the seam, about which lever arms are taken, mm."""
        centre = self.shape.centroid
        return centre.x, centre.y

    @cached_property
    def widest(self) -> tuple[float, tuple[float, float]]:
        """Diameter and centre of the largest circle that fits in the seam, mm."""
        diameter, centre = widest_place(self.shape)
        return diameter, (float(centre[0]), float(centre[1]))

    def room(self, edge_distance: float) -> MultiPolygon:
        """Return where the axis of a pin may stand that keeps this edge distance, mm."""
        if edge_distance not in self._rooms:
            self._rooms[edge_distance] = shrunk(self.shape, edge_distance + _SLACK)
        return self._rooms[edge_distance]

    def needs(self, edge_distance: float) -> float:
        """Return how wide the wall has to be for such a pin, mm."""
        return 2 * (edge_distance + _SLACK)

    def holds(self, u: float, v: float, edge_distance: float) -> bool:
        """Return whether a pin may stand at a place."""
        return bool(self.room(edge_distance).distance(Point(u, v)) <= _ROUNDING)

    def nearest(self, u: float, v: float, edge_distance: float) -> tuple[float, float]:
        """Return the place in the room that is nearest; the place itself where there is no room."""
        room = self.room(edge_distance)
        if room.is_empty:
            return u, v
        found, _ = nearest_points(room, Point(u, v))
        return found.x, found.y

    def to_edge(self, u: float, v: float) -> float:
        """Return how far a place is from the outline, mm; below 0 outside of the seam."""
        point = Point(u, v)
        distance = float(self.shape.boundary.distance(point))
        return distance if self.shape.intersects(point) else -distance

    def roomiest(self, pins: Sequence[FlatPin], edge_distance: float) -> tuple[float, float] | None:
        """Return the place in the room furthest from the pins that are there.

        Of the corners of the room and the middles of its bodies; where there is no pin yet, where
        the wall is widest. None if all of the room is too near to a pin.
        """
        room = self.room(edge_distance)
        if room.is_empty:
            return None
        if not pins:
            return self.nearest(*self.widest[1], edge_distance)
        bodies = [body.representative_point() for body in room.geoms]
        places = np.vstack([shapely.get_coordinates(room), shapely.get_coordinates(bodies)])
        stands = np.array([(pin.u, pin.v) for pin in pins])
        gaps = np.linalg.norm(places[:, None] - stands[None], axis=2)
        allowed = np.array([pin.edge_distance + edge_distance for pin in pins])
        gaps = np.where((gaps >= allowed).all(axis=1), gaps.min(axis=1), -1.0)
        best = int(gaps.argmax())
        return (float(places[best, 0]), float(places[best, 1])) if gaps[best] > 0 else None


@dataclass(frozen=True)
class Standing:
    """How one pin of a seam stands.

    Attributes
    ----------
    to_edge : float
        From its axis to the outline, mm; below 0 outside of the seam.
    is_clear : bool
        Whether it keeps its edge distance.
    near : int or None
        Index of the pin next to it; None if it is alone.
    apart : float
        The distance to that pin's axis, mm; inf if there is none.
    too_near : tuple of int
        The pins that are nearer than the sum of both edge distances.
    """

    to_edge: float
    is_clear: bool
    near: int | None
    apart: float
    too_near: tuple[int, ...]


def standing(ground: SeamGround, pins: Sequence[FlatPin], index: int) -> Standing:
    """Return how the pin of an index stands among `pins`."""
    pin = pins[index]
    gaps = {
        other: math.hypot(pin.u - each.u, pin.v - each.v)
        for other, each in enumerate(pins)
        if other != index
    }
    near = min(gaps, key=lambda other: gaps[other], default=None)
    return Standing(
        ground.to_edge(pin.u, pin.v),
        ground.holds(pin.u, pin.v, pin.edge_distance),
        near,
        math.inf if near is None else gaps[near],
        tuple(
            other
            for other, gap in gaps.items()
            if gap < pin.edge_distance + pins[other].edge_distance - _ROUNDING
        ),
    )


def told(pins: Sequence[FlatPin], index: int, stands: Standing, q: Quantities) -> str:
    """Return where a pin stands, in words."""
    pin = pins[index]
    parts = [f"u {q.length(pin.u)}", f"v {q.length(pin.v)}"]
    if stands.to_edge < 0:
        parts.append(f"{q.length(-stands.to_edge)} outside of the seam")
    elif not stands.is_clear:
        needed = q.length(pin.edge_distance, 2)
        parts.append(f"only {q.length(stands.to_edge, 2)} to the edge, needs {needed}")
    else:
        parts.append(f"{q.length(stands.to_edge)} to the edge")
    if stands.near is not None:
        gap = f"{q.length(stands.apart)} to pin {stands.near + 1}"
        if stands.near in stands.too_near:
            needed = q.length(pin.edge_distance + pins[stands.near].edge_distance)
            gap = f"only {gap}, better {needed}"
        parts.append(gap)
    return f"Pin {index + 1}: {', '.join(parts)}"


def told_no_room(ground: SeamGround, edge_distance: float, q: Quantities) -> str:
    """Say that no pin fits, and why."""
    widest = ground.widest[0]
    return (
        f"No room for a pin: the wall is {q.length(widest, 2)} wide at its widest place, and the "
        f"smallest pin needs {q.length(ground.needs(edge_distance), 2)}."
    )
