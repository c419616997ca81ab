"""Shapes that several test files measure."""

import numpy as np
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.solid import Plane, Solid


def solid_of(mesh):
    """The solid with the faces of a trimesh mesh."""
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def turned(solid, seed):
    """A solid as it stands in space for `seed`, and the rotation that brought it there."""
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.random(random_state=seed).as_matrix()
    matrix[:3, 3] = (110, -70, 33)
    return solid.transformed(matrix), matrix[:3, :3]


def ringed_ball(radius, rings=180, sides=96):
    """A ball of `rings` equal steps of latitude."""
    latitude = np.linspace(-np.pi / 2, np.pi / 2, rings + 1)
    profile = np.column_stack([radius * np.cos(latitude), radius * np.sin(latitude)])
    profile[[0, -1], 0] = 0.0
    return solid_of(trimesh.creation.revolve(profile, sections=sides))


def hollow_roof():
    """A roof of 180 x 90 x 45 that slopes by 45 degrees to both sides, hollow from below.

    Its ridge lies at y = 45 only to rounding, and so does that of the hollow.
    """

    def below(solid, point, normal):
        return solid.split(Plane.through(point, normal))[0]

    def roof(size, corner, eaves):
        left = below(Solid.box(size, corner), (0, eaves[0], 0), (0, -1, 1))
        return below(left, (0, eaves[1], 0), (0, 1, 1))

    outer = roof((180, 90, 45), (0, 0, 0), (0, 90))
    return outer.difference(roof((180, 74, 37), (0, 8, 0), (8, 82)))
