"""Supports and loads as lines over the model: triangles and bars that hold, arrows that push."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.output.camera import Ray
from splitplanner.plan import Loading, PointLoad, SpreadLoad, Vector
from splitplanner.solid import Plane, Solid, frame_of
from splitplanner.viewport.bodies import Mesh, Placed, first_hit
from splitplanner.window.chart.load_marks import LoadMark
from splitplanner.window.chart.load_painting import LOAD_COLOUR, SUPPORT_COLOUR

_LONGEST, _SHORTEST = 0.20, 0.08
"""Length of the arrow of the largest and of the smallest force, as shares of the part's size."""
_SUPPORT = 0.045
"""Height of a triangle, as a share of the part's size."""
_BOW = 0.09
_SPREAD = 5
"""A spread load is drawn as so many arrows."""
_UPRIGHT = 0.9
_INSIDE = 1e-3
"""A section at the very end of a part is taken so far inside it, as a share of its length."""


@dataclass(frozen=True, eq=False)
class LoadShape:
    """A support or load as it is drawn.

    Attributes
    ----------
    mark : LoadMark
    axis : (x, y, z)
        Along which it is dragged.
    foot : (x, y, z)
        Where it touches the part, mm.
    lines : tuple of (n, 3) float arrays, mm
    arrows : tuple of (2, 3) float arrays, mm
        From tail to tip.
    areas : tuple of (n, 3) float arrays, mm
        Filled.
    colour : str
    """

    mark: LoadMark
    axis: Vector
    foot: Vector
    lines: tuple[Floats, ...]
    arrows: tuple[Floats, ...]
    areas: tuple[Floats, ...]
    colour: str

    @property
    def plane(self) -> Plane:
        """Square to the axis where it is: it is dragged by its arrow."""
        return Plane(self.axis, self.mark.station)

    @property
    def grip(self) -> Vector:
        """The middle of what it is taken by, mm, so that it goes where the pointer goes."""
        shown = self.areas or self.arrows[len(self.arrows) // 2 :]
        return to_vector(shown[0].mean(axis=0)) if shown else self.foot

    @property
    def far_end(self) -> Vector:
        """Where its name is written: at the tail of an arrow, away from the part."""
        if self.arrows and not self.lines:
            return to_vector(self.arrows[0][0])
        if self.lines and self.arrows:
            return to_vector(self.lines[0][len(self.lines[0]) // 2])
        return to_vector(self.areas[0][2]) if self.areas else self.foot

    def moved_to(self, station: float) -> LoadShape:
        """Return it as it looks while it is in hand at another offset along the axis, mm."""
        way = (station - self.mark.station) * np.array(self.axis)
        lines, arrows, areas = (
            tuple(each + way for each in some) for some in (self.lines, self.arrows, self.areas)
        )
        foot, mark = to_vector(np.array(self.foot) + way), replace(self.mark, station=station)
        return replace(self, mark=mark, foot=foot, lines=lines, arrows=arrows, areas=areas)


class LoadShapes:
    """Draws load cases on a part.

    Parameters
    ----------
    part : Solid
        The part, or a light stand-in.
    """

    def __init__(self, part: Solid) -> None:
        self._part = part
        self._placed = [Placed(Mesh(part.vertices, part.faces), "#000000")]
        self._size = part.size

    def of(self, loading: Loading, marks: Sequence[LoadMark]) -> tuple[LoadShape, ...]:
        """Return how the markers of a load case look on the part."""
        largest = max((_size(load.total) for load in loading.case.loads), default=0.0)
        shapes = []
        for mark in marks:
            if mark.is_support:
                shapes.append(self._support(mark, loading.axis))
            else:
                shapes.append(self._load(mark, loading, largest))
        return tuple(shapes)

    def _support(self, mark: LoadMark, axis: Vector) -> LoadShape:
        """Return the outline of the section, and at its lowest place a triangle or a bar."""
        down = np.array([0.0, 0.0, -1.0]) if abs(axis[2]) < _UPRIGHT else np.array([0.0, -1.0, 0.0])
        along = np.array(axis)
        down = down - (down @ along) * along
        down = down / np.linalg.norm(down)
        rings = self._rings(mark.station, axis)
        corners = np.concatenate(rings) if rings else self._middle(mark.station, axis)[None]
        foot = corners[int((corners @ down).argmax())]
        high = _SUPPORT * self._size
        if mark.kind == "support":
            area = [foot, foot + high * (down + 0.6 * along), foot + high * (down - 0.6 * along)]
        else:
            area = [foot + high * each for each in (
                0.3 * along, 0.3 * along + 1.2 * down, -0.3 * along + 1.2 * down, -0.3 * along
            )]  # fmt: skip
        areas = (np.array(area),)
        return LoadShape(
            mark, axis, to_vector(foot), tuple(rings), (), areas, SUPPORT_COLOUR
        )  # fmt: skip

    def _load(self, mark: LoadMark, loading: Loading, largest: float) -> LoadShape:
        load, axis = loading.case.loads[mark.number], loading.axis
        if isinstance(load, PointLoad) and not any(load.force):
            return self._couple(mark, load, axis)
        force = np.array(load.total)
        size = float(np.linalg.norm(force))
        if size == 0.0:
            here = to_vector(self._middle(mark.station, axis))
            return LoadShape(mark, axis, here, (), (), (), LOAD_COLOUR)
        way = force / size
        length = self._size * (_SHORTEST + (_LONGEST - _SHORTEST) * size / max(largest, size))
        stations = [mark.station]
        if isinstance(load, SpreadLoad) and mark.kind == "spread":
            stations = [float(at) for at in np.linspace(load.start, load.end, _SPREAD)]
        at = load.at if isinstance(load, PointLoad) else None
        arrows = [self._arrow(station, axis, at, way, length) for station in stations]
        lines: tuple[Floats, ...] = ()
        areas: tuple[Floats, ...] = ()
        foot = arrows[len(arrows) // 2][1]
        if mark.kind == "spread":
            lines = (np.array([arrow[0] for arrow in arrows]),)
        elif mark.kind in ("start", "end"):
            # A grip at the tail, so that the tip stays free for all of it.
            foot = arrows[0][0]
            areas = (self._grip(foot, way, axis),)
            arrows = []
        return LoadShape(mark, axis, to_vector(foot), lines, tuple(arrows), areas, LOAD_COLOUR)

    def _couple(self, mark: LoadMark, load: PointLoad, axis: Vector) -> LoadShape:
        """Return three quarters of a circle about the moment, right-handed, with a head."""
        middle = self._middle(mark.station, axis)
        if not any(load.moment):
            return LoadShape(mark, axis, to_vector(middle), (), (), (), LOAD_COLOUR)
        first, second, _ = frame_of(load.moment)
        rings = self._rings(mark.station, axis)
        reach = max((float(np.linalg.norm(ring - middle, axis=1).max()) for ring in rings),
                    default=0.0)  # fmt: skip
        turn = np.linspace(0.0, 1.5 * np.pi, 25)[:, None]
        radius = reach + 0.25 * _BOW * self._size
        bow = middle + radius * (np.cos(turn) * first + np.sin(turn) * second)
        # Long enough for a head.
        arrow = np.array([bow[-4], bow[-1]])
        bow = bow[:-2]
        return LoadShape(mark, axis, to_vector(bow[0]), (bow,), (arrow,), (), LOAD_COLOUR)

    def _arrow(
        self, station: float, axis: Vector, at: Vector | None, way: Floats, length: float
    ) -> Floats:
        """Return an arrow (2, 3) mm whose tip is where a force enters the part."""
        through = self._middle(station, axis)
        if at is not None:
            along = np.array(axis)
            through = np.array(at) + (station - along @ np.array(at)) * along
        start = through - 2.0 * self._size * way
        hit = first_hit(Ray(start, way), self._placed)
        tip = through if hit is None else np.array(hit.point)
        return np.array([tip - length * way, tip])

    def _grip(self, foot: Floats, way: Floats, axis: Vector) -> Floats:
        half = 0.25 * _SUPPORT * self._size
        along = np.array(axis)
        aside = way if abs(float(way @ along)) < _UPRIGHT else frame_of(axis)[0]
        corners = [(1, 1), (1, -1), (-1, -1), (-1, 1)]
        return np.array([foot + half * (one * along + two * aside) for one, two in corners])

    def _rings(self, station: float, axis: Vector) -> list[Floats]:
        """Return the outlines of the section at a station; just inside at the very end."""
        heights = self._part.vertices @ np.array(axis)
        low, high = float(heights.min()), float(heights.max())
        inset = _INSIDE * (high - low)
        inside = min(max(station, low + inset), high - inset)
        rings = self._part.section(Plane(axis, inside)).rings()
        return [ring + (station - inside) * np.array(axis) for ring in rings]

    def _middle(self, station: float, axis: Vector) -> Floats:
        """Return the middle of what is there at a station, (3,) mm."""
        rings = self._rings(station, axis)
        along = np.array(axis)
        if rings:
            corners = np.concatenate(rings)
            middle: Floats = (corners.min(axis=0) + corners.max(axis=0)) / 2
        else:
            middle = self._part.bounds.mean(axis=0)
        return np.asarray(middle + (station - along @ middle) * along)


def _size(force: Vector) -> float:
    return float(np.linalg.norm(force))
