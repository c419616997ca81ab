"""Seams between blocks, estimated on the uncut part."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Bools, Floats
from splitplanner.plan import Vector
from splitplanner.score import REFERENCE_PIN
from splitplanner.score.figures import seam_reach
from splitplanner.solid import Plane, Section
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.contacts import Contact
from splitplanner.suggest.estimate.ground import Ground, as_polygons
from splitplanner.suggest.estimate.walls import Wall, Walls, tightest, window_between

_LEAST = 0.01
"""Contact of less than this is none, mm²."""
_NEAR = 0.05
"""A crossing this near to the outline of a body belongs to it, mm."""


@dataclass(frozen=True, eq=False)
class PinRoom:
    """The room for dowel pins in a contact between walls, looked for when first asked for."""

    contact: Contact
    walls: Walls

    @cached_property
    def count(self) -> int:
        """How many pins there is room for, counted up to two."""
        hemmed_in = _wall_behind(self.contact.plane, self.walls)
        return 0 if hemmed_in else self.contact.pins(self.walls)


@dataclass(frozen=True, eq=False)
class ContactWithin:
    """What of a contact lies within walls, found when first asked for."""

    contact: Contact
    walls: Walls

    @cached_property
    def section(self) -> Section:
        """Its polygons."""
        shape, plane = self.contact.shape, self.contact.plane
        window = window_between(plane, self.walls, float(np.abs(shape.bounds).max()))
        assert window is not None
        return Section(plane, tuple(as_polygons(shape.intersection(window)).geoms))


@dataclass(frozen=True)
class PinCount:
    """A number of dowel pins there is room for."""

    count: int


AMPLE = PinCount(2)
"""Room enough for any seam."""


@dataclass(frozen=True)
class SeamSize:
    """The lengths (mm) and the area (mm²) of a seam; see `splitplanner.score.SeamFigures`."""

    length: float
    seen_length: float
    hidden_length: float
    inner_length: float
    area: float


@dataclass(frozen=True, eq=False)
class SeamEstimate:
    """The numbers of a seam that has not been cut; see `splitplanner.score.criterion`."""

    plane: Plane
    between: tuple[str, str]
    figures: SeamSize
    deep_room: PinRoom | PinCount
    within: ContactWithin

    @property
    def normal(self) -> Vector:
        """Of the cut plane."""
        return self.plane.normal

    @property
    def polygons(self) -> tuple[Polygon, ...]:
        """The contact, in plane mm."""
        return self.within.section.polygons

    def reach(self, axis: Vector) -> tuple[float, float]:
        """Return from where to where the seam reaches along a unit `axis`, mm."""
        return seam_reach(self.plane, axis, lambda: self.within.section)


@dataclass(eq=False)
class Contacts:
    """Finds the seams between blocks of one part; what it worked out for a plane it remembers.

    Attributes
    ----------
    whole : Ground
        Of the uncut part.
    """

    whole: Ground
    _known: dict[tuple[object, ...], Contact] = field(default_factory=dict)

    def seam(self, plane: Plane, below: Block, above: Block) -> SeamEstimate | None:
        """Estimate the seam on `plane` between two blocks; None if they do not touch there.

        Parameters
        ----------
        plane : Plane
            A wall of both.
        below, above : Block
            On the side of the plane that their names say.
        """
        walls = _round(plane, below, above)
        contact = self._contact(plane, below, above)
        size = contact.within(walls)
        if size.area < _LEAST:
            return None
        length = max(size.length, size.seen_length)
        figures = SeamSize(
            length=length,
            seen_length=size.seen_length,
            hidden_length=length - size.seen_length,
            inner_length=max(0.0, length - size.surface_length),
            area=size.area,
        )
        room = PinRoom(contact, walls)
        return SeamEstimate(plane, ("", ""), figures, room, ContactWithin(contact, walls))

    def _contact(self, plane: Plane, below: Block, above: Block) -> Contact:
        """Return where the bodies of two blocks touch in a plane, whatever else divides them."""
        feet = [_Foot(below.ground, Wall(plane, -1), Wall(plane, -1) in below.walls)]
        other = _Foot(above.ground, Wall(plane, 1), Wall(plane, 1) in above.walls)
        if not (other.goes_on and other.ground is below.ground):
            feet.append(other)
        key = (plane, *((id(foot.ground), foot.goes_on) for foot in feet))
        if key not in self._known:
            self._known[key] = self._made(plane, feet)
        return self._known[key]

    def _made(self, plane: Plane, feet: list[_Foot]) -> Contact:
        shape = _common([foot.shape for foot in feet])
        crossing = self.whole.crossing(plane)
        flat = plane.to_plane(crossing.segments.reshape(-1, 3)).reshape(-1, 4)
        outward = plane.to_plane(self.whole.solid.face_normals[crossing.faces])
        flat, seen = _material_left(flat, outward), crossing.seen
        if not all(foot.ground is self.whole for foot in feet):
            mine = _of_outline(flat, shape)
            flat, seen = flat[mine], seen[mine]
        edge = self.whole.printer.edge_distance(REFERENCE_PIN)
        return Contact(
            plane, shape, flat, seen, lambda: _common([foot.deep_shape for foot in feet]), edge
        )


@dataclass(frozen=True, eq=False)
class _Foot:
    """The body of a block at one of its walls.

    Attributes
    ----------
    ground : Ground
    wall : Wall
    goes_on : bool
        Whether it has material beyond the wall too; a body that fell off there has none.
    """

    ground: Ground
    wall: Wall
    goes_on: bool

    @property
    def shape(self) -> MultiPolygon:
        """Where the body meets the wall."""
        ground, wall = self.ground, self.wall
        return ground.section(wall.plane) if self.goes_on else ground.cap(wall)

    @property
    def deep_shape(self) -> MultiPolygon:
        """What of it goes on for a pin's depth."""
        ground, wall = self.ground, self.wall
        return ground.deep_section(wall.plane) if self.goes_on else ground.deep_cap(wall)


def _common(shapes: list[MultiPolygon]) -> MultiPolygon:
    return shapes[0] if len(shapes) == 1 else as_polygons(shapely.intersection_all(shapes))


def _wall_behind(plane: Plane, walls: Walls) -> bool:
    """Return whether a piece ends at another cut before a pin's hole would."""
    for wall in walls:
        (a, b, c), (d, e, f) = wall.plane.normal, plane.normal
        cosine = a * d + b * e + c * f
        if abs(cosine) > 1.0 - 1e-9:
            apart = abs(plane.offset - cosine * wall.plane.offset)
            if apart < 2 * REFERENCE_PIN:
                return True
    return False


def _round(plane: Plane, below: Block, above: Block) -> Walls:
    """Return the walls of both blocks but for the plane itself."""
    walls = tightest((*below.walls, *below.before, *above.walls, *above.before))
    return tuple(wall for wall in walls if wall.plane != plane)


def _material_left(segments: Floats, outward: Floats) -> Floats:
    """Turn segments (k, 4) round where they have the side (k, 2) that looks outward on the left."""
    along = segments[:, 2:] - segments[:, :2]
    wrong = along[:, 1] * outward[:, 0] < along[:, 0] * outward[:, 1]
    return np.where(wrong[:, None], segments[:, [2, 3, 0, 1]], segments)


def _of_outline(segments: Floats, shape: MultiPolygon) -> Bools:
    """Return which crossings (k, 4) of the part belong to the contact of two bodies."""
    middles = shapely.points(0.5 * (segments[:, :2] + segments[:, 2:]))
    return np.asarray(shapely.dwithin(shapely.boundary(shape), middles, _NEAR))
