"""Pieces reduced to the freedoms that take part in seams."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.errors import LoadError
from splitplanner.strength.cells.assembly import Assembly
from splitplanner.strength.cells.factors import FREE, Triangle, triangle_of
from splitplanner.strength.cells.model import CellModel
from splitplanner.strength.cells.ordering import dissected, freedoms_in_order


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
    triangle : Triangle
        Of the piece with its aid.
    """

    kept: Ints
    stiffness: Floats
    aid: float
    triangle: Triangle

    def aided(self, forces: ArrayLike) -> Floats:
        """Return the displacements (f,) of the piece with its aid by forces (f,)."""
        return self.triangle.solve(forces)

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

    last = np.zeros(len(model.grid.places), bool)
    last[kept // 3] = True
    order = freedoms_in_order(dissected(model.grid.lattice, last))
    count = 3 * int(last.sum())
    own = order[len(order) - count :]
    held = np.zeros(model.freedoms)
    held[own] = aid = model.modulus
    triangle = triangle_of(matrix + diags_array(held), order)
    stiffness = triangle.remainder(own)
    stiffness.flat[:: count + 1] -= aid
    return ReducedPiece(frozen_ints(own), frozen_floats(stiffness), aid, triangle)


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
