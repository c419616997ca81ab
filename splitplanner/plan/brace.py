"""A brace as the user asks for it, and the coordinates in which it is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, to_vector, unit_tuple, unit_vector
from splitplanner.plan.joints import Hold, Vector
from splitplanner.solid import Plane, Solid, plan_view, to_polygons

_SQUARE = 1e-6
"""Cosine up to which two directions count as square to each other."""


@dataclass(frozen=True)
class BraceWish:
    """A strip of sheet that stands on edge along a part, over its seams.

    Its own coordinates are `along`, `towards` and the height over the middle of the sheet.

    Attributes
    ----------
    along : (x, y, z)
        Way of the brace, any length but zero.
    towards : (x, y, z)
        From the part to the brace, square to `along`: outwards for a brace outside, into the hollow
        for one on the hidden side. The brace is put on against it.
    offset : float
        Of the plane in the middle of the sheet, along the cross product of `along` and `towards`,
        mm.
    low, high : float
        Stations along `along` between which it reaches, mm.
    depth : float
        Of the strip, from its inner to its outer edge, mm.
    stock : float
        Thickness of the sheet, mm.
    clearance : float
        Left between the inner edge and what it seats on, mm.
    bridged : float
        Hollows of the part narrower than twice this are bridged, mm: the inner edge passes over
        them, and lands fill them.
    land_margin : float
        By how much lands are wider than the sheet, on each side, mm.
    deepest : float
        Greatest height of lands, mm; where the part lies deeper there is none.
    root : float
        How far lands and bosses are sunk into the wall to become one with it, mm.
    cutter : float
        Diameter of the tool that cuts the outline, mm.
    spacing : float
        Greatest distance between two bolts of a piece, mm.
    is_printed : bool
        Whether the brace is printed flat, of the plan's material, instead of cut from metal.
    metal : str
        What it is cut from otherwise, by its name in the workshop.
    hold : "nut", "insert" or "plastic"
        What the threads of its bolts go into, in bosses on the pieces.
    screw_standard, screw_size : str
        Of the bolts, such as ``M4``.
    name : str
        As it is called in tables and files.

    Raises
    ------
    ValueError
        If a figure is out of range or the two directions are not square to each other.
    """

    along: Vector
    towards: Vector
    offset: float
    low: float
    high: float
    depth: float
    stock: float
    clearance: float = 0.2
    bridged: float = 30.0
    land_margin: float = 1.0
    deepest: float = 15.0
    root: float = 0.5
    cutter: float = 6.0
    spacing: float = 80.0
    is_printed: bool = False
    metal: str = "aluminium"
    hold: Hold = "nut"
    screw_standard: str = "ISO 4762"
    screw_size: str = "M4"
    name: str = "brace"

    def __post_init__(self) -> None:
        for name in ("along", "towards"):
            object.__setattr__(self, name, unit_tuple(getattr(self, name)))
        if abs(float(np.dot(self.along, self.towards))) > _SQUARE:
            raise ValueError("A brace must stand square to its way; turn one of its directions.")
        if not self.low < self.high:
            raise ValueError(
                f"A brace must end beyond its start, got {self.low:g} to {self.high:g} mm."
            )
        above = ("depth", "stock", "deepest", "root", "cutter", "spacing")
        for name in (*above, "clearance", "bridged", "land_margin"):
            value = getattr(self, name)
            if not (math.isfinite(value) and (value > 0 if name in above else value >= 0)):
                least = "above 0" if name in above else "0 or more"
                raise ValueError(
                    f"The {name.replace('_', ' ')} of a brace must be {least} mm, got {value:g}."
                )

    @cached_property
    def axes(self) -> Floats:
        """Rows along, towards, normal: (3, 3), right-handed."""
        along, towards = np.array(self.along), np.array(self.towards)
        return np.array([along, towards, np.cross(along, towards)])

    @cached_property
    def plane(self) -> Plane:
        """The middle of the sheet."""
        return Plane(to_vector(unit_vector(self.axes[2])), self.offset)

    @property
    def half(self) -> float:
        """Half the thickness of the sheet, mm."""
        return self.stock / 2

    @property
    def half_land(self) -> float:
        """Half the width of lands, mm."""
        return self.half + self.land_margin

    def to_own(self, points: ArrayLike) -> Floats:
        """Return points (n, 3) in the brace's own coordinates, (n, 3) mm."""
        result: Floats = np.asarray(points, float) @ self.axes.T - [0.0, 0.0, self.offset]
        return result

    def to_space(self, own: ArrayLike) -> Floats:
        """Return the points (n, 3) of own coordinates (n, 3), mm."""
        result: Floats = np.asarray(own, float) @ self.axes + self.plane.origin
        return result

    def prism(self, shape: Polygon | MultiPolygon, low: float, high: float) -> Solid:
        """Return polygons of (along, towards) drawn out between two heights, mm."""
        turn = self.axes[:2] @ self.plane.frame[:2].T
        return Solid.prism(
            shapely.transform(shape, lambda flat: flat @ turn), self.plane, low, high
        )

    def section(self, solid: Solid, height: float) -> MultiPolygon:
        """Return the section of a solid at a height, in (along, towards), mm."""
        return self._own(solid.section(self.plane.shifted(height)).shape)

    def cover(self, solid: Solid) -> MultiPolygon:
        """Return what a solid covers, seen along the normal, in (along, towards), mm."""
        return self._own(plan_view(solid, np.array(self.plane.normal)))

    def _own(self, shape: MultiPolygon) -> MultiPolygon:
        turn = self.plane.frame[:2] @ self.axes[:2].T
        return MultiPolygon(to_polygons(shapely.transform(shape, lambda flat: flat @ turn)))

    def window(self, reach: float) -> Polygon:
        """Return the stretch between `low` and `high`, as high and as deep as `reach`, mm."""
        return shapely.box(self.low, -reach, self.high, reach)
