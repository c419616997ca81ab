"""The torsion constant of any section, solid, open or with cells, bounded from both sides.

Twisting without restraint of warping (de Saint-Venant). Two functions on the section give the same
constant J: the stress function of Prandtl, no approximation of which comes out above J, and the
warping function, none of which comes out below. Both are worked out by quadratic finite elements on
the same triangles, so how far they are apart says how far off J can be. (Timoshenko and Goodier,
Theory of Elasticity, chapter on torsion; the two bounds follow from the least energy; from memory.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, Ints
from splitplanner.solid import to_polygons

_STEP = 1.5
"""Outlines are divided to no more than so many wall thicknesses, to begin with."""
_MOST_STEPS = 800
"""And to no more than about so many pieces."""
_ALIKE = 0.004
"""Corners that stray from a straight line by less than this share of the wall are left out."""
_MOST_NODES = 60_000
"""Triangles are not divided further where that would make more nodes."""
_HIGH = 0.99
"""Share of the area over which the shear stress is no higher than what counts as the highest: in an
inner corner it has no end."""
_DUST = 1e-6
"""Polygons with less than this share of the area are left out."""

_MASS = np.block(
    [[7.0 * np.eye(3) - 1.0, -4.0 * np.eye(3)], [-4.0 * np.eye(3), 16.0 * np.eye(3) + 16.0]]
)
"""Products of the six functions over a triangle, in 1/180 of its area."""


@dataclass(frozen=True)
class Torsion:
    """How a section stands twisting.

    Attributes
    ----------
    low, high : float
        Bounds of the torsion constant J, mm⁴.
    modulus : float
        Torque over shear stress, mm³: of the stress that is not exceeded on 99 % of the area. Less
        exact than the constant: 3 % off where that is known to 0.5 %, 10 % where to 5 %.
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
    slopes, areas = (np.concatenate([getattr(f, k) for f in found]) for k in ("slopes", "areas"))
    low, high = sum(f.low for f in found), sum(f.high for f in found)
    order = np.argsort(slopes, kind="stable")
    filled = np.cumsum(areas[order])
    steepest = float(slopes[order][np.searchsorted(filled, _HIGH * filled[-1])])
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

    Bounds, slopes (k,) of the stress function with the area that each stands for, shear centre
    (2,), second moments (2, 2) about its own centroid, flexibility (2, 2) under shear, warping
    constant and largest warping, and how far it reaches from its centroid.
    """

    low: float
    high: float
    slopes: Floats
    areas: Floats
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
        mesh = _Mesh.of(points, triangles)
        low, stress = mesh.prandtl()
        high, warped, solve = mesh.warping()
        many = 4 * len(mesh.points) > _MOST_NODES
        if many or high - low <= accuracy * (high + low):
            break
        points, triangles = mesh.points, mesh.quartered()
    centre, tensor = mesh.shear_centre(warped)
    weights = np.repeat(mesh.areas / 3.0, 3)
    sliding = mesh.sliding(tensor, solve)
    constant, most = mesh.warping_figures(warped, centre)
    reach = float(np.linalg.norm(mesh.points, axis=1).max())
    return _Found(
        low,
        high,
        mesh.slopes(stress),
        weights,
        centre + middle,
        tensor,
        sliding,
        constant,
        most,
        reach,
    )


def _triangles(polygon: Polygon) -> tuple[Floats, Ints, Floats]:
    """Return points (n, 2) about the centroid, triangles (m, 3) and the centroid of a polygon."""
    wall = 2.0 * polygon.area / polygon.length
    plain = to_polygons(polygon.simplify(_ALIKE * wall))
    # A sliver that simplifying divides stays as it is.
    plain = plain[0] if len(plain) == 1 else polygon
    step = max(_STEP * wall, plain.length / _MOST_STEPS)
    moved = shapely.affinity.translate(plain, -plain.centroid.x, -plain.centroid.y)
    found = shapely.constrained_delaunay_triangles(shapely.segmentize(moved, step))
    corners = shapely.get_coordinates(shapely.get_parts(found)).reshape(-1, 4, 2)[:, :3]
    points, number = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    middle = np.array([plain.centroid.x, plain.centroid.y])
    return points, number.reshape(-1, 3).astype(np.int64), middle


@dataclass(frozen=True, eq=False)
class _Mesh:
    """Triangles with six nodes, and what is needed of them.

    Attributes
    ----------
    points : (n, 2) float array
        Corners, then the middles of edges, mm.
    nodes : (m, 6) int array
        Corners, then the middles opposite to them.
    areas : (m,) float array, mm²
    gradients : (m, 3, 2) float array
        Of the three area coordinates, 1/mm.
    rim : (k, 3) int array
        Start, end and middle of the edges of the outlines.
    """

    points: Floats
    nodes: Ints
    areas: Floats
    gradients: Floats
    rim: Ints

    @staticmethod
    def of(points: Floats, triangles: Ints) -> _Mesh:
        """Return the mesh of corner points (n, 2) and triangles (m, 3), either way round."""
        a, b, c = (points[triangles[:, k]] for k in range(3))
        (ux, uy), (vx, vy) = (b - a).T, (c - a).T
        doubled = ux * vy - uy * vx
        flipped = doubled < 0.0
        triangles = np.where(flipped[:, None], triangles[:, [0, 2, 1]], triangles)
        solid = np.abs(doubled) > 0.0
        triangles, doubled = triangles[solid], np.abs(doubled[solid])
        corners = points[triangles]
        # Opposite edges turned by a quarter, over twice the area.
        edges = np.roll(corners, -2, axis=1) - np.roll(corners, -1, axis=1)
        gradients = np.stack([-edges[..., 1], edges[..., 0]], axis=-1) / doubled[:, None, None]
        starts, ends = np.roll(triangles, -1, axis=1), np.roll(triangles, -2, axis=1)
        low, high = np.minimum(starts, ends), np.maximum(starts, ends)
        keys, first, number, uses = np.unique(
            (low * len(points) + high).ravel(),
            return_index=True,
            return_inverse=True,
            return_counts=True,
        )
        middles = (points[keys // len(points)] + points[keys % len(points)]) / 2.0
        nodes = np.concatenate([triangles, len(points) + number.reshape(-1, 3)], axis=1)
        lone = np.flatnonzero(uses == 1)
        at = first[lone]
        rim = np.stack([starts.ravel()[at], ends.ravel()[at], len(points) + lone], axis=1)
        return _Mesh(np.concatenate([points, middles]), nodes, doubled / 2.0, gradients, rim)

    def quartered(self) -> Ints:
        """Return triangles (4m, 3) over all nodes as corners, each divided at its middles."""
        parts = ([0, 5, 4], [5, 1, 3], [4, 3, 2], [3, 4, 5])
        return np.concatenate([self.nodes[:, part] for part in parts])

    def _slopes_at(self, place: Floats) -> Floats:
        """Return the gradients (m, 6, 2) of the six functions at area coordinates (3,)."""
        corner = (4.0 * place - 1.0)[None, :, None] * self.gradients
        after, before = np.roll(self.gradients, -1, axis=1), np.roll(self.gradients, -2, axis=1)
        pa, pb = np.roll(place, -1)[None, :, None], np.roll(place, -2)[None, :, None]
        return np.concatenate([corner, 4.0 * (pa * before + pb * after)], axis=1)

    def _halfway(self) -> list[tuple[Floats, Floats]]:
        """Return gradients and points at the middles of edges: exact for quadratic integrands."""
        places = (1.0 - np.eye(3)) / 2.0
        corners = self.points[self.nodes[:, :3]]
        return [(self._slopes_at(p), np.einsum("k,mki->mi", p, corners)) for p in places]

    def _stiffness(self, number: Ints, count: int) -> Any:
        """Return ``∫ ∇a · ∇b`` over unknowns, sparse (count, count); number -1 is held at 0."""
        from scipy.sparse import coo_matrix

        local = np.zeros((len(self.nodes), 6, 6))
        for slopes, _ in self._halfway():
            local += slopes @ slopes.transpose(0, 2, 1)
        local *= self.areas[:, None, None] / 3.0
        of = number[self.nodes]
        rows = np.broadcast_to(of[:, :, None], local.shape)
        columns = np.broadcast_to(of[:, None, :], local.shape)
        free = (rows >= 0) & (columns >= 0)
        entries = (local[free], (rows[free], columns[free]))
        return coo_matrix(entries, shape=(count, count)).tocsc()

    def _loops(self) -> tuple[Ints, Floats]:
        """Return for every node its outline (-1: inside, 0: the outer one), and areas of all.

        Outlines that touch are one. The area is what a hole encloses, mm².
        """
        from scipy.sparse import coo_matrix
        from scipy.sparse.csgraph import connected_components

        count = len(self.points)
        starts, ends, middles = self.rim.T
        joined = coo_matrix((np.ones(len(starts)), (starts, ends)), shape=(count, count))
        labels = connected_components(joined, directed=False)[1]
        on_rim = np.unique(np.concatenate([starts, ends]))
        outer = labels[on_rim[np.argmin(self.points[on_rim, 0])]]
        names = np.unique(labels[on_rim])
        names = np.concatenate([[outer], names[names != outer]])
        lookup = np.full(count, -1)
        lookup[names] = np.arange(len(names))
        loop = np.full(count, -1)
        loop[on_rim] = lookup[labels[on_rim]]
        loop[middles] = loop[starts]
        a, b = self.points[starts], self.points[ends]
        swept = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2.0
        return loop, np.abs(np.bincount(loop[starts], swept, len(names)))

    def prandtl(self) -> tuple[float, Floats]:
        """Return the lower bound of J, and the stress function at every node, mm².

        ``∇²φ = -2``, 0 on the outer outline, constant on that of each hole and such that the
        walls round it do not come apart: with test functions constant there,
        ``∫∇φ·∇ψ = 2∫ψ + 2 Σ ψₖ Aₖ``, and J is the right side for ψ = φ.
        """
        loop, areas = self._loops()
        holes = len(areas) - 1
        number = np.where(loop > 0, loop - 1, -1)
        inside = np.flatnonzero(loop < 0)
        number[inside] = holes + np.arange(len(inside))
        count = holes + len(inside)
        if not count:
            return 0.0, np.zeros(len(self.points))
        weights = np.bincount(
            self.nodes[:, 3:].ravel(), np.repeat(self.areas / 3.0, 3), len(self.points)
        )
        free = number >= 0
        force = 2.0 * np.bincount(number[free], weights[free], count)
        force[:holes] += 2.0 * areas[1:]
        solved = _solver(self._stiffness(number, count))(np.asarray(force, np.float64))
        stress = np.where(free, solved[number], 0.0)
        return float(force @ solved), stress

    def warping(self) -> tuple[float, Floats, _Solver]:
        """Return the upper bound of J, and the warping function ω at every node, mm².

        The bound is ``∫ |∇ω + (-y, x)|²``, which is least for the true ω. Also what solves
        Poisson's equation for free outlines, the first node held.
        """
        number = np.arange(len(self.points)) - 1
        force, polar = np.zeros(len(self.points)), 0.0
        for slopes, (x, y) in ((s, p.T) for s, p in self._halfway()):
            weights = self.areas / 3.0
            polar += float(weights @ (x**2 + y**2))
            pushed = weights[:, None] * (y[:, None] * slopes[..., 0] - x[:, None] * slopes[..., 1])
            force += np.bincount(self.nodes.ravel(), pushed.ravel(), len(self.points))
        solve = _solver(self._stiffness(number, len(force) - 1))
        warped = np.concatenate([[0.0], solve(force[1:])])
        return polar - float(force @ warped), warped, solve

    def shear_centre(self, warped: Floats) -> tuple[Floats, Floats]:
        """Return the shear centre (2,), mm, and the second moments (2, 2) about the centroid.

        About the pole s the warping is ``ω - x s_y + y s_x``, and bending has no part in it where
        its moments ``∫ ω x`` and ``∫ ω y`` are 0 (Trefftz, 1935; from memory).
        """
        # ω times a place is of the third degree: middles of edges, corners and the middle.
        area, corners = self.areas, self.points[self.nodes[:, :3]]
        values = warped[self.nodes]
        middle = corners.mean(axis=1)
        inner = (4.0 * values[:, 3:].sum(axis=1) - values[:, :3].sum(axis=1)) / 9.0
        mean = area @ values[:, 3:].mean(axis=1) / area.sum()
        moments, tensor = np.zeros(2), np.zeros((2, 2))
        for k in range(3):
            at = self.points[self.nodes[:, 3 + k]]
            moments += (area * 2.0 / 15.0 * (values[:, 3 + k] - mean)) @ at
            moments += (area / 20.0 * (values[:, k] - mean)) @ corners[:, k]
            tensor += np.einsum("m,mi,mj->ij", area / 3.0, at, at)
        moments += (area * 0.45 * (inner - mean)) @ middle
        # ∫ωx = s_y ∫xx - s_x ∫xy and ∫ωy = s_y ∫xy - s_x ∫yy.
        pole = np.linalg.solve(tensor, moments)
        return np.array([-pole[1], pole[0]]), tensor

    def warping_figures(self, warped: Floats, pole: Floats) -> tuple[float, float]:
        """Return ``∫ ω²`` about a pole, mm⁶, and the largest ω, mm², the mean taken off.

        Vlasov, Thin-Walled Elastic Beams; from memory.
        """
        x, y = self.points.T
        values = warped - x * pole[1] + y * pole[0]
        mean = self.areas @ values[self.nodes[:, 3:]].mean(axis=1) / self.areas.sum()
        values = values - mean
        of = values[self.nodes]
        constant = float(np.einsum("m,mi,ij,mj->", self.areas / 180.0, of, _MASS, of))
        return constant, float(np.abs(values).max())

    def sliding(self, tensor: Floats, solve: _Solver) -> Floats:
        """Return the flexibility under shear, (2, 2) 1/mm²; ``V C V / 2G`` is energy per length.

        Shear stress ``∇ψ`` carries what bending stress grows by: ``∇²ψ = -(S⁻¹ V) · r``, and none
        goes through outlines (the stress function of bending, Poisson's ratio taken as 0;
        Timoshenko and Goodier; Pilkey, Analysis and Design of Elastic Beams; from memory).
        """
        area, corners = self.areas[:, None, None], self.points[self.nodes]
        middle = corners[:, :3].mean(axis=1)[:, None]
        # By the rule of `shear_centre`, in whose middle the six functions are -1/9 and 4/9.
        pushed = np.concatenate(
            [corners[:, :3] / 20.0 - middle / 20.0, corners[:, 3:] * 2.0 / 15.0 + middle / 5.0], 1
        )
        force = np.zeros((len(self.points), 2))
        np.add.at(force, self.nodes, area * pushed)
        force = np.asarray(force @ np.linalg.inv(tensor), np.float64)
        solved = np.column_stack([solve(np.array(one, np.float64)) for one in force[1:].T])
        found: Floats = force[1:].T @ solved
        return found

    def slopes(self, stress: Floats) -> Floats:
        """Return the slope of the stress function at the middles of all edges, (3m,) mm.

        There it is nearer to the true one than at corners.
        """
        values = stress[self.nodes]
        found = [
            np.linalg.norm(np.einsum("mki,mk->mi", self._slopes_at(place), values), axis=1)
            for place in (1.0 - np.eye(3)) / 2.0
        ]
        return np.stack(found, axis=1).ravel()


_Solver = Callable[[Floats], Floats]


def _solver(matrix: Any) -> _Solver:
    """Return what solves a sparse symmetric positive definite system."""
    from scipy.sparse.linalg import splu

    factors = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    solve: _Solver = factors.solve
    return solve
