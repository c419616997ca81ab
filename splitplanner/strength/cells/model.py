"""One piece in a grid of cells: its stiffness, what acts on it and what is read from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.solid import Solid
from splitplanner.strength.cells.grid import (
    STRAIGHT,
    CellGrid,
    band_pieces,
    cell_grid,
    triangle_rule,
)
from splitplanner.strength.cells.stiffness import (
    VOID,
    cell_stiffness,
    elastic_tensor,
    shapes_at,
    slopes_at,
    weights_of_cells,
)
from splitplanner.strength.layered import LayeredStiffness

SIZE = 10.0
"""Side of cells, mm: four walls of a printed part. Larger ones hold walls too stiff against what
presses on them in one spot: the demonstration hood (walls of 2.4 mm) gives by 0.31 mm with cells of
8 mm, and by 7 %, 17 % and 25 % less with 10, 12 and 14 mm."""
_POINTS = 4
"""Gauss points each way on pieces of a loaded surface: exact to degree 6, as shapes are."""
_INWARD = 1e-6
"""How far behind the surface, in cells, it is looked for which cell a point is in."""
_FAIR = 0.02
"""A cell of which the solid takes less is almost empty."""
_ASIDE = 1e-5
"""How far beside its cell a point may be, in cells."""
_NO_FACE = "A load or a support has no face of the piece to act on; move it."


@dataclass(frozen=True, eq=False)
class Patch:
    """A part of the surface as points that stand for it.

    Attributes
    ----------
    points : (k, 3) float array, mm
    areas : (k,) float array, mm²
        What each stands for.
    normals : (k, 3) float array
        Outward.
    rows : (k,) int array
        Which cell of the grid each is in.
    """

    points: Floats
    areas: Floats
    normals: Floats
    rows: Ints

    @property
    def area(self) -> float:
        """Of all of it, mm²."""
        return float(self.areas.sum())

    @property
    def middle(self) -> Floats:
        """Its centroid, (3,) mm."""
        return frozen_floats(self.areas @ self.points / self.area)


@dataclass(frozen=True, eq=False)
class CellModel:
    """One piece embedded in quadratic cells.

    Freedoms are the displacements of nodes, mm: 3 node + axis.

    Attributes
    ----------
    solid : Solid
    grid : CellGrid
    elastic : (3, 3, 3, 3) float array
        Stress over strain, MPa.
    matrix : sparse (f, f) array
        Stiffness, N/mm; nothing holds it. None in a light model.
    """

    solid: Solid
    grid: CellGrid
    elastic: Floats
    matrix: Any

    @property
    def freedoms(self) -> int:
        """How many there are."""
        return 3 * len(self.grid.places)

    @cached_property
    def modulus(self) -> float:
        """The largest stress over a strain alone along an axis, MPa: a measure of stiffness."""
        return float(np.einsum("iiii->i", self.elastic).max())

    def light(self) -> CellModel:
        """Return the model without its stiffness, for what is read from displacements alone."""
        return replace(self, matrix=None)

    def patch(self, faces: ArrayLike) -> Patch:
        """Return faces of the solid as points.

        Parameters
        ----------
        faces : (n,) int or (m,) bool array
            Which faces.

        Raises
        ------
        LoadError
            If there are none.
        """
        chosen = np.asarray(faces)
        chosen = np.flatnonzero(chosen) if chosen.dtype == np.bool_ else chosen.astype(np.int64)
        if not len(chosen):
            raise LoadError(_NO_FACE)
        return self._standing_for(*self._pieces(chosen))

    def band(self, axis: ArrayLike, low: float, high: float) -> Patch:
        """Return the surface between two heights as points, cut exactly there.

        However it is divided into triangles, the same of it counts, left as right.

        Parameters
        ----------
        axis : (3,) array
            Unit vector, which way is up.
        low, high : float
            Along it, mm.

        Raises
        ------
        LoadError
            If there is none.
        """
        heights = (self.solid.vertices @ np.asarray(axis, float))[self.solid.faces]
        near = np.flatnonzero((heights.max(axis=1) >= low) & (heights.min(axis=1) <= high))
        if len(near):
            corners, rows, normals = self._pieces(near)
            corners, source = band_pieces(corners, axis, low, high)
            if len(corners):
                return self._standing_for(corners, rows[source], normals[source])
        raise LoadError(_NO_FACE)

    def _pieces(self, faces: Ints) -> tuple[Floats, Ints, Floats]:
        """Return faces cut along the grid: corners (n, 3, 3) mm, rows of cells, normals (n, 3)."""
        corners, rows, source = self.grid.surface(self.solid, faces)
        return corners, rows, self.solid.face_normals[faces][source]

    @staticmethod
    def _standing_for(corners: Floats, rows: Ints, normals: Floats) -> Patch:
        rule, weights = triangle_rule(_POINTS)
        first = corners[:, :1]
        points = first + np.einsum("gs,nsx->ngx", rule, corners[:, 1:] - first)
        twice = np.linalg.norm(
            np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
        )
        count = len(weights)
        return Patch(
            frozen_floats(points.reshape(-1, 3)),
            frozen_floats(np.outer(twice, weights).ravel()),
            frozen_floats(np.repeat(normals, count, axis=0)),
            np.repeat(rows, count),
        )

    def rows_at(
        self, points: ArrayLike, outward: ArrayLike | None = None, reach: float = 0.0
    ) -> Ints:
        """Return in which cells points (k, 3) mm are, (k,).

        Parameters
        ----------
        points : (k, 3) array, mm
        outward : (k, 3) or (3,) array, optional
            Out of the solid at points on its surface.
        reach : float
            How far a point may be beside cells of which the solid takes a fair share, in cells: it
            moves with the nearest of those. By itself what is beside the solid gives way to
            anything.

        Raises
        ------
        LoadError
            If one is in no cell that the solid reaches into.
        """
        cells = self.grid.to_cells(np.asarray(points, float).reshape(-1, 3))
        if outward is not None:
            cells = cells - _INWARD * np.asarray(outward, float) @ self.grid.frame.T
        rows = np.array(self.grid.held_by(np.floor(cells)))
        # A point on a corner of the solid may be beside its cell by as little.
        for aside in product((0.0, -_ASIDE, _ASIDE), repeat=3):
            lost = np.flatnonzero(rows < 0)
            if not len(lost):
                break
            rows[lost] = self.grid.held_by(np.floor(cells[lost] + aside))
        if reach > 0.0:
            self._to_fuller(rows, cells, reach)
        if (rows >= 0).all():
            return rows
        raise LoadError("A point of a load, a support or a seam is beside the piece; move it.")

    def _to_fuller(self, rows: Ints, cells: Floats, reach: float) -> None:
        """Send points (k, 3), in cells from the corner, from almost empty cells to fuller ones."""
        poor = np.flatnonzero(np.where(rows < 0, 0.0, self.grid.fill[rows]) < _FAIR)
        full = np.flatnonzero(self.grid.fill >= _FAIR)
        for index in poor[: len(poor) if len(full) else 0]:
            away = np.abs(self.grid.cells[full] + 0.5 - cells[index]) - 0.5
            far = np.linalg.norm(np.maximum(away, 0.0), axis=1)
            if far.min() <= reach:
                rows[index] = full[far.argmin()]

    def motion(self, points: ArrayLike, rows: Ints) -> Any:
        """Return what moves points (k, 3) mm in cells `rows`: sparse (3k, f), 3 point + axis."""
        from scipy.sparse import csr_array

        shapes = shapes_at(self.grid.local(points, rows))
        count = len(shapes)
        columns = 3 * self.grid.nodes[rows][:, None, :] + np.arange(3)[:, None]
        values = np.broadcast_to(shapes[:, None, :], (count, 3, 27))
        ends = np.arange(0, 81 * count + 1, 27)
        return csr_array((values.ravel(), columns.ravel(), ends), shape=(3 * count, self.freedoms))

    def pushed(self, patch: Patch, traction: ArrayLike) -> Floats:
        """Return forces on the freedoms, (f,) N, of tractions (3,) or (k, 3) MPa on a patch."""
        acting = np.broadcast_to(np.asarray(traction, float), patch.points.shape)
        forces = acting * patch.areas[:, None]
        return frozen_floats(self.motion(patch.points, patch.rows).T @ forces.ravel())

    def forced(self, points: ArrayLike, rows: Ints, forces: ArrayLike) -> Floats:
        """Return forces on the freedoms, (f,) N, of forces (k, 3) N at points (k, 3) mm."""
        return frozen_floats(self.motion(points, rows).T @ np.asarray(forces, float).ravel())

    def moves(self, moved: ArrayLike, points: ArrayLike, rows: Ints) -> Floats:
        """Return how far points (k, 3) mm move, (k, 3) mm, by displacements (f,) mm."""
        return frozen_floats((self.motion(points, rows) @ np.asarray(moved)).reshape(-1, 3))

    def weighed(self, weight: ArrayLike) -> Floats:
        """Return forces on the freedoms, (f,) N, of a weight (3,) N/mm³ of the whole piece."""
        return frozen_floats(
            np.outer(weights_of_cells(self.grid), np.asarray(weight, float)).ravel()
        )

    def strains(self, moved: ArrayLike, points: ArrayLike, rows: Ints) -> Floats:
        """Return strains at points (k, 3) mm, (k, 3, 3), of displacements (f,) mm."""
        slopes = slopes_at(self.grid.local(points, rows), self.grid.steps)
        nodes = np.asarray(moved, float).reshape(-1, 3)[self.grid.nodes[rows]]
        gradient = np.einsum("kpn,kna->kap", slopes, nodes) @ self.grid.frame
        found: Floats = 0.5 * (gradient + gradient.transpose(0, 2, 1))
        return found

    def stresses(self, moved: ArrayLike, points: ArrayLike, rows: Ints) -> Floats:
        """Return stresses there, (k, 3, 3) MPa."""
        strain = self.strains(moved, points, rows).reshape(-1, 9)
        found: Floats = (strain @ self.elastic.reshape(9, 9).T).reshape(-1, 3, 3)
        return found

    def face_stresses(self, moved: ArrayLike) -> Floats:
        """Return stresses in the middle of every face of the solid, (m, 3, 3) MPa."""
        points = self.solid.face_centroids
        return self.stresses(moved, points, self.rows_at(points, self.solid.face_normals))


def embedded(
    solid: Solid,
    stiffness: LayeredStiffness,
    up: ArrayLike = (0.0, 0.0, 1.0),
    size: float = SIZE,
    void: float = VOID,
    frame: ArrayLike = STRAIGHT,
) -> CellModel:
    """Embed a piece in quadratic cells.

    The finite cell method (Parvizian, Düster and Rank 2007, from memory): the cells need not
    follow the surface, and what they have beside the solid is next to nothing.

    Parameters
    ----------
    solid : Solid
    stiffness : LayeredStiffness
    up : (3,) array
        Print direction in the solid's frame.
    size : float
        Longest side of a cell, mm. Walls of one piece that are closer than this are partly welded
        in the model.
    void : float
        Stiffness beside the solid, as a share.
    frame : (3, 3) array
        Along which the cells lie, as for `cell_grid`.

    Raises
    ------
    ValueError
        As `cell_grid`.
    """
    grid = cell_grid(solid, size, frame)
    elastic = elastic_tensor(stiffness, up)
    return CellModel(solid, grid, elastic, cell_stiffness(grid, elastic, void))
