"""What corners and triangles of a closed mesh tell by themselves, without the kernel."""

from __future__ import annotations

import hashlib
from abc import ABC, abstractmethod
from functools import cached_property

import numpy as np
from shapely.geometry import Polygon

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats, frozen_ints
from splitplanner.solid.neighbours import some_neighbours_of
from splitplanner.solid.plane import Plane
from splitplanner.solid.section import outline_edges, polygons_from_edges

_WORKED_OUT = ("_face_vectors", "face_normals", "face_centroids", "neighbours")


class MeshFigures(ABC):
    """The mesh of a solid and its faces, each figure worked out when it is first asked for."""

    @property
    @abstractmethod
    def _mesh(self) -> tuple[Floats, Ints]:
        """`vertices` and `faces`, read-only."""

    @cached_property
    def vertices(self) -> Floats:
        """Corner points, (n, 3) mm, read-only."""
        return self._mesh[0]

    @cached_property
    def faces(self) -> Ints:
        """Triangles as vertex indices, counter-clockwise from outside, (m, 3), read-only."""
        return self._mesh[1]

    @cached_property
    def _face_vectors(self) -> Floats:
        a, b, c = (self.vertices[self.faces[:, k]] for k in range(3))
        return np.cross(b - a, c - a) * 0.5

    @cached_property
    def face_areas(self) -> Floats:
        """Area of each face, (m,) mm²."""
        return frozen_floats(np.linalg.norm(self._face_vectors, axis=1))

    @cached_property
    def face_normals(self) -> Floats:
        """Outward unit normal of each face, (m, 3); zero for a face without area."""
        areas = self.face_areas[:, None]
        return frozen_floats(
            np.divide(
                self._face_vectors, areas, out=np.zeros_like(self._face_vectors), where=areas > 0
            )
        )

    @cached_property
    def face_centroids(self) -> Floats:
        """Centroid of each face, (m, 3) mm."""
        return frozen_floats(self.centroids_of(slice(None)))

    def centroids_of(self, chosen: Ints | slice) -> Floats:
        """Return `face_centroids` of `chosen` faces alone, (k, 3) mm."""
        a, b, c = (self.vertices[self.faces[chosen, k]] for k in range(3))
        result: Floats = (a + b + c) / 3.0
        return result

    @cached_property
    def neighbours(self) -> Ints:
        """The face beyond each side (first to second corner, second to third ...), (m, 3)."""
        return frozen_ints(some_neighbours_of(self.faces, len(self.vertices)))

    def forget(self) -> None:
        """Drop what can be worked out again from the mesh, to save memory."""
        for name in _WORKED_OUT:
            vars(self).pop(name, None)

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 over corners (to 1e-6 mm) and faces; equal meshes have equal fingerprints."""
        digest = hashlib.sha256()
        digest.update(np.round(self.vertices * 1e6).astype("<i8").tobytes())
        digest.update(self.faces.astype("<i8").tobytes())
        return f"sha256:{digest.hexdigest()}"

    def faces_in(self, plane: Plane, tolerance: float) -> Bools:
        """Return a mask (m,) of the faces that lie in `plane` and face along its normal."""
        near = np.abs(plane.height(self.vertices)) <= tolerance
        flat = np.zeros(len(self.faces), dtype=np.bool_)
        if near.any():
            first, second, third = self.faces.T
            some = np.flatnonzero(near[first])
            some = some[near[second[some]] & near[third[some]]]
            a, b, c = (self.vertices[self.faces[some, k]] for k in range(3))
            flat[some] = np.cross(b - a, c - a) @ np.array(plane.normal) > 0
        return flat

    def polygons_of(self, chosen: Bools, plane: Plane) -> tuple[Polygon, ...]:
        """Return the outlines of the `chosen` faces (mask, (m,)) in the coordinates of `plane`.

        Exact for faces that lie in or parallel to the plane.
        """
        starts, ends = outline_edges(self.faces[chosen])
        flat = plane.to_plane(self.vertices)
        return polygons_from_edges(flat[starts], flat[ends])
