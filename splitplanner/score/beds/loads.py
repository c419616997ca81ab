"""Beds and what lies on them, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.score.bed_fit import BedFit
from splitplanner.score.plan_fit import convex_outline, rectangle_fit, sizes
from splitplanner.solid import Solid, frame_of, plan_view


@dataclass(frozen=True, eq=False)
class ToPlace:
    """A piece that wants a place on a bed.

    Attributes
    ----------
    name : str
    fit : BedFit
        How it lies on a bed of its own.
    view : shapely MultiPolygon
        Its plan view at yaw 0, mm; see `splitplanner.solid.plan_view`.
    """

    name: str
    fit: BedFit
    view: MultiPolygon

    @staticmethod
    def of(name: str, solid: Solid, fit: BedFit, scale: float = 1.0) -> ToPlace:
        """Return the piece `solid` that prints as `fit` says.

        Parameters
        ----------
        name : str
        solid : Solid
        fit : BedFit
            Of the piece as it is laid on the bed, scaled and all.
        scale : float, optional
            By what it is larger on the bed than `solid`, about the middle of the box of that.
        """
        view = plan_view(solid, fit.up)
        if scale != 1.0:
            x, y, _ = frame_of(fit.up) @ solid.bounds.mean(axis=0)
            view = affine_transform(
                view, [scale, 0.0, 0.0, scale, x * (1.0 - scale), y * (1.0 - scale)]
            )
        return ToPlace(name, fit, view)

    @cached_property
    def hull(self) -> Floats:
        """Corners of the convex hull of the plan view at yaw 0, (n, 2) mm."""
        return convex_outline(shapely.get_coordinates(self.view))

    @cached_property
    def square(self) -> float:
        """A yaw at which the smallest rectangle round it lies along x and y, degrees."""
        return rectangle_fit(self.hull, 1.0, 1.0).square

    def sides(self, yaw: float) -> tuple[float, float]:
        """Return its size along x and y at `yaw` (degrees), mm."""
        return sizes(self.hull, yaw)

    @property
    def rectangle(self) -> tuple[float, float]:
        """Sides of the smallest rectangle round it, the longer one first, mm."""
        one, other = self.sides(self.square)
        return max(one, other), min(one, other)

    def placed(self, yaw: float, shift: tuple[float, float]) -> PlacedPiece:
        """Return it as it lies turned by `yaw` (degrees) and then moved by `shift` (mm)."""
        fit = replace(self.fit, yaw=yaw, shift=shift)
        (a, b), (c, d) = turning(yaw)
        outline = affine_transform(self.view, [a, b, c, d, *shift])
        return PlacedPiece(self.name, fit, outline)

    def alone(self) -> PlacedPiece:
        """Return it as it lies on a bed of its own."""
        return self.placed(self.fit.yaw, self.fit.shift)


@dataclass(frozen=True, eq=False)
class PlacedPiece:
    """A piece and where it lies.

    Attributes
    ----------
    name : str
    fit : BedFit
        As on a bed of its own, but for `yaw` and `shift`, which are those on this bed; its `pose`
        lays the piece there, on z = 0.
    outline : shapely MultiPolygon
        Its plan view on the bed, mm from the low corner of the bed's bounding rectangle.
    """

    name: str
    fit: BedFit
    outline: MultiPolygon

    @property
    def yaw(self) -> float:
        """Turn about the bed's z after the print direction was stood upright, degrees."""
        return self.fit.yaw

    @property
    def shift(self) -> tuple[float, float]:
        """Added to the turned plan view, mm."""
        return self.fit.shift

    def moved(self, by: Floats) -> PlacedPiece:
        """Return it moved `by` (2,) mm."""
        shift = (self.shift[0] + float(by[0]), self.shift[1] + float(by[1]))
        outline = affine_transform(self.outline, [1.0, 0.0, 0.0, 1.0, float(by[0]), float(by[1])])
        return PlacedPiece(self.name, replace(self.fit, shift=shift), outline)


@dataclass(frozen=True, eq=False)
class BedLoad:
    """What is printed together.

    Attributes
    ----------
    number : int
        Counts from 1.
    pieces : tuple of PlacedPiece
        In the order in which they were given.
    free : float
        Share of the bed, less margin and blocked areas, over which no piece is, 0 to 1.
    """

    number: int
    pieces: tuple[PlacedPiece, ...]
    free: float

    @property
    def names(self) -> tuple[str, ...]:
        """Of its pieces."""
        return tuple(piece.name for piece in self.pieces)

    @property
    def height(self) -> float:
        """Of the highest of its pieces, mm."""
        return max(piece.fit.height for piece in self.pieces)


def turning(yaw: float) -> Floats:
    """Return the matrix (2, 2) that turns columns by `yaw` (degrees)."""
    angle = np.radians(yaw)
    matrix: Floats = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return matrix
