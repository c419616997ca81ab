"""What is told of walls against printed lines: how much is off, and what would suit them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity

LITTLE = 0.02
"""Less than this share of all walls off by more than the tolerance is nothing to tell of."""
_PATCH = 4.0
"""What is too thin counts from this area on, mm²; less is rounding and corners."""
_GAINS = 0.01
"""Another line width is advised where it makes more than this share of all walls whole."""
_NAMED = 3
"""So many thicknesses are named in a sentence."""


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
class WallFigures:
    """Walls against printed lines in short: all of `WallLines` that is not of single faces.

    Attributes
    ----------
    line_width, tolerance : float
        mm.
    lines : int or None
        So many lines every wall should have; None where any whole number will do.
    area : float
        Of all walls, both sides, mm².
    off, filled : float
        Shares of it that are off by more than the tolerance, and that have room for filler.
    thin : ThinWalls
    walls : tuple of WallRow
        The thicknesses that make up most of the walls, the largest area first.
    best_line_width : float
        The line width at which the most wall area is a whole number of lines, mm.
    best_off : float
        Share that is off at it, 0 to 1.
    edges : (k + 1,) float array, mm
        Of the bars of the histogram.
    histogram : (k,) float array, mm²
        Wall area by thickness. What is thicker than the last edge is not in it.
    """

    line_width: float
    tolerance: float
    lines: int | None
    area: float
    off: float
    filled: float
    thin: ThinWalls
    walls: tuple[WallRow, ...]
    best_line_width: float
    best_off: float
    edges: Floats
    histogram: Floats

    @property
    def has_better_width(self) -> bool:
        """Whether another line width makes more of the walls whole."""
        return self.best_off < self.off - _GAINS

    @cached_property
    def off_walls(self) -> tuple[WallRow, ...]:
        """The thicknesses that are off, the largest area first."""
        return tuple(wall for wall in self.walls if wall.is_off)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Walls thinner than one line, and walls between two whole numbers of lines.

        The first is a warning: such a wall comes out with gaps or not at all. The second is a
        single note, however many walls it is about: they print, with a gap inside or pressed
        lines, in every plan alike, and the line width is the user's to choose.
        """
        return (*self._too_thin(), *self._between())

    def _too_thin(self) -> Iterator[Finding]:
        area = self.thin.share * self.area
        if area >= _PATCH:
            yield Finding(
                "walls.thin",
                Severity.WARNING,
                f"Over {area:.0f} mm² walls are thinner than one line of {self.line_width:g} mm, "
                f"{self.thin.thinnest:.2f} mm at the thinnest, and come out with gaps or not at "
                f"all; model them {(self.lines or 1) * self.line_width:.2f} mm thick.",
                where=self.thin.places,
                measured=self.thin.thinnest,
                allowed=self.line_width,
                unit="mm",
            )

    def _between(self) -> Iterator[Finding]:
        if self.off < LITTLE or self.off * self.area < _PATCH:
            return
        found, ways = self.off_walls[:_NAMED], list(self._ways())
        named = _listed([f"of {each.thickness:.2f} mm {each.lines:.1f}" for each in found])
        yield Finding(
            "walls.between_lines",
            Severity.NOTE,
            f"{100 * self.off:.0f} % of all wall area is no whole number of lines of "
            f"{self.line_width:g} mm"
            + (f" (walls {named} lines)" if named else ", where walls taper")
            + (f" and not {self.lines} of them" if self.lines is not None else "")
            + ": gaps stay between the lines, or they are pressed together"
            + (f"; {', or '.join(ways)}." if ways else "."),
            where=np.concatenate([np.empty((0, 3)), *(e.places[:: len(found)] for e in found)]),
            measured=self.off,
            allowed=LITTLE,
            unit="1",
        )

    def _ways(self) -> Iterator[str]:
        if self.has_better_width:
            left = f"{100 * self.best_off:.0f} %" if self.best_off >= 0.005 else "nearly nothing"
            yield f"print lines of {self.best_line_width:.2f} mm, with which {left} is off"
        # Walls that differ a little are to be alike.
        models = _listed([*dict.fromkeys(f"{e.model:.2f}" for e in self.off_walls[:_NAMED])])
        if models:
            yield f"model these walls {models} mm thick"


def _listed(names: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
