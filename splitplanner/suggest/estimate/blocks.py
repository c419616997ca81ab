"""Blocks: connected bodies between cut planes, known without being cut."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, Ints
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate.clipping import area_within, clipped, within
from splitplanner.suggest.estimate.compiled import compiled
from splitplanner.suggest.estimate.ground import Ground, as_polygons
from splitplanner.suggest.estimate.walls import Wall, Walls, rows_of, tightest, window_between

_SMALL = 3000
"""Bodies with fewer triangles than this are really cut to tell whether they fall apart."""
_SLACK = 1e-7
"""Corners this near to a wall lie in it, mm."""
_NEAR = 0.01
"""A crossing this near to the outline of a cut face belongs to it, mm."""


@dataclass(frozen=True, eq=False)
class Block:
    """The material of a body between walls.

    Attributes
    ----------
    ground : Ground
        Of the body: the part itself or, where cuts let it fall apart, one of the bodies.
    walls : tuple of Wall
        The cut planes round the block.
    before : tuple of Wall
        The planes that had cut the part when the body fell off.
    cut_from : (Block, Wall), optional
        A block of the same ground that has one wall less, and that wall.
    """

    ground: Ground
    walls: Walls
    before: Walls = ()
    cut_from: tuple[Block, Wall] | None = None
    _places: dict[Plane, int] = field(default_factory=dict)

    @cached_property
    def rows(self) -> Floats:
        """The walls as numbers, (w, 4)."""
        return rows_of(self.walls)

    @cached_property
    def points(self) -> Floats:
        """Points (n, 3) mm with the same convex hull as the block."""
        vertices = self.ground.solid.vertices
        if not self.walls:
            return vertices
        found = [vertices[self._corners_within()]]
        for index, wall in enumerate(self.walls):
            segments, _ = clipped(self.ground.crossing(wall.plane).segments, self.rows, index)
            found.append(segments.reshape(-1, 3))
        found += self._corners()
        return np.concatenate(found)

    def _corners_within(self) -> Ints:
        """Return which corners of the body are in the block.

        Of those that lie in a wall, the ones from which an edge leads into the kept side: others
        only touch it from outside.
        """
        vertices, (edges, _) = self.ground.solid.vertices, self.ground.edges
        kept = np.empty(len(vertices), dtype=np.int64)
        return kept[: compiled().keep_corners(vertices, self.rows, _SLACK, edges, kept)]

    def _corners(self) -> Iterator[Floats]:
        """Yield the points inside the material where three walls meet."""
        for three in itertools.combinations(range(len(self.walls)), 3):
            normals, distances = self.rows[list(three), :3], self.rows[list(three), 3]
            if abs(np.linalg.det(normals)) < 1e-3:
                continue
            point = np.asarray(np.linalg.solve(normals, distances), dtype=np.float64)
            if (self.rows[:, :3] @ point >= self.rows[:, 3] - _SLACK).all() and self.ground.holds(
                point
            ):
                yield point[None]

    @cached_property
    def is_empty(self) -> bool:
        """Whether the walls leave nothing but a film of rounding."""
        points = self.points
        if len(points) < 4:
            return True
        least = 1e-6 * self.ground.solid.size
        return bool((np.ptp(self.rows[:, :3] @ points.T, axis=1) <= least).any())

    @cached_property
    def area(self) -> float:
        """About how much surface of the uncut body it has, mm²; see `surface`."""
        solid = self.ground.solid
        if not self.walls:
            return solid.area
        return float(solid.face_areas[within(solid.face_centroids, self.rows)].sum())

    @cached_property
    def surface(self) -> float:
        """How much surface it has, its cut faces included, mm²; slower than `area`."""
        solid = self.ground.solid
        if not self.walls:
            return solid.area
        first, second, third = solid.faces.T
        kept = np.ones(len(solid.vertices), dtype=np.bool_)
        dropped = np.zeros(len(solid.faces), dtype=np.bool_)
        for heights in self._depths():
            kept &= heights > _SLACK
            out = heights < -_SLACK
            dropped |= out[first] & out[second] & out[third]
        whole = kept[first] & kept[second] & kept[third]
        rest = solid.faces[~whole & ~dropped]
        cut = area_within(solid.vertices[rest], self.rows, _SLACK)
        caps = sum(float(self._cap(wall.plane).area) for wall in self.walls)
        return float(solid.face_areas[whole].sum()) + cut + caps

    def _depths(self) -> Iterator[Floats]:
        """Yield for each wall how far every corner of the body is on its kept side, (n,) mm."""
        for wall in self.walls:
            yield wall.side * self.ground.heights(wall.plane.normal) - wall.row[3]

    def _cap(self, plane: Plane) -> MultiPolygon:
        """Return the cut face in one of its walls, in plane mm."""
        section = self.ground.section(plane)
        if section.is_empty:
            return section
        left, low, right, high = section.bounds
        corners = plane.to_space(np.array([[left, low], [right, low], [right, high], [left, high]]))
        walls = tuple(wall for wall in self.walls if wall.plane != plane)
        within = np.array([wall.side * wall.plane.height(corners) for wall in walls]) >= 0.0
        if within.all():
            return section
        window = window_between(plane, walls, self.ground.solid.size)
        if window is None:
            return MultiPolygon()
        return as_polygons(section.intersection(window))

    @cached_property
    def solid(self) -> Solid | None:
        """The block, really cut; None if nothing is left."""
        if not self.walls:
            return self.ground.solid
        if self.cut_from is None:
            last, first = self.walls[-1], self.walls[:-1]
            whole = Block(self.ground, first, self.before).solid
        else:
            last, whole = self.cut_from[1], self.cut_from[0].solid
        if whole is None:
            return None
        below, above = whole.split(last.plane)
        return above if last.side > 0 else below

    @cached_property
    def bodies(self) -> tuple[Block, ...]:
        """The connected bodies of the block, in the order in which a plan names them."""
        large = len(self.ground.solid.faces) >= _SMALL
        if large and (self._was_cut_in_one_place() or self._hangs_together()):
            return (self,)
        solid = self.solid
        bodies = () if solid is None else solid.bodies()
        if len(bodies) <= 1:
            return (self,) if bodies else ()
        before = tightest((*self.before, *self.walls))
        return tuple(Block(self.ground.of_body(body), (), before) for body in bodies)

    def _was_cut_in_one_place(self) -> bool:
        """Return whether the last cut made one single cut face.

        Every part that a cut leaves of a block in one piece has a share in its cut faces, so of one
        cut face there is one part to either side.
        """
        if self.cut_from is None:
            return False
        whole, plane = self.cut_from[0], self.cut_from[1].plane
        return whole.bodies == (whole,) and whole.parts_across(plane) == 1

    def parts_across(self, plane: Plane) -> int:
        """Return in how many places a plane cuts the block; 0 if corners of the body lie in it."""
        if plane not in self._places:
            self._places[plane] = 0
            if not self.ground.has_corners_in(plane):
                self._places[plane] = len(self._cap(plane).geoms)
        return self._places[plane]

    def _hangs_together(self) -> bool:
        """Return whether the surface between the walls shows that the block is in one.

        Faces are joined by the edges of which something is left between the walls, and by the
        cut faces whose outlines they make.
        """
        kernels = compiled()

        edges, beside = self.ground.edges
        heights = list(self._depths())
        count = len(self.ground.solid.faces)
        parents, present = np.arange(count), np.zeros(count, dtype=np.bool_)
        corners = len(self.ground.solid.vertices)
        kernels.join_within(edges, beside, np.reshape(heights, (-1, corners)), parents, present)
        if kernels.groups(parents, present) > 1:
            for pairs in self._across_caps():
                kernels.join_pairs(pairs, parents)
        return bool(kernels.groups(parents, present) == 1)

    def _across_caps(self) -> Iterator[Ints]:
        """Yield pairs (k, 2) of faces that are joined by a cut face of the block."""
        for index, wall in enumerate(self.walls):
            crossing = self.ground.crossing(wall.plane)
            segments, owners = clipped(crossing.segments, self.rows, index)
            if not len(segments):
                continue
            window = window_between(wall.plane, self.walls, self.ground.solid.size)
            rims = self.ground.rims(wall.plane)
            for number, polygon in enumerate(self.ground.section(wall.plane).geoms):
                mine = np.flatnonzero(rims[owners] == number)
                if len(mine):
                    faces = crossing.faces[owners[mine]]
                    for joined in _parts_of(polygon, window, segments[mine], wall.plane):
                        yield np.stack([faces[joined][:-1], faces[joined][1:]], axis=1)

    def cut(self, plane: Plane) -> tuple[Block, Block]:
        """Return what is below and what is above `plane`; either may be empty or fall apart."""
        below, above = Wall(plane, -1), Wall(plane, 1)
        return self._beside(below), self._beside(above)

    def _beside(self, wall: Wall) -> Block:
        walls = tightest((*self.walls, wall))
        return Block(self.ground, walls, self.before, (self, wall))


def _parts_of(
    polygon: Polygon, window: Polygon | None, segments: Floats, plane: Plane
) -> Iterator[Ints]:
    """Yield for each part of a polygon within a window which segments (k, 2, 3) lie on its rim."""
    parts = () if window is None else as_polygons(polygon.intersection(window)).geoms
    if len(parts) == 1:
        yield np.arange(len(segments))
    elif parts:
        middles = shapely.points(plane.to_plane(segments.mean(axis=1)))
        tree = shapely.STRtree(shapely.boundary(np.array(parts)))
        at, part = tree.query(middles, predicate="dwithin", distance=_NEAR)
        for number in np.unique(part):
            yield at[part == number]
