"""Parts with hidden sides, cut in two, for the tests of flanges."""

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from splitplanner.joint.flange.building import flange_bodies
from splitplanner.joint.flange.ends import Printed
from splitplanner.joint.flange.lines import flange_lines
from splitplanner.plan import Cut, Flange, divide
from splitplanner.plan.pieces import Seam
from splitplanner.solid import Plane, Solid

Z = Plane((0.0, 0.0, 1.0), 0.0)


@dataclass(frozen=True, eq=False)
class Flanged:
    part: Solid
    seam: Seam
    below: Solid
    above: Solid
    flange: Flange
    bodies: tuple

    def added(self, side):
        """Return the volume that one side gains by union, mm³."""
        piece, body = ((self.below, self.above)[side], self.bodies[side])
        return piece.union(body).volume - piece.volume


def flanged(
    part,
    hidden,
    plane,
    width=8.0,
    thickness=4.0,
    slopes=(45.0, 90.0),
    limits=((), ()),
    ups=None,
):
    """Cut a part in two and give its seam a flange; `hidden` is a mask of its faces (m,)."""
    division = divide(part, [Cut(plane)])
    (seam,) = division.seams
    below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
    flange = Flange(flange_lines(seam, part, ~hidden, width), width, thickness, *slopes)
    printed = None if ups is None else tuple(Printed(up, 45.0) for up in ups)
    bodies = flange_bodies(flange, seam, below, above, limits, part, printed)
    return Flanged(part, seam, below, above, flange, bodies)


def prism(corners, length, holes=()):
    """Return a prism along z of a polygon in x and y, with its middle at z = 0."""
    return Solid.prism(Polygon(corners, holes), Z, -length / 2, length / 2)


def square_tube(outer=60.0, wall=3.0, length=200.0):
    """Return a tube round the z axis, and which of its faces are inside."""
    half, hole = outer / 2, outer / 2 - wall
    tube = prism(square(half), length, [square(hole)])
    reach = np.abs(tube.face_centroids[:, :2]).max(axis=1)
    return tube, (reach < hole + wall / 2) & upright(tube)


def square(half):
    return [(-half, -half), (half, -half), (half, half), (-half, half)]


def upright(solid):
    return np.abs(solid.face_normals[:, 2]) < 0.9


def channel(width=80.0, depth=50.0, wall=3.0, length=200.0, ribs=(), rib=(3.0, 5.0), slant=0.0):
    """Return a U along z, open to -y, and which of its faces are inside or look down.

    Its ribs stand on the middle wall: their places along x, thickness and depth. `slant` is by how
    much the inner edge of its feet is lower than the outer one.
    """
    half, inner = width / 2, width / 2 - wall
    top = depth - wall
    corners = [(-half, 0), (-inner, -slant), (-inner, top)]
    for at in ribs:
        a, b = at - rib[0] / 2, at + rib[0] / 2
        corners += [(a, top), (a, top - rib[1]), (b, top - rib[1]), (b, top)]
    corners += [(inner, top), (inner, -slant), (half, 0), (half, depth), (-half, depth)]
    solid = prism(corners[::-1], length)
    middle = solid.face_centroids
    inside = (np.abs(middle[:, 0]) < inner + wall / 2) & (middle[:, 1] < top + wall / 2)
    looks_down = solid.face_normals[:, 1] < -0.5
    return solid, (inside | looks_down) & upright(solid)
