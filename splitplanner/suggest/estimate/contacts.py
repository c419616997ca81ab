"""Contacts: where two bodies touch in a plane, prepared once and clipped by walls many times."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Bools, Floats
from splitplanner.score import REFERENCE_PIN, shrunk
from splitplanner.solid import Plane
from splitplanner.suggest.estimate.compiled import compiled_windows
from splitplanner.suggest.estimate.walls import Walls, rows_of


@dataclass(frozen=True)
class ContactSize:
    """What of a contact lies within walls.

    Attributes
    ----------
    area : float
        mm².
    length : float
        Of its outlines, mm.
    surface_length : float
        What of it lies on the surface of the uncut part, mm.
    seen_length : float
        And on its good side, mm.
    """

    area: float
    length: float
    surface_length: float
    seen_length: float


@dataclass(frozen=True, eq=False)
class Contact:
    """Where two bodies touch in a plane, before other cuts divide it.

    Attributes
    ----------
    plane : Plane
    shape : MultiPolygon
        Plane coordinates, mm.
    crossings : (k, 4) float array, mm
        Where the plane crosses the surface of the part along its outline: both ends, in plane
        coordinates.
    seen : (k,) bool array
        Which of them lie on the good side.
    deep : function
        Returns what of the shape goes on into both bodies as deep as a pin.
    edge : float
        How far the axis of a pin stays from outlines, mm.
    """

    plane: Plane
    shape: MultiPolygon
    crossings: Floats
    seen: Bools
    deep: Callable[[], MultiPolygon]
    edge: float

    @cached_property
    def _outline(self) -> Floats:
        return outline_of(self.shape)

    @cached_property
    def _pins(self) -> Floats:
        """The outline (m, 4) of where axes of pins may stand, before other cuts divide it."""
        # Most walls are too thin right at the cut.
        at_all = shrunk(self.shape, self.edge)
        return outline_of(at_all if at_all.is_empty else shrunk(self.deep(), self.edge))

    @cached_property
    def _reach(self) -> float:
        """How far the square goes that windows are cut from, mm."""
        return 1.0 + 2.0 * float(np.abs(self._outline).max(initial=0.0))

    def within(self, walls: Walls) -> ContactSize:
        """Return the size of what lies within walls; those in the plane itself must not be there.

        In microseconds, where shapely would take a millisecond.
        """
        size = compiled_windows().contact(
            self._outline,
            self.crossings,
            self.seen,
            rows_of(walls),
            self.plane.frame,
            self.plane.origin,
            self._reach,
        )
        return ContactSize(*size)

    def pins(self, walls: Walls) -> int:
        """Return how many dowel pins fit within walls, counted up to two.

        One fits wherever its edge distance leaves a point; a second, if two points are left as
        far apart as pins have to be. What two shapes share shrinks to what the shrunk shapes share.
        """
        if not len(self._pins):
            return 0
        return int(
            compiled_windows().places(
                self._pins,
                rows_of(walls),
                self.plane.frame,
                self.plane.origin,
                self._reach,
                self.edge,
                3 * REFERENCE_PIN,
            )
        )


def outline_of(shape: MultiPolygon) -> Floats:
    """Return the outlines of polygons as segments (n, 4), material on their left, mm."""
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(shape)))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    joined = ring[:-1] == ring[1:]
    return np.ascontiguousarray(np.hstack([corners[:-1], corners[1:]])[joined])
