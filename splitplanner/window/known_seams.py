"""Seams as they were measured, and what a plan puts into them: what their plans are drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from splitplanner.plan import Division, Pin, Plan
from splitplanner.score import REFERENCE_PIN, Figures, SeamRow
from splitplanner.window.new_pins import pin_like
from splitplanner.window.seam_plan import PLAIN


@dataclass(frozen=True, eq=False)
class PlannedSeam:
    """A seam with what a plan puts into it, for the plan of the seam.

    Attributes
    ----------
    row : SeamRow
    plan : Plan
    colours : (str, str)
        ``#RRGGBB`` of the pieces below and above.
    names : (str, str)
        Of both, as the user knows them.
    """

    row: SeamRow
    plan: Plan
    colours: tuple[str, str]
    names: tuple[str, str]

    @property
    def pins(self) -> tuple[Pin, ...]:
        """The pins of this seam."""
        return self.plan.joint(self.row.seam.name).pins

    @cached_property
    def edge_distance(self) -> float:
        """Of a pin that would be added, mm."""
        like = pin_like(self.row, self.plan)
        return (
            self.plan.printer.edge_distance(REFERENCE_PIN) if like is None else like.edge_distance
        )


@dataclass(frozen=True, eq=False)
class KnownSeams:
    """What was measured last, which holds until something else is cut or for another printer.

    Attributes
    ----------
    plan : Plan
        That was measured.
    division : Division
    figures : Figures
    """

    plan: Plan
    division: Division
    figures: Figures

    def is_of(self, plan: Plan) -> bool:
        """Return whether the seams of `plan` are these, whatever pins it puts into them."""
        before = self.plan
        return (
            plan.cuts == before.cuts
            and plan.part.fingerprint == before.part.fingerprint
            and plan.printer == before.printer
        )


def planned_seams(
    division: Division, figures: Figures | None, plan: Plan, colours: Mapping[str, str]
) -> dict[str, PlannedSeam]:
    """Return the seams that have been measured, by name.

    Parameters
    ----------
    division : Division
    figures : Figures or None
    plan : Plan
    colours : mapping of piece name to ``#RRGGBB``
    """
    planned = {}
    for row in () if figures is None else figures.seams:
        below, above = row.between
        planned[row.seam.name] = PlannedSeam(
            row,
            plan,
            (colours.get(below, PLAIN), colours.get(above, PLAIN)),
            (str(division.piece(below).number), str(division.piece(above).number)),
        )
    return planned
