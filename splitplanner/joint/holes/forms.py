"""The outline of a hole across its axis, so that it prints without support.

A round hole that lies across the print direction has a ceiling that hangs over air. Its upper part
is then drawn with a roof: two slopes at the printer's overhang limit that touch the circle. They
would meet in a tip above it, which takes of the wall that is kept round the hole; so the tip is cut
flat at the height of the circle, as far as what is left is a bridge that the printer spans. All of
this is common practice, no source; the angles follow from the definition of the overhang limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiPoint, MultiPolygon, Polygon

from splitplanner.arrays import Floats, unit_vector
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

HoleForm = Literal["round", "teardrop", "bridged"]

SIDES = 48
"""Of what stands for a circle, as in `Solid.cylinder`."""
_LEVEL = 89.0
"""A hole that leans this far from the print direction lies level: a flat roof is a bridge then,
degrees (faces within 1° of straight down are flat for `splitplanner.score.bridges`)."""
_SHARE = 0.5
"""Of the wall kept round a hole, what its roof may take (common practice, no source)."""
_ROUNDING = 1e-6
"""mm and degrees."""


def lean_of(axis: ArrayLike, up: ArrayLike) -> float:
    """Return the angle between the lines along `axis` and `up`, (3,) each, 0 to 90 degrees."""
    cosine = abs(float(unit_vector(axis) @ unit_vector(up)))
    return math.degrees(math.acos(min(cosine, 1.0)))


def form_for(axis: ArrayLike, up: ArrayLike, diameter: float, printer: Printer) -> HoleForm:
    """Return in which form a round hole is drawn, by how it lies in the print.

    Parameters
    ----------
    axis, up : (3,) array
        Of the hole, either way; print direction.
    diameter : float
        As drawn, mm.
    printer : Printer
        Its overhang limit, bridge span and the wall it keeps round holes.

    Returns
    -------
    "round", "teardrop" or "bridged"
        Round where the axis leans from the print direction by no more than the overhang limit: the
        ceiling leans as much as the axis, so nothing of it is over the limit. Else a teardrop: the
        roof's tip is cut flat at the circle's height, or, where that is wider than the bridge
        span, just so high that it is as wide; of a hole that does not lie level it stays whole,
        since a sloping flat is no bridge. Where such a roof takes more than half of the wall
        round the hole, it is cut at the circle's height all the same: bridged. That keeps the
        wall, and leaves a narrow flat that sags a little.
    """
    return _form(circle(diameter), diameter, lean_of(axis, up), printer)


def circle(diameter: float) -> Polygon:
    """Return the polygon drawn round a circle, mm: one of its sides is its highest."""
    turns = (np.arange(SIDES) + 0.5) * (2 * math.pi / SIDES)
    corners = np.column_stack([np.sin(turns), np.cos(turns)])
    return Polygon(corners * (diameter / 2 / math.cos(math.pi / SIDES)))


def slot(diameter: float, run: ArrayLike) -> Polygon:
    """Return the outline of a slot: the hull of two circles that lie `run` (2,) mm apart."""
    half = np.asarray(run, float) / 2
    points = shapely.get_coordinates(circle(diameter))
    hull = MultiPoint(np.vstack([points - half, points + half])).convex_hull
    return Polygon(shapely.get_coordinates(hull))


def hexagon(across: float, corner_up: bool = False) -> Polygon:
    """Return a hexagon `across` mm over its flats, with a flat or a corner up."""
    turns = np.arange(6) * (math.pi / 3) + (0.0 if corner_up else math.pi / 6)
    return Polygon(np.column_stack([np.sin(turns), np.cos(turns)]) * (across / math.sqrt(3)))


def roofed(shape: Polygon, slope: float, top: float) -> Polygon:
    """Return a convex shape with a roof over what looks down too flatly.

    Parameters
    ----------
    shape : Polygon
        Convex, with +y up, mm.
    slope : float
        Least angle between up and the normals of the roof, degrees, above 0 and below 90.
    top : float
        Height at which its tip is cut flat, mm; no lower than the shape's own top.

    Returns
    -------
    Polygon
        The hull of the shape and of the roof; all of the shape lies in it.
    """
    points = shapely.get_coordinates(shape.exterior)[:-1]
    roof = _Roof.over(points, slope)
    ridge = [roof.tip] if roof.tip[1] <= top else roof.ends_at(top)
    hull = MultiPoint(np.vstack([points, ridge])).convex_hull
    return Polygon(shapely.get_coordinates(hull))


@dataclass(frozen=True)
class _Roof:
    """Two slopes that touch a shape: ``±x sin + y cos = right, left``."""

    sine: float
    cosine: float
    right: float
    left: float

    @staticmethod
    def over(points: Floats, slope: float) -> _Roof:
        sine, cosine = math.sin(math.radians(slope)), math.cos(math.radians(slope))
        right, left = (float((points @ (side * sine, cosine)).max()) for side in (1.0, -1.0))
        return _Roof(sine, cosine, right, left)

    @property
    def tip(self) -> tuple[float, float]:
        x, y = (self.right - self.left) / self.sine, (self.right + self.left) / self.cosine
        return x / 2, y / 2

    def ends_at(self, height: float) -> list[tuple[float, float]]:
        rise = height * self.cosine
        return [
            ((rise - self.left) / self.sine, height),
            ((self.right - rise) / self.sine, height),
        ]

    def height_of(self, width: float) -> float:
        """Return where the slopes are `width` apart."""
        return (self.right + self.left - width * self.sine) / (2 * self.cosine)


def _slope(lean: float, printer: Printer) -> float:
    """Return the angle from up, across the axis, of normals at the overhang limit, degrees.

    In space such a normal has the cosine cos(slope) · sin(lean) with the print direction, which is
    to be the sine of the limit.
    """
    share = math.sin(math.radians(printer.overhang_limit)) / math.sin(math.radians(lean))
    return math.degrees(math.acos(min(share, 1.0)))


def _is_upright(lean: float, printer: Printer) -> bool:
    return lean <= printer.overhang_limit + _ROUNDING


def _top(shape: Polygon, lean: float, printer: Printer) -> float:
    """Return where the roof over a shape is cut so that it prints, mm."""
    own = float(shape.bounds[3])
    roof = _Roof.over(shapely.get_coordinates(shape.exterior), _slope(lean, printer))
    tip = max(roof.tip[1], own)
    if lean < _LEVEL:
        return tip
    return min(max(own, roof.height_of(printer.bridge_span)), tip)


def _form(shape: Polygon, width: float, lean: float, printer: Printer) -> HoleForm:
    if _is_upright(lean, printer):
        return "round"
    wall = printer.edge_distance(width) - printer.hole_diameter(width) / 2
    rise = _top(shape, lean, printer) - float(shape.bounds[3])
    return "teardrop" if rise <= _SHARE * wall + _ROUNDING else "bridged"


@dataclass(frozen=True)
class Bore:
    """How a hole lies: the frame in which it is drawn.

    Outlines are drawn across its axis, with the axis at (0, 0) and +y as near to the print
    direction as can be; heights count from `at` into the piece.

    Attributes
    ----------
    at : (x, y, z)
        Where its axis meets the cut plane, mm.
    inward : (x, y, z)
        Unit vector along its axis into the piece.
    up : (x, y, z)
        Print direction of the piece.
    printer : Printer
    """

    at: tuple[float, float, float]
    inward: tuple[float, float, float]
    up: tuple[float, float, float]
    printer: Printer

    @cached_property
    def plane(self) -> Plane:
        """The plane across the axis at `at`, its normal inward."""
        return Plane.through(self.at, self.inward)

    @cached_property
    def lean(self) -> float:
        """Angle between axis and print direction, 0 to 90 degrees."""
        return lean_of(self.inward, self.up)

    @cached_property
    def _turn(self) -> Floats:
        """Columns: what is right and what is up in the plane's own coordinates."""
        flat = self.plane.frame[:2] @ unit_vector(self.up)
        length = float(np.linalg.norm(flat))
        x, y = (0.0, 1.0) if length < 1e-6 else (flat / length).tolist()
        return np.array([[y, x], [-x, y]])

    def across(self, vector: ArrayLike) -> Floats:
        """Return a vector of the part's frame (3,) as outlines have it, (2,) mm."""
        result: Floats = self._turn.T @ (self.plane.frame[:2] @ np.asarray(vector, float))
        return result

    def drawn(self, shape: Polygon, width: float) -> Polygon:
        """Return a convex shape with the roof that it needs; see `form_for`.

        Parameters
        ----------
        shape : Polygon
            mm; as if the print direction did not matter.
        width : float
            For the wall that is kept round it: its diameter or width, mm.
        """
        form = _form(shape, width, self.lean, self.printer)
        if form == "round":
            return shape
        own = float(shape.bounds[3])
        top = own if form == "bridged" else _top(shape, self.lean, self.printer)
        return roofed(shape, _slope(self.lean, self.printer), top)

    def round(self, diameter: float) -> Polygon:
        """Return the outline of a round hole, mm."""
        return self.drawn(circle(diameter), diameter)

    def nut(self, across: float) -> Polygon:
        """Return the outline of a nut's pocket, `across` mm over its flats.

        Whichever way round prints, and of those the one with less height above the axis. In a level
        hole that is a flat up where it is a bridge that the printer spans: from a corner up the
        sides hang 60° from vertical. In a hole that slopes it may be a corner.
        """
        choices = [hexagon(across, corner) for corner in (False, True)]
        outlines = [self.drawn(shape, across) for shape in choices]
        forms = [_form(shape, across, self.lean, self.printer) for shape in choices]

        def cost(index: int) -> tuple[bool, float, int]:
            return forms[index] == "bridged", round(float(outlines[index].bounds[3]), 6), index

        return outlines[min(range(len(choices)), key=cost)]

    def prism(self, shape: Polygon | MultiPolygon, low: float, high: float) -> Solid:
        """Return an outline drawn out along the axis from height `low` to `high`, mm."""
        return Solid.prism(self._placed(shape), self.plane, low, high)

    def hull(self, *outlines: tuple[Polygon, float]) -> Solid:
        """Return the hull of outlines, each at its height, mm: cones and tapers."""
        points = []
        for shape, height in outlines:
            flat = shapely.get_coordinates(self._placed(shape).exterior)[:-1]
            points.append(self.plane.shifted(height).to_space(flat))
        return Solid.hull_of(np.vstack(points))

    def _placed(self, shape: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
        middle = self.plane.to_plane([self.at])
        return shapely.transform(shape, lambda points: points @ self._turn.T + middle)
