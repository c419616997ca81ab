"""The kernel's solids, made from arrays and checked; for `splitplanner.solid.solid` alone."""

from __future__ import annotations

import numpy as np
from manifold3d import Error, Manifold, Mesh64
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import SolidError
from splitplanner.solid.plane import Plane

_WHY = {
    "NotManifold": "some edges do not belong to exactly two faces",
    "NonFiniteVertex": "some coordinates are not finite numbers",
    "VertexOutOfBounds": "some faces name vertices that do not exist",
}


def manifold_of(vertices: ArrayLike, faces: ArrayLike) -> Manifold:
    """Return a mesh, (n, 3) mm and (m, 3) integers, as the kernel has it; not checked."""
    # Copied, since the binding takes no read-only arrays.
    mesh = Mesh64(
        vert_properties=np.array(vertices, dtype=np.float64, order="C"),
        tri_verts=np.array(faces, dtype=np.uint64, order="C"),
    )
    return Manifold(mesh)


def check(manifold: Manifold) -> None:
    """Raise if a solid is none: the kernel gives a status instead.

    Raises
    ------
    SolidError
    """
    status = manifold.status()
    if status != Error.NoError:
        name = status.name
        raise SolidError(
            f"The mesh is not a closed solid: {_WHY.get(name, name)}. "
            "Heal the file first or repair it in the program that made it."
        )


def split_along_faces(
    vertices: Floats, faces: Ints, plane: Plane, rounding: float
) -> list[Manifold]:
    """Return below and above of a plane in which faces of a mesh lie.

    Cut right there, the kernel keeps some of those faces as sheets without thickness on the side
    they do not belong to. So the corners within `rounding` are put into the plane, each side is cut
    half of `rounding` away from it, and its new corners are brought back into it.
    """
    corners = vertices @ plane.frame.T
    corners[:, 2] -= plane.offset
    corners[np.abs(corners[:, 2]) <= rounding, 2] = 0.0
    standing = manifold_of(corners, faces)
    check(standing)
    back = np.column_stack([plane.frame.T, plane.origin])
    sides = []
    for upward in (-1.0, 1.0):
        mesh = standing.trim_by_plane((0.0, 0.0, upward), 0.5 * rounding).to_mesh64()
        corners = np.array(mesh.vert_properties)
        corners[np.abs(corners[:, 2]) < rounding, 2] = 0.0
        side = manifold_of(corners, mesh.tri_verts)
        check(side)
        sides.append(side.transform(back))
    return sides
