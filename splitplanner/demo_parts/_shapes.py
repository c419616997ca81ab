"""Shapes that several demonstration parts are built from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from manifold3d import Manifold, Mesh64, OpType
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats
from splitplanner.solid import Solid
from splitplanner.solid.hull import hull_mesh

ADD = OpType.Add
_CLOSE_ENOUGH = 0.03
_ROUNDS = 14


def sides_for(triangles: int, at_130k: int, fewest: int = 16) -> int:
    """Return how many sides a round shape gets, a multiple of 4.

    A multiple of 4 puts a corner on each axis, so that a round shape is exactly as wide as asked.
    """
    wanted = at_130k * float(np.sqrt(triangles / 130_000))
    return max(fewest, min(4 * round(wanted / 4), 4 * round(at_130k / 3)))


def box(low: ArrayLike, high: ArrayLike) -> Manifold:
    """Return the box between two corners, (3,) mm each."""
    corner = np.asarray(low, float)
    return Manifold.cube(np.asarray(high, float) - corner).translate(corner)


def bar(start: ArrayLike, end: ArrayLike, radius: float, sides: int) -> Manifold:
    """Return a round bar along x, y or z between two points (3,), mm."""
    base, tip = np.asarray(start, float), np.asarray(end, float)
    along = tip - base
    axis = int(np.argmax(np.abs(along)))
    turn = {0: (0.0, 90.0, 0.0), 1: (-90.0, 0.0, 0.0), 2: (0.0, 0.0, 0.0)}[axis]
    length = float(np.linalg.norm(along))
    return (
        Manifold.cylinder(length, radius, radius, sides)
        .rotate(turn)
        .translate(np.minimum(base, tip))
    )


def swollen(points: ArrayLike, radius: float, sides: int) -> Manifold:
    """Return the hull of balls of `radius` (mm) round `points` (n, 3).

    Two of these with the same points lie apart by the difference of their radii everywhere, which
    makes a shell of even wall.
    """
    ball = _ball(radius, sides)
    centres = np.asarray(points, float)
    return hull((centres[:, None, :] + ball[None, :, :]).reshape(-1, 3))


@dataclass(frozen=True, eq=False)
class Skin:
    """A shell of even wall round a skeleton of points.

    Attributes
    ----------
    points : (n, 3) float array, mm
        Centres of the balls whose hull is the outside.
    radius, wall : float
        Of all outer edges, and of the shell, mm.
    sides : int
        Of every round shape.
    """

    points: Floats
    radius: float
    wall: float
    sides: int

    @staticmethod
    def around(
        skeleton: Callable[[int], Floats], radius: float, wall: float, triangles: int
    ) -> Skin:
        """Return the skin round a `skeleton`, which is given the steps in a quarter circle."""
        sides = sides_for(triangles, 40)
        return Skin(skeleton(max(4, sides // 4)), radius, wall, sides)

    def below(self, depth: float) -> Manifold:
        """Return the solid whose surface is `depth` (mm) below the outside everywhere."""
        return swollen(self.points, self.radius - depth, self.sides)

    @cached_property
    def outer(self) -> Manifold:
        """All within the outside."""
        return self.below(0.0)

    @cached_property
    def inner(self) -> Manifold:
        """All within the inside."""
        return self.below(self.wall)

    @cached_property
    def middle(self) -> Manifold:
        """All within the middle of the wall, where ribs are rooted."""
        return self.below(self.wall / 2)


def _ball(radius: float, sides: int) -> Floats:
    return np.asarray(Manifold.sphere(radius, sides).to_mesh64().vert_properties)[:, :3]


def hull(points: ArrayLike) -> Manifold:
    """Return the convex hull of `points` (n, 3), by Qhull.

    The kernel's own hull leaves dents where thousands of points lie in one plane but for rounding.
    """
    vertices, faces = hull_mesh(points)
    return Manifold(Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))


def limb(centres: Sequence[ArrayLike], radii: Iterable[float], sides: int) -> list[Manifold]:
    """Return the links of a chain of balls, each the hull of two neighbours."""
    ball = _ball(1.0, sides)
    balls = [
        radius * ball + np.asarray(centre, float)
        for centre, radius in zip(centres, radii, strict=True)
    ]
    return [hull(np.vstack(pair)) for pair in pairwise(balls)]


def rounded_plan(half_length: float, half_width: float, radius: float, steps: int) -> Floats:
    """Return the outline (n, 2) of a rectangle with round corners, anticlockwise, mm."""
    angle = np.linspace(0.0, np.pi / 2, steps + 1)
    arc = radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    corner = arc + np.array([half_length - radius, half_width - radius])
    flipped = corner[::-1]
    return np.vstack([corner, flipped * [-1.0, 1.0], corner * [-1.0, -1.0], flipped * [1.0, -1.0]])


def filled_plan(half_length: float, half_width: float, radius: float, steps: int) -> Floats:
    """Return the outline of `rounded_plan` and a grid of points inside it, (n, 2) mm."""
    outline = rounded_plan(half_length, half_width, radius, steps)
    x, y = np.meshgrid(
        np.linspace(-half_length, half_length, 3 * steps + 1),
        np.linspace(-half_width, half_width, 2 * steps + 1),
    )
    grid = np.column_stack([x.ravel(), y.ravel()])
    beyond = np.maximum(np.abs(grid) - [half_length - radius, half_width - radius], 0.0)
    inside = np.linalg.norm(beyond, axis=1) < 0.95 * radius
    return np.vstack([outline, grid[inside]])


def finely(body: Manifold, triangles: int) -> Solid:
    """Return `body` with its triangles split evenly until there are about `triangles`."""
    low, high = 0.05, float(np.ptp(np.reshape(body.bounding_box(), (2, 3)), axis=0).max())
    best = body
    length = float(np.sqrt(4 / np.sqrt(3) * body.surface_area() / triangles))
    for _ in range(_ROUNDS):
        trial = body.refine_to_length(length)
        count = trial.num_tri()
        if abs(count - triangles) < abs(best.num_tri() - triangles):
            best = trial
        if abs(count - triangles) <= _CLOSE_ENOUGH * triangles:
            break
        low, high = (length, high) if count > triangles else (low, length)
        guess = length * (count / triangles) ** 0.6
        length = guess if low < guess < high else float(np.sqrt(low * high))
    return Solid(best)
