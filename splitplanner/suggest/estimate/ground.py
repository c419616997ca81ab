"""The ground of an estimate: one uncut body, and what is looked up on it again and again."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.plan import Vector
from splitplanner.score import REFERENCE_PIN
from splitplanner.solid import Plane, Solid, plane_segments, to_polygons, winding_numbers
from splitplanner.suggest.estimate.bundles import Bundle
from splitplanner.suggest.estimate.soundings import Sounding, sounded
from splitplanner.suggest.estimate.walls import Wall
from splitplanner.workshop import Printer

CELLS = 12_000
"""Columns of a sounding: overhang and support come out within about 1 %."""
_COARSER = 8
"""So many times fewer columns tell which print directions are worth a closer look."""
_BESIDE = 1e-3
"""A plane that lies on a face of the part is looked at this far to either side, mm."""
_NEAR = 1e-6
"""Corners this near to a plane lie in it, mm."""
_RIM = 0.01
"""A crossing this near to the outline of a section belongs to it, mm."""
_FINE = 0.02
"""Outlines are made simpler by this before room is looked for, mm."""


@dataclass(frozen=True, eq=False)
class Crossing:
    """Where a plane crosses the surface of a body.

    Attributes
    ----------
    segments : (k, 2, 3) float array, mm
    faces : (k,) int array
        The face crossed.
    seen : (k,) bool array
        Which of them lie on the good side.
    """

    segments: Floats
    faces: Ints
    seen: Bools


@dataclass(eq=False)
class Ground:
    """An uncut body with its soundings, sections and crossings, each made when first asked for.

    Attributes
    ----------
    solid : Solid
        The part, one of its bodies, or a light stand-in.
    seen : (m,) bool array
        Its faces on the good side.
    printer : Printer
    cells : int
        Columns of a sounding.
    parent : Ground, optional
        Of the uncut part, where this is one of its bodies.
    """

    solid: Solid
    seen: Bools
    printer: Printer
    cells: int = CELLS
    parent: Ground | None = None
    _soundings: dict[Vector, Sounding] = field(default_factory=dict)
    _coarse: dict[Vector, Sounding] = field(default_factory=dict)
    _bundles: dict[tuple[Vector, ...], Bundle] = field(default_factory=dict)
    _heights: dict[Vector, Floats] = field(default_factory=dict)
    _crossings: dict[Plane, Crossing] = field(default_factory=dict)
    _rims: dict[Plane, Ints] = field(default_factory=dict)
    _sections: dict[Plane, MultiPolygon] = field(default_factory=dict)
    _deep: dict[Plane, MultiPolygon] = field(default_factory=dict)
    _caps: dict[Wall, MultiPolygon] = field(default_factory=dict)
    _bodies: dict[str, Ground] = field(default_factory=dict)
    _within: dict[tuple[float, ...], bool] = field(default_factory=dict)

    @cached_property
    def edges(self) -> tuple[Ints, Ints]:
        """Ends (e, 2) of every edge of the surface, and the two faces (e, 2) beside it."""
        faces = self.solid.faces
        ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
        owner = np.tile(np.arange(len(faces)), 3)
        order = np.lexsort((ends.min(axis=1), ends.max(axis=1)))
        return ends[order[::2]], np.stack([owner[order[::2]], owner[order[1::2]]], axis=1)

    def of_body(self, body: Solid) -> Ground:
        """Return the ground of a body that this one was cut into.

        Its faces count as hidden: seams are looked at on the uncut part.
        """
        key = body.fingerprint
        if key not in self._bodies:
            nowhere = np.zeros(len(body.faces), dtype=np.bool_)
            self._bodies[key] = Ground(body, nowhere, self.printer, self.cells, self.whole)
        return self._bodies[key]

    @property
    def whole(self) -> Ground:
        """The ground of the uncut part."""
        return self if self.parent is None else self.parent

    def sounding(self, up: Vector) -> Sounding:
        """Return the columns along `up`."""
        if up not in self._soundings:
            self._soundings[up] = sounded(self.solid, up, self.printer, self.cells)
        return self._soundings[up]

    def coarse(self, ups: tuple[Vector, ...]) -> Bundle:
        """Return columns along all of `ups`, an eighth as many in each direction."""
        if ups not in self._bundles:
            for up in ups:
                if up not in self._coarse:
                    cells = self.cells // _COARSER
                    self._coarse[up] = sounded(self.solid, up, self.printer, cells)
            self._bundles[ups] = Bundle([self._coarse[up] for up in ups])
        return self._bundles[ups]

    def heights(self, normal: Vector) -> Floats:
        """Return how far each corner lies along `normal`, (n,) mm."""
        if normal not in self._heights:
            self._heights[normal] = self.solid.vertices @ np.array(normal)
        return self._heights[normal]

    def lies_on_face(self, plane: Plane) -> bool:
        """Return whether faces of the body lie in `plane`."""
        near = self._corners_in(plane)
        return bool(near.sum() > 2 and near[self.solid.faces].all(axis=1).any())

    def has_corners_in(self, plane: Plane) -> bool:
        """Return whether corners of the body lie in `plane`."""
        return bool(self._corners_in(plane).any())

    def _corners_in(self, plane: Plane) -> Bools:
        near: Bools = np.abs(self.heights(plane.normal) - plane.offset) < _NEAR
        return near

    def crossing(self, plane: Plane) -> Crossing:
        """Return where `plane` crosses the surface.

        Of a plane that passes along edges, where crossings would come twice: just beside it. Of
        one that lies on a face: on the side that has less material, since pieces touch only there.
        """
        if plane not in self._crossings:
            chosen = plane
            if self._corners_in(plane)[self.edges[0]].all(axis=1).any():
                sides = [plane.shifted(_BESIDE), plane.shifted(-_BESIDE)]
                chosen = sides[0]
                if self.lies_on_face(plane):
                    chosen = min(sides, key=lambda side: self.solid.section(side).area)
            segments, faces = plane_segments(self.solid, chosen)
            if chosen is not plane:
                beside = plane.height(segments.reshape(-1, 3)).reshape(-1, 2, 1)
                segments = segments - beside * np.array(plane.normal)
            self._crossings[plane] = Crossing(segments, faces, self.seen[faces])
        return self._crossings[plane]

    def rims(self, plane: Plane) -> Ints:
        """Return which polygon of the section each crossing lies round, (k,); -1 for none."""
        if plane not in self._rims:
            segments = self.crossing(plane).segments
            polygons = np.array(self.section(plane).geoms)
            rims = np.full(len(segments), 0 if len(polygons) == 1 else -1)
            if len(polygons) > 1:
                middles = shapely.points(plane.to_plane(segments.mean(axis=1)))
                tree = shapely.STRtree(shapely.boundary(polygons))
                near = tree.query_nearest(middles, max_distance=_RIM, all_matches=False)
                rims[near[0]] = near[1]
            self._rims[plane] = rims
        return self._rims[plane]

    def section(self, plane: Plane) -> MultiPolygon:
        """Return the area in which material on both sides of `plane` touches, plane mm."""
        if plane not in self._sections:
            if self.lies_on_face(plane):
                shape = self._shared(plane, [-_BESIDE, _BESIDE])
            else:
                shape = self.solid.section(plane).shape
            shapely.prepare(shape)
            self._sections[plane] = shape
        return self._sections[plane]

    def deep_section(self, plane: Plane) -> MultiPolygon:
        """Return what of a section is there still two pin diameters to both sides, plane mm.

        Half way is not looked at, unlike when a seam is measured: few walls end only there.
        """
        if plane not in self._deep:
            depth = 2 * REFERENCE_PIN
            shared = self._shared(plane, [-depth, depth])
            both = shared.intersection(self.section(plane))
            self._deep[plane] = as_polygons(shapely.simplify(both, _FINE))
        return self._deep[plane]

    def cap(self, wall: Wall) -> MultiPolygon:
        """Return the faces of the body that lie in a plane it was cut off at, plane mm."""
        if wall not in self._caps:
            facing = wall.plane if wall.side < 0 else wall.plane.flipped()
            solid = self.solid
            tolerance = 1e-8 * max(solid.size, abs(wall.plane.offset), 1.0)
            chosen = solid.faces_in(facing, tolerance)
            self._caps[wall] = MultiPolygon(solid.polygons_of(chosen, wall.plane))
        return self._caps[wall]

    def deep_cap(self, wall: Wall) -> MultiPolygon:
        """Return what of a cap goes on into the body for two pin diameters, plane mm."""
        depth = 2 * REFERENCE_PIN * wall.side
        shared = self._shared(wall.plane, [depth / 2, depth])
        return as_polygons(shared.intersection(self.cap(wall)))

    def _shared(self, plane: Plane, steps: list[float]) -> MultiPolygon:
        shapes = [section.shape for section in self.solid.sections(plane, steps)]
        return as_polygons(shapely.intersection_all(shapes))

    def holds(self, point: Floats) -> bool:
        """Return whether a point (3,) lies inside the material."""
        key = tuple(np.round(point, 6))
        if key not in self._within:
            inside = winding_numbers(point[None], self.solid.vertices, self.solid.faces)
            self._within[key] = bool(inside[0] > 0.5)
        return self._within[key]


def as_polygons(shape: shapely.Geometry) -> MultiPolygon:
    """Return the polygons of `shape` that have area."""
    return MultiPolygon(to_polygons(shape, smallest=1e-9))
