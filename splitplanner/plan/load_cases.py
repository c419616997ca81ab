"""What a part is loaded by, and where it is held: plain values along an axis."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, to_vector, unit_vector
from splitplanner.errors import LoadError
from splitplanner.plan.joints import Vector

_NONE: Vector = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Support:
    """A place where the part is held. Every support keeps its place across the axis.

    Attributes
    ----------
    station : float
        mm along the axis, as `SectionChain.positions`.
    clamped : bool
        Whether it keeps the part from tilting there too.
    twist : bool
        Whether it keeps it from turning about the axis.
    axial : bool
        Whether it keeps it from moving along the axis.
    """

    station: float
    clamped: bool = False
    twist: bool = True
    axial: bool = False

    def __post_init__(self) -> None:
        _need_finite("a support", self.station)

    @staticmethod
    def pinned(station: float) -> Support:
        """Return one that can tilt and no more."""
        return Support(station, axial=True)

    @staticmethod
    def rolling(station: float) -> Support:
        """Return one that can tilt and slide along the axis."""
        return Support(station)

    @staticmethod
    def clamp(station: float) -> Support:
        """Return one that holds altogether."""
        return Support(station, clamped=True, axial=True)


@dataclass(frozen=True)
class PointLoad:
    """A force, a couple or both at one station.

    Attributes
    ----------
    station : float
        mm along the axis.
    force : (x, y, z)
        In the part's frame, N.
    moment : (x, y, z)
        A couple, right-handed, N·mm; its component along the axis twists.
    at : (x, y, z) or None
        A point on the force's line, mm, of which only the place in the section counts; in the
        section's centroid if None. Beside that, a force along the axis bends; beside the shear
        centre, a force across it twists.
    """

    station: float
    force: Vector = _NONE
    moment: Vector = _NONE
    at: Vector | None = None

    def __post_init__(self) -> None:
        _need_finite("a load", self.station, *self.force, *self.moment, *(self.at or ()))

    @property
    def total(self) -> Vector:
        """The whole force, N."""
        return self.force

    def times(self, factor: float) -> PointLoad:
        """Return the same load `factor` times as large."""
        return replace(self, force=_times(self.force, factor), moment=_times(self.moment, factor))


@dataclass(frozen=True)
class SpreadLoad:
    """A force spread evenly along a stretch of the axis, in the centroids of the sections.

    Attributes
    ----------
    start, end : float
        mm along the axis.
    force : (x, y, z)
        Of the whole stretch, N.
    """

    start: float
    end: float
    force: Vector

    def __post_init__(self) -> None:
        _need_finite("a load", self.start, self.end, *self.force)
        if not self.start < self.end:
            raise LoadError(
                f"A spread load must end after it starts, got {self.start:g} to {self.end:g} mm: "
                "exchange them, or use a force at one station."
            )

    @property
    def total(self) -> Vector:
        """The whole force, N."""
        return self.force

    def times(self, factor: float) -> SpreadLoad:
        """Return the same load `factor` times as large."""
        return replace(self, force=_times(self.force, factor))


@dataclass(frozen=True)
class WeightLoad:
    """A force spread as the part's mass is: its weight, or what its inertia does when it lands.

    Attributes
    ----------
    force : (x, y, z)
        Of the whole part, N.
    """

    force: Vector

    def __post_init__(self) -> None:
        _need_finite("a load", *self.force)

    @property
    def total(self) -> Vector:
        """The whole force, N."""
        return self.force

    def times(self, factor: float) -> WeightLoad:
        """Return the same load `factor` times as large."""
        return replace(self, force=_times(self.force, factor))


Load = PointLoad | SpreadLoad | WeightLoad


@dataclass(frozen=True)
class LoadCase:
    """Supports and loads together.

    Attributes
    ----------
    name : str
    supports : tuple of Support
        One that is clamped, or two and more.
    loads : tuple of loads

    Raises
    ------
    LoadError
        If the part would tilt, or two supports are at one station.
    """

    name: str
    supports: tuple[Support, ...]
    loads: tuple[Load, ...]

    def __post_init__(self) -> None:
        held = sorted(support.station for support in self.supports)
        if len(held) < 2 and not any(support.clamped for support in self.supports):
            raise LoadError(
                f"Load case “{self.name}”: the part is not held; clamp it at one station or "
                "support it at two."
            )
        if any(b - a <= 0.0 for a, b in pairwise(held)):
            raise LoadError(
                f"Load case “{self.name}”: two supports are at one station; move one of them."
            )

    @property
    def total(self) -> Floats:
        """The sum of all forces, (3,) N."""
        result: Floats = (
            np.sum([load.total for load in self.loads], axis=0) if self.loads else (np.zeros(3))
        )
        return result

    def times(self, factor: float) -> LoadCase:
        """Return the same case with all loads `factor` times as large."""
        return replace(self, loads=tuple(load.times(factor) for load in self.loads))


def over_two_supports(first: float, second: float, *loads: Load, name: str = "bending") -> LoadCase:
    """Return a part that lies on two supports; it may reach beyond them."""
    return LoadCase(name, (Support.pinned(first), Support.rolling(second)), loads)


def cantilever(clamp: float, *loads: Load, name: str = "cantilever") -> LoadCase:
    """Return a part that is held altogether at one station."""
    return LoadCase(name, (Support.clamp(clamp),), loads)


def between_clamps(first: float, second: float, *loads: Load, name: str = "clamped") -> LoadCase:
    """Return a part that is held at two stations, at the second free to slide along the axis."""
    return LoadCase(name, (Support.clamp(first), Support(second, clamped=True)), loads)


def twisted(
    held: float, station: float, torque: float, axis: ArrayLike, name: str = "twist"
) -> LoadCase:
    """Return a part that is held at one station and twisted at another by a `torque`, N·mm."""
    turning = to_vector(unit_vector(axis) * torque)
    return cantilever(held, PointLoad(station, moment=turning), name=name)


def _times(vector: Vector, factor: float) -> Vector:
    x, y, z = vector
    return factor * x, factor * y, factor * z


def _need_finite(what: str, *values: float) -> None:
    if not all(math.isfinite(value) for value in values):
        raise LoadError(f"The numbers of {what} must be finite; look at its station and size.")
