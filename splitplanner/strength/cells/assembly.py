"""Several pieces, each in its own cells, with springs between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.strength.cells.model import CellModel
from splitplanner.strength.cells.seam_points import SeamPoints
from splitplanner.strength.cells.solving import FIRM, Hold, held_matrix

_ASIDE = 1e-6
"""How far a tie may be beside the line between its spots, mm."""
_REACH = 0.5
"""How far points of seams and ties may be beside all cells of a piece, in cells: pieces keep room
for glue, and have holes."""


@dataclass(frozen=True, eq=False)
class Contact:
    """The contact of two pieces on a seam: three springs at each point, along u, v and n.

    Attributes
    ----------
    below, above : int
        Which pieces.
    at : SeamPoints
    """

    below: int
    above: int
    at: SeamPoints


@dataclass(frozen=True, eq=False)
class Tie:
    """A spring between a spot on one piece and a spot on another: a bolt, a pin or a brace.

    Attributes
    ----------
    below, above : int
        Which pieces.
    low, high : (k, 3) float array, mm
        Points of each spot, inside the piece; their mean moves it.
    directions : (d, 3) float array
        Unit vectors along which it holds; for a bolt along its axis, from `low` to `high`. Across
        that it can only hold spots that are in one place: a force there would turn the two.

    Raises
    ------
    ValueError
        If a direction is neither along the line between the spots nor are these in one place.
    """

    below: int
    above: int
    low: Floats
    high: Floats
    directions: Floats

    def __post_init__(self) -> None:
        line = np.mean(self.high, axis=0) - np.mean(self.low, axis=0)
        if not np.abs(np.cross(np.atleast_2d(self.directions), line)).max() <= _ASIDE:
            raise ValueError("a tie holds along the line between its two spots, or in one place")


@dataclass(frozen=True, eq=False)
class Assembly:
    """Pieces whose freedoms come one after the other.

    Attributes
    ----------
    models : tuple of CellModel
    holds : tuple of (int, Hold)
        Of which piece each is.
    """

    models: tuple[CellModel, ...]
    holds: tuple[tuple[int, Hold], ...]

    @cached_property
    def starts(self) -> Ints:
        """Where the freedoms of each piece start, and the end of all."""
        found: Ints = np.cumsum([0, *(model.freedoms for model in self.models)])
        return found

    @cached_property
    def matrix(self) -> Any:
        """Stiffness of all pieces with their holds and nothing between them, sparse N/mm."""
        from scipy.sparse import block_diag

        return block_diag([self.part(index) for index in range(len(self.models))], format="csr")

    def part(self, piece: int) -> Any:
        """Return the stiffness of one piece with its holds, sparse N/mm."""
        return held_matrix(self.models[piece], [hold for of, hold in self.holds if of == piece])

    @cached_property
    def rigid(self) -> Floats:
        """The six ways in which each of p pieces moves without bending, (f, 6 p).

        Along x, y and z, and turned about them through the middle of its cells, by so much that
        the farthest corner moves by about 1.
        """
        found = np.zeros((self.starts[-1], 6 * len(self.models)))
        for index, model in enumerate(self.models):
            places = model.grid.places - model.grid.places.mean(axis=0)
            arms = places / np.abs(places).max()
            rows = slice(self.starts[index], self.starts[index + 1])
            for axis, way in enumerate(np.eye(3)):
                found[rows, 6 * index + axis] = np.tile(way, len(arms))
                found[rows, 6 * index + 3 + axis] = np.cross(way, arms).ravel()
        return frozen_floats(found)

    def forces(self, of: Mapping[int, ArrayLike]) -> Floats:
        """Return forces on all freedoms, (f,) N, of forces on those of some pieces."""
        found = np.zeros(self.starts[-1])
        for index, forces in of.items():
            found[self.starts[index] : self.starts[index + 1]] += np.asarray(forces, float)
        return frozen_floats(found)

    def own(self, moved: Floats, piece: int) -> Floats:
        """Return the displacements of one piece's freedoms."""
        return frozen_floats(moved[self.starts[piece] : self.starts[piece + 1]])

    def widened(self, piece: int, motion: Any) -> Any:
        """Return what moves points of one piece, sparse (r, f of it), over all freedoms."""
        from scipy.sparse import csr_array

        columns = motion.indices + self.starts[piece]
        return csr_array((motion.data, columns, motion.indptr), (motion.shape[0], self.starts[-1]))

    def contact_gaps(self, contact: Contact) -> Any:
        """Return what opens a contact, sparse (3k, f): 3 point + u, v or n; n above 0 is open.

        Every third row, from the third on, is enough where nothing glues or rubs.
        """
        from scipy.sparse import block_diag

        at = contact.at
        outward = at.frame[2]
        moves = []
        for piece, way in ((contact.above, -outward), (contact.below, outward)):
            model = self.models[piece]
            rows = model.rows_at(at.points, way, _REACH)
            moves.append(self.widened(piece, model.motion(at.points, rows)))
        turning: Any = block_diag([at.frame] * len(at.points), format="csr")
        return (turning @ (moves[0] - moves[1])).tocsr()

    def tie_gaps(self, tie: Tie) -> Any:
        """Return what stretches a tie, sparse (d, f)."""
        from scipy.sparse import csr_array

        moves = []
        for piece, points in ((tie.above, tie.high), (tie.below, tie.low)):
            model = self.models[piece]
            mean = csr_array(np.tile(np.atleast_2d(tie.directions), len(points)) / len(points))
            moves.append(mean @ model.motion(points, model.rows_at(points, reach=_REACH)))
        return self.widened(tie.above, moves[0]) - self.widened(tie.below, moves[1])

    def glued(self, contact: Contact, firm: float = FIRM) -> Floats:
        """Return springs (3k,) N/mm that make two pieces one, as firm as a hold by default."""
        modulus = max(self.models[p].modulus for p in (contact.below, contact.above))
        size = max(float(self.models[p].grid.steps.max()) for p in (contact.below, contact.above))
        return frozen_floats(np.repeat(firm * modulus / size * contact.at.areas, 3))


def sprung(matrix: Any, gaps: Any, springs: ArrayLike) -> Any:
    """Return a stiffness with springs (r,) N/mm on gaps, sparse (r, f)."""
    weighted = gaps.multiply(np.asarray(springs, float)[:, None]).tocsr()
    return matrix + gaps.T @ weighted


def stacked(gaps: Sequence[Any]) -> Any:
    """Return gaps one after the other, sparse."""
    from scipy.sparse import vstack

    return vstack(list(gaps), format="csr")
