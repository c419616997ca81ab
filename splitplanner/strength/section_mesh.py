"""Triangles with quadratic functions over a section, and the equations of twist and shear on them.

Poisson's equation with outlines that are held or free (Timoshenko and Goodier, Theory of
Elasticity; Zienkiewicz and Taylor, The Finite Element Method; from memory). See `torsion`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats, Ints

Solver = Callable[[Floats], Floats]
"""What solves a system of equations for right sides (n, c)."""
_MASS = (
    np.block(
        [[7.0 * np.eye(3) - 1.0, -4.0 * np.eye(3)], [-4.0 * np.eye(3), 16.0 * np.eye(3) + 16.0]]
    )
    / 180.0
)
"""Integrals of products of the six functions over a triangle of area 1."""
_MOST_WORK = 3e7
"""Products of numbers in a system above which sparse factors are quicker than rows."""
_SHARP = np.radians(35.0)
"""An inner corner that turns by more has no end of stress; corners of a fillet turn by less."""
_NEAR = 0.125
"""Shear is read as mean over so many walls along outlines either way: round ones are polygons."""
_HALFWAY = (1.0 - np.eye(3)) / 2.0
"""Area coordinates of the middles of edges: their mean is exact for quadratic integrands."""


def _slopes_halfway() -> Floats:
    """Return (3, 6, 3): gradients of the six functions there, in those of area coordinates."""
    corner = np.einsum("pi,ik->pik", 4.0 * _HALFWAY - 1.0, np.eye(3))
    after, before = np.roll(np.eye(3), -1, axis=0), np.roll(np.eye(3), 1, axis=0)
    middle = np.einsum("pi,ik->pik", _HALFWAY @ after.T, before)
    middle += np.einsum("pi,ik->pik", _HALFWAY @ before.T, after)
    return np.concatenate([corner, 4.0 * middle], axis=1)


_SLOPES = _slopes_halfway()


def _stiffness() -> Floats:
    """Return ``∫ ∇a · ∇b`` of a triangle of area 1, (3, 36), from gradients of area coordinates.

    By products of the second with the third, the third with the first and the first with the
    second: they add up to nothing, so that the square of each is less its products with the others.
    """
    whole = np.einsum("pik,pjl->klij", _SLOPES, _SLOPES) / 3.0
    pairs = [
        whole[k, j] + whole[j, k] - whole[k, k] - whole[j, j] for k, j in ((1, 2), (2, 0), (0, 1))
    ]
    return np.array(pairs).reshape(3, 36)


_STIFF = _stiffness()
_PUSH = np.einsum("pik,pc->kci", _SLOPES, _HALFWAY).reshape(9, 6) / 3.0
"""``∫ r ∇a``, from products of the gradients of area coordinates and the corners."""


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
    local : (m, 36) float array
        ``∫ ∇a · ∇b`` of the six functions of every triangle.
    sums : (4, n) float array
        ``∫ a``, ``∫ a x``, ``∫ a y`` and ``∫ (y, -x) · ∇a`` for every function a.
    """

    points: Floats
    nodes: Ints
    areas: Floats
    gradients: Floats
    rim: Ints
    local: Floats
    sums: Floats

    @staticmethod
    def of(points: Floats, triangles: Ints) -> SectionMesh:
        """Return the mesh of corner points (n, 2) and triangles (m, 3), either way round."""
        from splitplanner.strength import _section_kernels as kernels

        of = kernels.meshed(points, triangles, _STIFF, _PUSH, _MASS)
        places, nodes, areas, gradients, local, rim, sums = of
        return SectionMesh(places, nodes, areas, gradients, rim, local, sums)

    def gaps(self, stress: Floats, warped: Floats) -> Floats:
        """Return by how much both solutions differ in every triangle, (m,) mm⁴.

        ``∫ |τ - γ|²`` of shear by the stress function and by warping: its sum is what the bounds of
        J are apart (Prager and Synge, Quart. Appl. Math. 5 (1947) 241; from memory).
        """
        corners = self.points[self.nodes[:, :3]]
        places = np.asarray(_HALFWAY @ corners, np.float64)
        by_stress, by_warping = (
            (_SLOPES.transpose(0, 2, 1) @ of[self.nodes][:, None, :, None])[..., 0]
            for of in (stress, warped)
        )
        stressed, slid = by_stress @ self.gradients, by_warping @ self.gradients
        along = stressed[..., 1] - slid[..., 0] + places[..., 1]
        across = -stressed[..., 0] - slid[..., 1] - places[..., 0]
        found: Floats = self.areas * (along**2 + across**2).mean(axis=1)
        return found

    def refined(self, chosen: Ints) -> tuple[Floats, Ints]:
        """Return corner points and triangles with the `chosen` ones (k,) in quarters."""
        from splitplanner.strength import _division_kernels, _section_kernels

        halved = np.zeros(len(self.points), np.bool_)
        halved[self.nodes[chosen, 3:]] = True
        corners = len(self.points) - int(np.ptp(self.nodes[:, 3:])) - 1
        number = np.full(len(self.points), -1)
        number[halved] = corners + np.arange(halved.sum())
        triangles = _division_kernels.refined(self.nodes, number)
        points = np.concatenate([self.points[:corners], self.points[halved]])
        edges, _, uses = _section_kernels.linked(triangles, len(points))
        _division_kernels.evened(points, triangles, edges, uses)
        return points, triangles

    @cached_property
    def tensor(self) -> Floats:
        """Second moments (2, 2) about the centroid, mm⁴."""
        return np.array([of @ self.points for of in self.sums[1:3]])

    def solver(self, number: Ints, count: int, holes: int = 0) -> Solver:
        """Return what solves ``∫ ∇a · ∇b = …`` for unknowns, right sides (count, c).

        Parameters
        ----------
        number : (n,) int array
            Of the unknown of every node; -1: it is held at 0.
        count, holes : int
            How many there are; how many of them, the first ones, are of all nodes round a hole.
        """
        from splitplanner.strength import _section_kernels as kernels

        place, first, work = kernels.profiled(self.nodes, number, holes, count)
        if work > _MOST_WORK:
            return _sparse_solver(number[self.nodes], self.local, count)
        rows, begins = kernels.factored(self.nodes, self.local, number, place, first)

        def solve(force: Floats) -> Floats:
            found: Floats = kernels.solved(rows, begins, first, place, force)
            return found

        return solve

    def prandtl(self) -> tuple[float, Floats]:
        """Return the lower bound of J, and the stress function at every node, mm².

        ``∇²φ = -2``, 0 on the outer outline, constant on that of each hole and such that the
        walls round it do not come apart: with test functions constant there,
        ``∫∇φ·∇ψ = 2∫ψ + 2 Σ ψₖ Aₖ``, and J is the right side for ψ = φ.
        """
        from splitplanner.strength import _section_kernels as kernels

        # Outlines that touch are one. What a hole encloses is swept the other way round.
        loop, areas = kernels.looped(self.rim, self.points)
        areas = np.asarray(np.abs(areas), np.float64)
        holes = len(areas) - 1
        number = np.where(loop > 0, loop - 1, -1)
        inside = np.flatnonzero(loop < 0)
        number[inside] = holes + np.arange(len(inside))
        count = holes + len(inside)
        if not count:
            return 0.0, np.zeros(len(self.points))
        free = number >= 0
        force = np.zeros(count)
        force += 2.0 * np.bincount(number[free], self.sums[0][free], count)
        force[:holes] += 2.0 * areas[1:]
        solved = self.solver(number, count, holes)(force[:, None])[:, 0]
        stress = np.where(free, solved[number], 0.0)
        return float(force @ solved), stress

    def warping(self) -> tuple[float, Floats, Solver]:
        """Return the upper bound of J, and the warping function ω at every node, mm².

        The bound is ``∫ |∇ω + (-y, x)|²``, which is least for the true ω. Also what solves
        Poisson's equation for free outlines, the first node held.
        """
        force = self.sums[3]
        solve = self.solver(np.arange(-1, len(force) - 1), len(force) - 1)
        warped = np.concatenate([[0.0], solve(force[1:, None])[:, 0]])
        return float(np.trace(self.tensor) - force @ warped), warped, solve

    def shear_centre(self, warped: Floats) -> Floats:
        """Return the shear centre (2,), mm.

        About the pole s the warping is ``ω - x s_y + y s_x``, and bending has no part in it where
        its moments ``∫ ω x`` and ``∫ ω y`` are 0 (Trefftz, 1935; from memory).
        """
        whole, along_x, along_y, _ = self.sums
        values = warped - warped @ whole / self.areas.sum()
        # ∫ωx = s_y ∫xx - s_x ∫xy and ∫ωy = s_y ∫xy - s_x ∫yy.
        pole = np.linalg.solve(self.tensor, [values @ along_x, values @ along_y])
        return np.array([-pole[1], pole[0]])

    def warping_figures(self, warped: Floats, pole: Floats) -> tuple[float, float]:
        """Return ``∫ ω²`` about a pole, mm⁶, and the largest ω, mm², the mean taken off.

        Vlasov, Thin-Walled Elastic Beams; from memory.
        """
        x, y = self.points.T
        values = warped - x * pole[1] + y * pole[0]
        values = values - values @ self.sums[0] / self.areas.sum()
        of = values[self.nodes]
        constant = float(self.areas @ ((of @ _MASS) * of).sum(axis=1))
        return constant, float(np.abs(values).max())

    def sliding(self, solve: Solver) -> Floats:
        """Return the flexibility under shear, (2, 2) 1/mm²; ``V C V / 2G`` is energy per length.

        Shear stress ``∇ψ`` carries what bending stress grows by: ``∇²ψ = -(S⁻¹ V) · r``, and none
        goes through outlines (the stress function of bending, Poisson's ratio taken as 0;
        Timoshenko and Goodier; Pilkey, Analysis and Design of Elastic Beams; from memory).
        """
        force = self.sums[1:3, 1:].T @ np.linalg.inv(self.tensor)
        found: Floats = force.T @ solve(np.asarray(force, np.float64))
        return found

    def rim_slopes(self, stress: Floats) -> tuple[Floats, Floats]:
        """Return the mean slope of the stress function on every edge of the outlines, (k,) mm.

        By what holds the function there, ``∫ a ∂φ/∂n = ∫∇φ·∇a - 2∫a``, which is far nearer to the
        true one than slopes of triangles are; shared at corners by length. On an outline there is
        none along it. Also the area of the triangle behind every edge, mm²; 0 near inner corners.
        """
        from splitplanner.strength import _section_kernels as kernels

        starts, ends, middles = self.rim.T
        held = kernels.held(self.nodes, self.local, stress) - 2.0 * self.sums[0]
        lengths = np.linalg.norm(self.points[ends] - self.points[starts], axis=1)
        shares = np.bincount(np.concatenate([starts, ends]), np.tile(lengths, 2), len(held))
        at_ends = held[starts] / shares[starts] + held[ends] / shares[ends]
        slopes = np.abs(held[middles] / lengths + at_ends)
        wall = 2.0 * self.areas.sum() / lengths.sum()
        slopes, far = kernels.evened(self.points, self.rim, slopes, _NEAR * wall, wall, _SHARP)
        owner = np.empty(len(held), np.int64)
        owner[self.nodes[:, 3:]] = np.arange(len(self.nodes))[:, None]
        behind = self.areas[owner[middles]]
        return slopes, behind * far if far.any() else behind


def _sparse_solver(unknowns: Ints, local: Floats, count: int) -> Solver:
    """Return what solves a large system of `local` (m, 36); unknowns (m, 6) of -1 are left out."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import splu

    rows, columns = np.repeat(unknowns, 6, axis=1).ravel(), np.tile(unknowns, 6).ravel()
    kept = (rows >= 0) & (columns >= 0)
    entries = local.ravel()[kept], (rows[kept], columns[kept])
    matrix = coo_matrix(entries, shape=(count, count)).tocsc()
    factors = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    solve: Solver = factors.solve
    return solve
