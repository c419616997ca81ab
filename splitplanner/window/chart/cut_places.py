"""A cut plane as numbers beside the axis of the chart: where it crosses it, and how it leans."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.plan import Vector
from splitplanner.solid import Plane, frame_of

_STRAIGHT = 1e-9
"""Sine of a lean below which a plane stands square across the axis."""
_ROUND = 1e-9
"""Directions this near to each other are the same, degrees."""
_ALONG = 1e-6
"""Cosine below which a plane runs along the axis and has no station."""


@dataclass(frozen=True)
class ChartAxis:
    """The axis of the station chart.

    Attributes
    ----------
    direction : (x, y, z)
        Unit vector.
    through : (x, y, z)
        A point of the axis, mm, such as the middle of the part's box.
    low : float
        Where the part begins along it, ``direction · p``, mm: station 0.
    """

    direction: Vector = (1.0, 0.0, 0.0)
    through: Vector = (0.0, 0.0, 0.0)
    low: float = 0.0

    @property
    def zero(self) -> Vector:
        """The point of the axis at station 0, mm."""
        way = np.array(self.direction)
        return to_vector(np.array(self.through) + way * (self.low - way @ self.through))


@dataclass(frozen=True)
class CutPlace:
    """A plane as numbers.

    Attributes
    ----------
    station : float
        Where it crosses the axis, mm from station 0; nan if it runs along the axis.
    lean : float
        Angle between its normal and the axis, degrees, 0 to 180.
    turn : float
        Direction across the axis to which the normal leans, degrees above -180 and up to 180,
        counted from the first to the second direction of `frame_of` the axis; 0 without a lean.
    offset : float
        From the origin along the normal, mm.
    """

    station: float
    lean: float
    turn: float
    offset: float

    @property
    def is_straight(self) -> bool:
        """Whether it stands square across the axis, so that it has no turn."""
        return math.sin(math.radians(self.lean)) < _STRAIGHT


def place_of(plane: Plane, axis: ChartAxis) -> CutPlace:
    """Return a plane as numbers."""
    across, beside, along = frame_of(axis.direction) @ np.array(plane.normal)
    sideways = math.hypot(across, beside)
    lean = math.degrees(math.atan2(sideways, along))
    turn = math.degrees(math.atan2(beside, across)) if sideways >= _STRAIGHT else 0.0
    turn = 180.0 if turn < _ROUND - 180.0 else turn
    return CutPlace(_station(plane, axis), lean, turn, plane.offset)


def _station(plane: Plane, axis: ChartAxis) -> float:
    slope = float(np.dot(plane.normal, axis.direction))
    if abs(slope) < _ALONG:
        return math.nan
    return -float(plane.height([axis.zero])[0]) / slope


def normal_of(lean: float, turn: float, axis: ChartAxis) -> Vector:
    """Return the normal that leans so far (degrees) from the axis, to the side of `turn`."""
    tilt, way = math.radians(lean), math.radians(turn)
    sideways = math.sin(tilt)
    if sideways < _STRAIGHT:
        sign = math.copysign(1.0, math.cos(tilt))
        return to_vector(np.array(axis.direction) * sign + 0.0)
    local = [sideways * math.cos(way), sideways * math.sin(way), math.cos(tilt)]
    return to_vector(np.array(local) @ frame_of(axis.direction))


def plane_at_station(station: float, lean: float, turn: float, axis: ChartAxis) -> Plane:
    """Return the plane that crosses the axis at a station (mm) and leans so (degrees)."""
    point = np.array(axis.zero) + station * np.array(axis.direction)
    return Plane.through(point, normal_of(lean, turn, axis))


def plane_at_offset(offset: float, lean: float, turn: float, axis: ChartAxis) -> Plane:
    """Return the plane at an offset from the origin (mm) that leans so (degrees)."""
    return Plane(normal_of(lean, turn, axis), offset)


def moved_to_station(plane: Plane, station: float, axis: ChartAxis) -> Plane:
    """Return a plane shifted so that it crosses the axis at `station`; the normal is kept as is.

    One that runs along the axis is left alone.
    """
    before = _station(plane, axis)
    if math.isnan(before):
        return plane
    return plane.shifted((station - before) * float(np.dot(plane.normal, axis.direction)))


def leaned(plane: Plane, lean: float, turn: float, axis: ChartAxis) -> Plane:
    """Return a plane with another lean and turn (degrees).

    It turns about the point where it crosses the axis; one that does not cross the axis before
    or after keeps its offset.
    """
    station = _station(plane, axis)
    if math.isnan(station) or abs(math.cos(math.radians(lean))) < _ALONG:
        return plane_at_offset(plane.offset, lean, turn, axis)
    return plane_at_station(station, lean, turn, axis)
