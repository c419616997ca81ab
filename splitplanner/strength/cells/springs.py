"""Springs in the gaps of a condensed assembly: what they do, whichever of them act."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.errors import LoadError

UNHELD = "A piece is held by nothing; add fasteners to its seams."
_HELD = 1e-9
"""Stiffness against moving freely, as a share of the largest, that is only rounding."""


@dataclass(frozen=True, eq=False)
class Joined:
    """Springs along sums of gaps: something stiff that holds several at once, as a brace does.

    Attributes
    ----------
    rows : (m, r) float array
        How much of each gap is in each sum.
    springs : (m,) float array, N/mm
        Above 0.
    """

    rows: Floats
    springs: Floats


@dataclass(frozen=True, eq=False)
class SeamAnswer:
    """What springs at the seams do under a load.

    Attributes
    ----------
    gaps : (r,) float array, mm
    forces : (r,) float array, N
        Tension in each gap: what pulls its two sides together, springs that join several included.
    watched : (w,) float array, mm
        What was asked to be watched.
    closed : (r,) bool array
        Which springs act; all but one-sided ones that are open.
    aided : (a,) float array, mm
        How pieces move along the ways in which they were aided.
    rounds : int
        How many times the contact was sought.
    """

    gaps: Floats
    forces: Floats
    watched: Floats
    closed: Bools
    aided: Floats
    rounds: int


@dataclass(frozen=True, eq=False)
class SpringSystem:
    """Forces in springs of a condensed assembly, whichever of them act."""

    springs: Floats
    flexibility: Floats
    loaded: Floats
    sums: Floats
    summed: Floats
    together: Floats
    extra: Floats

    @staticmethod
    def of(
        flexibility: Floats, loaded: Floats, aids: Floats, springs: Floats, joined: Joined | None
    ) -> SpringSystem:
        """Prepare it: what takes the aids away, and joined springs, act always.

        Parameters
        ----------
        flexibility, loaded, aids
            As in `Condensed`.
        springs : (r,) float array, N/mm
        joined : Joined or None
        """
        count, total = len(springs), len(loaded)
        sums = np.zeros((len(aids) if joined is None else len(aids) + len(joined.rows), total))
        sums[: len(aids), total - len(aids) :] = np.eye(len(aids))
        extra = -aids
        if joined is not None:
            sums[len(aids) :, :count] = joined.rows
            extra = np.concatenate([extra, joined.springs])
        # Most gaps are in none of the sums.
        some = np.flatnonzero(sums.any(axis=0))
        summed = flexibility[:, some] @ sums[:, some].T
        together = sums[:, some] @ summed[some]
        return SpringSystem(springs, flexibility, loaded, sums, summed, together, extra)

    def solved(self, acting: Bools) -> tuple[Floats, Floats]:
        """Return how far everything moves, (r + w + a,) mm, and the forces in gaps, (r,) N."""
        own = np.flatnonzero(acting)
        joint = self.summed[own]
        system = np.block([[self.flexibility[np.ix_(own, own)], joint], [joint.T, self.together]])
        # Of every spring alone it is the softness.
        system.flat[:: len(system) + 1] += 1.0 / np.concatenate([self.springs[own], self.extra])
        pulled = np.concatenate([self.loaded[own], self.sums @ self.loaded])
        try:
            forces = np.linalg.solve(system, pulled)
        except np.linalg.LinAlgError as fault:
            raise LoadError(UNHELD) from fault
        moved = self.loaded - self.summed @ forces[len(own) :]
        # Rows of a symmetric array are read faster than its columns.
        moved -= forces[: len(own)] @ self.flexibility[own]
        found = (self.sums.T @ forces[len(own) :])[: len(self.springs)]
        found[own] += forces[: len(own)]
        return moved, found


def is_held(held: Floats, across: Floats, springs: Floats, joined: Joined | None) -> bool:
    """Return whether springs and holds leave no piece a way to move without bending.

    Parameters
    ----------
    held : (6 p, 6 p) float array
    across : (r, 6 p) float array
        As `Condensed.rigid_held` and `rigid_gaps`.
    springs : (r,) float array
    joined : Joined or None
    """
    stiff = held + across.T @ (springs[:, None] * across)
    if joined is not None:
        sums = joined.rows @ across
        stiff = stiff + sums.T @ (joined.springs[:, None] * sums)
    own = np.diag(stiff).copy()
    if not own.min() > _HELD * own.max():
        return False
    scaled = stiff / np.sqrt(np.outer(own, own))
    return bool(np.linalg.eigvalsh(scaled).min() > _HELD)
