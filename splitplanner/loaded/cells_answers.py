"""A plan condensed to its seams under a load case: it answers to other joints and braces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from splitplanner.arrays import Bools, Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.loaded.cells_braces import BraceBeam, joined_rows
from splitplanner.loaded.cells_reading import SeamForces, brace_in_cells, seam_in_cells
from splitplanner.loaded.cells_seams import Fixing, SeamSides, screw_stiffness
from splitplanner.loaded.cells_values import BraceInCells, CellsHeld, LiveAnswer, SeamInCells
from splitplanner.plan import Joint, Loading, Plan, Screw
from splitplanner.strength.cells import Condensed, Joined, SeamAnswer
from splitplanner.workshop import Shelf

_SPAN = 24.0
"""A screw that was not there while condensing may be between two places no further apart, mm."""
_ASIDE = 2.0
"""And so far beside the line between them, mm."""
_SHUT = 1e-9
"""A screw that is pushed together by less is not, mm."""
_ANEW = (
    "Seam {}: what holds it is at none of the places that were worked out; work the plan out anew."
)


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
    """A fastener that holds: a sum of gaps, and its springs.

    Attributes
    ----------
    seam : str
    fixing : Fixing
    starts : tuple of int
    shares : tuple of float
    """

    seam: str
    fixing: Fixing
    starts: tuple[int, ...]
    shares: tuple[float, ...]

    def forces(self, gaps: Floats) -> Floats:
        """Return the forces in it, (d,) N, by all gaps."""
        count = len(self.fixing.springs)
        own = sum(
            share * gaps[start : start + count]
            for start, share in zip(self.starts, self.shares, strict=True)
        )
        if self.fixing.kind == "screw":
            own = np.minimum(own, 0.0)
        return frozen_floats(self.fixing.springs * own)

    def pushes(self, gaps: Floats) -> bool:
        """Return whether it is a screw between places that would push its pieces apart."""
        if len(self.starts) == 1:
            return False
        return float(np.dot(self.shares, gaps[list(self.starts)])) > _SHUT


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
        Fasteners of the plan, and places for screws.
    braces : tuple of BracePlace
    ground : (int, (d,) float array)
        Where gaps to the ground start, and their springs, N/mm.
    firm : (c,) float array, N/mm
        Springs of the contacts.
    found : Condensed
        It watches the work of the loads, N·mm.
    size : float
        Of all loads, by their lengths, N; with a couple over 1 mm.
    shelf : Shelf
    """

    plan: Plan
    loading: Loading
    names: tuple[str, ...]
    sides: tuple[SeamSides, ...]
    places: tuple[Place, ...]
    braces: tuple[BracePlace, ...]
    ground: tuple[int, Floats]
    firm: Floats
    found: Condensed
    size: float
    shelf: Shelf
    _last: dict[str, Bools] = field(default_factory=dict, repr=False)

    def solved(
        self,
        held: CellsHeld = "braced",
        joints: Sequence[Joint] | None = None,
        braces: Sequence[str] | None = None,
        start: Bools | None = None,
    ) -> Solved:
        """Return what the cells answer where seams are held in one way.

        Parameters
        ----------
        held : "open", "fastened", "taped" or "braced"
        joints : sequence of Joint, optional
            In place of the plan's: any of the fasteners that were there while condensing, and
            screws at or between the places that were worked out then.
        braces : sequence of str, optional
            Names of the braces that are there; all by default.
        start : (r,) bool array, optional
            Which gaps were closed in an answer to joints that differ little; by default in the
            last one.

        Raises
        ------
        LoadError
            If a fastener was not there while condensing, or a piece is held by nothing.
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
        start = self._last.get("closed") if start is None else start
        answer = self._answered(acting, there, start)
        while slack := [each for each in acting if each.pushes(answer.gaps)]:
            # Between places a screw is no gap of its own that could open by itself.
            acting = [each for each in acting if each not in slack]
            answer = self._answered(acting, there, answer.closed)
        self._last["closed"] = answer.closed
        return Solved(self, held, tuple(acting), there, answer)

    def _answered(
        self, acting: Sequence[Acting], braces: Sequence[BracePlace], start: Bools | None
    ) -> SeamAnswer:
        springs = np.zeros(self.found.gaps.shape[0])
        springs[: len(self.firm)] = self.firm
        first, firm = self.ground
        springs[first : first + len(firm)] = firm
        one_sided = np.arange(len(springs)) < len(self.firm)
        for each in acting:
            if len(each.starts) == 1:
                end = each.starts[0] + len(each.fixing.springs)
                springs[each.starts[0] : end] = each.fixing.springs
                one_sided[each.starts[0]] = each.fixing.kind == "screw"
        joined = _joined([each for each in acting if len(each.starts) > 1], braces, len(springs))
        return self.found.answer(springs, one_sided, start, joined)

    def _acting(self, joint: Joint, held: CellsHeld) -> list[Acting]:
        mine = [place for place in self.places if place.seam == joint.seam]
        found = []
        for number, screw in enumerate(joint.screws):
            pulls = self._screw(joint.seam, mine, screw)
            found.append(replace(pulls, fixing=replace(pulls.fixing, number=number)))
            found += _there(mine, screw, "screw across", number)
        for number, pin in enumerate(joint.pins):
            found += _there(mine, pin, "pin", number) or _lost(joint.seam)
        if joint.register is not None:
            found += _there(mine, joint.register, "register") or _lost(joint.seam)
        if joint.tape is not None and held != "fastened":
            found += _there(mine, joint.tape, "tape") or _lost(joint.seam)
        return found

    def _screw(self, seam: str, mine: Sequence[Place], screw: Screw) -> Acting:
        """Return a screw where it is, or as a sum of the two places beside it."""
        pulling = [place for place in mine if place.fixing.kind == "screw"]
        known = _there(pulling, screw, "screw")
        if known:
            return known[0]
        at = np.array(screw.at)
        far = [float(np.linalg.norm(place.fixing.at - at)) for place in pulling]
        order = [int(index) for index in np.argsort(far, kind="stable")]
        for one in order[:3]:
            for two in order[:8]:
                low, high = pulling[one].fixing.at, pulling[two].fixing.at
                span = float(np.linalg.norm(high - low))
                if not 0.0 < span <= _SPAN:
                    continue
                share = float((at - low) @ (high - low)) / span**2
                aside = float(np.linalg.norm(at - low - share * (high - low)))
                if -1e-9 <= share <= 1.0 + 1e-9 and aside <= _ASIDE:
                    springs = frozen_floats([screw_stiffness(screw, self.shelf)])
                    fixing = replace(pulling[one].fixing, springs=springs, at=at)
                    starts = pulling[one].start, pulling[two].start
                    return Acting(seam, fixing, starts, (1.0 - share, share))
        raise LoadError(_ANEW.format(seam))

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
    braces : tuple of BracePlace
    answer : SeamAnswer
    """

    condensed: CondensedPlan
    held: CellsHeld
    acting: tuple[Acting, ...]
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
        for sides in self.condensed.sides:
            some = slice(start, start + len(sides.contact.at.points))
            start = some.stop
            own = tuple(
                (each.fixing, each.forces(gaps))
                for each in self.acting
                if each.seam == sides.seam.name
            )
            pressed = self.answer.forces[some]
            found.append(seam_in_cells(SeamForces(sides, pressed, gaps[some], own), factor))
        return tuple(found)

    def in_braces(self, factor: float = 1.0) -> tuple[BraceInCells, ...]:
        """Return what every brace takes."""
        found = []
        for each in self.braces:
            moved = self.answer.gaps[each.start : each.start + 3 * len(each.beam.bolts)]
            found.append(brace_in_cells(each.beam, factor * moved.reshape(-1, 3), each.proof))
        return tuple(found)


def _there(places: Sequence[Place], thing: object, kind: str, number: int = -1) -> list[Acting]:
    """Return what was condensed of a fastener, by its number in the joint that is asked for."""
    found = []
    for place in places:
        if place.thing == thing and place.fixing.kind == kind:
            fixing = place.fixing if number < 0 else replace(place.fixing, number=number)
            found.append(Acting(place.seam, fixing, (place.start,), (1.0,)))
    return found


def _lost(seam: str) -> list[Acting]:
    raise LoadError(_ANEW.format(seam))


def _joined(between: Sequence[Acting], braces: Sequence[BracePlace], total: int) -> Joined | None:
    if not between and not braces:
        return None
    braced = joined_rows([b.beam for b in braces], [b.start for b in braces], total)
    rows = np.zeros((len(between), total))
    for row, each in zip(rows, between, strict=True):
        row[list(each.starts)] = each.shares
    springs = [each.fixing.springs[0] for each in between]
    return Joined(
        frozen_floats(np.vstack([rows, braced.rows])),
        frozen_floats(np.concatenate([springs, braced.springs])),
    )
