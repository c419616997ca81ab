"""How thick a solid is at its surface, and what is a wall there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.progress import Report, silent
from splitplanner.solid.solid import Solid

POINTS = 20_000
"""A face gets a further point for every so-manieth part of the surface."""
_BATCH = 1_024
_MEASURING = "measuring how thick walls are"


class WallKind(IntEnum):
    """What there is at a point of the surface."""

    WALL = 0
    """Two sides that run along each other, within 5°."""
    TAPER = 1
    """Two sides at 5° to 45° to each other."""
    JUNCTION = 2
    """Walls that meet, such as below a rib, where the ball is larger than in either."""
    EDGE = 3
    """A rim, a corner or an edge beyond 45°: no wall has its side there."""


@dataclass(frozen=True, eq=False)
class Thickness:
    """How thick a solid is at points of its surface; get it with `thickness`.

    Attributes
    ----------
    points : (n, 3) float array, mm
        At least one on every face with an area, its middle where it has no more; unless only so
        many points were asked for.
    faces : (n,) int array
        On which face each lies, rising.
    areas : (n,) float array
        Of the surface that each stands for, mm².
    values : (n,) float array
        Thickness, mm: that of the wall; of a rim, a corner or a junction the diameter of the ball.
    kinds : (n,) int array
        A `WallKind` each.
    through : (n,) float array
        How far it is straight in until the solid ends, mm; inf where rounding hides the far side.
    ball : (n,) float array
        Diameter of the largest ball inside that touches the surface there, mm. Faces that bend
        away by less than 30° are not in its way.
    count : int
        How many faces the solid has.
    """

    points: Floats
    faces: Ints
    areas: Floats
    values: Floats
    kinds: Ints
    through: Floats
    ball: Floats
    count: int

    def __post_init__(self) -> None:
        number = len(self.faces)
        object.__setattr__(self, "points", frozen_floats(self.points, (number, 3)))
        for name in ("areas", "values", "through", "ball"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name), (number,)))
        for name in ("faces", "kinds"):
            object.__setattr__(self, name, frozen_ints(getattr(self, name), (number,)))

    @cached_property
    def shares(self) -> Mapping[WallKind, float]:
        """Which share of the surface is of each kind, 0 to 1."""
        areas = np.bincount(self.kinds, weights=self.areas, minlength=len(WallKind))
        total = max(float(self.areas.sum()), 1e-300)
        return {kind: float(areas[kind]) / total for kind in WallKind}

    @cached_property
    def face_kinds(self) -> Ints:
        """The `WallKind` that most of each face is of, (m,); -1 for a face without a point."""
        shares = np.zeros((self.count, len(WallKind)))
        np.add.at(shares, (self.faces, self.kinds), self.areas)
        return frozen_ints(np.where(shares.any(axis=1), shares.argmax(axis=1), -1))

    @cached_property
    def face_values(self) -> Floats:
        """Thickness of each face, (m,) mm, to be drawn; nan for a face without a point.

        The median over what there is of the kind that most of the face is of.
        """
        chosen = np.flatnonzero(self.kinds == self.face_kinds[self.faces])
        order = chosen[np.lexsort((self.values[chosen], self.faces[chosen]))]
        owners, first, number = np.unique(self.faces[order], return_index=True, return_counts=True)
        found = np.full(self.count, np.nan)
        found[owners] = self.values[order[first + (number - 1) // 2]]
        return frozen_floats(found)

    @cached_property
    def face_walls(self) -> Floats:
        """As `face_values`, and nan where there is no wall: on rims, in corners and junctions."""
        is_wall = (self.face_kinds == WallKind.WALL) | (self.face_kinds == WallKind.TAPER)
        return frozen_floats(np.where(is_wall, self.face_values, np.nan))


def thickness(
    solid: Solid,
    *,
    most: float = math.inf,
    points: int = POINTS,
    every_face: bool = True,
    report: Report = silent,
) -> Thickness:
    """Measure how thick a solid is all over its surface.

    Two measures are taken at each point: straight in along the normal to where the solid ends, and
    the largest ball inside that touches the surface there. The ball is exact against triangles:
    for each that it meets, the radius at which it touches the plane, a side or a corner has a
    closed form. Where the ball touches the far side the thickness is its diameter. Near the edge
    of a wall or beside a step, where something else stops it, it is that of the ball between the
    point's plane and that of the face straight across, provided that this ball finds room on the
    same wall beside the point: that shows it to be a wall, not a rim, or the place below a rib. For
    the rest, two tangent planes of the ball that meet in an edge with nothing beyond it make it a
    rim or corner; else walls meet there.

    Parameters
    ----------
    solid : Solid
    most : float
        What is thicker than this is a wall of just this thickness, mm. In a solid figure large
        balls take most of the time.
    points : int
        A face gets as many points as it has of so many parts of the surface, and one at least.
    every_face : bool
        Whether small faces get a point too. Without, there are just so many points, evenly by
        area: enough for shares of the surface, and for a fine mesh much quicker.
    report : progress callback

    Raises
    ------
    splitplanner.errors.Cancelled
        If `report` raises it.
    """
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.solid import _ball_kernels as kernels

    report(0.0, _MEASURING)
    tree, largest = _tree_of(solid), min(most / 2.0, solid.size)
    owners, places = (spread_points if every_face else even_points)(solid, points)
    # In the order of the tree each point lies near the one before.
    order = np.argsort(np.argsort(tree[0])[owners], kind="stable")
    found: list[tuple[NDArray[Any], ...]] = []
    for start in range(0, len(order), _BATCH):
        report(0.1 + 0.9 * start / len(order), _MEASURING)
        some = order[start : start + _BATCH]
        normals = solid.face_normals[owners[some]]
        found.append(kernels.measured(tree, places[some], normals, owners[some], largest))
    back = np.argsort(order)
    values, kinds, through, ball = (np.concatenate(each)[back] for each in zip(*found, strict=True))
    each = np.bincount(owners, minlength=len(solid.faces))
    areas = (solid.face_areas / np.maximum(each, 1))[owners]
    if not every_face:
        areas = np.full(len(owners), solid.area / len(owners))
    return Thickness(places, owners, areas, values, kinds, through, ball, len(solid.faces))


def spread_points(solid: Solid, count: int) -> tuple[Ints, Floats]:
    """Return points spread evenly over the surface: the faces they lie on, (n,), and (n, 3) mm.

    A face gets as many as it has of `count` parts of the surface, and one at least, its middle;
    several are those of the R2 sequence (M. Roberts, 2018: multiples of the inverse powers of the
    plastic number, from memory), folded into the triangle. A face without area gets none.
    """
    per_face = np.ceil(solid.face_areas * (count / solid.area))
    owner = np.repeat(np.arange(len(per_face)), per_face.astype(np.int64))
    return owner, _within(solid, owner)


def even_points(solid: Solid, count: int) -> tuple[Ints, Floats]:
    """Return so many points, each for as much of the surface: their faces, (n,), and (n, 3) mm.

    As `spread_points`, but small faces may have none.
    """
    steps = (np.arange(count) + 0.5) / count * float(solid.face_areas.sum())
    owner = np.searchsorted(np.cumsum(solid.face_areas), steps)
    return owner, _within(solid, owner)


def _within(solid: Solid, owner: Ints) -> Floats:
    """Return a place on each of these faces, which rise, no two the same, (n, 3) mm."""
    first = np.searchsorted(owner, owner)
    index = np.arange(len(owner)) - first
    plastic = 1.32471795724474602596
    s, t = ((0.5 + (index + 1) / plastic**power) % 1.0 for power in (1, 2))
    fold = s + t > 1.0
    s, t = np.where(fold, 1.0 - s, s), np.where(fold, 1.0 - t, t)
    single = (np.bincount(owner) == 1)[owner]
    s, t = np.where(single, 1 / 3, s), np.where(single, 1 / 3, t)
    a, b, c = (solid.vertices[solid.faces[owner, k]] for k in range(3))
    points: Floats = a + s[:, None] * (b - a) + t[:, None] * (c - a)
    return points


def _tree_of(solid: Solid) -> Any:
    from splitplanner.solid._tree_kernels import grown

    vertices, faces, normals = solid.vertices, solid.faces, solid.face_normals
    # Compiled once for arrays that may be written to, whatever the solid has.
    return grown(np.array(vertices), np.array(faces), np.array(normals))
