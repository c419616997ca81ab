"""Pieces reduced to the freedoms that take part in seams."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.errors import LoadError
from splitplanner.strength.cells.factors import FREE, Triangle, triangle_of
from splitplanner.strength.cells.model import CellModel
from splitplanner.strength.cells.ordering import elimination_order, freedoms_in_order

_SPREAD = 6
"""So many nodes are kept with all their freedoms."""
_FIRMED = (1e-7, 1e-6)
"""Springs to the ground by the stiffness of the material, tried in this order, on freedoms that
have next to no stiffness of their own: together far less than what holds a piece."""
_LOST = 1e-12
"""A pivot that is a smaller share of a freedom's own stiffness is rounding."""
_ONE_AT_A_TIME = Lock()
"""As long as a piece is factorised it takes several times what is kept of it."""
_MOVES = 1e-9
"""A way of moving whose share in the kept freedoms is less than this is none."""


@dataclass(frozen=True, eq=False)
class Response:
    """What a reduced piece does by n sets of forces, in halves: products of two say how far.

    Attributes
    ----------
    half : (b, n) float array
        Through its kept freedoms.
    deep : (d,) int array
        Which of the sets act inside it too.
    inner : (f - b, d) float array
        What those do there, with the kept freedoms held.
    """

    half: Floats
    deep: Ints
    inner: Floats

    def along(self, other: Response) -> Floats:
        """Return how far each set (n,) moves along by each of another (m,), (n, m) mm/N."""
        found: Floats = self.half.T @ other.half
        if len(self.deep) and len(other.deep):
            found[np.ix_(self.deep, other.deep)] += self.inner.T @ other.inner
        return found


@dataclass(frozen=True, eq=False)
class ReducedPiece:
    """One piece, reduced to some of its freedoms, with an aid against moving as a whole.

    Nothing but the aid holds some pieces; what takes it away again is a spring of less than
    nothing along each of its ways.

    Attributes
    ----------
    kept : (b,) int array
        Its freedoms that take part in seams.
    ways : (b, w) float array
        How the kept freedoms move where the piece moves as a whole: columns of length 1, square
        to each other.
    aid : float
        Springs along those ways, N/mm; also the springs to the ground on every kept freedom while
        the triangle was made.
    held : (6, 6) float array
        What its holds do against the six ways in which it moves as a whole.
    """

    kept: Ints
    ways: Floats
    aid: float
    held: Floats
    _triangle: Triangle
    _root: Floats

    def response(self, rows: Any, with_ways: bool = True) -> Response:
        """Return what the piece with its aid does by unit forces along rows, and along its ways.

        Parameters
        ----------
        rows : sparse (r, f) array
        with_ways : bool
            Whether the w ways follow the rows.
        """
        from scipy.linalg import solve_triangular

        ways = self.ways if with_ways else self.ways[:, :0]
        felt = np.hstack([rows[:, self.kept].toarray().T, ways])
        # Rows that touch kept freedoms alone are felt as they are.
        outside = np.ones(rows.shape[1])
        outside[self.kept] = 0.0
        deep = np.flatnonzero(abs(rows) @ outside)
        inner = np.zeros((len(self._triangle.pivots) - len(self.kept), 0))
        if len(deep):
            inner, felt[:, deep] = self._triangle.eliminated(rows[deep].toarray().T, self.kept)
        if len(self.kept):
            # Looking for numbers that are none would take as long as solving.
            felt = solve_triangular(
                self._root, felt, lower=True, overwrite_b=True, check_finite=False
            )
        return Response(felt, frozen_ints(deep), inner)

    def moved(self, forces: ArrayLike) -> Floats:
        """Return the displacements (f,) of the piece with its aid by forces (f,)."""
        from scipy.linalg import cho_solve

        acting = np.array(forces, float)
        if len(self.kept):
            felt = self._triangle.eliminated(acting[:, None], self.kept)[1][:, 0]
            kept = cho_solve((self._root, True), felt)
            # What the triangle's own springs take there, less what the aid does.
            acting[self.kept] += self.aid * (kept - self.ways @ (self.ways.T @ kept))
        return self._triangle.solve(acting)


def _positive(matrix: Any, order: Ints, aid: float) -> Triangle:
    """Return the factors of a stiffness in order, with weak springs to the ground where need be.

    Where next to nothing of a piece is in a cell, what is stiff there is lost in rounding.

    Raises
    ------
    LoadError
        If it is not even firm with the strongest of them.
    """
    from scipy.sparse import diags_array

    stiff = np.abs(matrix.diagonal())
    springs = np.zeros(len(stiff))
    for share in (*_FIRMED, None):
        triangle = triangle_of(matrix + diags_array(springs) if springs.any() else matrix, order)
        lost = triangle.pivots[triangle.places[order]] <= _LOST * stiff
        if not lost.any():
            return triangle
        if share is not None:
            springs[lost] += share * aid
        # It is large.
        del triangle
    raise LoadError(FREE)


def reduced(model: CellModel, matrix: Any, kept: Ints, rigid: Floats) -> ReducedPiece:
    """Reduce a piece with its holds to some of its freedoms.

    They are eliminated last, so that the end of the factors is their own.

    Parameters
    ----------
    model : CellModel
    matrix : sparse (f, f) array, N/mm
        Its stiffness with its holds.
    kept : int array
        Which freedoms; those of a few of their nodes are kept all, so that the rest of the piece
        is held while these are.
    rigid : (f, 6) float array
        How it moves as a whole.

    Raises
    ------
    LoadError
        If it has none to keep and is not held.
    """
    from scipy.linalg import LinAlgError, cholesky
    from scipy.sparse import diags_array

    kept = np.union1d(kept, freedoms_in_order(_spread(np.unique(kept // 3), model.grid.places)))
    order, count = elimination_order(model.grid.lattice, kept), len(kept)
    held = np.zeros(model.freedoms)
    held[kept] = aid = model.modulus
    against = rigid.T @ (matrix @ rigid)
    with _ONE_AT_A_TIME:
        # By the same name: with two of them each piece takes as much memory again.
        matrix = matrix + diags_array(held)
        matrix = matrix.tocsr()[order][:, order]
        triangle = _positive(matrix, order, aid)
        del matrix
    felt = triangle.remainder(kept)
    felt.flat[:: count + 1] -= aid
    turned, size, _ = np.linalg.svd(rigid[kept], full_matrices=False)
    ways = turned[:, size > _MOVES * size.max(initial=0.0)]
    try:
        felt += aid * (ways @ ways.T)
        root = cholesky(felt, lower=True, overwrite_a=True)
    except LinAlgError as fault:
        raise LoadError(FREE) from fault
    return ReducedPiece(
        frozen_ints(kept),
        frozen_floats(ways),
        aid,
        frozen_floats(against),
        triangle,
        root,
    )


def _spread(nodes: Ints, places: Floats) -> Ints:
    """Return some of the nodes, far from each other."""
    if len(nodes) <= _SPREAD:
        return nodes
    found = [0]
    far = np.full(len(nodes), np.inf)
    while len(found) < _SPREAD:
        far = np.minimum(far, np.linalg.norm(places[nodes] - places[nodes[found[-1]]], axis=1))
        found.append(int(far.argmax()))
    return nodes[found]
