"""How walls come out in whole printed lines, and which line width or thickness would suit them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.findings import Finding
from splitplanner.score.line_widths import (
    FINEST,
    TOLERANCE,
    WIDEST,
    LineRule,
    LineWidths,
    line_widths,
)
from splitplanner.score.wall_figures import ThinWalls, WallFigures, WallRow
from splitplanner.solid import Thickness, WallKind
from splitplanner.workshop import Printer

_BIN = 0.1
_ALIKE = 0.02
"""Walls whose thickness differs by no more than this share are one in the list of walls."""
_LEAST_SHARE = 0.01
_ROWS = 8
_PLACES = 20
_THICK = 20.0
"""Thicker walls are solid figures, mm."""


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
        Wall area by thickness. What is thicker than the last edge is not in it.
    walls : tuple of WallRow
        The thicknesses that make up most of the walls, the largest area first.
    widths : LineWidths
        How much would be whole at any other line width, and the best one.
    best_off : float
        Share of all walls that would be off at the best one, 0 to 1.
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
    best_off: float
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

    @cached_property
    def in_short(self) -> WallFigures:
        """What is told of them, without the figures of single faces."""
        return WallFigures(
            line_width=self.line_width,
            tolerance=self.rule.tolerance * self.line_width,
            lines=self.rule.lines,
            area=self.area,
            off=self.off,
            filled=self.filled,
            thin=self.thin,
            walls=self.walls,
            best_line_width=self.best_line_width,
            best_off=self.best_off,
            edges=self.edges,
            histogram=self.histogram,
        )

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Walls thinner than one line, and walls between two whole numbers of lines."""
        return self.in_short.findings


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
    widths = line_widths(values, areas, between, rule, wanted=width)
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
        widths=widths,
        best_off=_share(areas, rule.nearest(values, widths.best).off),
        face_gaps=_face_gaps(found.face_walls, rule, width),
    )


def thick_enough_for(printer: Printer) -> float:
    """Return up to what thickness walls have to be measured for `wall_lines`, mm.

    Beyond it there is filler, whatever the line width. One value for all usual printers, so that
    what was measured for one does for another.
    """
    widest = max(printer.line_width, WIDEST * printer.nozzle)
    return max(_THICK, (2 * printer.wall_lines + 2) * widest)


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
