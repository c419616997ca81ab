"""What stands on the stage, as plain values, and what a line of sight meets first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints, to_vector
from splitplanner.output.camera import Ray
from splitplanner.plan import Vector
from splitplanner.solid.neighbours import some_neighbours_of

_SHARP = 35.0
"""A line is drawn where faces meet at more than this, degrees."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed mesh as it is drawn.

    Attributes
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
    """

    vertices: Floats
    faces: Ints

    @cached_property
    def bounds(self) -> Floats:
        """Lowest and highest corner of the box around it, (2, 3) mm."""
        if not len(self.vertices):
            return np.zeros((2, 3))
        # The other way round in memory it is far quicker.
        turned = np.ascontiguousarray(self.vertices.T)
        return np.array([turned.min(axis=1), turned.max(axis=1)])

    @cached_property
    def corners(self) -> Floats:
        """Corners of the box around it, (8, 3) mm."""
        low, high = self.bounds
        picks = (np.arange(8)[:, None] >> np.arange(3)) & 1
        corners: Floats = np.where(picks, high, low)
        return corners

    @property
    def knows_edges(self) -> bool:
        """Whether `sharp_edges`, which take a second for a million faces, are at hand."""
        return "sharp_edges" in self.__dict__

    @cached_property
    def sharp_edges(self) -> Ints:
        """Corners of edges at which faces meet at a sharp angle, (k, 2)."""
        if not len(self.faces):
            return np.zeros((0, 2), dtype=np.int64)
        from splitplanner.viewport import _ray_kernels as kernels

        beyond = some_neighbours_of(self.faces, len(self.vertices))
        cosine = float(np.cos(np.radians(_SHARP)))
        edges: Ints = kernels.sharp_edges(self.vertices, self.faces, beyond, cosine)
        return edges


@dataclass(frozen=True, eq=False)
class Placed:
    """A mesh in its place.

    Attributes
    ----------
    mesh : Mesh
    colour : str
        ``#RRGGBB``.
    shift : (x, y, z)
        mm.
    face_colours : (m, 3) uint8 array or None
        Of each face, instead of `colour`.
    has_edges : bool
        Whether its sharp edges are drawn as lines.
    """

    mesh: Mesh
    colour: str
    shift: Vector = (0.0, 0.0, 0.0)
    face_colours: NDArray[np.uint8] | None = None
    has_edges: bool = True


@dataclass(frozen=True, eq=False)
class Sheet:
    """A flat see-through polygon.

    Attributes
    ----------
    corners : (k, 3) float array, mm
        In order round it.
    colour : str
    opacity : float
    """

    corners: Floats
    colour: str
    opacity: float


@dataclass(frozen=True, eq=False)
class Wires:
    """Lines that bodies hide.

    Attributes
    ----------
    segments : (k, 2, 3) float array, mm
    colour : str
    width : float
        Beside that of sharp edges.
    """

    segments: Floats
    colour: str
    width: float = 1.0


@dataclass(frozen=True)
class Hit:
    """Where a line of sight meets a body.

    Attributes
    ----------
    body : int
        Its place in what was asked.
    face : int
    point : (x, y, z)
        mm.
    normal : (x, y, z)
        Of the face, unit vector.
    distance : float
        From the start of the line, mm.
    """

    body: int
    face: int
    point: Vector
    normal: Vector
    distance: float


def first_hit(ray: Ray, bodies: Sequence[Placed]) -> Hit | None:
    """Return what a line of sight meets first; None if it meets nothing."""
    from splitplanner.viewport import _ray_kernels as kernels

    best: Hit | None = None
    way = np.array(ray.direction)
    for number, body in enumerate(bodies):
        mesh, start = body.mesh, np.array(ray.start) - body.shift
        if not len(mesh.faces) or not _meets_box(start, way, mesh.bounds):
            continue
        face, far = kernels.first_hit(mesh.vertices, mesh.faces, start, way)
        if face >= 0 and (best is None or far < best.distance):
            one, two, three = mesh.vertices[mesh.faces[face]]
            normal = np.cross(two - one, three - one)
            normal /= np.linalg.norm(normal)
            point = np.array(ray.start) + far * way
            best = Hit(number, int(face), to_vector(point), to_vector(normal), float(far))
    return best


def _meets_box(start: Floats, way: Floats, box: Floats) -> bool:
    with np.errstate(divide="ignore", invalid="ignore"):
        ways = (box - start) / way
    # nan where the line runs in a side of the box.
    beside = np.isnan(ways).any(axis=0)
    low = np.where(beside, -np.inf, ways.min(axis=0))
    high = np.where(beside, np.inf, ways.max(axis=0))
    near, far = max(float(low.max()), 0.0), float(high.min())
    return near <= far or near - far < 1e-9 * near
