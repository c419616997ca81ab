"""A mesh as it comes from a file, before it is known to be closed, and the table of its edges."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints


@dataclass(frozen=True, eq=False)
class Soup:
    """Triangles with shared corners; nothing is promised about how they fit together.

    Attributes
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
        Vertex indices.
    bodies : (n,) int array
        Which object of the file each vertex belongs to; vertices of different bodies are never
        welded to each other.
    """

    vertices: Floats
    faces: Ints
    bodies: Ints

    def with_faces(self, faces: Ints) -> Soup:
        """Return the same vertices with other faces."""
        return replace(self, faces=faces)

    @cached_property
    def size(self) -> float:
        """Diagonal of the bounding box of the vertices in use, mm."""
        used = self.vertices[self.faces.ravel()]
        return float(np.linalg.norm(np.ptp(used, axis=0))) if len(used) else 0.0

    @cached_property
    def edges(self) -> EdgeTable:
        """The edges of the faces."""
        return EdgeTable(self.faces)

    @cached_property
    def area_vectors(self) -> Floats:
        """Normal of each face times its area, (m, 3) mm²."""
        a, b, c = (self.vertices[self.faces[:, k]] for k in range(3))
        result: Floats = np.cross(b - a, c - a) * 0.5
        return result

    def middles(self, half_edges: Ints) -> Floats:
        """Return the middle of each of `half_edges`, (k, 3) mm."""
        starts, ends = self.edges.starts[half_edges], self.edges.ends[half_edges]
        result: Floats = (self.vertices[starts] + self.vertices[ends]) / 2
        return result


class EdgeTable:
    """Which half-edges share an edge.

    Half-edge ``3 * f + k`` runs from corner k of face f to the next corner.

    Attributes
    ----------
    starts, ends : (3 m,) int array
        Vertices of each half-edge.
    order : (3 m,) int array
        Half-edges sorted so that those of one edge stand together.
    first, count : (e,) int array
        For each edge, where its half-edges begin in `order` and how many they are.
    """

    def __init__(self, faces: Ints) -> None:
        self.starts: Ints = faces.ravel()
        self.ends: Ints = faces[:, [1, 2, 0]].ravel()
        span = int(faces.max()) + 1 if len(faces) else 1
        keys = np.minimum(self.starts, self.ends) * span + np.maximum(self.starts, self.ends)
        self.order: Ints = np.argsort(keys, kind="stable")
        keys = keys[self.order]
        fresh = np.ones(len(keys), dtype=bool)
        fresh[1:] = keys[1:] != keys[:-1]
        self.first: Ints = np.flatnonzero(fresh)
        self.count: Ints = np.diff(np.append(self.first, len(keys)))

    @cached_property
    def faces_at(self) -> Ints:
        """Number of faces at the edge of each half-edge, (3 m,)."""
        result = np.empty(len(self.order), dtype=np.int64)
        result[self.order] = np.repeat(self.count, self.count)
        return result

    @property
    def odd(self) -> Bools:
        """Half-edges whose edge has an odd number of faces: the surface is open there."""
        result: Bools = self.faces_at % 2 == 1
        return result

    @property
    def open_count(self) -> int:
        """Number of edges with an odd number of faces."""
        return int(np.count_nonzero(self.count % 2 == 1))


def next_in_face(half_edges: Ints) -> Ints:
    """Return the half-edge that follows each of `half_edges` round its face."""
    return half_edges - half_edges % 3 + (half_edges + 1) % 3
