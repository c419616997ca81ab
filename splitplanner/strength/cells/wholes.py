"""Models of which places are held as a whole, solved at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import LoadError
from splitplanner.strength.cells.assembly import sprung, stacked
from splitplanner.strength.cells.factors import FREE
from splitplanner.strength.cells.solving import BALANCED, factorised


def held_as_whole(
    matrix: Any,
    forces: ArrayLike,
    gaps: Any,
    springs: Floats,
    aids: Any,
    aid: float,
    order: Ints | None = None,
) -> Floats:
    """Return the displacements (f,) mm of what is held as a whole too.

    Springs on gaps of many points tie all their freedoms to each other and would fill the factors.
    So weak springs on a few points aid the model while it is factorised, and what those take is
    given back with what the gaps take (Woodbury's formula): exact.

    Parameters
    ----------
    matrix : sparse (f, f) array, N/mm
    forces : (f,) array, N
    gaps : sparse (d, f) array
        To the ground, of any number of points.
    springs : (d,) float array, N/mm
        Above 0.
    aids : sparse (a, f) array
        Gaps that keep the model from moving where these do.
    aid : float
        Their springs, N/mm: about as stiff as the model.
    order : (f,) int array, optional
        As for `factorised`; what the aids tie to each other should come last, or it fills the
        factors.

    Raises
    ------
    LoadError
        If something can move freely.
    """
    acting = np.asarray(forces, float)
    if not gaps.shape[0]:
        return factorised(matrix, order).solve(acting)
    ways = stacked([aids, gaps])
    # It is let go, as it is large and the factors have their own.
    factor = factorised(sprung(matrix, aids, np.full(aids.shape[0], aid)), order)
    del matrix
    alone = factor.solve(acting)
    soft = np.stack([factor.solve(way) for way in ways.toarray()], axis=1)
    system = ways @ soft
    given_back = np.full(aids.shape[0], -1.0 / aid)
    system.flat[:: len(system) + 1] += np.concatenate([given_back, 1.0 / springs])
    try:
        found: Floats = alone - soft @ np.linalg.solve(system, ways @ alone)
    except np.linalg.LinAlgError as fault:
        raise LoadError(FREE) from fault
    taken = np.concatenate([np.full(aids.shape[0], -aid), springs]) * (ways @ found)
    left = factor.felt(found) + ways.T @ taken - acting
    if not np.abs(left).max() <= BALANCED * np.abs(acting).max(initial=0.0):
        raise LoadError(FREE)
    return found
