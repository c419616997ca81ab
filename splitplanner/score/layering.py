"""The layers of a print, without slicing it: what is laid down in each, and where."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Bools, Floats, Ints, unit_vector
from splitplanner.score.islands import layer_count
from splitplanner.solid import Solid
from splitplanner.solid.plane import frame_of
from splitplanner.solid.section import polygons_from_rings
from splitplanner.workshop import Printer

MOST_CROSSINGS = 6_000_000
"""Where layers and faces cross more often than this, fewer layers are looked at, and the others are
interpolated."""
INSETS = 60
"""Walls are worked out in twice as many layers at most; in the others they are interpolated."""


@dataclass(frozen=True, eq=False)
class Layering:
    """All layers of a print, from the bed up; arrays (k,) are read-only.

    Attributes
    ----------
    thickness : float
        Of each layer, mm: the height of the print, shared out evenly.
    heights : float array, mm
        Of the middles of the layers above the bed, where they are cut.
    areas, perimeters : float array, mm² and mm
        All that is inside the outlines, and the length of these, those of holes with them.
    islands : int array
        Outlines round what is at least a dot as wide as a line; holes do not count.
    travels : float array, mm
        From the middle of one island to that of the next, each time to the nearest.
    outer_walls, walls : float array, mm²
        What is nearer to an outline than one line is wide, and nearer than all wall lines are.
    solid : float array, mm²
        Within the walls, printed solid, since it is open to above or below some layers on.
    open_above, open_below : float array, mm²
        What the next layer does not cover, and what the layer before does not carry.
    looked_at : int
        Layers whose outlines were followed; the others are interpolated.
    """

    thickness: float
    heights: Floats
    areas: Floats
    perimeters: Floats
    islands: Ints
    travels: Floats
    outer_walls: Floats
    walls: Floats
    solid: Floats
    open_above: Floats
    open_below: Floats
    looked_at: int

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    @property
    def layers(self) -> int:
        """How many there are."""
        return len(self.heights)

    @property
    def filling(self) -> Floats:
        """What is left for infill, (k,) mm²."""
        rest: Floats = self.areas - self.walls - self.solid
        return rest

    @property
    def volume(self) -> float:
        """All layers together, mm³; that of the solid, but for steps."""
        return float(self.areas.sum()) * self.thickness

    @property
    def crossings(self) -> int:
        """Travels from island to island in the whole print; see `islands`."""
        return int(np.maximum(self.islands - 1, 0).sum())


def layering(solid: Solid, up: ArrayLike, printer: Printer) -> Layering:
    """Work out the layers of `solid` when it is printed with `up` upward, without supports.

    A layer is the section at half its height. Area, perimeter and islands are those of its
    outlines, which are followed from face to face (Green's theorem); no polygons are made.

    Walls are as wide as all lines of a wall side by side. Up to twice `INSETS` layers, the more of
    them where areas and perimeters change, are shrunk by that width; between these the area of the
    walls for each mm of outline is interpolated.

    Solid layers are as much of a layer as the surface within so many layers above looks up, or
    within so many below looks down, as seen from above. Of a slope the walls cover a strip as wide
    as they are. A flat step is taken whole, so along its edge the walls are counted twice; and so
    is what is within reach of above and below at once, up to all that is within the walls.

    Where more than `MOST_CROSSINGS` segments would have to be followed, fewer layers are, evenly
    spaced.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    printer : Printer
        Layer height, line width, lines of a wall, solid layers.

    Raises
    ------
    ValueError
        If `up` has no length.
    """
    frame = frame_of(unit_vector(up))
    corners = solid.vertices @ frame.T
    flat, heights = np.ascontiguousarray(corners[:, :2]), np.ascontiguousarray(corners[:, 2])
    heights -= heights.min()
    layers = layer_count(float(heights.max()), printer.layer_height)
    thickness = float(heights.max()) / layers
    middles: Floats = thickness * (np.arange(layers, dtype=np.float64) + 0.5)
    mesh = _Mesh(flat, heights, solid.faces, solid.neighbours, middles)
    areas, perimeters, travels, islands = mesh.outlines(printer.line_width)
    outer, walls = mesh.walls(areas, perimeters, printer)
    above, below, inside = mesh.openings(thickness, printer)
    result = [mesh.at_all(each, middles) for each in (areas, perimeters, travels, outer, walls)]
    areas, perimeters, travels, outer, walls = result
    solid_areas = np.clip(inside, 0.0, areas - walls)
    nearest = np.searchsorted(mesh.levels[:-1] + np.diff(mesh.levels) / 2, middles)
    return Layering(
        thickness, middles, areas, perimeters, islands[nearest], travels, outer, walls, solid_areas,
        above, below, len(mesh.levels),
    )  # fmt: skip


class _Mesh:
    """A closed mesh as it stands on the bed, and the levels that it is cut at.

    Parameters
    ----------
    flat, heights : (n, 2) and (n,) float arrays, mm
        The corners from above, and above the bed.
    faces, beyond : (m, 3) int arrays
        See `Solid.faces` and `Solid.neighbours`.
    middles : (k,) float array, mm
        Of all layers.
    """

    def __init__(
        self, flat: Floats, heights: Floats, faces: Ints, beyond: Ints, middles: Floats
    ) -> None:
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.score import _layering_kernels as kernels

        self._kernels: Any = kernels
        self._flat, self._heights, self._faces, self._beyond = flat, heights, faces, beyond
        self._middles = self.levels = middles
        self._spans = kernels.spans(heights, faces, self.levels)
        crossings = int(np.diff(self._spans, axis=1).sum())
        if crossings > MOST_CROSSINGS and len(middles) > 2:
            count = max(2, len(middles) * MOST_CROSSINGS // crossings)
            self.levels = np.linspace(middles[0], middles[-1], count)
            self._spans = kernels.spans(heights, faces, self.levels)
        self._crossed, self._begins = kernels.by_level(self._spans, len(self.levels))

    def _follow(self, followed: Bools, is_kept: bool, width: float) -> Any:
        return self._kernels.outlines(
            self._flat, self._heights, self._faces, self._beyond, self._crossed, self._begins,
            self.levels, followed, is_kept, math.pi / 4 * width**2,
        )  # fmt: skip

    def outlines(self, width: float) -> tuple[Floats, Floats, Floats, Ints]:
        """Return areas, perimeters, travels and islands at all levels; lines are `width` wide."""
        found = self._follow(np.ones(len(self.levels), dtype=np.bool_), False, width)
        areas, perimeters, travels, islands = found[:4]
        return np.maximum(areas, 0.0), perimeters, travels, islands

    def walls(self, areas: Floats, perimeters: Floats, printer: Printer) -> tuple[Floats, Floats]:
        """Return how much of each level the outermost lines take, and all wall lines, mm²."""
        chosen = _telling(areas, perimeters, INSETS)
        followed = np.zeros(len(self.levels), dtype=np.bool_)
        followed[chosen] = True
        points, ends, owners = self._follow(followed, True, printer.line_width)[4:]
        rings = np.split(points, ends[:-1])
        firsts = np.searchsorted(owners, chosen)
        lasts = np.searchsorted(owners, chosen, side="right")
        every_shape = [
            _shape(rings[first:last], area)
            for first, last, area in zip(firsts, lasts, areas[chosen], strict=True)
        ]
        chosen = chosen[[shape is not None for shape in every_shape]]
        shapes = [shape for shape in every_shape if shape is not None]
        found = []
        widths = (printer.line_width, printer.wall_lines * printer.line_width)
        if not shapes:
            return np.minimum(perimeters * widths[0], areas), np.minimum(
                perimeters * widths[1], areas
            )
        for width in widths:
            kept = shapely.area(shapely.buffer(shapes, -width, join_style="mitre"))
            per_mm = (areas[chosen] - kept) / np.maximum(perimeters[chosen], 1e-12)
            every = np.interp(np.arange(len(areas)), chosen, per_mm) * perimeters
            found.append(np.clip(every, 0.0, areas))
        return found[0], found[1]

    def openings(self, thickness: float, printer: Printer) -> tuple[Floats, Floats, Floats]:
        """Return what is open above, and below, and solid for it, in each layer, (k,) mm²."""
        count = np.array([printer.top_layers, printer.bottom_layers])
        every, inside = self._kernels.open_areas(
            self._flat, self._heights, self._faces, self._spans, self.levels, thickness * count,
            printer.wall_lines * printer.line_width,
        )  # fmt: skip
        every, inside = self._in_bands(every), self._in_bands(inside)
        above, below = every[0, 1:], every[1, :-1]
        # A window of so many bands: of those that end above, or begin below.
        up, down = (np.concatenate([[0.0], np.cumsum(bands)]) for bands in inside)
        layer = np.arange(len(self._middles))
        top = up[np.minimum(layer + 1 + count[0], len(up) - 1)] - up[layer + 1]
        bottom = down[layer + 1] - down[np.maximum(layer + 1 - count[1], 0)]
        return above.copy(), below.copy(), top + bottom

    def _in_bands(self, sums: Floats) -> Floats:
        """Return what was added up between levels (2, l + 1) shared out to bands of layers."""
        if self.levels is self._middles:
            return sums
        ends = np.concatenate([[0.0], self.levels, [self._heights.max()]])
        wanted = np.concatenate([[0.0], self._middles, [self._heights.max()]])
        upto = np.concatenate([np.zeros((2, 1)), np.cumsum(sums, axis=1)], axis=1)
        return np.diff([np.interp(wanted, ends, each) for each in upto], axis=1)

    def at_all(self, values: Floats, middles: Floats) -> Floats:
        """Return values at the levels interpolated to all `middles` of layers."""
        if self.levels is self._middles:
            return values
        return np.interp(middles, self.levels, values)


def _shape(rings: list[Floats], area: float) -> MultiPolygon | None:
    """Return what is inside outlines round `area` (mm²); None where they are too entangled."""
    shape = MultiPolygon(polygons_from_rings(rings))
    return shape if abs(shape.area - area) <= 1e-6 * area + 1e-3 else None


def _telling(areas: Floats, perimeters: Floats, count: int) -> Ints:
    """Return up to twice `count` levels, rising: the more, the more changes there.

    Where there is a jump, the level before and the one after.
    """
    change = np.full(len(areas), 1.0 / len(areas))
    for values in (areas, perimeters):
        change[1:] += np.abs(np.diff(values)) / max(float(values.max()), 1e-12)
    way = np.cumsum(change)
    after = np.searchsorted(way, np.linspace(way[0], way[-1], count))
    after = np.minimum(after, len(areas) - 1)
    both = np.concatenate([after, np.maximum(after - 1, 0), [0, len(areas) - 1]])
    result: Ints = np.unique(both).astype(np.int64)
    return result
