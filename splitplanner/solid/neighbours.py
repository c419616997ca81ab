"""Which face lies beyond each side of a face."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Ints


def neighbours_of(faces: Ints, count: int) -> Ints | None:
    """Return the face beyond each side of `faces`.

    Parameters
    ----------
    faces : (m, 3) int array
        Of vertices below `count`.
    count : int

    Returns
    -------
    (m, 3) int array or None
        Beyond the side from the first to the second corner, the second to the third, the third to
        the first. None unless every directed edge is there once and its reverse once.
    """
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.solid import _mesh_kernels as kernels

    closed, beyond = kernels.match_edges(np.array(faces, dtype=np.int64), count)
    return beyond if closed else None
