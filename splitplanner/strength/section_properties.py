"""Figures of a cross section that a beam is reckoned with: moments, axes, fibres, moduli."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, frozen_floats

_ROUND = 1e-9
"""Principal moments that differ by less than this share count as equal: every axis is principal,
and u is taken."""


@dataclass(frozen=True, eq=False)
class SectionProperties:
    """Figures of one cross section, all of its polygons taken as one rigid section.

    Axes are those of the section's plane, u and v; `Plane.to_space` tells where they point. A
    moment *about* u is that of bending towards v.

    Attributes
    ----------
    area : float
        mm².
    perimeter : float
        Of all outlines, inner ones too, mm.
    centroid : (2,) float array
        mm.
    tensor : (2, 2) float array
        ``∫ r rᵀ dA`` about the centroid, mm⁴: ``[[∫u², ∫uv], [∫uv, ∫v²]]``.
    hull : (k, 2) float array
        Corners of the convex hull relative to the centroid, mm: where bending stress is largest.
    """

    area: float
    perimeter: float
    centroid: Floats
    tensor: Floats
    hull: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "centroid", frozen_floats(self.centroid, (2,)))
        object.__setattr__(self, "tensor", frozen_floats(self.tensor, (2, 2)))
        object.__setattr__(self, "hull", frozen_floats(self.hull, (-1, 2)))

    @property
    def about_u(self) -> float:
        """Second moment of area about the u axis through the centroid, ∫v² dA, mm⁴."""
        return float(self.tensor[1, 1])

    @property
    def about_v(self) -> float:
        """Second moment of area about the v axis through the centroid, ∫u² dA, mm⁴."""
        return float(self.tensor[0, 0])

    @property
    def product(self) -> float:
        """Product moment of area about u and v through the centroid, ∫uv dA, mm⁴."""
        return float(self.tensor[0, 1])

    @property
    def polar(self) -> float:
        """Polar second moment about the centroid, mm⁴; no torsion constant, but for round ones."""
        return float(np.trace(self.tensor))

    @cached_property
    def major_axis(self) -> Floats:
        """Unit vector (2,) of the axis *about* which the second moment is largest.

        Its first component that is not zero is positive. u, if all moments are equal.
        """
        spread, axes = np.linalg.eigh(self.tensor)
        if spread[1] - spread[0] <= _ROUND * spread[1]:
            return frozen_floats([1.0, 0.0])
        # What is spread least along an axis is spread most from it.
        axis = axes[:, 0]
        sign = np.sign(axis[0]) if abs(axis[0]) > _ROUND else np.sign(axis[1])
        return frozen_floats(axis * sign + 0.0)

    @property
    def minor_axis(self) -> Floats:
        """Unit vector (2,) of the axis about which it is least, a quarter turn from the major."""
        u, v = self.major_axis
        return frozen_floats([-v, u])

    @property
    def angle(self) -> float:
        """From u to the major axis, degrees, above -90 and up to 90."""
        return float(np.degrees(np.arctan2(self.major_axis[1], self.major_axis[0])))

    @property
    def major(self) -> float:
        """Largest second moment about an axis through the centroid, mm⁴."""
        return self.about(self.major_axis)

    @property
    def minor(self) -> float:
        """Least second moment about an axis through the centroid, mm⁴."""
        return self.about(self.minor_axis)

    def about(self, axis: Floats) -> float:
        """Return the second moment about an `axis` (unit vector, (2,)) through the centroid, mm⁴.

        By the turned tensor, ``I = Iu cos² + Iv sin² - 2 Iuv sin cos`` (Mohr's circle).
        """
        across = np.array([-axis[1], axis[0]])
        return float(across @ self.tensor @ across)

    def fibres(self, axis: Floats) -> tuple[float, float]:
        """Return how far the section reaches to the right and left of an `axis`, mm, both >= 0.

        `axis` is a unit vector (2,) through the centroid; left is a quarter turn on from it.
        """
        heights = self.hull @ np.array([-axis[1], axis[0]])
        return float(-heights.min()), float(heights.max())

    def moduli(self, axis: Floats) -> tuple[float, float]:
        """Return the elastic section moduli about an `axis` for both extreme fibres, mm³.

        ``W = I / c`` (Roark's Formulas for Stress and Strain, appendix A), as `fibres` orders
        them. True stresses follow from them only about principal axes; see `bending_stress`.
        """
        right, left = self.fibres(axis)
        return self.about(axis) / right, self.about(axis) / left

    @property
    def modulus(self) -> float:
        """The least elastic section modulus about the principal axes, mm³."""
        return min(*self.moduli(self.major_axis), *self.moduli(self.minor_axis))

    @property
    def gyration(self) -> tuple[float, float]:
        """Largest and least radius of gyration, ``√(I / A)``, mm."""
        return float(np.sqrt(self.major / self.area)), float(np.sqrt(self.minor / self.area))

    def bending_stress(self, moment: Floats) -> Floats:
        """Return the bending stress at each corner of `hull`, (k,) MPa, tension above 0.

        General unsymmetric bending, ``σ = -mᵀ S⁻¹ r`` (Timoshenko, Strength of Materials;
        from memory).

        Parameters
        ----------
        moment : (2,) float array
            ``-∫ σ r dA``, N·mm: its second component bends towards +v and presses the fibres
            there, as `beams.Diagrams` gives it.
        """
        stress: Floats = -self.hull @ np.linalg.solve(self.tensor, moment)
        return stress


def area_moments(shape: MultiPolygon, middle: Floats) -> tuple[Floats, float, Floats, Floats]:
    """Return corners of a section, its area, and the area's first and second moments.

    By Green's theorem, sums over the edges (Steger, On the Calculation of Arbitrary Moments of
    Polygons, TU München FGBV-96-05, 1996). Holes run the other way round, so they are taken off.

    Parameters
    ----------
    shape : MultiPolygon
        Plane coordinates, mm.
    middle : (2,) float array
        What everything is measured from, mm; near to the section, for the sake of rounding.

    Returns
    -------
    corners : (n, 2) float array, mm
    area : float, mm²
    first : (2,) float array, mm³
    second : (2, 2) float array
        ``∫ r rᵀ dA``, mm⁴.
    """
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(shape)))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    points = points - middle
    u, v = np.ascontiguousarray(points.T)
    # From the last corner of a ring to the first one of the next there is no edge.
    cross = np.where(ring[1:] == ring[:-1], u[:-1] * v[1:] - u[1:] * v[:-1], 0.0)
    both_u, both_v = u[:-1] + u[1:], v[:-1] + v[1:]
    first = np.array([cross @ both_u, cross @ both_v]) / 6.0
    uu, uv, vv = (
        cross @ (a[:-1] * b[:-1] + a[1:] * b[1:] + both_a * both_b)
        for a, b, both_a, both_b in (
            (u, u, both_u, both_u),
            (u, v, both_u, both_v),
            (v, v, both_v, both_v),
        )
    )
    return points, 0.5 * float(cross.sum()), first, np.array([[uu, uv], [uv, vv]]) / 24.0


def section_properties(shape: Polygon | MultiPolygon) -> SectionProperties:
    """Return the figures of a cross section.

    Exact for polygons: sums over edges by Green's theorem (`area_moments` names the
    source); polygons whose rings run either way are the same to it.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        Valid, with holes or without, in plane coordinates, mm.

    Raises
    ------
    ValueError
        If it has no area.
    """
    several = shape if isinstance(shape, MultiPolygon) else MultiPolygon([shape])
    if several.is_empty:
        raise ValueError("a section needs an area, got none")
    low_u, low_v, high_u, high_v = several.bounds
    middle = np.array([(low_u + high_u) / 2, (low_v + high_v) / 2])
    corners, area, first, second = area_moments(several, middle)
    if not area > 0.0:
        raise ValueError(f"a section needs an area, got {area:g} mm²")
    away = first / area
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.strength import _section_kernels

    hull = _section_kernels.hull(np.sort(corners.reshape(-1).view(np.complex128)))
    return SectionProperties(
        area=area,
        perimeter=float(several.length),
        centroid=middle + away,
        tensor=second - area * np.outer(away, away),
        hull=np.column_stack([hull.real, hull.imag]) - away,
    )


def shear_stress(shape: Polygon | MultiPolygon, force: float, towards: Floats) -> float:
    """Return the mean shear stress along the cut through the centroid, MPa.

    ``τ = V Q / (I b)`` (Jourawski; Timoshenko, Strength of Materials): exact for narrow webs. It is
    the largest one where the section is narrowest at its centroid, which holds for most; and where
    `towards` is a principal direction.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        mm.
    force : float
        Shear force, N.
    towards : (2,) float array
        Unit vector, plane coordinates: where it points.
    """
    found = section_properties(shape)
    along = np.array([towards[1], -towards[0]])
    reach = 2.0 * float(np.linalg.norm(found.hull, axis=1).max()) + 1.0
    corners = [(-reach, 0.0), (reach, 0.0), (reach, reach), (-reach, reach)]
    half = Polygon([found.centroid + a * along + b * np.asarray(towards) for a, b in corners])
    above = shapely.intersection(shape, half)
    middle = np.array([above.centroid.x, above.centroid.y]) - found.centroid
    ends = [found.centroid - reach * along, found.centroid + reach * along]
    width = float(shapely.intersection(shape, shapely.linestrings(ends)).length)
    moment = above.area * float(middle @ np.asarray(towards))
    return float(force * moment / (found.about(along) * width))
