"""Triangles with quadratic functions over a section, and the equations of twist and shear on them.

Poisson's equation with outlines that are held or free (Timoshenko and Goodier, Theory of
Elasticity; Zienkiewicz and Taylor, The Finite Element Method; from memory). See `torsion`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from splitplanner.arrays import Floats, Ints

Solver = Callable[[Floats], Floats]
"""What solves a system of equations for a right side."""
_MASS = np.block(
    [[7.0 * np.eye(3) - 1.0, -4.0 * np.eye(3)], [-4.0 * np.eye(3), 16.0 * np.eye(3) + 16.0]]
)
"""Products of the six functions over a triangle, in 1/180 of its area."""


@dataclass(frozen=True, eq=False)
class SectionMesh:
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
    def of(points: Floats, triangles: Ints) -> SectionMesh:
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
        return SectionMesh(np.concatenate([points, middles]), nodes, doubled / 2.0, gradients, rim)

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

    def warping(self) -> tuple[float, Floats, Solver]:
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

    def sliding(self, tensor: Floats, solve: Solver) -> Floats:
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


def _solver(matrix: Any) -> Solver:
    """Return what solves a sparse symmetric positive definite system."""
    from scipy.sparse.linalg import splu

    factors = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    solve: Solver = factors.solve
    return solve
