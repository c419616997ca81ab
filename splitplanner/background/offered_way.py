"""A print direction that is offered for a piece, as it comes from the process that ranked it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from splitplanner.plan import Vector
from splitplanner.solid import Solid

if TYPE_CHECKING:
    # They take long to load, and who only passes this on has no need of them.
    from splitplanner.score import DirectionFigures, WayUp
    from splitplanner.score.lying import Fit


@dataclass(frozen=True, eq=False)
class OfferedWay:
    """A `WayUp` without the figures of single faces, which take long to send.

    Attributes
    ----------
    figures : DirectionFigures
    fit : Fit
    origin : str
        Why it was looked at.
    terms : mapping of name to float
        What each of `splitplanner.score.RANKING_TERMS` adds; those that add nothing are left out.
    best_at : tuple of str
        What it has least of, or none of, of all that are offered and fit.
    """

    figures: DirectionFigures
    fit: Fit
    origin: str
    terms: Mapping[str, float]
    best_at: tuple[str, ...]

    @property
    def up(self) -> Vector:
        """Print direction in the part's frame, unit vector."""
        return self.figures.up

    @property
    def total(self) -> float:
        """What the piece costs so, in terms of the plan score; lower is better."""
        return sum(self.terms.values())

    @staticmethod
    def of(way: WayUp, solid: Solid) -> OfferedWay:
        """Return a direction in which a piece has been measured."""
        from splitplanner.score.lying import fit_of

        assert way.row is not None
        fit = fit_of(solid, way.row.fit)
        return OfferedWay(way.figures, fit, str(way.origin), dict(way.terms), way.best_at)
