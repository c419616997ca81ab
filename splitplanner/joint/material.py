"""The material on both sides of a seam, and what is left of it at a depth."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, unit_vector
from splitplanner.plan import Seam
from splitplanner.solid import Plane, Solid, to_polygons

_STEP = 1.37
"""Distance of the sections taken, mm; an odd figure, so that they rarely meet a flat face."""
_FIRST = 0.01
"""Distance of the first section from the seam, mm."""
_LEAN = 1e-3
"""Outlines are drawn this much simpler, mm: sections of a straight wall then become equal."""
_GRID = 1e-4
"""Grid on which outlines are laid, mm."""
_GUARD_SIDES = 96
_FULL = 1.0 - 1e-6
"""Share of a guard's volume that must be material: all of it, less rounding."""


def block_around(solid: Solid, plane: Plane, coordinates: ArrayLike, reach: float) -> Solid:
    """Return what `solid` has within `reach` of a place on a plane, so that work on it is quick.

    Parameters
    ----------
    solid : Solid
    plane : Plane
    coordinates : (n, 2) array, mm
        Plane coordinates of the place; the block reaches 1 mm past their bounding box.
    reach : float
        To both sides of the plane, mm.

    Returns
    -------
    Solid
        May be empty.
    """
    flat = np.asarray(coordinates, float)
    low, high = flat.min(axis=0) - 1.0, flat.max(axis=0) + 1.0
    frame = plane.frame
    corner = plane.to_space([low])[0] - frame[2] * reach
    box = Solid.box((*(high - low), 2 * reach))
    return solid.intersection(box.transformed(np.hstack([frame.T, corner[:, None]])))


def is_solid_round(
    solid: Solid, start: ArrayLike, direction: ArrayLike, radius: float, length: float
) -> bool:
    """Return whether a round bar lies wholly in `solid`.

    Parameters
    ----------
    solid : Solid
    start : (3,) array, mm
        Where the bar's axis begins.
    direction : (3,) array
        Its way, any length but zero.
    radius, length : float
        Of the bar, mm. A prism with its corners on the circle stands for it, so that a bar that
        touches a surface still lies in the material.
    """
    begin = np.asarray(start, float)
    end = begin + unit_vector(direction) * length
    bar = Solid.cylinder(begin, end, radius * math.cos(math.pi / _GUARD_SIDES), _GUARD_SIDES)
    return solid.intersection(bar).volume >= _FULL * bar.volume


@dataclass(frozen=True, eq=False)
class SeamMaterial:
    """The two pieces near their seam.

    Attributes
    ----------
    seam : Seam
    below, above : Solid
        The pieces, cut down to the neighbourhood of the seam.
    """

    seam: Seam
    below: Solid
    above: Solid
    _common: dict[int, MultiPolygon] = field(default_factory=dict, repr=False)
    _at_depth: dict[float, MultiPolygon] = field(default_factory=dict, repr=False)
    _one_sided: dict[tuple[int, float], MultiPolygon] = field(default_factory=dict, repr=False)
    _sections: dict[tuple[int, float], MultiPolygon] = field(default_factory=dict, repr=False)

    @staticmethod
    def around(seam: Seam, below: Solid, above: Solid, reach: float) -> SeamMaterial:
        """Cut the pieces down to `reach` (mm) on both sides of the seam."""
        flat = shapely.get_coordinates(seam.section.shape)
        low, high = (block_around(piece, seam.plane, flat, reach + 1.0) for piece in (below, above))
        return SeamMaterial(seam, low, high)

    def common(self, depth: float) -> MultiPolygon:
        """Return the part of the seam that has material under it, down to `depth` on both sides.

        Parameters
        ----------
        depth : float
            mm, above 0.

        Returns
        -------
        MultiPolygon
            Plane coordinates, mm: the intersection of the seam and of sections of both pieces at
            most 1.4 mm apart. Erosion by a disc distributes over intersection, so shrinking this
            is shrinking every section.
        """
        if depth not in self._at_depth:
            self._at_depth[depth] = self._both(self._down_to(int(depth / _STEP)), depth)
        return self._at_depth[depth]

    def _down_to(self, step: int) -> MultiPolygon:
        if step not in self._common:
            if step == 0:
                self._common[0] = self._both(_lean(self.seam.section.shape), _FIRST)
            else:
                self._common[step] = self._both(self._down_to(step - 1), step * _STEP)
        return self._common[step]

    def _both(self, shape: MultiPolygon, depth: float) -> MultiPolygon:
        for piece, side in ((self.below, -1.0), (self.above, 1.0)):
            if shape.is_empty:
                break
            section = piece.section(self.seam.plane.shifted(side * depth))
            other = _lean(section.shape)
            if not shapely.equals_exact(shape, other):
                shape = MultiPolygon(to_polygons(shapely.intersection(shape, other)))
        return shape

    def on_side(self, side: int, depth: float) -> MultiPolygon:
        """Return what of the seam has material in one piece alone, down to `depth`; see `common`.

        Parameters
        ----------
        side : +1 or -1
            +1 for the piece above.
        depth : float
            mm; taken to microns.
        """
        key = side, round(depth, 3)
        if key not in self._one_sided:
            before = math.ceil(depth / _STEP - 1e-9) - 1
            start = self.seam.section.shape.simplify(_LEAN)
            shape = self.on_side(side, before * _STEP) if before > 0 else start
            level = max(depth - _FIRST, depth / 2)
            self._one_sided[key] = self.cut(side, level, shape)
        return self._one_sided[key]

    def cut(self, side: int, level: float, shape: MultiPolygon) -> MultiPolygon:
        """Return what of `shape` one piece has at a distance (mm) from the plane."""
        lean = self.section(side, level)
        if shapely.equals_exact(shape, lean, _LEAN, normalize=True):
            return shape
        return MultiPolygon(to_polygons(shapely.intersection(shape, lean, grid_size=_GRID)))

    def section(self, side: int, level: float) -> MultiPolygon:
        """Return what one piece has at a distance (mm) from the plane, to 0.01 mm."""
        key = side, round(level, 2)
        if key not in self._sections:
            piece = self.above if side > 0 else self.below
            section = piece.section(self.seam.plane.shifted(side * level))
            lean = MultiPolygon(to_polygons(section.shape.simplify(_LEAN)))
            shapely.prepare(lean)
            self._sections[key] = lean
        return self._sections[key]

    def holds(self, place: ArrayLike, radius: float, length: float) -> bool:
        """Return whether a round bar through the seam lies in material on both sides.

        Parameters
        ----------
        place : (2,) array, mm
            Plane coordinates of its axis.
        radius, length : float
            Its radius and how far it goes into each piece, mm.
        """
        start = self.seam.plane.to_space(np.asarray(place, float)[None, :])[0]
        up = np.array(self.seam.plane.normal)
        return is_solid_round(self.above, start, up, radius, length) and is_solid_round(
            self.below, start, -up, radius, length
        )


def _lean(shape: MultiPolygon) -> MultiPolygon:
    """Return `shape` with fewer points, on a grid, in a fixed order of points."""
    fewer = shapely.set_precision(shape.simplify(_LEAN), _GRID)
    free = shapely.set_precision(fewer, 0.0)
    return MultiPolygon(to_polygons(free)).normalize()


def segment_distances(starts: Floats, ends: Floats, start: Floats, end: Floats) -> Floats:
    """Return the distance of many line segments from one, (n,) mm.

    Parameters
    ----------
    starts, ends : (n, 3) float array, mm
    start, end : (3,) float array, mm

    Notes
    -----
    Closest points of two segments: Ericson, Real-Time Collision Detection (2005), section 5.1.9.
    No segment may have length zero.
    """
    first, second, between = ends - starts, end - start, starts - start
    a = np.einsum("ij,ij->i", first, first)
    e = float(second @ second)
    b, c, f = first @ second, np.einsum("ij,ij->i", first, between), between @ second
    slant = a * e - b * b
    parallel = slant <= 1e-12 * a * e
    s = np.where(parallel, 0.0, np.clip((b * f - c * e) / np.where(parallel, 1, slant), 0, 1))
    t = np.clip((b * s + f) / e, 0.0, 1.0)
    s = np.clip((b * t - c) / a, 0.0, 1.0)
    apart = (starts + s[:, None] * first) - (start + t[:, None] * second)
    result: Floats = np.linalg.norm(apart, axis=1)
    return result
