"""A mesh cut in two by a plane, and its sections.

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
from shapely.geometry import Polygon

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid.plane import Plane
from splitplanner.solid.section import polygons_from_edges, polygons_from_rings

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
        found = _Cut(vertices, faces, heights, within, heights > 0.0, plane)
        return found.sides(below=True, above=True)
    vertices = np.where(within[:, None], plane.to_space(plane.to_plane(vertices)), vertices)
    below = _Cut(vertices, faces, heights, within, (heights > 0.0) | within, plane)
    above = _Cut(vertices, faces, heights, within, (heights > 0.0) & ~within, plane)
    low, high = below.sides(below=True, above=False), above.sides(below=False, above=True)
    return None if low is None or high is None else (low[0], high[1])


def mesh_section(
    vertices: Floats, faces: Ints, plane: Plane, rounding: float
) -> tuple[Polygon, ...]:
    """Return the polygons in which a plane meets a closed mesh; just above the plane, if need be.

    Parameters
    ----------
    vertices, faces, plane, rounding
        As for `cut_mesh`.

    Returns
    -------
    tuple of Polygon
        In plane coordinates, mm.
    """
    heights = plane.height(vertices)
    within = np.abs(heights) <= rounding
    cut = _Cut(vertices, faces, heights, within, (heights > 0.0) & ~within, plane)
    starts, stops = cut.steps
    flat = plane.to_plane(cut.points)
    rings = _rings(len(flat), starts, stops)
    if rings is None:
        return polygons_from_edges(flat[starts], flat[stops])
    return polygons_from_rings([flat[ring] for ring in rings])


@dataclass(frozen=True, eq=False)
class _Cut:
    """A mesh whose corners each count as above or below a plane.

    Attributes
    ----------
    vertices, faces : Mesh
    heights : (n,) float array, mm
    within, above : (n,) bool array
        Which corners lie in the plane, and which count as above it.
    plane : Plane
    """

    vertices: Floats
    faces: Ints
    heights: Floats
    within: Bools
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
        return lone_first(self.faces[self._crossed], self.above)

    @cached_property
    def _crossings(self) -> tuple[Ints, Floats]:
        """The points in which the edges from the first corner cross the plane, (2, c) and (k, 3).

        Both faces beside an edge find the same point, and all edges to a corner in the plane do.
        """
        count, (turned, _) = len(self.vertices), self._turned
        lone, others = np.tile(turned[:, 0], 2), np.concatenate([turned[:, 1], turned[:, 2]])
        low, high = np.minimum(lone, others), np.maximum(lone, others)
        low = np.where(self.within[high], high, low)
        high = np.where(self.within[low], low, high)
        keys, number = np.unique(low * count + high, return_inverse=True)
        low, high = keys // max(count, 1), keys % max(count, 1)
        first, second = self.vertices[low], self.vertices[high]
        rise = np.where(low == high, 1.0, self.heights[low] - self.heights[high])
        share = np.where(low == high, 0.0, self.heights[low] / rise)
        return number.reshape(2, -1), first + share[:, None] * (second - first)

    @property
    def points(self) -> Floats:
        """Corners (k, 3) mm of the outlines of the cut."""
        return self._crossings[1]

    @property
    def steps(self) -> tuple[Ints, Ints]:
        """From which point to which the outlines go, material on the left as seen from above."""
        ends, is_above = self._crossings[0], self._turned[1]
        starts, stops = np.where(is_above, ends, ends[::-1])
        moving = starts != stops
        return starts[moving], stops[moving]

    def sides(self, *, below: bool, above: bool) -> tuple[Mesh, Mesh] | None:
        """Return the sides that are asked for; None if outlines touch each other."""
        cap = _cap(self.plane.to_plane(self.points), *self.steps)
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


def lone_first(faces: Ints, above: Bools) -> tuple[Ints, Bools]:
    """Turn crossed faces (c, 3) so that the corner that is alone on its side comes first.

    Also return whether it is above, (c,); `above` says so of all corners.
    """
    side = above[faces]
    is_above = side.sum(axis=1) == 1
    lone = np.argmax(side == is_above[:, None], axis=1)
    return np.take_along_axis(faces, (lone[:, None] + np.arange(3)) % 3, axis=1), is_above


def _rings(count: int, starts: Ints, stops: Ints) -> list[Ints] | None:
    """Return closed outlines made of steps between `count` points; None if some share a point."""
    from splitplanner.solid import _mesh_kernels as kernels

    used = np.zeros(count, dtype=np.bool_)
    used[starts] = True
    if used.sum() != len(starts) or not used[stops].all() or len(np.unique(stops)) != len(stops):
        return None
    follower = np.arange(count)
    follower[starts] = stops
    order, begins = kernels.rounds(follower)
    # There and back again, along an edge that touches the plane, is round nothing.
    return [ring for ring in np.split(order, begins[1:]) if len(ring) > 2]


def _cap(flat: Floats, starts: Ints, stops: Ints) -> Ints | None:
    """Return triangles (t, 3) that fill outlines; None if these share a point."""
    rings = _rings(len(flat), starts, stops)
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
