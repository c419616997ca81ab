"""Symmetric stiffness in the form L D Lᵀ."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import LoadError

FREE = "The part can move freely; add a support that holds it."


@dataclass(frozen=True, eq=False)
class Triangle:
    """A factorised symmetric matrix, ``L D Lᵀ`` in another order.

    Attributes
    ----------
    places : (f,) int array
        Where each freedom has come to.
    lower : sparse (f, f) array
        L by columns.
    pivots : (f,) float array
        D.
    """

    places: Ints
    lower: Any
    pivots: Floats

    def solve(self, forces: ArrayLike) -> Floats:
        """Return the displacements (f,) by forces (f,)."""
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.strength.cells import _kernels as kernels

        lower, acting = self.lower, np.empty(len(self.pivots))
        acting[self.places] = forces
        kernels.solve_in_place(lower.indptr, lower.indices, lower.data, self.pivots, acting)
        found: Floats = acting[self.places]
        return found

    def eliminated(self, forces: ArrayLike, last: Ints) -> tuple[Floats, Floats]:
        """Return what forces (f, k) do where some freedoms (b,) are held, and what those feel.

        True where they came last, as for `remainder`.

        Returns
        -------
        halves : (f - b, k) float array
            Products of two columns say how far one set of forces moves along the other, with those
            freedoms held.
        felt : (b, k) float array
            The forces on them that do the same to the rest.
        """
        from splitplanner.strength.cells import _kernels as kernels

        lower, given = self.lower, np.asarray(forces, float)
        acting = np.empty(given.shape)
        acting[self.places] = given
        held = np.zeros(len(self.pivots), bool)
        held[self.places[last]] = True
        kernels.eliminate_in_place(lower.indptr, lower.indices, lower.data, held, acting)
        halves = acting[~held] / np.sqrt(self.pivots[~held])[:, None]
        return halves, acting[self.places[last]]

    def remainder(self, last: Ints) -> Floats:
        """Return what is left for some freedoms (b,) once all others are eliminated, (b, b).

        Schur's complement; true where they came last.
        """
        own = self.places[last]
        end = np.sort(own)
        corner = self.lower[:, end].tocsr()[end].toarray()
        back = np.searchsorted(end, own)
        found: Floats = ((corner * self.pivots[end]) @ corner.T)[np.ix_(back, back)]
        return found


def symmetric_factors(matrix: Any, rule: Literal["NATURAL", "MMD_AT_PLUS_A"]) -> Any:
    """Return the factors of a symmetric matrix, without looking for better pivots.

    Raises
    ------
    LoadError
        If a pivot is 0.
    """
    from scipy.sparse.linalg import splu

    options = {"SymmetricMode": True}
    try:
        # By rows it is what it is by columns.
        return splu(matrix.tocsr().T, permc_spec=rule, diag_pivot_thresh=0.0, options=options)
    except RuntimeError as fault:
        raise LoadError(FREE) from fault


def triangle_of(matrix: Any, order: Ints) -> Triangle:
    """Factorise a symmetric matrix whose freedoms (f,) are in an order already.

    Raises
    ------
    LoadError
        If a pivot is 0.
    """
    lu = symmetric_factors(matrix, "NATURAL")
    if (lu.perm_r != lu.perm_c).any():
        raise LoadError(FREE)
    # Only L and the diagonal are kept, as U is D Lᵀ: half the memory. Columns may have been put in
    # another order that eliminates the same.
    lower, pivots, found = lu.L, lu.U.diagonal(), lu.perm_c
    places = np.empty(len(order), dtype=np.int64)
    places[order] = found
    return Triangle(places, lower, pivots)
