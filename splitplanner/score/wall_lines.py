"""How walls come out in whole printed lines, and which line width or thickness would suit them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.findings import Finding, Severity
from splitplanner.score.line_widths import (
    FINEST,
    TOLERANCE,
    WIDEST,
    LineRule,
    LineWidths,
    line_widths,
)
from splitplanner.solid import Thickness, WallKind
from splitplanner.workshop import Printer

_BIN = 0.1
_ALIKE = 0.02
"""Walls whose thickness differs by no more than this share are one in the list of walls."""
_LEAST_SHARE = 0.01
_ROWS = 8
_PATCH = 4.0
"""What is too thin counts from this area on, mm²; less is rounding and corners."""
_PLACES = 20


@dataclass(frozen=True, eq=False)
class WallRow:
    """Walls of one thickness.

    Attributes
    ----------
    thickness : float
        mm; the median over their area.
    area : float
        Of both their sides, mm².
    share : float
        Of all wall area, 0 to 1.
    lines : float
        How many lines they are thick.
    whole : int
        The whole number of lines to print them with.
    is_off : bool
        Whether that differs by more than the tolerance, and there is no room for filler instead.
    model : float
        How thick to model them so that these lines fit, mm; as they are where there is filler.
    places : (k, 3) float array, mm
        At most 20 points on them.
    """

    thickness: float
    area: float
    share: float
    lines: float
    whole: int
    is_off: bool
    model: float
    places: Floats


@dataclass(frozen=True, eq=False)
class ThinWalls:
    """Walls thinner than one line, by more than the tolerance.

    Attributes
    ----------
    share : float
        Of all wall area, 0 to 1.
    thinnest : float
        mm; inf where there are none.
    places : (k, 3) float array, mm
        At most 20 points on them.
    """

    share: float
    thinnest: float
    places: Floats


@dataclass(frozen=True, eq=False)
class WallLines:
    """Walls against printed lines; get it with `wall_lines`.

    Rims, corners and junctions are no walls, and not counted; walls that taper are.

    Attributes
    ----------
    line_width : float
        mm.
    rule : LineRule
        What suits lines, and the tolerance.
    area : float
        Of all walls, both sides, mm².
    off : float
        Share of it that is off by more than the tolerance, 0 to 1.
    filled : float
        Share of it with room for filler between the lines, 0 to 1; never off.
    thin : ThinWalls
    edges : (k + 1,) float array, mm
        Of the bars of the histogram.
    histogram : (k,) float array, mm²
        WallRow area by thickness. What is thicker than the last edge is not in it.
    walls : tuple of WallRow
        The thicknesses that make up most of the walls, the largest area first.
    widths : LineWidths
        How much would be whole at any other line width, and the best one.
    face_gaps : (m,) float array, mm
        By how much each face's wall is thicker than its lines, less than 0 for thinner; 0 with
        filler, nan where there is no wall. To be drawn.
    """

    line_width: float
    rule: LineRule
    area: float
    off: float
    filled: float
    thin: ThinWalls
    edges: Floats
    histogram: Floats
    walls: tuple[WallRow, ...]
    widths: LineWidths
    face_gaps: Floats

    @property
    def best_line_width(self) -> float:
        """The line width at which the most wall area is a whole number of lines, mm."""
        return self.widths.best

    @cached_property
    def face_off(self) -> Bools:
        """Which faces are of walls that are off by more than the tolerance, (m,)."""
        off: Bools = np.abs(self.face_gaps) > self.rule.tolerance * self.line_width * (1.0 + 1e-9)
        off.setflags(write=False)
        return off

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Walls thinner than one line, and walls between two whole numbers of lines."""
        return (*self._too_thin(), *(self._between(wall) for wall in self.walls if wall.is_off))

    def _too_thin(self) -> Iterator[Finding]:
        area = self.thin.share * self.area
        if area >= _PATCH:
            yield Finding(
                "walls.thin",
                Severity.WARNING,
                f"Over {area:.0f} mm² walls are thinner than one line of {self.line_width:g} mm, "
                f"{self.thin.thinnest:.2f} mm at the thinnest, and come out with gaps or not at "
                f"all; model them {(self.rule.lines or 1) * self.line_width:.2f} mm thick.",
                where=self.thin.places,
                measured=self.thin.thinnest,
                allowed=self.line_width,
                unit="mm",
            )

    def _between(self, wall: WallRow) -> Finding:
        ways = f"model them {wall.model:.2f} mm thick"
        if not self.rule.nearest(np.array([wall.thickness]), self.best_line_width).off[0]:
            ways = f"print them with lines of {self.best_line_width:.2f} mm, or {ways}"
        wanted = "" if self.rule.lines is None else f" and not {self.rule.lines}"
        return Finding(
            "walls.between_lines",
            Severity.WARNING,
            f"Walls of {wall.thickness:.2f} mm, {100 * wall.share:.0f} % of all walls, are "
            f"{wall.lines:.1f} lines of {self.line_width:g} mm thick{wanted}; {ways}.",
            where=wall.places,
            measured=wall.thickness,
            allowed=wall.model,
            unit="mm",
        )


def wall_lines(
    found: Thickness, printer: Printer, *, lines: int | None = None, tolerance: float = TOLERANCE
) -> WallLines:
    """Hold the walls of a solid against printed lines.

    A wall whose thickness is no whole number of lines is printed with a gap in it, or with more
    than there is room for. Where there is filler between the lines it does not matter: that is
    from a line and a half on between the lines of both sides (`Printer.wall_lines` each).

    Thickness is taken square to the wall. In a wall that leans in the print there is room for
    more, by 1 / cos of the lean; that depends on how a piece lies and is not counted.

    Parameters
    ----------
    found : Thickness
        Measured up to two lines more than a wall has without filler, at least.
    printer : Printer
        Its nozzle, line width, and how many lines a wall has on either side.
    lines : int, optional
        So many lines every wall should have, such as 2 for a shell without filler; any whole number
        will do otherwise.
    tolerance : float
        As share of a line, above 0 and below 0.5.

    Raises
    ------
    WorkshopError
        If the tolerance or the number of lines makes no sense.
    """
    rule, width = LineRule(2 * printer.wall_lines, lines, tolerance), printer.line_width
    chosen = np.flatnonzero(found.kinds <= WallKind.TAPER)
    values, areas = found.values[chosen], found.areas[chosen]
    area = float(areas.sum())
    near = rule.nearest(values, width)
    edges, histogram = _histogram(values, areas, (rule.most + 2) * width)
    between = FINEST * printer.nozzle, WIDEST * printer.nozzle
    return WallLines(
        line_width=width,
        rule=rule,
        area=area,
        off=_share(areas, near.off),
        filled=_share(areas, near.filled),
        thin=_thin(found, chosen, width * (1.0 - tolerance) - 1e-9),
        edges=edges,
        histogram=histogram,
        walls=_walls(found, chosen, rule, width),
        widths=line_widths(values, areas, between, rule, wanted=width),
        face_gaps=_face_gaps(found.face_walls, rule, width),
    )


def _share(areas: Floats, some: Bools) -> float:
    return float(areas[some].sum()) / max(float(areas.sum()), 1e-300)


def _thin(found: Thickness, chosen: Ints, least: float) -> ThinWalls:
    values = found.values[chosen]
    thin = chosen[values < least]
    return ThinWalls(
        share=_share(found.areas[chosen], values < least),
        thinnest=float(found.values[thin].min(initial=np.inf)),
        places=_places(found, thin),
    )


def _histogram(values: Floats, areas: Floats, end: float) -> tuple[Floats, Floats]:
    """Return edges and areas of bars round tenths of a mm, so that no usual wall is on an edge."""
    edges = (np.arange(int(np.ceil(end / _BIN)) + 2) - 0.5) * _BIN
    edges[0] = 0.0
    counted, _ = np.histogram(values, bins=edges, weights=areas)
    return frozen_floats(edges), frozen_floats(counted)


def _face_gaps(values: Floats, rule: LineRule, width: float) -> Floats:
    is_wall = np.isfinite(values)
    gaps = np.full(len(values), np.nan)
    gaps[is_wall] = rule.nearest(values[is_wall], width).gaps
    return frozen_floats(gaps)


def _walls(found: Thickness, chosen: Ints, rule: LineRule, width: float) -> tuple[WallRow, ...]:
    """Return the thicknesses that make up most of the walls; tapers have none."""
    area = float(found.areas[chosen].sum())
    rows: list[WallRow] = []
    left = chosen[found.kinds[chosen] == WallKind.WALL]
    left = left[np.argsort(found.values[left], kind="stable")]
    while len(left) and len(rows) < _ROWS:
        thickness = _most_common(found.values[left], found.areas[left])
        own = np.abs(found.values[left] - thickness) <= _ALIKE * thickness
        size = float(found.areas[left[own]].sum())
        if size < _LEAST_SHARE * area:
            break
        row = _wall(thickness, size, rule, width)
        rows.append(replace(row, share=size / area, places=_places(found, left[own])))
        left = left[~own]
    return tuple(sorted(rows, key=lambda row: -row.area))


def _wall(thickness: float, area: float, rule: LineRule, width: float) -> WallRow:
    near = rule.nearest(np.array([thickness]), width)
    whole = int(near.counts[0])
    return WallRow(
        thickness=thickness,
        area=area,
        share=1.0,
        lines=thickness / width,
        whole=whole,
        is_off=bool(near.off[0]),
        model=thickness if near.filled[0] else whole * width,
        places=frozen_floats(np.empty((0, 3))),
    )


def _most_common(values: Floats, areas: Floats) -> float:
    """Return the thickness that the most area has within `_ALIKE`; `values` rise."""
    total = np.append(0.0, np.cumsum(areas))
    stop = np.searchsorted(values, values * (1.0 + _ALIKE), side="right")
    start = int((total[stop] - total[:-1]).argmax())
    half = (total[start] + total[stop[start]]) / 2
    return float(values[np.searchsorted(total, half) - 1])


def _places(found: Thickness, some: Ints) -> Floats:
    """Return at most `_PLACES` of some points, spread evenly over their area, (k, 3) mm."""
    if not len(some):
        return frozen_floats(np.empty((0, 3)))
    total = np.cumsum(found.areas[some])
    steps = (np.arange(_PLACES) + 0.5) / _PLACES * total[-1]
    return frozen_floats(found.points[some[np.unique(np.searchsorted(total, steps))]])
