"""Where a label belongs: on a spot of its body that the viewer sees, far from the edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, Ints

Mesh = tuple[Floats, Ints]

_CELLS = 160
"""Cells along the longer side of the coarse picture."""
_SAMPLES = 240_000
_STEP = 6.0
"""A step in depth of more cells than this is an edge."""


@dataclass(frozen=True, eq=False)
class CoarseView:
    """A picture of a few thousand cells that knows which mesh each cell shows.

    Attributes
    ----------
    frame : (3, 3) float array
        Rows right, up and towards the viewer.
    low : (2,) float array, mm
        Lower left corner of cell (0, 0).
    cell : float
        Size of a cell, mm.
    shown : (w, h) int array
        Index of the mesh in front; -1 where there is none.
    nearest : (w, h, 3) float array, mm
        The point of it that was seen.
    """

    frame: Floats
    low: Floats
    cell: float
    shown: Ints
    nearest: Floats

    def covers(self, points: ArrayLike) -> Bools:
        """Return which of `points` (n, 3) appear in front of or behind a mesh, (n,)."""
        flat = np.asarray(points, float) @ self.frame[:2].T
        at = np.floor((flat - self.low) / self.cell).astype(np.int64)
        within = (at >= 0) & (at < np.array(self.shown.shape))
        inside: Bools = within[:, 0] & within[:, 1]
        at = np.where(inside[:, None], at, 0)
        covered: Bools = inside & (self.shown[at[:, 0], at[:, 1]] >= 0)
        return covered

    def anchor(self, index: int) -> Floats | None:
        """Return the seen point (3,) of a mesh with most of it round about; None if hidden."""
        depth = self.nearest @ self.frame[2]
        mine = np.array(self.shown == index)
        for axis in (0, 1):
            far = np.abs(np.diff(depth, axis=axis)) > _STEP * self.cell
            before, after = [slice(None)] * 2, [slice(None)] * 2
            before[axis], after[axis] = slice(None, -1), slice(1, None)
            mine[tuple(before)] &= ~far
            mine[tuple(after)] &= ~far
        if not mine.any():
            mine = np.array(self.shown == index)
        # Imported late: loading scipy would hold up the start of the window.
        from scipy.ndimage import distance_transform_edt

        inner = distance_transform_edt(mine)
        best = np.unravel_index(int(np.argmax(inner)), inner.shape)
        return np.array(self.nearest[best]) if inner[best] > 0 else None


def coarse_view(meshes: Sequence[Mesh], frame: Floats) -> CoarseView:
    """Return a coarse picture of meshes: (vertices (n, 3) mm, faces (m, 3)) each."""
    points, owner = _samples(meshes)
    seen = points @ frame.T
    cell = max(float(np.ptp(seen[:, :2], axis=0).max()), 1e-9) / _CELLS
    # One empty cell all round, so that the rim of the picture counts as an edge.
    low = seen[:, :2].min(axis=0) - cell
    at = np.floor((seen[:, :2] - low) / cell).astype(np.int64)
    width, height = (int(size) for size in at.max(axis=0) + 2)
    key = at[:, 0] * height + at[:, 1]
    # Laid into their cells by depth, the sample in front comes last and stays.
    order = np.argsort(seen[:, 2], kind="stable")
    front = np.full(width * height, -1)
    front[key[order]] = order
    met = front >= 0
    shown = np.full(width * height, -1)
    shown[met] = owner[front[met]]
    nearest = np.zeros((width * height, 3))
    nearest[met] = points[front[met]]
    return CoarseView(
        frame, low, cell, shown.reshape(width, height), nearest.reshape(width, height, 3)
    )


def anchors(meshes: Sequence[Mesh], view: CoarseView) -> list[Floats]:
    """Return a point (3,) on each mesh for its label.

    Of the cells that show the mesh the one farthest from any edge; a mesh that is hidden
    altogether gets its corner nearest to the viewer.
    """
    places = []
    for index, (vertices, _) in enumerate(meshes):
        place = view.anchor(index)
        if place is None:
            place = vertices[int(np.argmax(vertices @ view.frame[2]))]
        places.append(place)
    return places


def _samples(meshes: Sequence[Mesh]) -> tuple[Floats, Ints]:
    """Return points spread evenly over all faces, (n, 3) mm, and the mesh each is on, (n,)."""
    corners = np.concatenate([vertices[faces] for vertices, faces in meshes])
    owner = np.repeat(np.arange(len(meshes)), [len(faces) for _, faces in meshes])
    sides = corners[:, 1:] - corners[:, :1]
    area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    ends = np.cumsum(area)
    # Even steps along the summed area, and inside each face the additive recurrence by the
    # plastic number (common practice, no source): no random numbers, no clumps.
    count = np.arange(_SAMPLES)
    chosen = np.searchsorted(ends, (count + 0.5) / _SAMPLES * ends[-1])
    chosen = np.minimum(chosen, len(area) - 1)
    a, b = (count * 0.7548776662466927) % 1.0, (count * 0.5698402909980532) % 1.0
    over = a + b > 1.0
    a, b = np.where(over, 1.0 - a, a), np.where(over, 1.0 - b, b)
    spread = corners[chosen, 0] + a[:, None] * sides[chosen, 0] + b[:, None] * sides[chosen, 1]
    return spread, owner[chosen]
