"""A loaded assembly condensed to its seams: any springs there answer without solving it again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.strength.cells.assembly import Assembly
from splitplanner.strength.cells.reducing import Reduced, reduced_assembly

_ROUNDS = 60
"""Rounds until every contact is known to be open or closed; 5 to 15 do."""
_HELD = 1e-9
"""Stiffness against moving freely, as a share of the largest, that is only rounding."""
_RESTLESS = "The contact of a seam keeps changing; add a fastener, or move the load a little."
_FREE = "A piece is held by nothing; add fasteners to its seams."
_SHUT = 1e-9
"""How much of the largest gap counts as none."""


@dataclass(frozen=True, eq=False)
class SeamAnswer:
    """What springs at the seams do under a load.

    Attributes
    ----------
    gaps : (r,) float array, mm
    forces : (r,) float array, N
        Tension in each spring: what it pulls the two sides together with where its gap is above 0.
    watched : (w,) float array, mm
        What was asked to be watched.
    closed : (r,) bool array
        Which springs act; all but one-sided ones that are open.
    rounds : int
        How many times the contact was sought.
    """

    gaps: Floats
    forces: Floats
    watched: Floats
    closed: Bools
    rounds: int


@dataclass(frozen=True, eq=False)
class Condensed:
    """Gaps of an assembly by loads and by forces in them.

    Attributes
    ----------
    gaps : sparse (r, f) array
        What opens each gap.
    springs : (r,) float array, N/mm
        In the gaps while it was condensed.
    reduced : Reduced
        The assembly with those springs.
    flexibility : (r, r) float array, mm/N
        How gaps close by a unit force that holds each together.
    loaded : (r,) float array, mm
        Gaps by the load.
    moved : (f,) float array, mm
        Displacements by the load.
    watch : sparse (w, f) array
        What is watched.
    watch_flexibility : (w, r) float array, mm/N
    rigid_gaps : (r, 6 p) float array
        Gaps by the six ways in which each of the p pieces moves without bending.
    rigid_held : (6 p, 6 p) float array
        Stiffness of the holds against them.
    """

    gaps: Any
    springs: Floats
    reduced: Reduced
    flexibility: Floats
    loaded: Floats
    moved: Floats
    watch: Any
    watch_flexibility: Floats
    rigid_gaps: Floats
    rigid_held: Floats

    def answer(
        self,
        springs: ArrayLike,
        one_sided: ArrayLike | None = None,
        start: ArrayLike | None = None,
    ) -> SeamAnswer:
        """Return what other springs in the gaps do: exact, as if all were solved anew.

        With springs W in place of W₀ the gaps are ``(I + S (W - W₀))⁻¹ g₀`` (Woodbury's identity).
        One-sided springs only press: those that pull are let go, and open ones that overlap are
        closed, until there are none of either.

        Parameters
        ----------
        springs : (r,) array, N/mm
        one_sided : (r,) bool array, optional
        start : (r,) bool array, optional
            Which are closed at first: those of an answer to springs that differ little, for less
            rounds. All by default.

        Raises
        ------
        LoadError
            If the springs leave a piece free, or contact keeps changing.
        """
        wanted = np.asarray(springs, float)
        single = np.zeros(len(wanted), bool) if one_sided is None else np.asarray(one_sided, bool)
        closed = np.ones(len(wanted), bool) if start is None else np.asarray(start, bool) | ~single
        rounds, settled = 0, False
        while not settled:
            rounds += 1
            if rounds > _ROUNDS:
                raise LoadError(_RESTLESS)
            acting = np.where(closed, wanted, 0.0)
            gaps = self._gaps(acting)
            apart = _SHUT * float(np.abs(gaps).max(initial=0.0))
            new = ~single | (gaps < np.where(closed, apart, -apart))
            settled, closed = bool((new == closed).all()), new
        if not _is_held(self.rigid_held, self.rigid_gaps, acting):
            raise LoadError(_FREE)
        change = (acting - self.springs) * gaps
        watched = self.watch @ self.moved - self.watch_flexibility @ change
        return SeamAnswer(
            frozen_floats(gaps),
            frozen_floats(acting * gaps),
            frozen_floats(watched),
            closed,
            rounds,
        )

    def displacements(self, answer: SeamAnswer) -> Floats:
        """Return the displacements of all freedoms, (f,) mm; one solving with the factor."""
        more = answer.forces - self.springs * answer.gaps
        return frozen_floats(self.moved - self.reduced.solve(self.gaps.T @ more))

    def _gaps(self, springs: Floats) -> Floats:
        system = self.flexibility * (springs - self.springs)
        system.flat[:: len(system) + 1] += 1.0
        try:
            found = np.linalg.solve(system, self.loaded).astype(np.float64)
        except np.linalg.LinAlgError as fault:
            raise LoadError(_FREE) from fault
        return found


def _is_held(held: Floats, across: Floats, springs: Floats) -> bool:
    """Return whether springs and holds leave no piece a way to move without bending.

    Parameters
    ----------
    held : (6 p, 6 p) float array
    across : (r, 6 p) float array
        As `Condensed.rigid_held` and `rigid_gaps`.
    springs : (r,) float array
    """
    stiff = held + across.T @ (springs[:, None] * across)
    own = np.diag(stiff).copy()
    if not own.min() > _HELD * own.max():
        return False
    scaled = stiff / np.sqrt(np.outer(own, own))
    return bool(np.linalg.eigvalsh(scaled).min() > _HELD)


def condensed(
    assembly: Assembly, gaps: Any, springs: ArrayLike, forces: ArrayLike, watch: Any
) -> Condensed:
    """Condense a held assembly under a load to its gaps.

    Parameters
    ----------
    assembly : Assembly
    gaps : sparse (r, f) array
        Of contacts and ties, one after the other.
    springs : (r,) array, N/mm
        Enough of them to hold all pieces; 0 in the others.
    forces : (f,) array, N
    watch : sparse (w, f) array
        What is to be known besides, how a loaded spot moves for instance.

    Raises
    ------
    LoadError
        If the springs leave a piece free.
    """
    basis = frozen_floats(springs, (gaps.shape[0],))
    rigid = assembly.rigid
    held = rigid.T @ (assembly.matrix @ rigid)
    if not _is_held(held, gaps @ rigid, basis):
        raise LoadError(_FREE)
    found = reduced_assembly(assembly, gaps, basis)
    moved = found.solve(forces)
    watched = [gaps @ found.solve(row) for row in watch.toarray()]
    return Condensed(
        gaps,
        basis,
        found,
        frozen_floats(found.flexibility()),
        frozen_floats(gaps @ moved),
        frozen_floats(moved),
        watch,
        frozen_floats(np.array(watched).reshape(-1, len(basis))),
        frozen_floats(gaps @ rigid),
        frozen_floats(held),
    )
