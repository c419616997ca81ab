"""An oriented plane and the frame that goes with a direction."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats, to_vector, unit_vector

_UNIT = 1e-15
"""A vector whose length is off by no more than half of this is left alone."""


def frame_of(direction: ArrayLike) -> Floats:
    """Return the rotation that stands `direction` upright.

    Parameters
    ----------
    direction : (3,) array
        Any length but zero.

    Returns
    -------
    (3, 3) float array
        Rows u, v, n: right-handed, orthonormal, n along `direction`. ``frame @ p`` turns a point
        so that `direction` becomes +z; ``(u, v)`` are plane coordinates. For +z it is the
        identity. The choice of u is a fixed rule, so equal directions give equal frames.

    Raises
    ------
    ValueError
        If `direction` has no length.
    """
    if isinstance(direction, tuple):
        return _frame_along(direction)
    return _frame_of(to_vector(unit_vector(direction)))


@lru_cache(maxsize=4096)
def _frame_along(direction: tuple[float, float, float]) -> Floats:
    return _frame_of(to_vector(unit_vector(direction)))


@lru_cache(maxsize=4096)
def _frame_of(unit: tuple[float, float, float]) -> Floats:
    n = np.array(unit)
    helper = np.zeros(3)
    helper[int(np.argmin(np.round(np.abs(n), 9)))] = 1.0
    u = helper - n * float(helper @ n)
    u /= np.linalg.norm(u)
    return frozen_floats(np.array([u, np.cross(n, u), n]) + 0.0)


def _is_unit(vector: tuple[float, ...]) -> bool:
    """Return whether a tuple of plain numbers has length 1 to the last digits."""
    plain = type(vector) is tuple and len(vector) == 3 and all(type(v) is float for v in vector)
    return plain and abs(sum(v * v for v in vector) - 1.0) < _UNIT


@dataclass(frozen=True)
class Plane:
    """All points p with ``normal · p == offset``; *above* is the side the normal points to.

    Attributes
    ----------
    normal : tuple of 3 float
        Unit vector.
    offset : float
        Distance from the origin along the normal, mm.
    """

    normal: tuple[float, float, float]
    offset: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.offset):
            raise ValueError(f"a plane needs a finite offset, got {self.offset}")
        # A vector that is already of unit length is kept to the bit, so that files round-trip.
        if not _is_unit(self.normal):
            object.__setattr__(self, "normal", to_vector(unit_vector(self.normal)))
        object.__setattr__(self, "offset", float(self.offset))

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # Planes are looked up far more often than they are made.
        return hash((self.normal, self.offset))

    @staticmethod
    def through(point: ArrayLike, normal: ArrayLike) -> Plane:
        """Return the plane with `normal` (3,) through `point` (3,), mm."""
        n = unit_vector(normal)
        return Plane(to_vector(n), float(n @ np.asarray(point, float)))

    @property
    def frame(self) -> Floats:
        """Rows u, v, n of the plane's frame; see `frame_of`."""
        return _frame_of(self.normal)

    @property
    def origin(self) -> Floats:
        """The plane's point nearest to the origin of the part's frame, (3,) mm."""
        return frozen_floats(np.array(self.normal) * self.offset)

    def flipped(self) -> Plane:
        """Return the same points with above and below exchanged."""
        a, b, c = self.normal
        return Plane((-a, -b, -c), -self.offset)

    def shifted(self, distance: float) -> Plane:
        """Return the plane moved by `distance` (mm) along its normal."""
        return Plane(self.normal, self.offset + distance)

    def height(self, points: ArrayLike) -> Floats:
        """Return the signed distance of `points` (n, 3) from the plane, (n,) mm."""
        result: Floats = np.asarray(points, float) @ np.array(self.normal) - self.offset
        return result

    def to_plane(self, points: ArrayLike) -> Floats:
        """Return the plane coordinates (n, 2) of `points` (n, 3), mm."""
        result: Floats = np.asarray(points, float) @ self.frame[:2].T
        return result

    def to_space(self, coordinates: ArrayLike) -> Floats:
        """Return the points (n, 3) of plane `coordinates` (n, 2), mm."""
        result: Floats = np.asarray(coordinates, float) @ self.frame[:2] + self.origin
        return result
