"""Seams between blocks, estimated on the uncut part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Bools, Floats
from splitplanner.plan import Vector
from splitplanner.score import REFERENCE_PIN, SeamFigures
from splitplanner.solid import Plane
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.clipping import clipped
from splitplanner.suggest.estimate.ground import Ground, as_polygons
from splitplanner.suggest.estimate.walls import Wall, Walls, tightest, window_between

_LEAST = 0.01
"""Contact of less than this is none, mm²."""
_NEAR = 0.05
"""A crossing this near to the outline of a body belongs to it, mm."""


@dataclass(frozen=True)
class PinCount:
    """How many dowel pins there is room for, counted up to two."""

    count: int


@dataclass(frozen=True, eq=False)
class SeamEstimate:
    """The numbers of a seam that has not been cut; see `splitplanner.score.criterion`."""

    plane: Plane
    between: tuple[str, str]
    figures: SeamFigures
    deep_room: PinCount
    polygons: tuple[Polygon, ...]

    @property
    def normal(self) -> Vector:
        """Of the cut plane."""
        return self.plane.normal


def estimated_seam(plane: Plane, below: Block, above: Block) -> SeamEstimate | None:
    """Estimate the seam on `plane` between two blocks; None if they do not touch there.

    Parameters
    ----------
    plane : Plane
        A wall of both.
    below, above : Block
        On the side of the plane that their names say.
    """
    walls = _round(plane, below, above)
    window = window_between(plane, walls, below.ground.whole.solid.size)
    if window is None:
        return None
    if not below.ground.whole.section(plane).intersects(window):
        return None
    shape = _shared(below, above, plane, window, deep=False)
    if shape.area < _LEAST:
        return None
    whole = below.ground.whole
    crossing = whole.crossing(plane)
    rows = np.array([wall.row for wall in walls]).reshape(-1, 4)
    segments, owners = clipped(crossing.segments, rows)
    lengths = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1)
    mine = _of_outline(segments, shape, plane, [below.ground, above.ground])
    seen = float(lengths[crossing.seen[owners] & mine].sum())
    length = max(float(shape.length), seen)
    figures = SeamFigures(
        length=length,
        seen_length=seen,
        hidden_length=length - seen,
        inner_length=max(0.0, length - float(lengths[mine].sum())),
        area=float(shape.area),
        outlines=sum(1 + len(part.interiors) for part in shape.geoms),
    )
    pins = PinCount(0)
    if not _wall_behind(plane, walls):
        pins = PinCount(whole.pin_room(_shared(below, above, plane, window, deep=True)))
    return SeamEstimate(plane, ("", ""), figures, pins, tuple(shape.geoms))


def _wall_behind(plane: Plane, walls: Walls) -> bool:
    """Return whether a piece ends at another cut before a pin's hole would."""
    for wall in walls:
        cosine = float(np.dot(wall.plane.normal, plane.normal))
        if abs(cosine) > 1.0 - 1e-9:
            apart = abs(plane.offset - cosine * wall.plane.offset)
            if apart < 2 * REFERENCE_PIN:
                return True
    return False


def _round(plane: Plane, below: Block, above: Block) -> Walls:
    """Return the walls of both blocks but for the plane itself."""
    walls = tightest((*below.walls, *below.before, *above.walls, *above.before))
    return tuple(wall for wall in walls if wall.plane != plane)


def _shared(below: Block, above: Block, plane: Plane, window: Polygon, deep: bool) -> MultiPolygon:
    """Return the section within the window that both blocks have."""
    shapes = [_footprint(below, Wall(plane, -1), deep)]
    if above.ground is not below.ground or Wall(plane, 1) not in above.walls:
        shapes.append(_footprint(above, Wall(plane, 1), deep))
    return as_polygons(shapely.intersection_all([*shapes, window]))


def _footprint(block: Block, wall: Wall, deep: bool) -> MultiPolygon:
    """Return where the body of a block meets one of its walls, or goes on for a pin's depth."""
    if wall in block.walls:
        ground = block.ground
        return ground.deep_section(wall.plane) if deep else ground.section(wall.plane)
    # The body fell off at this wall, and has material on its own side only.
    return block.ground.deep_cap(wall) if deep else block.ground.cap(wall)


def _of_outline(
    segments: Floats, shape: MultiPolygon, plane: Plane, grounds: list[Ground]
) -> Bools:
    """Return which crossings of the part belong to the contact of two bodies."""
    if all(ground.parent is None for ground in grounds):
        return np.ones(len(segments), dtype=np.bool_)
    middles = shapely.points(plane.to_plane(segments.mean(axis=1)))
    return np.asarray(shapely.dwithin(shapely.boundary(shape), middles, _NEAR))
