"""Held models: supports as stiff springs on patches, and the factorised stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.plan import Vector
from splitplanner.strength.cells.factors import FREE, symmetric_factors
from splitplanner.strength.cells.model import CellModel, Patch

FIRM = 1000.0
"""Springs of a support on a mm² by default, in moduli of the plastic over the side of a cell: it
gives as a layer of a thousandth of a cell."""
BALANCED = 1e-5
"""Which share of the largest force may be left over by rounding; it is 1e-7 and less."""


@dataclass(frozen=True, eq=False)
class Hold:
    """A patch that is held.

    Attributes
    ----------
    patch : Patch
    directions : tuple of (x, y, z)
        Unit vectors along which it cannot move; across them it slides.
    firm : float
        Its springs on a mm², as `FIRM`.
    """

    patch: Patch
    directions: tuple[Vector, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    firm: float = FIRM


def held_matrix(model: CellModel, holds: Sequence[Hold]) -> Any:
    """Return the stiffness of a model with its holds, sparse (f, f) N/mm."""
    total = model.matrix
    for hold in holds:
        matrix, springs = _springs(model, hold)
        total = total + matrix.T @ matrix.multiply(springs[:, None]).tocsr()
    return total


def reaction(model: CellModel, hold: Hold, moved: Floats) -> tuple[Floats, Floats]:
    """Return force (3,) N and moment about the origin (3,) N mm of a hold on the piece."""
    matrix, springs = _springs(model, hold)
    along = (-springs * (matrix @ moved)).reshape(len(hold.patch.points), -1)
    forces = along @ np.atleast_2d(hold.directions)
    moments = np.cross(hold.patch.points, forces)
    return frozen_floats(forces.sum(axis=0)), frozen_floats(moments.sum(axis=0))


@dataclass(frozen=True, eq=False)
class Factor:
    """A factorised stiffness.

    Attributes
    ----------
    matrix : sparse (f, f) array, N/mm
        In the order of elimination.
    order : (f,) int array
        Which freedom comes where in it.
    """

    matrix: Any
    order: Ints
    _factors: Any

    def felt(self, moved: Floats) -> Floats:
        """Return the forces (f,) N that displacements (f,) mm take."""
        found = np.empty(len(self.order))
        found[self.order] = self.matrix @ moved[self.order]
        return found

    def solve(self, forces: ArrayLike) -> Floats:
        """Return the displacements (f,) mm by forces (f,) N.

        Raises
        ------
        LoadError
            If they do not balance the forces: something can move freely.
        """
        acting = np.asarray(forces, float)
        found = np.empty(len(self.order))
        found[self.order] = self._factors.solve(acting[self.order])
        left = np.abs(self.felt(found) - acting).max(initial=0.0)
        if not left <= BALANCED * np.abs(acting).max(initial=0.0):
            raise LoadError(FREE)
        return found


def factorised(matrix: Any, order: Ints | None = None) -> Factor:
    """Factorise a symmetric stiffness that is held.

    Parameters
    ----------
    matrix : sparse (f, f) array, N/mm
    order : (f,) int array, optional
        In which order to eliminate, see `elimination_order`; found by minimum degree if it is not
        given, which takes half as long again and fills the factors as much.

    Raises
    ------
    LoadError
        If it is not held.
    """
    if order is None:
        natural = np.arange(matrix.shape[0])
        return Factor(matrix, natural, symmetric_factors(matrix, "MMD_AT_PLUS_A"))
    # By the same name: two of them beside the factors take a third more memory.
    matrix = matrix.tocsr()[order][:, order]
    return Factor(matrix, order, symmetric_factors(matrix, "NATURAL"))


def _springs(model: CellModel, hold: Hold) -> tuple[Any, Floats]:
    """What moves along the directions of a hold, sparse (k d, f), and its springs, (k d,) N/mm."""
    from scipy.sparse import block_diag

    directions = np.atleast_2d(hold.directions)
    patch = hold.patch
    along = block_diag([directions] * len(patch.points), format="csr")
    stiff = hold.firm * model.modulus / float(model.grid.steps.max())
    return along @ model.motion(patch.points, patch.rows), np.repeat(
        stiff * patch.areas, len(directions)
    )
