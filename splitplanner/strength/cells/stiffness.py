"""Quadratic cells: their shapes, their stiffness from moments, and points in them."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.solid import frame_of
from splitplanner.strength.cells.grid import CellGrid
from splitplanner.strength.layered import LayeredStiffness, turned_compliance

VOID = 1e-7
"""Stiffness of what a cell has beside the solid, as a share of the solid's: without it corners of
cells that the solid hardly reaches would be held by nothing. From 1e-9 to 1e-5 it changes
deflections by less than 0.005 % (measured)."""
_SHAPES = np.array([[0.0, -0.5, 0.5], [1.0, 0.0, -1.0], [0.0, 0.5, 0.5]])
"""Lagrange's shapes on the nodes -1, 0 and 1: factors of 1, ξ and ξ²."""
_SLOPES = np.array([[-0.5, 1.0, 0.0], [0.0, -2.0, 0.0], [0.5, 1.0, 0.0]])
"""Their slopes."""
_VOIGT = np.array([[0, 5, 4], [5, 1, 3], [4, 3, 2]])
"""Which of (xx, yy, zz, yz, zx, xy) each entry of a symmetric tensor is."""
_CHUNK = 256
"""Cells at a time: 256 of them take 27 MB twice."""


def shapes_at(local: ArrayLike) -> Floats:
    """Return the 27 shapes at points (k, 3) of a cell from -1 to 1, (k, 27)."""
    each = _powers(local) @ _SHAPES.T
    return _together(each[:, 0], each[:, 1], each[:, 2])


def slopes_at(local: ArrayLike, steps: Floats) -> Floats:
    """Return the slopes of the shapes along the axes of the grid there, (k, 3, 27) 1/mm."""
    powers = _powers(local)
    each, slopes = powers @ _SHAPES.T, powers @ _SLOPES.T
    found = []
    for along in range(3):
        parts = [slopes[:, axis] if axis == along else each[:, axis] for axis in range(3)]
        found.append(_together(*parts) * 2.0 / steps[along])
    return np.stack(found, axis=1)


def elastic_tensor(stiffness: LayeredStiffness, up: ArrayLike) -> Floats:
    """Return stress over strain of a print with direction `up`, (3, 3, 3, 3) MPa."""
    # Rows of the frame: the part's axes as the print sees them.
    seen = turned_compliance(stiffness.compliance(), frame_of(up).T)
    return frozen_floats(np.linalg.inv(seen)[_VOIGT[:, :, None, None], _VOIGT])


def cell_stiffness(grid: CellGrid, elastic: Floats, void: float = VOID) -> Any:
    """Return the stiffness of a grid of cells, sparse (3m, 3m) N/mm; 3 node + axis is a freedom.

    However the grid lies, nodes move along the axes of the solid's frame, as `elastic` has them.
    Integrals of products of slopes are sums of moments with fixed factors, so that all cells take
    one product of matrices.
    """
    from scipy.sparse import coo_array

    count = 3 * len(grid.places)
    factors = _products().reshape(125, -1)
    scale = 4.0 / np.outer(grid.steps, grid.steps) * grid.steps.prod() / 8.0
    # From slopes g, h along the grid to freedoms a, b: C_apbq.
    seen = np.einsum("gp,hq,apbq->ghab", grid.frame, grid.frame, elastic)
    turning = (seen * scale[:, :, None, None]).reshape(9, 9)
    moments = (1.0 - void) * grid.moments + void * _full()
    parts: list[Any] = []
    for start in range(0, len(grid.cells), _CHUNK):
        some = moments[start : start + _CHUNK]
        slopes = (some @ factors).reshape(-1, 9)
        blocks = (slopes @ turning).reshape(len(some), 27, 27, 3, 3).transpose(0, 1, 3, 2, 4)
        freedoms = freedoms_of(grid.nodes[start : start + _CHUNK]).astype(np.int32)
        shape = (len(some), 81, 81)
        rows = np.broadcast_to(freedoms[:, :, None], shape).ravel()
        columns = np.broadcast_to(freedoms[:, None, :], shape).ravel()
        part = coo_array((blocks.ravel(), (rows, columns)), shape=(count, count))
        parts.append(part.tocsr())
        # Sums of parts of about one size, as carrying over does: each entry is added seldom.
        while len(parts) > 1 and parts[-2].nnz < 2 * parts[-1].nnz:
            parts[-2:] = [parts[-2] + parts[-1]]
    while len(parts) > 1:
        parts[-2:] = [parts[-2] + parts[-1]]
    return parts[0]


def freedoms_of(nodes: Ints) -> Ints:
    """Return the freedoms of nodes (n, k) in order, (n, 3k)."""
    found: Ints = (3 * nodes[:, :, None] + np.arange(3)).reshape(len(nodes), -1)
    return found


def weights_of_cells(grid: CellGrid) -> Floats:
    """Return ∫ of every shape over the solid, (m,) mm³: where its weight acts."""
    over = np.einsum("iu,jv,kw,nuvw->nijk", *[_SHAPES] * 3, _low_moments(grid), optimize=True)
    found = np.bincount(grid.nodes.ravel(), over.reshape(-1), len(grid.places))
    return frozen_floats(found * grid.steps.prod() / 8.0)


def _low_moments(grid: CellGrid) -> Floats:
    return grid.moments.reshape(-1, 5, 5, 5)[:, :3, :3, :3]


def _powers(local: ArrayLike) -> Floats:
    found: Floats = np.asarray(local, float)[:, :, None] ** np.arange(3)
    return found


def _together(x: Floats, y: Floats, z: Floats) -> Floats:
    found: Floats = (x[:, :, None, None] * y[:, None, :, None] * z[:, None, None, :]).reshape(
        -1, 27
    )
    return found


@cache
def _products() -> Floats:
    """Factors of the moments in ∫ ∂Nᵢ/∂p ∂Nⱼ/∂q, (125, 27, 27, 3, 3)."""
    kinds = {
        (first, second): np.array(
            [
                [_padded(np.convolve(a, b)) for b in (_SLOPES if second else _SHAPES)]
                for a in (_SLOPES if first else _SHAPES)
            ]
        )
        for first in (False, True)
        for second in (False, True)
    }
    found = np.empty((125, 27, 27, 3, 3))
    for p in range(3):
        for q in range(3):
            each = [kinds[p == axis, q == axis] for axis in range(3)]
            both = np.einsum("adu,bev,cfw->uvwabcdef", *each)
            found[..., p, q] = both.reshape(125, 27, 27)
    return frozen_floats(found)


def _padded(factors: Floats) -> Floats:
    found: Floats = np.concatenate([factors, np.zeros(5 - len(factors))])
    return found


@cache
def _full() -> Floats:
    """The moments of a full cell, (125,)."""
    each = np.array([2.0, 0.0, 2.0 / 3.0, 0.0, 2.0 / 5.0])
    return frozen_floats(np.einsum("a,b,c->abc", each, each, each).ravel())
