"""The torsion constant of any section, solid, open or with cells, bounded from both sides.

Twisting without restraint of warping (de Saint-Venant). Two functions on the section give the same
constant J: the stress function of Prandtl, no approximation of which comes out above J, and the
warping function, none of which comes out below. Both are worked out by quadratic finite elements on
the same triangles, so how far they are apart says how far off J can be. (Timoshenko and Goodier,
Theory of Elasticity, chapter on torsion; the two bounds follow from the least energy; from memory.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, Ints
from splitplanner.solid import to_polygons, triangles_in
from splitplanner.strength.section_mesh import SectionMesh

_STEP = 1.5
"""Outlines are divided to no more than so many wall thicknesses, to begin with."""
_FEWEST_STEPS = 12
_MOST_STEPS = 800
"""And to about so many pieces at least, and no more than about so many."""
_ALIKE = 0.004
"""Corners that stray from a straight line by less than this share of the wall are left out."""
_MOST_NODES = 60_000
"""Triangles are not divided further where there are more nodes."""
_WORST = 0.8
"""Share of what the bounds are apart by, in the worst triangles, that are divided together."""
_FEWEST_NODES = 150
"""Shear, for which there are no bounds, wants no fewer."""
_FEW_NODES = 3_000
"""All triangles are divided instead where that makes no more nodes: it serves shear too."""
_HIGH = 0.99
"""Share of the area at outlines in which shear is no higher than what counts as the highest: a web
that is next to nothing does not tell of the rest."""
_DUST = 1e-6
"""Polygons with less than this share of the area are left out."""


@dataclass(frozen=True)
class Torsion:
    """How a section stands twisting.

    Attributes
    ----------
    low, high : float
        Bounds of the torsion constant J, mm⁴.
    modulus : float
        Torque over shear stress, mm³: of the mean over a quarter of a wall that is not exceeded on
        99 % of what lies at outlines, where shear is highest. What is nearer than a wall to a sharp
        inner corner is left out: there stress has no end, and rounding decides. 2 % off in round
        and rectangular sections; up to some 20 % too small where it is read at a fillet or a thick
        place between thin walls.
    shear_centre : (u, v)
        Forces through it do not twist the section, mm from its centroid (Trefftz's definition, by
        the warping function).
    shear_flexibility : (uu, vv, uv)
        How a shear force V slides the section, 1/mm²: by ``C V / G`` per length. 1 over the first
        two is what is called shear area.
    warping_constant : float
        Γ, mm⁶: how a section that is kept from warping stands twisting.
    most_warping : float
        Of the warping function about the shear centre, mm².
    """

    low: float
    high: float
    modulus: float
    shear_centre: tuple[float, float]
    shear_flexibility: tuple[float, float, float]
    warping_constant: float
    most_warping: float

    @property
    def constant(self) -> float:
        """The torsion constant J, mm⁴: the middle of its bounds."""
        return (self.low + self.high) / 2.0

    @property
    def off(self) -> float:
        """By how much the constant can be off, as a share of it."""
        return (self.high - self.low) / (self.high + self.low)


def torsion(shape: Polygon | MultiPolygon, accuracy: float = 0.01) -> Torsion:
    """Return the torsion constant of a section.

    Polygons apart twist together, each warping by itself, so that their constants add up. Corners
    that stray from straight lines by less than 0.4 % of the mean wall are left out first, which the
    bounds do not know of; it changes J by less than some 1 %.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        Valid, with holes or without, mm.
    accuracy : float
        Share of the constant by which it may be off; triangles are divided until it is kept, or
        there are too many. `Torsion.off` says what came of it.

    Raises
    ------
    ValueError
        If there is no area.
    """
    whole = float(shape.area)
    if not whole > 0.0:
        raise ValueError(f"a section needs an area, got {whole:g} mm²")
    found = [_of_polygon(part, accuracy) for part in to_polygons(shape, _DUST * whole)]
    slopes = np.concatenate([part.slopes for part in found])
    behind = np.concatenate([part.behind for part in found])
    low, high = sum(f.low for f in found), sum(f.high for f in found)
    order = np.argsort(slopes, kind="stable")
    passed = np.cumsum(behind[order])
    steepest = float(slopes[order][np.searchsorted(passed, _HIGH * passed[-1])])
    centre = _common_centre(found)
    u, v = centre - np.array([shape.centroid.x, shape.centroid.y])
    sliding = _common_sliding(found)
    constant, most = zip(*(part.warping_about(centre) for part in found), strict=True)
    return Torsion(
        low=low,
        high=high,
        modulus=(low + high) / 2.0 / steepest,
        shear_centre=(float(u), float(v)),
        shear_flexibility=(float(sliding[0, 0]), float(sliding[1, 1]), float(sliding[0, 1])),
        warping_constant=float(sum(constant)),
        most_warping=float(max(most)),
    )


@dataclass(frozen=True, eq=False)
class _Found:
    """What was found of one polygon.

    Bounds, slopes (k,) of the stress function along outlines with the area behind them, shear
    centre (2,), second moments (2, 2) about its own centroid, flexibility (2, 2) under shear,
    warping constant and largest warping, and how far it reaches from its centroid.
    """

    low: float
    high: float
    slopes: Floats
    behind: Floats
    centre: Floats
    tensor: Floats
    sliding: Floats
    constant: float
    most: float
    reach: float

    def warping_about(self, pole: Floats) -> tuple[float, float]:
        """Return warping constant and largest warping about another pole; the latter a bound."""
        u, v = pole - self.centre
        more = np.array([-v, u]) @ self.tensor @ np.array([-v, u])
        return self.constant + float(more), self.most + float(np.hypot(u, v)) * self.reach


def _common_centre(found: list[_Found]) -> Floats:
    """Return the shear centre of polygons that share a shear force by their own second moments."""
    whole = sum(part.tensor for part in found)
    twists = sum(_crossed(part.tensor) @ part.centre for part in found)
    return np.asarray(np.linalg.solve(_crossed(np.asarray(whole)), twists), np.float64)


def _common_sliding(found: list[_Found]) -> Floats:
    """Return the flexibility (2, 2) under shear of polygons that share it in that way."""
    whole = np.asarray(np.linalg.inv(np.sum([part.tensor for part in found], axis=0)), np.float64)
    shares = [part.tensor @ whole for part in found]
    sliding = [a.T @ part.sliding @ a for a, part in zip(shares, found, strict=True)]
    return np.asarray(np.sum(sliding, axis=0), np.float64)


def _crossed(tensor: Floats) -> Floats:
    """Return the matrix that takes a place s to its cross products with both rows of `tensor`."""
    return np.stack([tensor[:, 1], -tensor[:, 0]], axis=1)


def _of_polygon(polygon: Polygon, accuracy: float) -> _Found:
    points, triangles, middle = _triangles(polygon)
    while True:
        mesh = SectionMesh.of(points, triangles)
        low, stress = mesh.prandtl()
        high, warped, solve = mesh.warping()
        coarse = high - low > accuracy * (high + low) or len(mesh.points) < _FEWEST_NODES
        if not coarse or len(mesh.points) > _MOST_NODES:
            break
        gaps = mesh.gaps(stress, warped)
        order = np.argsort(-gaps, kind="stable")
        many = len(order)
        if 4 * len(mesh.points) > _FEW_NODES:
            many = int(np.searchsorted(np.cumsum(gaps[order]), _WORST * gaps.sum())) + 1
        points, triangles = mesh.refined(order[:many])
    centre = mesh.shear_centre(warped)
    sliding = mesh.sliding(solve)
    constant, most = mesh.warping_figures(warped, centre)
    reach = float(np.linalg.norm(mesh.points, axis=1).max())
    return _Found(
        low,
        high,
        *mesh.rim_slopes(stress),
        centre + middle,
        mesh.tensor,
        sliding,
        constant,
        most,
        reach,
    )


def _triangles(polygon: Polygon) -> tuple[Floats, Ints, Floats]:
    """Return points (n, 2) about the centroid, triangles (m, 3) and the centroid of a polygon."""
    from splitplanner.strength import _division_kernels, _section_kernels

    wall = 2.0 * polygon.area / polygon.length
    plain = _plain(polygon, _ALIKE * wall)
    middle = np.array([plain.centroid.x, plain.centroid.y])
    step = max(min(_STEP * wall, plain.length / _FEWEST_STEPS), plain.length / _MOST_STEPS)
    points, triangles = triangles_in(plain)
    points = points - middle
    edges, _, uses = _section_kernels.linked(triangles, len(points))
    points, triangles = _division_kernels.divided(points, triangles, edges, uses, step)
    return points, triangles, middle


def _plain(polygon: Polygon, tolerance: float) -> Polygon:
    """Return a polygon without corners that stray little from straight lines."""
    plain = polygon.simplify(tolerance, preserve_topology=False)
    like = plain.geom_type == "Polygon" and len(plain.interiors) == len(polygon.interiors)
    if like and plain.is_valid:
        return plain
    # A sliver that simplifying divides stays as it is.
    careful = to_polygons(polygon.simplify(tolerance))
    return careful[0] if len(careful) == 1 else polygon
