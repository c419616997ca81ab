"""A regular grid of cells over a solid, and what of it lies in each of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.solid import Solid, frame_of

_ORDERS = (3, 5, 8)
"""Gauss points each way on pieces under a 13th of a cell, under a third of it, and larger ones; the
last is exact for every moment (degree 13)."""
_NOTHING = 1e-9
"""A smaller share of a cell is nothing but rounding."""
STRAIGHT = frozen_floats(np.eye(3))
"""Along the axes of the solid's own frame."""
_SQUARE = 1e-9
"""How far from unit vectors square to each other a frame may be."""
_WHOLE = 1e-4
"""A box longer than so many cells by this share of one takes no more of them: files round."""
CELLS_AT_MOST = 400_000
"""Finer grids are refused: the moments alone would need gigabytes."""


@dataclass(frozen=True, eq=False)
class CellGrid:
    """The cells that a solid reaches into.

    Attributes
    ----------
    frame : (3, 3) float array
        Rows: unit vectors along the sides of cells, right-handed, in the solid's frame.
    corner : (3,) float array, mm
        Low corner of the whole grid, along these.
    steps : (3,) float array, mm
        Sides of a cell.
    shape : (3,) int array
        Number of cells along each, empty ones too.
    cells : (n, 3) int array
        The cells that are not empty.
    moments : (n, 125) float array
        ∫ ξᵃ ηᵇ ζᶜ over the solid in each of them, a, b and c from 0 to 4, c fastest; ξ, η and ζ go
        from -1 to 1 across the cell, so that a full one has a volume of 8.
    """

    frame: Floats
    corner: Floats
    steps: Floats
    shape: Ints
    cells: Ints
    moments: Floats

    @cached_property
    def volume(self) -> float:
        """Of the solid in all cells, mm³."""
        return float(self.moments[:, 0].sum() * self.steps.prod() / 8.0)

    @cached_property
    def fill(self) -> Floats:
        """Which share of each cell the solid takes, (n,)."""
        return frozen_floats(self.moments[:, 0] / 8.0)

    @cached_property
    def _index(self) -> Ints:
        found = np.full(tuple(self.shape), -1)
        found[tuple(self.cells.T)] = np.arange(len(self.cells))
        return frozen_ints(found)

    @cached_property
    def _lattice(self) -> tuple[Ints, Ints]:
        """Nodes of each cell (n, 27), and where they are, (m, 3) half cells from the corner."""
        around = np.stack(np.meshgrid(*[np.arange(3)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
        size = tuple(2 * self.shape + 1)
        places = (2 * self.cells[:, None, :] + around).transpose(2, 0, 1)
        used, names = np.unique(np.ravel_multi_index(tuple(places), size), return_inverse=True)
        where = np.stack(np.unravel_index(used, size), axis=1)
        return frozen_ints(names.reshape(-1, 27)), frozen_ints(where)

    @property
    def nodes(self) -> Ints:
        """The 27 nodes of each cell, (n, 27), z fastest."""
        return self._lattice[0]

    @property
    def lattice(self) -> Ints:
        """Where the nodes are, (m, 3) half cells from the corner."""
        return self._lattice[1]

    @cached_property
    def places(self) -> Floats:
        """Where the nodes are, (m, 3) mm in the solid's frame."""
        return frozen_floats(self.to_space(0.5 * self._lattice[1]))

    def to_cells(self, points: ArrayLike) -> Floats:
        """Return points (..., 3) mm as the grid sees them, in cells from its corner."""
        return _in_cells(np.asarray(points, float), self.frame, self.corner, self.steps)

    def to_space(self, cells: ArrayLike) -> Floats:
        """Return points (..., 3) in cells from the corner in the solid's frame, mm."""
        found: Floats = (self.corner + np.asarray(cells, float) * self.steps) @ self.frame
        return found

    def frame_along(self, direction: ArrayLike) -> Floats:
        """Return rows u, v and n as `frame_of`, but by the axes of the grid.

        What is laid out along u and v then lies in the cells alike, however the part is turned.
        """
        if np.array_equal(self.frame, STRAIGHT):
            return frame_of(direction)
        found: Floats = frame_of(self.frame @ np.asarray(direction, float)) @ self.frame
        return found

    def surface(self, solid: Solid, faces: Ints) -> tuple[Floats, Ints, Ints]:
        """Cut faces of the solid along the planes of the grid.

        Returns
        -------
        corners : (m, 3, 3) float array, mm
            Of the pieces.
        rows : (m,) int array
            In which cell the solid lies behind each.
        source : (m,) int array
            Which of `faces` it is of.
        """
        seen = self.to_cells(solid.vertices)[solid.faces[faces]]
        cut, cells, source = _cut_along(seen, np.array(self.shape))
        return self.to_space(cut), self.held_by(cells), source

    def held_by(self, cells: ArrayLike) -> Ints:
        """Return the rows of cells (k, 3) in `cells`, (k,); -1 for empty ones."""
        wanted = np.asarray(cells, dtype=np.int64)
        inside = ((wanted >= 0) & (wanted < self.shape)).all(axis=1)
        kept = np.clip(wanted, 0, self.shape - 1)
        return frozen_ints(np.where(inside, self._index[tuple(kept.T)], -1))

    def local(self, points: ArrayLike, rows: Ints) -> Floats:
        """Return points (k, 3) mm in coordinates from -1 to 1 of the cells with those rows."""
        return frozen_floats(2.0 * (self.to_cells(points) - self.cells[rows]) - 1.0)


def cell_grid(solid: Solid, size: float, frame: ArrayLike = STRAIGHT) -> CellGrid:
    """Lay a grid over a solid and find what of the solid lies in each cell.

    The moments are exact to rounding: every triangle is cut along the planes of the grid, and what
    lies below a piece, in its cell and in those under it, is counted up where it looks up and down
    where it looks down (the divergence theorem along z). No rays have to be close enough.

    Parameters
    ----------
    solid : Solid
    size : float
        Longest side of a cell, mm; sides are made shorter so that whole cells fill its box.
    frame : (3, 3) array
        Rows: unit vectors along the sides of cells, right-handed.

    Raises
    ------
    ValueError
        If the frame is none, the size is not positive, or asks for more than `CELLS_AT_MOST` cells.
    """
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.strength.cells import _kernels as kernels

    if not size > 0.0:
        raise ValueError(f"the size of cells must be more than 0 mm, got {size}")
    axes = np.asarray(frame, float)
    if not np.abs(axes @ axes.T - np.eye(3)).max() < _SQUARE or np.linalg.det(axes) < 0.0:
        raise ValueError("cells lie along a right-handed frame of unit vectors")
    seen = solid.vertices @ axes.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    shape = np.maximum(np.ceil((high - low) / size - _WHOLE), 1.0).astype(np.int64)
    if shape.prod() > CELLS_AT_MOST:
        raise ValueError(f"cells of {size} mm are {shape.prod()}, more than {CELLS_AT_MOST}")
    steps = (high - low) / shape
    triangles = _in_cells(solid.vertices, axes, low, steps)[solid.faces]
    cut, cells, _ = _cut_along(triangles, shape)
    cover, moments = np.zeros((*shape, 5, 5)), np.zeros((*shape, 5, 5, 5))
    kernels.moments_below(cut, cells, *_rules(), cover, moments)
    above = np.cumsum(cover[:, :, ::-1], axis=2)[:, :, ::-1] - cover
    full = np.array([2.0, 0.0, 2.0 / 3.0, 0.0, 2.0 / 5.0])
    moments += above[..., None] * full
    kept = moments[..., 0, 0, 0] > 8.0 * _NOTHING
    kept[tuple(cells.T)] = True
    chosen = np.argwhere(kept)
    found = moments[kept].reshape(-1, 125)
    return CellGrid(
        frozen_floats(axes),
        frozen_floats(low),
        frozen_floats(steps),
        frozen_ints(shape),
        frozen_ints(chosen),
        frozen_floats(found),
    )


def _in_cells(points: Floats, frame: Floats, corner: Floats, steps: Floats) -> Floats:
    found: Floats = (points @ frame.T - corner) / steps
    return found


def band_pieces(corners: Floats, axis: ArrayLike, low: float, high: float) -> tuple[Floats, Ints]:
    """Cut triangles at two heights and keep what lies between.

    Parameters
    ----------
    corners : (n, 3, 3) float array, mm
        Turned with their normals out of the solid: what lies flat in a cut counts if the solid
        behind it is between.
    axis : (3,) array
        Which way is up.
    low, high : float
        Along it, mm.

    Returns
    -------
    corners : (m, 3, 3) float array, mm
    source : (m,) int array
        Which of the triangles each is of.
    """
    # One column of cells, of which the second from below is the band: aside nothing is cut.
    frame = frame_of(axis)
    seen = corners @ frame.T
    start, wide = seen.min(axis=(0, 1)) - 1.0, np.ptp(seen, axis=(0, 1)) + 2.0
    start[2], wide[2] = 2.0 * low - high, high - low
    cut, layers, source = _cut_along((seen - start) / wide, np.array([1, 1, 3]))
    kept = layers[:, 2] == 1
    return (start + cut[kept] * wide) @ frame, source[kept]


def _cut_along(triangles: Floats, shape: Ints) -> tuple[Floats, Ints, Ints]:
    """Cut triangles (n, 3, 3), in cells, along the planes of a grid.

    Returns
    -------
    cut : (m, 3, 3) float array
        Corners of the pieces, in cells.
    cells : (m, 3) int array
        In which cell the solid lies behind each.
    source : (m,) int array
        Which triangle it is of.
    """
    from splitplanner.strength.cells import _kernels as kernels

    room = 4 * len(triangles) + 64
    while True:
        cut, cells = np.empty((room, 3, 3)), np.empty((room, 3), dtype=np.int64)
        source = np.empty(room, dtype=np.int64)
        found = int(kernels.pieces(triangles, shape, cut, cells, source))
        if found <= room:
            return cut[:found], cells[:found], source[:found]
        room = found


def triangle_rule(order: int) -> tuple[Floats, Floats]:
    """Return points (u, v) and weights of a rule on the triangle u, v >= 0, u + v <= 1.

    Gauss and Legendre's points each way, drawn together into one corner (Stroud 1971, from
    memory): `order`² points, exact to degree 2 order - 2.
    """
    ends, weights = np.polynomial.legendre.leggauss(order)
    t, w = 0.5 * (ends + 1.0), 0.5 * weights
    u, v = np.repeat(t, order), np.tile(t, order)
    weight = np.repeat(w, order) * np.tile(w, order) * (1.0 - u)
    return np.stack([u, v * (1.0 - u)], axis=1), weight


def _rules() -> tuple[Floats, Ints]:
    rules = [np.column_stack(triangle_rule(order)) for order in _ORDERS]
    return np.vstack(rules), np.cumsum([0] + [len(rule) for rule in rules])
