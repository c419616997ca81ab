"""A plan condensed to its seams under a load case: it answers to other joints and braces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from splitplanner.arrays import Bools, Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.loaded.cells_braces import BraceBeam, joined_rows
from splitplanner.loaded.cells_glue import Glued, GluedFirst
from splitplanner.loaded.cells_reading import SeamForces, brace_in_cells, seam_in_cells
from splitplanner.loaded.cells_seams import Fixing, Fixings, SeamSides, needs_screws_across
from splitplanner.loaded.cells_values import BraceInCells, CellsHeld, LiveAnswer, SeamInCells
from splitplanner.plan import Joint, Line, Loading, Plan
from splitplanner.strength.cells import Condensed, SeamAnswer, stacked

_ANEW = "What holds a seam is not known to the cells; let them know the joint first."


@dataclass(frozen=True, eq=False)
class Place:
    """A fastener, or a place for one, and where its gaps start.

    Attributes
    ----------
    seam : str
    thing : object
        The screw, pin, register or tape.
    fixing : Fixing
    start : int
    """

    seam: str
    thing: object
    fixing: Fixing
    start: int


@dataclass(frozen=True, eq=False)
class Acting:
    """A fastener that holds.

    Attributes
    ----------
    seam : str
    fixing : Fixing
    start : int
        Where its gaps start.
    """

    seam: str
    fixing: Fixing
    start: int

    @property
    def rows(self) -> slice:
        """Which gaps are its own."""
        return slice(self.start, self.start + len(self.fixing.springs))

    def forces(self, gaps: Floats) -> Floats:
        """Return the forces in it, (d,) N, by all gaps."""
        own = gaps[self.rows]
        if self.fixing.kind == "screw":
            own = np.minimum(own, 0.0)
        return frozen_floats(self.fixing.springs * own)


@dataclass(frozen=True, eq=False)
class BracePlace:
    """A brace, where its gaps start, and what its sheet stands, MPa."""

    beam: BraceBeam
    start: int
    proof: float


@dataclass(frozen=True, eq=False)
class CondensedPlan:
    """A plan under one load case, ready to answer to other joints and braces.

    Attributes
    ----------
    plan : Plan
        Its joints are those that it answers to by itself.
    loading : Loading
    names : tuple of str
        Of the pieces, as in the assembly.
    sides : tuple of SeamSides
        Their contacts come first among the gaps.
    places : tuple of Place
        The fasteners that it knows.
    glued : tuple of Glued
        The seams with glue that counts.
    braces : tuple of BracePlace
    ground : (int, (d,) float array)
        Where gaps to the ground start, and their springs, N/mm.
    firm : (c,) float array, N/mm
        Springs of the contacts.
    found : Condensed
        It watches the work of the loads, N·mm.
    size : float
        Of all loads, by their lengths, N; with a couple over 1 mm.
    fixings : Fixings
        Makes springs of joints.
    glued_first : GluedFirst or None
        What answers where the glue is there.
    """

    plan: Plan
    loading: Loading
    names: tuple[str, ...]
    sides: tuple[SeamSides, ...]
    places: tuple[Place, ...]
    glued: tuple[Glued, ...]
    braces: tuple[BracePlace, ...]
    ground: tuple[int, Floats]
    firm: Floats
    found: Condensed
    size: float
    fixings: Fixings
    glued_first: GluedFirst | None
    _last: dict[tuple[str, ...], Bools] = field(default_factory=dict, repr=False)

    def solved(
        self,
        held: CellsHeld = "braced",
        joints: Sequence[Joint] | None = None,
        braces: Sequence[str] | None = None,
    ) -> Solved:
        """Return what the cells answer where seams are held in one way.

        Parameters
        ----------
        held : "open", "fastened", "taped" or "braced"
        joints : sequence of Joint, optional
            In place of the plan's; see `knowing`.
        braces : sequence of str, optional
            Names of the braces that are there; all by default.

        Raises
        ------
        LoadError
            If a joint is not known, or a piece is held by nothing.
        """
        acting: list[Acting] = []
        if held != "open":
            own = [self.plan.joint(sides.seam.name) for sides in self.sides]
            wanted = own if joints is None else joints
            acting = [each for joint in wanted for each in self._acting(joint, held)]
        there = tuple(
            each
            for each in self.braces
            if held == "braced" and (braces is None or each.beam.name in braces)
        )
        springs = np.zeros(self.found.gaps.shape[0])
        springs[: len(self.firm)] = self.firm
        first, firm = self.ground
        springs[first : first + len(firm)] = firm
        one_sided = np.arange(len(springs)) < len(self.firm)
        glued = self.glued if held != "open" else ()
        for each in acting:
            springs[each.rows] = each.fixing.springs
            one_sided[each.rows] = each.fixing.kind == "screw"
        joined = None
        if there:
            strips = [each.beam for each in there], [each.start for each in there]
            joined = joined_rows(*strips, len(springs))
        # Most gaps are closed as they were in the answer before.
        start = np.ones(len(springs), bool)
        way = held, *(each.beam.name for each in there)
        last = self._last.get(way, self._last.get((), start))[: len(start)]
        start[: len(last)] = last
        knows = self.glued_first if glued and self.glued_first else self.found
        answer = knows.answer(springs, one_sided, start, joined)
        self._last[way] = self._last[()] = answer.closed
        return Solved(self, held, tuple(acting), glued, there, answer)

    def knowing(
        self, joints: Sequence[Joint], tape_lines: Mapping[str, tuple[Line, ...]] | None = None
    ) -> CondensedPlan:
        """Return the same plan, ready to answer to other joints too.

        What it does not know of them is worked out; the pieces stay as they were, so that holes
        for what is new are not in them.

        Parameters
        ----------
        joints : sequence of Joint
        tape_lines : mapping of seam name to lines, optional
            As for `condensed_plan`.

        Raises
        ------
        LoadError
            If a fastener is beside its pieces.
        WorkshopError
            If hardware is not on the shelf.
        """
        places, gaps, first = list(self.places), [], self.found.gaps.shape[0]
        sides = {each.seam.name: each for each in self.sides}
        for joint in joints:
            mine = [each for each in self.places if each.seam == joint.seam]
            wanted, across = _unknown(joint, mine), needs_screws_across(joint)
            lines = (tape_lines or {}).get(joint.seam, ())
            for thing, fixing in self.fixings.things(sides[joint.seam], wanted, lines, across):
                if any(p.thing == thing and p.fixing.kind == fixing.kind for p in mine):
                    continue
                places.append(Place(joint.seam, thing, fixing, first))
                gaps.append(fixing.gaps)
                first += fixing.gaps.shape[0]
        if not gaps:
            return self
        found, first = self.found.extended(stacked(gaps)), self.glued_first
        if first is not None and found.newest is not None:
            first = first.extended(found.newest)
        return replace(self, places=tuple(places), found=found, glued_first=first)

    def _acting(self, joint: Joint, held: CellsHeld) -> list[Acting]:
        mine = [place for place in self.places if place.seam == joint.seam]
        across = needs_screws_across(joint)
        found: list[Acting] = []
        for number, screw in enumerate(joint.screws):
            found += _there(mine, screw, "screw", number)
            if across:
                found += _there(mine, screw, "screw across", number)
        for number, pin in enumerate(joint.pins):
            found += _there(mine, pin, "pin", number)
        if joint.register is not None:
            found += _there(mine, joint.register, "register")
        if joint.tape is not None and held != "fastened":
            found += _there(mine, joint.tape, "tape")
        return found

    def answer(
        self,
        held: CellsHeld = "braced",
        joints: Sequence[Joint] | None = None,
        braces: Sequence[str] | None = None,
        *,
        factor: float = 1.0,
        uncut: float | None = None,
    ) -> LiveAnswer:
        """Return what seams and braces do; see `solved`.

        Parameters
        ----------
        factor : float
            So many times the loads.
        uncut : float, optional
            The part's own `CellCheck.sag` as if printed in one, under the loads once.
        """
        return self.solved(held, joints, braces).live(factor, uncut)


@dataclass(frozen=True, eq=False)
class Solved:
    """One answer of a condensed plan.

    Attributes
    ----------
    condensed : CondensedPlan
    held : str
    acting : tuple of Acting
    glued : tuple of Glued
    braces : tuple of BracePlace
    answer : SeamAnswer
    """

    condensed: CondensedPlan
    held: CellsHeld
    acting: tuple[Acting, ...]
    glued: tuple[Glued, ...]
    braces: tuple[BracePlace, ...]
    answer: SeamAnswer

    @property
    def sag(self) -> float:
        """How far the loads move along themselves, mm: their work over their size."""
        return float(self.answer.watched[0]) / self.condensed.size

    def live(self, factor: float = 1.0, uncut: float | None = None) -> LiveAnswer:
        """Return what seams and braces do, with so many times the loads."""
        stiffness = None if uncut is None else uncut / self.sag
        return LiveAnswer(
            self.held, self.sag * factor, stiffness, self.seams(factor), self.in_braces(factor)
        )

    def seams(self, factor: float = 1.0) -> tuple[SeamInCells, ...]:
        """Return what every seam does."""
        found, start, gaps = [], 0, self.answer.gaps
        glued = {each.seam: each for each in self.glued}
        for sides in self.condensed.sides:
            some = slice(start, start + len(sides.contact.at.points))
            start = some.stop
            own = tuple(
                (each.fixing, each.forces(gaps))
                for each in self.acting
                if each.seam == sides.seam.name
            )
            pressed, glue = self.answer.forces[some], glued.get(sides.seam.name)
            slid = np.zeros((2, len(pressed)))
            if glue is not None:
                slid = self.answer.forces[glue.across].reshape(2, -1)
            forces = SeamForces(sides, pressed, gaps[some], own, glue, slid)
            found.append(seam_in_cells(forces, factor))
        return tuple(found)

    def in_braces(self, factor: float = 1.0) -> tuple[BraceInCells, ...]:
        """Return what every brace takes."""
        found = []
        for each in self.braces:
            moved = self.answer.gaps[each.start : each.start + 3 * len(each.beam.bolts)]
            found.append(brace_in_cells(each.beam, factor * moved.reshape(-1, 3), each.proof))
        return tuple(found)


def _there(places: Sequence[Place], thing: object, kind: str, number: int = -1) -> list[Acting]:
    """Return a fastener as it is known, by its number in the joint that is asked for.

    Raises
    ------
    LoadError
        If it is not.
    """
    found = []
    for place in places:
        if place.thing == thing and place.fixing.kind == kind:
            fixing = place.fixing if number < 0 else replace(place.fixing, number=number)
            found.append(Acting(place.seam, fixing, place.start))
    if not found:
        raise LoadError(_ANEW)
    return found


def _unknown(joint: Joint, places: Sequence[Place]) -> Joint:
    """Return what of a joint is at none of some places of its seam."""
    known = [(each.thing, each.fixing.kind) for each in places]
    pulls = [thing for thing, kind in known if kind == "screw"]
    pushes = [thing for thing, kind in known if kind == "screw across"]
    across = needs_screws_across(joint)
    others = [thing for thing, kind in known if not kind.startswith("screw")]
    return replace(
        joint,
        screws=tuple(
            each for each in joint.screws if each not in pulls or (across and each not in pushes)
        ),
        pins=tuple(each for each in joint.pins if each not in others),
        register=None if joint.register in others else joint.register,
        tape=None if joint.tape in others else joint.tape,
    )
