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


def some_neighbours_of(faces: Ints, count: int) -> Ints:
    """Return `neighbours_of` the faces of a closed mesh, (m, 3).

    Where two pairs of faces share an edge by number, each gets one of the others.
    """
    found = neighbours_of(faces, count)
    if found is None:
        turned = np.roll(faces, -1, axis=1)
        forward, backward = faces * count + turned, turned * count + faces
        order = np.argsort(forward, axis=None)
        found = order[np.searchsorted(forward.ravel()[order], backward)] // 3
    return found
