"""How much of a pull acts across the layers of a print, where it is weakest."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.score.criterion import Numbers


def across_layers(up: ArrayLike, pull: ArrayLike) -> float:
    """Return the share of a pull that acts square to the layers, 0 to 1.

    On a plane whose normal is at the angle t to a single pull s, the normal stress is
    ``s cos² t`` (stress on an inclined section: Gere, Mechanics of Materials, section 2.6).

    Parameters
    ----------
    up : (3,) array
        Print direction, the normal of the layers, of unit length.
    pull : (3,) array
        Direction of the pull, of unit length.
    """
    return float(np.dot(np.asarray(up, float), np.asarray(pull, float)) ** 2)


def layers_at_seams(plan: Numbers) -> float:
    """Return how far each seam lies along the layers beside it, 0 to 1, added up.

    What opens a seam - bending, pulling - acts along its normal, and adhesive hands it on to the
    layers beside the seam. Where the normal is the print direction the seam's face is one layer,
    and the whole pull parts that layer from the next: 1. Where the normal lies in the layers,
    the lines themselves run into the seam and carry the pull: 0. Of the two pieces the worse
    counts, since the pull goes through both.

    A dowel pin is the other way round: along the layers it can wedge them apart when it is pushed
    sideways, and along the print direction it cannot. But that takes a sideways load towards
    the bed or away from it and acts on the few layers at the hole, while a pull acts on the
    whole seam; so the pull is what counts here. Area does not: a small seam is pulled no less.
    """
    ups = {piece.name: piece.up for piece in plan.pieces}
    return sum(
        max(across_layers(ups[name], seam.normal) for name in seam.between) for seam in plan.seams
    )


def layers_along_part(plan: Numbers) -> float:
    """Return how far the part is printed standing along its long axis: 0 to 1, by volume.

    A long part is bent like a beam, and the stress of bending runs along the beam (Gere, Mechanics
    of Materials, section 5.5): a piece whose layers lie across the long axis carries all of it
    from layer to layer.
    """
    axis, volume = plan.part.long_axis, plan.part.volume
    return sum(across_layers(piece.up, axis) * piece.volume for piece in plan.pieces) / volume
