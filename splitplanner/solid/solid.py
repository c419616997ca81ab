"""A closed solid: the only place that builds a `manifold3d.Manifold`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold, OpType
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.errors import SolidError
from splitplanner.solid._kernel import check, manifold_of, split_along_faces
from splitplanner.solid.cutting import cut_mesh
from splitplanner.solid.hull import hull_mesh
from splitplanner.solid.mesh_figures import MeshFigures
from splitplanner.solid.plane import Plane
from splitplanner.solid.section import Section, to_polygons
from splitplanner.solid.slicing import mesh_sections
from splitplanner.solid.winding import winding_numbers

_CARRIED = ("hull", "fingerprint")
"""What goes along to another process once it has been worked out."""
_ROUNDING = 1e-12
"""A volume of no more than this share of the bounding cube is nothing but rounding."""


@dataclass(frozen=True, eq=False)
class Solid(MeshFigures):
    """A closed, outward-oriented solid in mm. Frozen; every operation returns a new one.

    Build it with `from_arrays` (checked) or by operations on other solids.
    """

    _given: Manifold | None

    def __post_init__(self) -> None:
        if self._given is not None:
            check(self._given)

    @staticmethod
    def from_arrays(vertices: ArrayLike, faces: ArrayLike) -> Solid:
        """Build a solid from a welded, closed, outward-oriented triangle mesh.

        Parameters
        ----------
        vertices : (n, 3) array, mm
        faces : (m, 3) integer array

        Raises
        ------
        SolidError
            If the mesh is open, not manifold, empty, or encloses no volume.
        """
        solid = _rebuild(vertices, faces)
        if solid.is_empty or solid.volume <= 0.0:
            raise SolidError("The mesh encloses no volume; check that its faces point outward.")
        return solid

    @staticmethod
    def box(size: ArrayLike, corner: ArrayLike = (0.0, 0.0, 0.0)) -> Solid:
        """Return an axis-parallel box of `size` (3,) mm with its low corner at `corner`."""
        extents = np.asarray(size, float)
        return Solid(Manifold.cube(extents).translate(np.asarray(corner, float)))

    @staticmethod
    def cylinder(start: ArrayLike, end: ArrayLike, radius: float, sides: int = 48) -> Solid:
        """Return a round bar of `radius` (mm) from `start` to `end`, (3,) mm each.

        The prism with `sides` sides is drawn round the circle (its sides touch it), so that a
        hole made with it is never smaller than asked.
        """
        base, tip = np.asarray(start, float), np.asarray(end, float)
        axis = Plane.through(base, tip - base)
        around = radius / np.cos(np.pi / sides)
        bar = Manifold.cylinder(float(np.linalg.norm(tip - base)), around, around, sides)
        placed = np.hstack([axis.frame.T, base[:, None]])
        return Solid(bar.transform(placed))

    @staticmethod
    def prism(shape: Polygon | MultiPolygon, plane: Plane, low: float, high: float) -> Solid:
        """Return polygons of a plane drawn out along its normal.

        Parameters
        ----------
        shape : shapely Polygon or MultiPolygon
            Plane coordinates, mm; holes stay open.
        plane : Plane
        low, high : float
            Heights over the plane between which it reaches, mm; `high` is above `low`.
        """
        rings = [
            shapely.get_coordinates(ring)[:-1]
            for polygon in to_polygons(shape)
            for ring in (polygon.exterior, *polygon.interiors)
        ]
        drawn = CrossSection(rings, FillRule.EvenOdd).extrude(high - low)
        base = plane.to_space([[0.0, 0.0]])[0] + plane.frame[2] * low
        return Solid(drawn.transform(np.hstack([plane.frame.T, base[:, None]])))

    @staticmethod
    def hull_of(points: ArrayLike) -> Solid:
        """Return the convex hull of points (n, 3), mm.

        Raises
        ------
        scipy.spatial.QhullError
            If they lie in a plane.
        """
        return Solid.from_arrays(*hull_mesh(points))

    @staticmethod
    def reopened(vertices: Floats, faces: Ints, known: Mapping[str, Any] | None = None) -> Solid:
        """Return a solid of a mesh that is known to be one, of another process for instance.

        Its faces keep their order. The kernel gets it, and checks it, when it is first needed for
        more than the mesh.

        Parameters
        ----------
        vertices, faces
            Of a solid.
        known : mapping of name to value
            Figures that were worked out there.
        """
        solid = Solid(None)
        mesh = {"vertices": frozen_floats(vertices), "faces": frozen_ints(faces)}
        vars(solid).update(mesh, **(known or {}))
        return solid

    def __reduce__(self) -> tuple[Any, ...]:
        known = {"volume": self.volume, "area": self.area, "bounds": self.bounds}
        known |= {name: value for name, value in vars(self).items() if name in _CARRIED}
        return Solid.reopened, (self.vertices, self.faces, known)

    def anew(self) -> Solid:
        """Return the solid as another process reopens it.

        What boolean operations left is cut and simplified a little differently from the same mesh
        read back: the kernel knows which of its faces were one, and sorts corners anew. This very
        solid where it came from a mesh.
        """
        if self._given is None or "_from_mesh" in vars(self):
            return self
        return Solid.reopened(*self.__reduce__()[1])

    # -- mesh and kernel ------------------------------------------------------------------
    @cached_property
    def _manifold(self) -> Manifold:
        if self._given is not None:
            return self._given
        found = manifold_of(self.vertices, self.faces)
        check(found)
        return found

    @cached_property
    def _mesh(self) -> tuple[Floats, Ints]:
        mesh = self._manifold.to_mesh64()
        # The kernel's own arrays, which are read-only.
        return np.asarray(mesh.vert_properties), np.asarray(mesh.tri_verts).view(np.int64)

    # -- figures --------------------------------------------------------------------------
    @property
    def is_empty(self) -> bool:
        """True when nothing is left."""
        return not len(self.faces) if self._given is None else bool(self._given.is_empty())

    @cached_property
    def volume(self) -> float:
        """Volume, mm³."""
        if self._given is not None:
            return float(self._given.volume())
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.solid import _mesh_kernels as kernels

        return float(kernels.volume(self.vertices, self.faces, self.bounds.mean(axis=0)))

    @cached_property
    def area(self) -> float:
        """Surface area, mm²."""
        if self._given is not None:
            return float(self._given.surface_area())
        return float(self.face_areas.sum())

    @cached_property
    def bounds(self) -> Floats:
        """Low and high corner of the bounding box, (2, 3) mm."""
        if self._given is not None:
            return frozen_floats(np.reshape(self._given.bounding_box(), (2, 3)))
        if self.is_empty:
            return frozen_floats(np.zeros((2, 3)))
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.solid import _mesh_kernels as kernels

        return frozen_floats(kernels.box(self.vertices))

    @property
    def extents(self) -> Floats:
        """Size of the bounding box, (3,) mm."""
        result: Floats = self.bounds[1] - self.bounds[0]
        return result

    @cached_property
    def size(self) -> float:
        """Diagonal of the bounding box, mm; the scale for tolerances."""
        return float(np.linalg.norm(self.extents))

    @cached_property
    def centroid(self) -> Floats:
        """Centre of volume, (3,) mm (divergence theorem over signed tetrahedra)."""
        origin = self.bounds.mean(axis=0)
        corners = self.vertices[self.faces] - origin
        six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
        moment = (six[:, None] * corners.sum(axis=1)).sum(axis=0) / 4.0
        return frozen_floats(origin + moment / six.sum())

    @cached_property
    def long_axis(self) -> Floats:
        """Unit vector along which the volume is spread out most, (3,); see `principal_axes`."""
        # Imported late: it works on solids.
        from splitplanner.solid.axes import principal_axes

        return frozen_floats(principal_axes(self)[0])

    @cached_property
    def box_axes(self) -> Floats:
        """Axes of the tightest box, (3, 3) unit vectors in rows; see `tightest_box_axes`."""
        # Imported late: it works on solids.
        from splitplanner.solid.axes import tightest_box_axes

        return frozen_floats(tightest_box_axes(self))

    @cached_property
    def hull(self) -> Solid:
        """The convex hull."""
        return Solid.from_arrays(*hull_mesh(self.vertices))

    # -- operations -----------------------------------------------------------------------
    def split(self, plane: Plane) -> tuple[Solid | None, Solid | None]:
        """Cut exactly along `plane`.

        Returns
        -------
        below, above : Solid or None
            None where the plane leaves nothing but rounding (less than 1e-12 of the bounding
            cube), so a plane that lies on an outer face misses the solid.
        """
        rounding = self._rounding(plane)
        meshes = cut_mesh(self.vertices, self.faces, plane, rounding)
        if meshes is not None:
            halves = [Solid.reopened(*mesh) for mesh in meshes]
        else:
            halves = [Solid(half) for half in self._split_by_kernel(plane, rounding)]
        least = _ROUNDING * self.size**3
        sides = [None if half.is_empty or half.volume <= least else half for half in halves]
        if sides[0] is None or sides[1] is None:
            # Rounding dust on one side: keep this very solid on the other.
            return (self if sides[0] else None, self if sides[1] else None)
        return sides[0], sides[1]

    def _split_by_kernel(self, plane: Plane, rounding: float) -> Sequence[Manifold]:
        """Return below and above of a plane in which outlines of the cut touch each other."""
        if (self.faces_in(plane, rounding) | self.faces_in(plane.flipped(), rounding)).any():
            return split_along_faces(self.vertices, self.faces, plane, rounding)
        above, below = self._manifold.split_by_plane(plane.normal, plane.offset)
        return below, above

    def bodies(self) -> tuple[Solid, ...]:
        """Return the connected bodies, each with its inner voids, in a fixed order.

        Films of rounding, which cuts close beside a face leave, are no bodies: shells of less than
        1e-12 of the bounding cube, as for `split`.
        """
        if "_is_one" in vars(self) or self._is_seen_in_one:
            return (self,)
        shells = [Solid(shell) for shell in self._manifold.decompose()]
        least = _ROUNDING * self.size**3
        outer = [shell for shell in shells if shell.volume > least]
        voids = [shell for shell in shells if shell.volume < -least]
        if not outer or len(shells) == 1 + len(voids):
            vars(self)["_is_one"] = True
            return (self,)
        holders = [_holder(void, outer) for void in voids]
        bodies = []
        for index, shell in enumerate(outer):
            mine = [void for void, at in zip(voids, holders, strict=True) if at == index]
            bodies.append(_together([shell, *mine]) if mine else shell)
        return tuple(sorted(bodies, key=lambda body: tuple(body.bounds.round(6).ravel())))

    @cached_property
    def _is_seen_in_one(self) -> bool:
        """Whether all faces of a mesh hang together; the kernel tells more, but takes longer."""
        if self._given is not None:
            return False
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.solid import _mesh_kernels as kernels

        return bool(kernels.is_in_one(self.faces, len(self.vertices)))

    def transformed(self, matrix: ArrayLike) -> Solid:
        """Return the solid moved by a (3, 4) or (4, 4) matrix acting on column vectors."""
        return Solid(self._manifold.transform(np.asarray(matrix, float)[:3, :4]))

    def union(self, *others: Solid) -> Solid:
        """Return this solid and `others` as one."""
        return _batch([self, *others], OpType.Add)

    def difference(self, *others: Solid) -> Solid:
        """Return this solid less `others`."""
        return _batch([self, *others], OpType.Subtract)

    def intersection(self, *others: Solid) -> Solid:
        """Return what this solid shares with `others`; may be empty."""
        return _batch([self, *others], OpType.Intersect)

    def simplified(self, tolerance: float) -> Solid:
        """Return a lighter stand-in whose surface moved by no more than `tolerance` (mm)."""
        lighter = Solid(self._manifold.simplify(tolerance))
        # Anew, since the kernel keeps the tolerance, and cuts would move outlines by as much.
        return _rebuild(lighter.vertices, lighter.faces)

    # -- plane figures --------------------------------------------------------------------
    def section(self, plane: Plane) -> Section:
        """Return the polygons in which `plane` meets the solid.

        Where faces lie in the plane, the section just above it is taken; shift the plane a
        little to get the other side, or use `faces_in` for what lies in the plane itself.
        """
        return self.sections(plane.shifted(-plane.offset), [plane.offset])[0]

    def sections(self, base: Plane, offsets: ArrayLike) -> list[Section]:
        """Return the sections by planes parallel to `base` at `offsets` (k,) mm from it."""
        away = np.asarray(offsets, float)
        found = dict(self.each_section(base, away))
        return [found[offset] for offset in away.tolist()]

    def each_section(self, base: Plane, offsets: ArrayLike) -> Iterator[tuple[float, Section]]:
        """Yield the `offsets` (k,) mm, rising and each once, with the sections there.

        Many together take far less than one by one.
        """
        rising = np.unique(np.asarray(offsets, float)).tolist()
        planes = [base.shifted(offset) for offset in rising]
        rounding = np.array([self._rounding(plane) for plane in planes])
        polygons = mesh_sections(self.vertices, self.faces, planes, rounding)
        for offset, plane, of in zip(rising, planes, polygons, strict=True):
            yield offset, Section(plane, of)

    def _rounding(self, plane: Plane) -> float:
        """Return how near to a plane corners lie in it, mm."""
        return 1e-9 * max(self.size, abs(plane.offset))


def _batch(solids: Sequence[Solid], operation: OpType) -> Solid:
    return Solid(Manifold.batch_boolean([solid._manifold for solid in solids], operation))


def _holder(void: Solid, shells: list[Solid]) -> int:
    """Return the index of the smallest shell around `void`."""
    point = void.vertices[0]
    around = [
        (shell.volume, index)
        for index, shell in enumerate(shells)
        if (shell.bounds[0] <= point).all()
        and (point <= shell.bounds[1]).all()
        and (shell.volume > abs(void.volume))
        and winding_numbers(point[None, :], shell.vertices, shell.faces)[0] > 0.5
    ]
    return min(around)[1] if around else 0


def _together(shells: list[Solid]) -> Solid:
    """Return shells as one solid, voids kept as voids.

    The kernel's own `compose` fills a void as soon as it lies in the box of another shell.
    """
    if not shells:
        return Solid(Manifold())
    counts = np.cumsum([0] + [len(shell.vertices) for shell in shells[:-1]])
    return _rebuild(
        np.vstack([shell.vertices for shell in shells]),
        np.vstack([shell.faces + at for shell, at in zip(shells, counts, strict=True)]),
    )


def _rebuild(vertices: ArrayLike, faces: ArrayLike) -> Solid:
    solid = Solid(manifold_of(vertices, faces))
    vars(solid)["_from_mesh"] = True
    return solid
