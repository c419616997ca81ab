"""What is measured on the surface of a part and its pieces, remembered from plan to plan."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import replace
from functools import partial
from typing import Any, TypeVar

from splitplanner.arrays import Bools
from splitplanner.progress import Report, silent
from splitplanner.score.figures import Figures
from splitplanner.score.good_side_figures import GoodSideFigures, good_side_figures
from splitplanner.score.wall_figures import WallFigures
from splitplanner.score.wall_lines import WallLines, thick_enough_for, wall_lines
from splitplanner.solid import Solid, Thickness, thickness
from splitplanner.workshop import Printer

_REMEMBERED = 64
"""Figures of so many solids are kept."""
_Found = TypeVar("_Found")


class Surfaces:
    """Thickness of walls, and what pieces have on the good side, in plans of one part.

    Solids are known by the objects that they are: plans that share a piece have to share its solid.
    """

    def __init__(self) -> None:
        self._seen: Bools | None = None
        self._good: dict[Hashable, Any] = {}
        self._thick: dict[Hashable, Any] = {}
        self._lines: dict[Hashable, Any] = {}
        self._sampled: dict[Hashable, Any] = {}
        self._short: dict[Hashable, Any] = {}

    def thickness(self, solid: Solid, printer: Printer, report: Report = silent) -> Thickness:
        """Return how thick the part or a piece is, up to what matters to `wall_lines`."""
        most = thick_enough_for(printer)
        return _known(
            self._thick, (solid, most), lambda: thickness(solid, most=most, report=report)
        )

    def wall_lines(self, solid: Solid, printer: Printer, report: Report = silent) -> WallLines:
        """Return how the walls of the part or of a piece come out in whole printed lines."""
        return _known(
            self._lines,
            (solid, printer.nozzle, printer.line_width, printer.wall_lines),
            lambda: wall_lines(self.thickness(solid, printer, report), printer),
        )

    def walls(self, solid: Solid, printer: Printer, report: Report = silent) -> WallFigures:
        """Return the same in short, by points evenly over the surface: quicker for a fine mesh."""
        most = thick_enough_for(printer)
        thick = _known(
            self._sampled,
            (solid, most),
            lambda: thickness(solid, most=most, every_face=False, report=report),
        )
        return _known(
            self._short,
            (solid, printer.nozzle, printer.line_width, printer.wall_lines),
            lambda: wall_lines(thick, printer).in_short,
        )

    def good_sides(self, figures: Figures, report: Report = silent) -> tuple[GoodSideFigures, ...]:
        """Return what each piece of a plan has on the good side.

        As `splitplanner.score.good_sides`.
        """
        seen, printer = figures.good_side, figures.printer
        if seen is not self._seen:
            # One is worked with at a time.
            self._seen = seen
            self._good.clear()
        found = []
        for index, row in enumerate(figures.pieces):
            report(
                index / len(figures.pieces), f"looking at the good side of piece {row.piece.number}"
            )
            alone = _known(
                self._good,
                (row.piece.solid, row.up, printer),
                partial(good_side_figures, row, figures.part, seen, printer),
            )
            seams = (each for each in figures.seams if row.name in each.between)
            length = sum(each.figures.seen_length for each in seams)
            found.append(replace(alone, name=row.name, seam=float(length)))
        return tuple(found)


def _known(kept: dict[Hashable, Any], key: Hashable, found: Callable[[], _Found]) -> _Found:
    """Return what is kept, or find it out and keep it in place of what has been there longest."""
    if key not in kept:
        value = found()
        while len(kept) >= _REMEMBERED:
            del kept[next(iter(kept))]
        kept[key] = value
    result: _Found = kept[key]
    return result
