"""Pieces reduced to the freedoms that take part in seams."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.errors import LoadError
from splitplanner.strength.cells.assembly import Assembly
from splitplanner.strength.cells.model import CellModel
from splitplanner.strength.cells.ordering import dissected
from splitplanner.strength.cells.solving import FREE


@dataclass(frozen=True, eq=False)
class ReducedPiece:
    """One piece, factorised with an aid on the freedoms that are kept.

    Attributes
    ----------
    kept : (b,) int array
        Its freedoms that take part in seams.
    stiffness : (b, b) float array, N/mm
        What they feel of the piece (Schur's complement), without the aid.
    aid : float
        Springs to the ground on them while it was factorised, N/mm: nothing else holds some pieces.
    """

    kept: Ints
    stiffness: Floats
    aid: float
    _places: Ints
    _lower: Any
    _pivots: Floats

    def aided(self, forces: ArrayLike) -> Floats:
        """Return the displacements (f,) of the piece with its aid by forces (f,)."""
        from splitplanner.strength.cells import _kernels as kernels

        lower, acting = self._lower, np.empty(len(self._pivots))
        acting[self._places] = forces
        kernels.solve_in_place(lower.indptr, lower.indices, lower.data, self._pivots, acting)
        found: Floats = acting[self._places]
        return found

    def felt(self, forces: ArrayLike) -> Floats:
        """Return the forces (b,) on the kept freedoms that do the same as forces (f,)."""
        moved = self.aided(forces)[self.kept]
        found: Floats = self.stiffness @ moved + self.aid * moved
        return found

    def moved(self, forces: ArrayLike, kept: Floats) -> Floats:
        """Return the displacements (f,) by forces (f,) where the kept freedoms move by `kept`.

        The forces are all that act on the piece, those in its seams too.
        """
        acting = np.array(forces, float)
        acting[self.kept] += self.aid * kept
        return self.aided(acting)


def reduced(model: CellModel, matrix: Any, kept: Ints) -> ReducedPiece:
    """Reduce a piece with its holds to some of its freedoms.

    Nodes of kept freedoms are eliminated last, so that the end of the factors is their own.

    Raises
    ------
    LoadError
        If it has none to keep and is not held.
    """
    from scipy.sparse import diags_array
    from scipy.sparse.linalg import splu

    last = np.zeros(len(model.grid.places), bool)
    last[kept // 3] = True
    nodes = dissected(model.grid.lattice, last)
    order = (3 * nodes[:, None] + np.arange(3)).ravel()
    count = 3 * int(last.sum())
    held = np.zeros(model.freedoms)
    held[order[len(order) - count :]] = aid = model.modulus
    helped = (matrix + diags_array(held)).tocsr()[order][:, order].tocsc()
    try:
        lu = splu(
            helped, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
    except RuntimeError as fault:
        raise LoadError(FREE) from fault
    if (lu.perm_r != lu.perm_c).any():
        raise LoadError(FREE)
    # Only L and the diagonal are kept, as U is D Lᵀ: half the memory. Columns may have been put in
    # another order that eliminates the same.
    lower, pivots, places = lu.L, lu.U.diagonal(), lu.perm_c
    del lu
    own = places[len(order) - count :]
    end = np.sort(own)
    corner = lower[:, end].tocsr()[end].toarray()
    back = np.searchsorted(end, own)
    stiffness = ((corner * pivots[end]) @ corner.T)[np.ix_(back, back)]
    stiffness.flat[:: count + 1] -= aid
    where = np.empty_like(places)
    where[order] = places
    kept_in_order = frozen_ints(order[len(order) - count :])
    return ReducedPiece(kept_in_order, frozen_floats(stiffness), aid, where, lower, pivots)


@dataclass(frozen=True, eq=False)
class Reduced:
    """An assembly with springs in its gaps, reduced to the freedoms that take part in them.

    Attributes
    ----------
    assembly : Assembly
    pieces : tuple of ReducedPiece
    gaps : sparse (r, f) array
    springs : (r,) float array, N/mm
    kept : (b,) int array
        Freedoms of all pieces that are kept.
    """

    assembly: Assembly
    pieces: tuple[ReducedPiece, ...]
    gaps: Any
    springs: Floats
    kept: Ints
    _triangle: Floats

    def solve(self, forces: ArrayLike) -> Floats:
        """Return the displacements of all freedoms, (f,) mm, by forces (f,) N."""
        from scipy.linalg import cho_solve

        acting = np.asarray(forces, float)
        own = [self.assembly.own(acting, index) for index in range(len(self.pieces))]
        felt = [piece.felt(f) for piece, f in zip(self.pieces, own, strict=True)]
        kept = np.zeros(len(acting))
        kept[self.kept] = cho_solve((self._triangle, True), np.concatenate(felt))
        acting = acting - self.gaps.T @ (self.springs * (self.gaps @ kept))
        parts = []
        for index, piece in enumerate(self.pieces):
            moves = self.assembly.own(kept, index)[piece.kept]
            parts.append(piece.moved(self.assembly.own(acting, index), moves))
        return np.concatenate(parts)

    def flexibility(self) -> Floats:
        """Return how gaps close by a unit force that holds each together, (r, r) mm/N."""
        from scipy.linalg import solve_triangular

        across = self.gaps[:, self.kept].toarray().T
        half = solve_triangular(self._triangle, across, lower=True, overwrite_b=True)
        found: Floats = half.T @ half
        return found


def reduced_assembly(assembly: Assembly, gaps: Any, springs: Floats) -> Reduced:
    """Reduce an assembly with springs (r,) in its gaps to the freedoms that take part in these.

    Raises
    ------
    LoadError
        If something can move freely.
    """
    from scipy.linalg import LinAlgError, block_diag, cholesky

    taking = np.unique(gaps.indices)
    pieces = []
    for index, model in enumerate(assembly.models):
        low, high = assembly.starts[index], assembly.starts[index + 1]
        kept = taking[(taking >= low) & (taking < high)] - low
        pieces.append(reduced(model, assembly.matrix[low:high, low:high], kept))
    chosen = np.concatenate(
        [p.kept + start for p, start in zip(pieces, assembly.starts[:-1], strict=True)]
    )
    system = block_diag(*[p.stiffness for p in pieces if len(p.kept)])
    across = gaps[:, chosen]
    system += (across.T @ across.multiply(springs[:, None]).tocsr()).toarray()
    try:
        triangle = cholesky(system, lower=True, overwrite_a=True)
    except LinAlgError as fault:
        raise LoadError(FREE) from fault
    return Reduced(assembly, tuple(pieces), gaps, springs, frozen_ints(chosen), triangle)
