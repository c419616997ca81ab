"""A mesh cut in two by a plane.

Every face that the plane crosses is divided at the plane, and the sides are closed by triangles
over the outlines. Corners that lie in the plane count as below it for what is above, and as above
it for what is below; where they are, edges are crossed right there. So faces in the plane belong to
the side that has material on them. The kernel takes some twenty times as long.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from manifold3d import triangulate

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid.plane import Plane
from splitplanner.solid.slicing import crossings, outlines, steps

Mesh = tuple[Floats, Ints]
"""Corners (n, 3) mm and faces (m, 3) of a closed mesh; both empty where nothing is left."""


def cut_mesh(
    vertices: Floats, faces: Ints, plane: Plane, rounding: float
) -> tuple[Mesh, Mesh] | None:
    """Cut a closed, outward-oriented mesh.

    Parameters
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
    plane : Plane
    rounding : float
        Corners this near to the plane lie in it, mm.

    Returns
    -------
    below, above : Mesh
        Or None where outlines of the cut touch each other, which the kernel has to sort out.
    """
    heights = plane.height(vertices)
    within = np.abs(heights) <= rounding
    if not within.any():
        found = _Cut(vertices, faces, heights, rounding, heights > 0.0, plane)
        return found.sides(below=True, above=True)
    vertices = np.where(within[:, None], plane.to_space(plane.to_plane(vertices)), vertices)
    below = _Cut(vertices, faces, heights, rounding, (heights > 0.0) | within, plane)
    above = _Cut(vertices, faces, heights, rounding, (heights > 0.0) & ~within, plane)
    low, high = below.sides(below=True, above=False), above.sides(below=False, above=True)
    return None if low is None or high is None else (low[0], high[1])


@dataclass(frozen=True, eq=False)
class _Cut:
    """A mesh whose corners each count as above or below a plane.

    Attributes
    ----------
    vertices, faces : Mesh
    heights : (n,) float array, mm
    rounding : float
        Corners this near to the plane lie in it, mm.
    above : (n,) bool array
        Which corners count as above the plane.
    plane : Plane
    """

    vertices: Floats
    faces: Ints
    heights: Floats
    rounding: float
    above: Bools
    plane: Plane

    @cached_property
    def _crossed(self) -> Ints:
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.solid import _mesh_kernels as kernels

        crossed: Ints = kernels.crossed(self.faces, self.above)
        return crossed

    @cached_property
    def _turned(self) -> tuple[Ints, Bools]:
        from splitplanner.solid import _slicing_kernels as kernels

        corners = self.faces[self._crossed]
        turned: tuple[Ints, Bools] = kernels.lone_first(corners, self.above[corners])
        return turned

    @cached_property
    def _crossings(self) -> tuple[Ints, Floats]:
        """Where edges from the first corner cross the plane: numbers (2, c) of points (k, 3)."""
        return crossings(self.vertices, self._turned[0], self.heights, 0.0, self.rounding)

    @property
    def points(self) -> Floats:
        """Corners (k, 3) mm of the outlines of the cut."""
        return self._crossings[1]

    def sides(self, *, below: bool, above: bool) -> tuple[Mesh, Mesh] | None:
        """Return the sides that are asked for; None if outlines touch each other."""
        cap = _cap(self.plane.to_plane(self.points), *steps(self._crossings[0], self._turned[1]))
        if cap is None:
            return None
        count, (turned, is_above) = len(self.vertices), self._turned
        tips = np.stack([turned[:, 0], *(self._crossings[0] + count)], axis=1)
        rests = np.concatenate(
            [
                np.stack([tips[:, 1], turned[:, 1], turned[:, 2]], axis=1),
                np.stack([tips[:, 1], turned[:, 2], tips[:, 2]], axis=1),
            ]
        )
        twice = np.tile(is_above, 2)
        uncut = np.ones(len(self.faces), dtype=np.bool_)
        uncut[self._crossed] = False
        upper = self.above[self.faces[:, 0]]
        low = high = (np.empty((0, 3)), np.empty((0, 3), dtype=np.int64))
        # Imported late: see above.
        from splitplanner.solid import _mesh_kernels as kernels

        every = np.concatenate([self.vertices, self.points])
        if below:
            kept = [self.faces[uncut & ~upper], tips[~is_above], rests[twice], cap + count]
            low = kernels.compacted(every, np.concatenate(kept))
        if above:
            kept = [self.faces[uncut & upper], tips[is_above], rests[~twice], cap[:, ::-1] + count]
            high = kernels.compacted(every, np.concatenate(kept))
        return low, high


def _cap(flat: Floats, starts: Ints, stops: Ints) -> Ints | None:
    """Return triangles (t, 3) that fill outlines; None if these share a point."""
    rings = outlines(len(flat), starts, stops)
    if not rings:
        return None if rings is None else np.empty((0, 3), dtype=np.int64)
    # Imported late: see above.
    from splitplanner.solid import _mesh_kernels as kernels

    triangles = np.asarray(triangulate([flat[ring] for ring in rings]), dtype=np.int64)
    # By Euler's formula; with fewer a corner would be left out.
    corners = np.concatenate(rings)
    areas = kernels.areas(flat, corners, np.cumsum([len(ring) for ring in rings]))
    wanted = len(corners) + 2 * int((areas < 0.0).sum()) - 2 * int((areas > 0.0).sum())
    return corners[triangles] if len(triangles) == wanted else None
