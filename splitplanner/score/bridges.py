"""Bridges: flat undersides that print over air because both ends stand on something."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid import Solid, frame_of

FLAT = 1.0
"""A face within this many degrees of straight down can be part of a bridge."""
COPLANAR = 0.1
"""Neighbours whose normals differ by no more than this many degrees lie in one patch."""
_STEP = 15.0
_SCANS = 128
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
    flat = np.flatnonzero(steep & (solid.face_normals @ up < -np.cos(np.radians(FLAT))))
    if not len(flat):
        return bridged
    placed = solid.vertices @ frame_of(up).T
    edges, beyond, patch_of = _outlines(solid, flat)
    anchored = _goes_down(solid, placed, edges, beyond)
    order = np.argsort(patch_of[edges[:, 2]], kind="stable")
    edges, anchored = edges[order], anchored[order]
    patches = patch_of[edges[:, 2]]
    firsts = np.flatnonzero(np.diff(patches, prepend=-1))
    for first, last in zip(firsts, np.append(firsts[1:], len(patches)), strict=True):
        ends = placed[edges[first:last, :2], :2]
        if _is_bridge(ends, anchored[first:last], span):
            bridged[flat[patch_of[flat] == patches[first]]] = True
    return bridged


def _outlines(solid: Solid, flat: Ints) -> tuple[Ints, Ints, Ints]:
    """Return the directed outline edges (start, end, face), the face beyond each, and the patches.

    Patches are given for all faces of the solid, -1 for those that are in none.
    """
    faces, count = solid.faces, len(solid.faces)
    ring = np.array([[0, 1], [1, 2], [2, 0]])
    edges = faces[flat][:, ring].reshape(-1, 2)
    owner = np.repeat(flat, 3)
    # A closed mesh has every directed edge once and its reverse once.
    twin = solid.neighbours[flat].ravel()
    is_flat = np.zeros(count, dtype=np.bool_)
    is_flat[flat] = True
    normals = solid.face_normals
    together = is_flat[twin] & (
        np.linalg.norm(normals[owner] - normals[twin], axis=1) <= np.radians(COPLANAR)
    )
    links = coo_matrix(
        (np.ones(int(together.sum())), (owner[together], twin[together])), shape=(count, count)
    )
    labels = connected_components(links, directed=False)[1].astype(np.int64)
    patch_of = np.where(is_flat, labels, -1)
    rim = patch_of[owner] != patch_of[twin]
    outline = np.column_stack([edges[rim], owner[rim]])
    return outline, twin[rim], patch_of


def _goes_down(solid: Solid, placed: Floats, edges: Ints, beyond: Ints) -> Bools:
    """Return whether the face beyond each edge lies below the edge."""
    corners = solid.faces[beyond]
    height = placed[:, 2]
    off_edge = (corners != edges[:, :1]) & (corners != edges[:, 1:2])
    third = np.take_along_axis(corners, np.argmax(off_edge, axis=1)[:, None], axis=1)[:, 0]
    result: Bools = height[third] < height[edges[:, :2]].min(axis=1)
    return result


def _is_bridge(ends: Floats, anchored: Bools, span: float) -> bool:
    """Return whether the outline `ends` (e, 2, 2) mm is bridged in some direction."""
    if anchored.sum() < 2:
        return False
    # Chords of no more than the span cover no more than this, whichever way they run.
    most = span * float(np.hypot(*np.ptp(ends.reshape(-1, 2), axis=0))) * (1.0 + 1e-3)
    start, end = ends[:, 0], ends[:, 1]
    area = 0.5 * abs(float((start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]).sum()))
    if area > most + 1e-6:
        return False
    for angle in _directions(ends):
        along = np.array([np.cos(angle), np.sin(angle)])
        across = np.array([-along[1], along[0]])
        if _chords_hold(ends @ along, ends @ across, anchored, span):
            return True
    return False


def _directions(ends: Floats) -> Floats:
    """Return the plan angles to try, radians in [0, pi): the outline's own first."""
    run = ends[:, 1] - ends[:, 0]
    angles = np.round(np.degrees(np.arctan2(run[:, 1], run[:, 0])), 3) % 90.0
    own, which = np.unique(angles, return_inverse=True)
    length = np.bincount(which, weights=np.linalg.norm(run, axis=1))
    own = own[np.argsort(-length, kind="stable")][:_OWN_DIRECTIONS]
    every = np.concatenate([own, own + 90.0, np.arange(0.0, 180.0, _STEP)])
    first = np.unique(every, return_index=True)[1]
    result: Floats = np.radians(every[np.sort(first)])
    return result


def _chords_hold(x: Floats, y: Floats, anchored: Bools, span: float) -> bool:
    """Return whether every chord along x, of outline edges (e, 2), is anchored and short enough.

    Between two neighbouring corner heights a chord's length is linear in y, so looking close to
    both ends of each such strip finds the longest. Outlines with very many corners are looked at
    in `_SCANS` of these places, evenly chosen.
    """
    longest = span * (1.0 + 1e-3) + 1e-6
    heights = np.unique(y)
    dust = 1e-6 * max(float(np.ptp(heights)), 1.0)
    low, high = heights[:-1], heights[1:]
    wide = high - low > dust
    low, high = low[wide], high[wide]
    scans = np.stack([low + 1e-3 * (high - low), high - 1e-3 * (high - low)], axis=1).ravel()
    if len(scans) > _SCANS:
        scans = scans[np.linspace(0, len(scans) - 1, _SCANS).round().astype(np.int64)]
    for scan in scans:
        crossed = (y[:, 0] <= scan) != (y[:, 1] <= scan)
        if not anchored[crossed].all():
            return False
        y0, y1 = y[crossed, 0], y[crossed, 1]
        at = x[crossed, 0] + (scan - y0) / (y1 - y0) * (x[crossed, 1] - x[crossed, 0])
        at = np.sort(at)
        if len(at) % 2 or (at[1::2] - at[::2]).max(initial=0.0) > longest:
            return False
    return bool(len(scans))
