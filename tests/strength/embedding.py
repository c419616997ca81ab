"""Pieces in cells that tests hold and load, and what is told of them."""

import numpy as np
from scipy.spatial.transform import Rotation

from splitplanner.solid import Solid
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import Hold, factorised, held_matrix

TURNED = Rotation.from_euler("xyz", [20, 35, 50], degrees=True).as_matrix()
"""Along no axis of the grid."""


def alike(modulus, poisson=0.0):
    """A material that is alike in all directions."""
    return LayeredStiffness(modulus, modulus, modulus / (2 + 2 * poisson), poisson, poisson)


def turned_box(size, corner, frame):
    whole = np.eye(4)
    whole[:3, :3] = frame
    return Solid.box(size, corner).transformed(whole)


def facing(model, direction, share=0.99):
    """The faces that look one way, as a patch."""
    return model.patch(model.solid.face_normals @ np.asarray(direction) > share)


def held_along(model, *directions):
    """Faces that look each way, held from moving that way: planes of symmetry."""
    return [Hold(facing(model, n), (tuple(n),)) for n in np.asarray(directions, float)]


def moved_by(model, holds, forces):
    return factorised(held_matrix(model, holds)).solve(forces)


def mean_move(model, moved, patch):
    return patch.areas @ model.moves(moved, patch.points, patch.rows) / patch.area
