"""Screws by the hand formula, under what goes through their seam by finite cells."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, frozen_floats, to_vector
from splitplanner.loaded.cells_values import SeamInCells, bolt_factor
from splitplanner.plan import Joint, Seam
from splitplanner.strength import SeamLoad, Side, Stage, seam_capacity, seam_load
from splitplanner.workshop import Shelf

_OPENS = np.array([0.0, 0.0, 1.0]), np.array([1.0, 1.0, 0.0])
"""Which components of force and moment open a seam: what slides it pulls no screw by hand, and is
left out, as shares of it take long to find."""


def by_hand(
    seam: Seam, joint: Joint, found: SeamInCells, sides: tuple[Side, Side], shelf: Shelf
) -> Stage | None:
    """Return a seam by the hand formula, under the force and moment that cells found in it.

    So the load is the same, whatever braces carry past the seam, and only its shares differ.

    Parameters
    ----------
    seam : Seam
    joint : Joint
    found : SeamInCells
        Held by that joint.
    sides : (piece below, piece above)
    shelf : Shelf

    Returns
    -------
    Stage or None
        With screws, and tape if there is some; None where nothing opens the seam or it has no
        screws.

    Raises
    ------
    WorkshopError
        If hardware is not on the shelf.
    """
    whole = seam_load(seam, to_vector(found.force), to_vector(found.moment))
    load = SeamLoad(whole.force * _OPENS[0], whole.moment * _OPENS[1], whole.at)
    if not joint.screws or not (load.force.any() or load.moment.any()):
        return None
    return seam_capacity(seam, joint, load, sides, shelf).stages[-1]


def hand_factors(
    seam: Seam, joint: Joint, found: SeamInCells, sides: tuple[Side, Side], shelf: Shelf
) -> Floats:
    """Return how many times what the hand formula gives each screw takes by cells, (n,).

    Parameters
    ----------
    seam, joint, found, sides, shelf
        As for `by_hand`.

    Returns
    -------
    (n,) float array
        NaN for a screw that the hand formula gives nothing: it is a lower bound.

    Raises
    ------
    WorkshopError
        If hardware is not on the shelf.
    """
    stage = by_hand(seam, joint, found, sides, shelf)
    if stage is None:
        return frozen_floats(np.full(len(joint.screws), np.nan))
    return frozen_floats(bolt_factor(found, stage))
