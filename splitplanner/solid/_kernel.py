"""The kernel's solids, made from arrays and checked; for `splitplanner.solid.solid` alone."""

from __future__ import annotations

import numpy as np
from manifold3d import Error, Manifold, Mesh64
from numpy.typing import ArrayLike

from splitplanner.errors import SolidError

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
