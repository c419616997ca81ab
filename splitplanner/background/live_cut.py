"""A cut that is being dragged: the light part cut anew at every move, and what is known at once.

Of the plan only what comes after the cut is done again. Slower figures are worked out in another
process, now and then.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, partial

from splitplanner.plan import (
    WHOLE,
    Cut,
    Halves,
    Plan,
    cut_piece,
    divide_in_place,
    loose_bodies,
    with_plane,
)
from splitplanner.score import REFERENCE_PIN, room
from splitplanner.score.lying import Fit, quick_fit
from splitplanner.solid import Plane, Section, Solid
from splitplanner.workshop import Printer


@dataclass(frozen=True, eq=False)
class LivePieces:
    """The light part as cut by a plan with one plane at hand.

    Attributes
    ----------
    plane : Plane
        Of the cut at hand.
    pieces : dict of piece name to Solid
    sides : (set of names below, set of names above)
        Pieces that the cut at hand made, with what later cuts left of them.
    parents : tuple of Solid
        What the cut at hand divides, or would.
    """

    plane: Plane
    pieces: dict[str, Solid]
    sides: tuple[set[str], set[str]]
    parents: tuple[Solid, ...]

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """The sections of what is divided."""
        return tuple(parent.section(self.plane) for parent in self.parents)

    @property
    def length(self) -> float:
        """Length of the seam's outlines, mm."""
        return sum(section.length for section in self.sections)

    @property
    def area(self) -> float:
        """Of the seam, mm²."""
        return sum(section.area for section in self.sections)

    def pins(self, printer: Printer) -> int:
        """Return how many reference pins there is room for."""
        distance = printer.edge_distance(REFERENCE_PIN)
        counts = (room(each, distance, 3 * REFERENCE_PIN).count for each in self.sections)
        return sum(counts)


@dataclass(frozen=True)
class LiveFigures:
    """What is said of a cut while it is dragged.

    Attributes
    ----------
    index : int
    plane : Plane
    length, area : float
        Of the seam, mm and mm².
    pins : int
        For how many reference pins there is room.
    fits : dict of piece name to Fit
        Of the pieces that the cut makes.
    """

    index: int
    plane: Plane
    length: float
    area: float
    pins: int
    fits: dict[str, Fit]


class LiveCut:
    """Cuts the light part anew for every place of one cut.

    Parameters
    ----------
    light : Solid
    plan : Plan
        As it was when the drag began.
    index : int
        Of the cut at hand.

    Attributes
    ----------
    before : dict of piece name to Solid
        What the cuts before it leave.
    """

    def __init__(self, light: Solid, plan: Plan, index: int) -> None:
        self._light, self._plan, self._index = light, plan, index
        self._later = plan.cuts[index + 1 :]
        self._cut = plan.cuts[index]
        solids = loose_bodies(WHOLE, light)
        for cut in plan.cuts[:index]:
            divide_in_place(cut, solids)
        self.before = solids
        self._halves: _Memory = {}

    def is_of(self, light: Solid, plan: Plan, index: int) -> bool:
        """Whether it is of a cut of a plan, wherever the cut is now."""
        if light is not self._light or index != self._index:
            return False
        return with_plane(plan, index, self._cut.plane).cuts == self._plan.cuts

    def at(self, plane: Plane) -> LivePieces:
        """Return the pieces with the cut at hand in another plane.

        Later cuts of pieces that are not there divide nothing.
        """
        solids = dict(self.before)
        named = self._cut.piece
        targets = list(solids) if named is None else [name for name in (named,) if name in solids]
        parents = [solids[name] for name in targets if _meets(plane, solids[name])]
        halves = divide_in_place(Cut(plane, named), solids)
        sides: tuple[set[str], set[str]] = (set(), set())
        for both in halves.values():
            for side, bodies in zip(sides, both, strict=True):
                side.update(bodies)
        for place, cut in enumerate(self._later):
            # What the plane at hand does not touch is cut once.
            cutter = partial(self._cut_once, place)
            for name, both in divide_in_place(cut, solids, cutter).items():
                for side in sides:
                    if name in side:
                        side.discard(name)
                        side.update(both[0], both[1])
        return LivePieces(plane, solids, sides, tuple(parents))

    def _cut_once(self, place: int, name: str, solid: Solid, plane: Plane) -> Halves | None:
        """Divide a piece as `cut_piece` does, or return what came of it the last time."""
        before = self._halves.get((place, name))
        if before is None or before[0] is not solid:
            before = self._halves[place, name] = (solid, cut_piece(name, solid, plane))
        return before[1]

    def figures(self, live: LivePieces) -> LiveFigures:
        """Measure the cut, and how the pieces that it makes may lie on the bed."""
        printer = self._plan.printer
        names = sorted(live.sides[0] | live.sides[1])
        fits = {name: quick_fit(live.pieces[name], printer.bed) for name in names}
        pins = live.pins(printer)
        return LiveFigures(self._index, live.plane, live.length, live.area, pins, fits)


@dataclass(frozen=True, eq=False)
class LightPieces:
    """The light part as cut by a whole plan.

    Attributes
    ----------
    light : Solid
    cuts : tuple of Cut
    pieces : dict of piece name to Solid
    targets : tuple of tuple of str
        For each cut the names of the pieces that the cuts before it leave.
    """

    light: Solid
    cuts: tuple[Cut, ...]
    pieces: dict[str, Solid]
    targets: tuple[tuple[str, ...], ...]

    @staticmethod
    def of(light: Solid, cuts: tuple[Cut, ...]) -> LightPieces:
        """Cut the light part."""
        solids, targets = loose_bodies(WHOLE, light), []
        for cut in cuts:
            targets.append(tuple(sorted(solids)))
            divide_in_place(cut, solids)
        return LightPieces(light, cuts, solids, tuple(targets))


_Memory = dict[tuple[int, str], tuple[Solid, Halves | None]]
"""What a cut made of a piece, by the place of the cut and the piece's name."""


def _meets(plane: Plane, solid: Solid) -> bool:
    heights = plane.height(solid.vertices)
    return bool(heights.min() < 0.0 < heights.max())
