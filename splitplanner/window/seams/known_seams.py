"""Seams as they were measured, and what a plan puts into them: what their plans are drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from shapely.geometry import MultiLineString

from splitplanner.errors import WorkshopError
from splitplanner.joint.by_hand import fastening_by_hand
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.plan import Division, Joint, Plan
from splitplanner.score import REFERENCE_PIN, Figures, SeamRow
from splitplanner.window.seams.ground import shown_lines
from splitplanner.window.seams.new_pins import pin_like
from splitplanner.window.seams.seam_plan import PLAIN
from splitplanner.workshop import Shelf, hardware_shelf


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
    _shown: dict[str, MultiLineString] = field(default_factory=dict, repr=False)

    def shown(self, row: SeamRow) -> MultiLineString | None:
        """Return what of a seam's outlines lies on the good side; None if that was not kept."""
        figures, name = self.figures, row.seam.name
        if figures.seen is None:
            return None
        if name not in self._shown:
            self._shown[name] = shown_lines(row.seam, figures.part, figures.seen)
        return self._shown[name]

    def is_of(self, plan: Plan) -> bool:
        """Return whether the seams of `plan` are these, whatever it puts into them."""
        before = self.plan
        return (
            plan.cuts == before.cuts
            and plan.part.fingerprint == before.part.fingerprint
            and plan.printer == before.printer
        )


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
    known : KnownSeams
        The row is of these.
    shelf : Shelf or None
        Hardware that pins and screws are added from; None for the built-in tables.
    """

    row: SeamRow
    plan: Plan
    colours: tuple[str, str]
    names: tuple[str, str]
    known: KnownSeams
    shelf: Shelf | None = None

    @property
    def shown(self) -> MultiLineString | None:
        """What of the outlines lies on the good side; None if that was not kept."""
        return self.known.shown(self.row)

    @property
    def joint(self) -> Joint:
        """What holds this seam."""
        return self.plan.joint(self.row.seam.name)

    @cached_property
    def edge_distance(self) -> float:
        """Of a pin that would be added, mm."""
        like = pin_like(self.row, self.plan, self.shelf)
        return (
            self.plan.printer.edge_distance(REFERENCE_PIN) if like is None else like.edge_distance
        )

    @cached_property
    def screw_distance(self) -> float | None:
        """Edge distance of a screw that would be added, mm; None if the shelf has none."""
        shelf = hardware_shelf() if self.shelf is None else self.shelf
        wanted = fastening_by_hand(self.plan, self.row.seam.name)
        try:
            return screw_sizes(wanted, shelf, self.plan.printer)[0].edge_distance
        except WorkshopError:
            return None


def planned_seams(
    known: KnownSeams, plan: Plan, colours: Mapping[str, str], shelf: Shelf | None = None
) -> dict[str, PlannedSeam]:
    """Return the seams that have been measured, by name.

    Parameters
    ----------
    known : KnownSeams
    plan : Plan
        Whose joints are shown.
    colours : mapping of piece name to ``#RRGGBB``
    shelf : Shelf, optional
        Hardware that pins and screws are added from; the built-in tables by default.
    """
    planned: dict[str, PlannedSeam] = {}
    for row in known.figures.seams:
        below, above = (known.division.piece(name) for name in row.between)
        planned[row.seam.name] = PlannedSeam(
            row,
            plan,
            (colours.get(below.name, PLAIN), colours.get(above.name, PLAIN)),
            (str(below.number), str(above.number)),
            known,
            shelf,
        )
    return planned
