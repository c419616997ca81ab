"""Bridges: flat undersides that print over air because both ends stand on something."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid import Solid, frame_of

FLAT = 1.0
"""A face within this many degrees of straight down can be part of a bridge."""
COPLANAR = 0.1
"""Neighbours whose normals differ by no more than this many degrees lie in one patch."""
_STEP = 15.0
_OWN_DIRECTIONS = 12


def bridged_faces(solid: Solid, up: Floats, steep: Bools, span: float) -> Bools:
    """Return which of the `steep` faces are bridges.

    A *patch* is a connected set of coplanar faces that look straight down (within `FLAT` and
    `COPLANAR` degrees). It is a bridge when there is one plan direction in which every chord
    across it is no longer than `span` and anchored at both ends. A chord end is anchored where the
    face beyond that outline edge goes down from the edge, so that a wall stands below it; where
    that face goes up the edge is free. A patch counts whole or not at all: a slab that is
    anchored only at its corners, or that has a hole with free edges in its way, is no bridge.
    Directions tried: along and across the longest outline edges, and every 15°.
    (Definition: common practice, no source.)

    Parameters
    ----------
    solid : Solid
    up : (3,) unit vector
    steep : (m,) bool array
        Faces over the overhang limit that do not rest on the bed.
    span : float
        Longest bridge, mm.

    Returns
    -------
    (m,) bool array
    """
    bridged = np.zeros(len(steep), dtype=np.bool_)
    found = flat_patches(solid, up, steep)
    if found is None:
        return bridged
    flat, patch, ends, anchored, starts = found
    holds = np.zeros(len(flat), dtype=np.bool_)
    # An edge that is held up at each end of a chord takes two.
    held = np.concatenate([[0], np.cumsum(anchored)])
    for index in np.flatnonzero(held[starts[1:]] - held[starts[:-1]] >= 2):
        rim = slice(starts[index], starts[index + 1])
        holds[index] = is_bridge(ends[rim], anchored[rim], span)
    bridged[flat] = holds[patch]
    return bridged


def flat_patches(
    solid: Solid, up: Floats, steep: Bools
) -> tuple[Ints, Ints, Floats, Bools, Ints] | None:
    """Return the patches that look straight down, with their outlines; None if there are none.

    Parameters
    ----------
    solid : Solid
    up : (3,) unit vector
    steep : (m,) bool array
        The faces that come into question.

    Returns
    -------
    flat, patch : (n,) int arrays
        The faces, and to which patch, by the first of its faces in `flat`, each belongs.
    ends : (k, 2, 2) float array, mm
        Ends of the edges of all outlines, in plan.
    anchored : (k,) bool array
        Whether a wall stands below each edge.
    starts : int array
        Edges of patch p are those from ``starts[p]`` to ``starts[p + 1]``.
    """
    flat = np.flatnonzero(steep & (solid.face_normals @ up < -np.cos(np.radians(FLAT))))
    if not len(flat):
        return None
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.score import _bridge_kernels as kernels

    placed = solid.vertices @ frame_of(up).T
    patch, edges, anchored, starts = kernels.outlines(
        solid.faces,
        solid.face_normals,
        flat,
        solid.neighbours,
        np.ascontiguousarray(placed[:, 2]),
        np.radians(COPLANAR),
    )
    return flat, patch, placed[edges, :2], anchored, starts


def is_bridge(ends: Floats, anchored: Bools, span: float) -> bool:
    """Return whether the outline `ends` (e, 2, 2) mm is bridged in some direction.

    `anchored` (e,) tells of each side whether a wall stands below it; no chord is longer than
    `span`, mm.
    """
    from splitplanner.score import _bridge_kernels as kernels

    # Chords of no more than the span cover no more than this, whichever way they run.
    most = span * float(np.hypot(*np.ptp(ends.reshape(-1, 2), axis=0))) * (1.0 + 1e-3)
    start, end = ends[:, 0], ends[:, 1]
    area = 0.5 * abs(float((start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]).sum()))
    if area > most + 1e-6:
        return False
    angles = _directions(ends)
    return bool(kernels.bridged(ends, anchored, np.cos(angles), np.sin(angles), span))


def _directions(ends: Floats) -> Floats:
    """Return the plan angles to try, radians in [0, pi): the outline's own first."""
    run = ends[:, 1] - ends[:, 0]
    long = np.linalg.norm(run, axis=1)
    angles = np.degrees(np.arctan2(run[:, 1], run[:, 0]))
    _, which = np.unique(np.round(angles, 3) % 90.0, return_inverse=True)
    length = np.bincount(which, weights=long)
    # That of the longest edge to the last digit: a chord a little aslant would meet free edges.
    order = np.lexsort((-long, which))
    longest = angles[order[np.searchsorted(which[order], np.arange(len(length)))]]
    own = longest[np.argsort(-length, kind="stable")][:_OWN_DIRECTIONS]
    every = np.concatenate([own, own + 90.0, np.arange(0.0, 180.0, _STEP)])
    first = np.unique(every, return_index=True)[1]
    result: Floats = np.radians(every[np.sort(first)])
    return result
