"""The pieces as they are printed: with flanges, registers, lands, room for glue, holes, marks."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.findings import Finding
from splitplanner.joint.brace.building import Brace
from splitplanner.joint.brace.planned import (
    PlannedBraces,
    brace_foot,
    planned_brace,
    sorted_out,
    with_added,
    with_taken,
)
from splitplanner.joint.flange.building import flange_bodies, flange_foot, flange_limits
from splitplanner.joint.flange.ends import Printed
from splitplanner.joint.glue import GlueRelief
from splitplanner.joint.holes.near import near_holes
from splitplanner.joint.keeping_clear import Fastener, kept_clear, others_of
from splitplanner.joint.marks import Mark, mark_bodies
from splitplanner.joint.register.solids import register_bodies
from splitplanner.joint.seam_faces import mark_of, set_back
from splitplanner.plan import (
    BraceWish,
    Division,
    Flange,
    Joint,
    Piece,
    Plan,
    Seam,
    Vector,
)
from splitplanner.progress import Report, silent
from splitplanner.score import connected
from splitplanner.solid import Plane, Section, Solid, to_polygons
from splitplanner.workshop import Shelf, hardware_shelf

_REMEMBERED = 64
"""Flanges, registers and pieces that were made are remembered, so many of each."""
_DUST = 1e-3
"""A body of less than this is rounding, mm³."""

Thing = TypeVar("Thing")


@dataclass(frozen=True, eq=False)
class Rims:
    """A flange as solids.

    Attributes
    ----------
    below, above : Solid or None
        To be united with the two pieces of its seam.
    contact : Seam
        The seam, with the contact that the flange adds.
    """

    below: Solid | None
    above: Solid | None
    contact: Seam


@dataclass(frozen=True, eq=False)
class MadePieces:
    """The pieces of a plan as they are printed.

    Attributes
    ----------
    pieces : tuple of Piece
        In the order and with the names of the division's.
    findings : tuple of Finding
        Notes where a mark has no room, faults where what joins the pieces leaves one in two, or
        where a brace cannot be made.
    """

    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...] = ()


class Maker:
    """Makes the pieces of plans of one part; what has been made is remembered."""

    def __init__(self) -> None:
        self._rims: dict[Hashable, Rims] = {}
        self._registers: dict[Hashable, tuple[Solid, Solid]] = {}
        self._solids: dict[Hashable, Solid] = {}
        self._braces: dict[Hashable, Brace | Finding] = {}

    def rims(self, flange: Flange, seam: Seam, division: Division, plan: Plan) -> Rims:
        """Return a flange as solids; it keeps off other seams and stays above the beds."""
        lower, upper = (division.piece(name).solid for name in (seam.below, seam.above))
        ups = plan.up(seam.below), plan.up(seam.above)
        overhang = plan.machine.overhang_limit
        printed = Printed(ups[0], overhang), Printed(ups[1], overhang)
        limits = (
            (*flange_limits(seam.below, seam, division), _bed(lower, ups[0])),
            (*flange_limits(seam.above, seam, division), _bed(upper, ups[1])),
        )

        def made() -> Rims:
            bodies = flange_bodies(flange, seam, lower, upper, limits, division.part, printed)
            return Rims(*bodies, _with_foot(seam, flange_foot(seam, *bodies)))

        rims = _known(self._rims, (flange, seam.plane, lower, upper, limits, printed), made)
        # Of another division of the same part the seam may have another name.
        return replace(rims, contact=replace(seam, section=rims.contact.section))

    def flanges(self, division: Division, plan: Plan) -> dict[str, Rims]:
        """Return all flanges of a plan, by the names of their seams."""
        return {
            seam.name: self.rims(flange, seam, division, plan)
            for seam in division.seams
            if (flange := plan.joint(seam.name).flange) is not None
        }

    def contact(self, seam: Seam, division: Division, plan: Plan) -> Seam:
        """Return a seam with the contact that its flange adds."""
        flange = plan.joint(seam.name).flange
        return seam if flange is None else self.rims(flange, seam, division, plan).contact

    def register(
        self, joint: Joint, seam: Seam, division: Division, others: Sequence[Fastener] = ()
    ) -> tuple[Solid, Solid] | None:
        """Return what a joint's register adds to the piece below and takes from the one above.

        It keeps clear of the joint's fasteners and of `others`, those of other seams.
        """
        if joint.register is None:
            return None
        register, clear = joint.register, kept_clear(joint, seam, others)
        lower, upper = (division.piece(name).solid for name in (seam.below, seam.above))

        def made() -> tuple[Solid, Solid]:
            return register_bodies(register, seam, lower, upper, None, clear)

        return _known(self._registers, (register, seam.plane, lower, upper, clear), made)

    def rimmed(self, division: Division, plan: Plan) -> dict[str, Solid]:
        """Return the pieces with their flanges, by name."""
        rims = self.flanges(division, plan)
        return {piece.name: self._rimmed(piece, division, rims) for piece in division.pieces}

    def _rimmed(self, piece: Piece, division: Division, rims: Mapping[str, Rims]) -> Solid:
        bodies = [
            rims[seam.name].below if side < 0 else rims[seam.name].above
            for seam, side in _seams_of(piece, division)
            if seam.name in rims
        ]
        found = tuple(body for body in bodies if body is not None)
        if not found:
            return piece.solid
        key = "rimmed", piece.solid, found
        return _known(self._solids, key, lambda: piece.solid.union(*found))

    def assembled(self, division: Division, plan: Plan) -> Solid:
        """Return the part with all flanges, as it is when everything is put together."""
        rims = self.flanges(division, plan).values()
        bodies = [body for rim in rims for body in (rim.below, rim.above) if body is not None]
        if not bodies:
            return division.part
        key = "assembled", division.part, tuple(bodies)
        return _known(self._solids, key, lambda: division.part.union(*bodies))

    def grounded(self, division: Division, plan: Plan) -> Division:
        """Return the division of part and pieces with their flanges, on which braces stand."""
        part = self.assembled(division, plan)
        if part is division.part:
            return division
        rimmed = self.rimmed(division, plan)
        pieces = tuple(replace(piece, solid=rimmed[piece.name]) for piece in division.pieces)
        return replace(division, part=part, pieces=pieces)

    def planned_braces(
        self, division: Division, plan: Plan, shelf: Shelf | None = None
    ) -> PlannedBraces:
        """Return the braces of a plan, and a fault for each that cannot be made.

        Parameters
        ----------
        division : Division
        plan : Plan
        shelf : Shelf, optional
            The hardware to choose from; the built-in tables by default.
        """
        if not plan.braces:
            return PlannedBraces()
        hardware, ground = shelf or hardware_shelf(), self.grounded(division, plan)
        solids = ground.part, tuple(piece.solid for piece in ground.pieces)
        names = tuple(piece.name for piece in ground.pieces)

        def made(wish: BraceWish) -> Brace | Finding:
            key = wish, *solids, names, plan.machine, hardware
            return _known(
                self._braces, key, lambda: planned_brace(ground, wish, hardware, plan.machine)
            )

        return sorted_out(made(wish) for wish in plan.braces)

    def braces(
        self, division: Division, plan: Plan, shelf: Shelf | None = None
    ) -> tuple[Brace, ...]:
        """Return those braces of a plan that can be made; see `planned_braces`."""
        return self.planned_braces(division, plan, shelf).braces

    def make(
        self,
        division: Division,
        plan: Plan,
        report: Report = silent,
        shelf: Shelf | None = None,
    ) -> MadePieces:
        """Make all pieces of a plan.

        Parameters
        ----------
        division : Division
        plan : Plan
        report : progress callback
        shelf : Shelf, optional
            The hardware that its braces are bolted with; the built-in tables by default.
        """
        rimmed = self.rimmed(division, plan)
        planned = self.planned_braces(division, plan, shelf)
        findings = list(planned.findings)
        whole = {}
        for seam in division.seams:
            contact = self.contact(seam, division, plan)
            with_lands = _with_lands(contact, planned.braces, plan)
            reliefs, found = set_back(seam, with_lands, division, plan)
            mark, more = mark_of(seam, contact, reliefs, division, plan)
            whole[seam.name] = _JointAsMade(self, seam, contact, division, plan, mark, reliefs)
            findings += (*found, *more)
        pieces = []
        for index, piece in enumerate(division.pieces):
            report(index / len(division.pieces), f"making piece {piece.number}")
            braces = [each for each in planned.braces if piece.name in each.added]
            solid = self._made(piece, rimmed[piece.name], division, whole, braces)
            made = replace(piece, solid=solid)
            findings += connected(made, piece)
            pieces.append(made)
        return MadePieces(tuple(pieces), tuple(findings))

    def _made(
        self,
        piece: Piece,
        solid: Solid,
        division: Division,
        whole: dict[str, _JointAsMade],
        braces: Sequence[Brace],
    ) -> Solid:
        joints = [(whole[seam.name], side) for seam, side in _seams_of(piece, division)]
        if not braces and all(joint.is_nothing for joint, _ in joints):
            return solid
        key = solid, tuple((joint.key, side) for joint, side in joints), tuple(braces)

        def made() -> Solid:
            # Holes of the seams go through lands too; those of braces come last, so that no
            # register closes them.
            joined = _joined(with_added(piece.name, solid, braces), joints)
            return _without_dust(with_taken(piece.name, joined, braces))

        return _known(self._solids, key, made)


@dataclass(frozen=True, eq=False)
class _JointAsMade:
    """What is done to the two pieces of one seam, which have their flanges already."""

    maker: Maker
    seam: Seam
    contact: Seam
    division: Division
    plan: Plan
    mark: Mark | None
    reliefs: tuple[GlueRelief, ...]

    @property
    def joint(self) -> Joint:
        """What holds the seam."""
        return self.plan.joint(self.contact.name)

    @property
    def others(self) -> tuple[Fastener, ...]:
        """The fasteners of other seams, of which a register keeps clear."""
        return () if self.joint.register is None else others_of(self.plan, self.seam)

    @property
    def is_nothing(self) -> bool:
        """Whether the faces stay as they were cut, but for a flange."""
        joint = replace(self.joint, flange=None, tape=None)
        return joint.is_empty and self.mark is None and not self.reliefs

    @property
    def solids(self) -> tuple[Solid, Solid]:
        """The pieces below and above, as cut."""
        below, above = (self.division.piece(name) for name in (self.seam.below, self.seam.above))
        return below.solid, above.solid

    @property
    def ups(self) -> tuple[Vector, Vector]:
        """Their print directions."""
        return self.plan.up(self.contact.below), self.plan.up(self.contact.above)

    @property
    def key(self) -> Hashable:
        """Equal for what is done in the same way."""
        mark, plan = self.mark and (self.mark.below, self.mark.above), self.plan
        clear = kept_clear(self.joint, self.seam, self.others) if self.others else None
        return (
            self.joint, self.contact.plane, self.solids, self.ups, mark, plan.machine, clear,
            plan.fastening_of(self.contact.name),
        )  # fmt: skip

    def on(self, solid: Solid, side: int) -> Solid:
        """Return one of the pieces with all of it; `side` is -1 for the one below, +1 above."""
        joint = self.joint
        # The faces are set back first: what stands on them would be cut off its foot.
        for relief in self.reliefs:
            solid = solid.difference(relief.below if side < 0 else relief.above)
        register = self.maker.register(joint, self.seam, self.division, self.others)
        if register is not None:
            solid = solid.union(register[0]) if side < 0 else solid.difference(register[1])
        up = self.ups[0 if side < 0 else 1]
        holes = tuple(near_holes(solid, joint, self.contact, side, up, self.plan))
        solid = solid.difference(*holes) if holes else solid
        if self.mark is not None:
            back = sum(relief.gap for relief in self.reliefs[-1:]) / 2
            solid = mark_bodies(self.mark, back, back).on(solid, side)
        return solid


def _joined(solid: Solid, joints: list[tuple[_JointAsMade, int]]) -> Solid:
    for joint, side in joints:
        solid = joint.on(solid, side)
    return _without_dust(solid)


def _without_dust(solid: Solid) -> Solid:
    """Return a solid without bodies that are rounding where faces of its holes nearly meet."""
    bodies = solid.bodies()
    real = [body for body in bodies if body.volume > _DUST]
    if not real or len(real) == len(bodies):
        return solid
    return real[0].union(*real[1:])


def _seams_of(piece: Piece, division: Division) -> Iterator[tuple[Seam, int]]:
    """Yield the seams of a piece and the side on which it lies: -1 below, +1 above."""
    for seam in division.seams:
        if piece.name in (seam.below, seam.above):
            yield seam, -1 if piece.name == seam.below else 1


def _bed(solid: Solid, up: Vector) -> Plane:
    """Return the bed on which a piece lies, with the piece below the plane."""
    low = float((solid.vertices @ np.array(up)).min())
    return Plane((-up[0], -up[1], -up[2]), -low)


def _with_lands(contact: Seam, braces: Sequence[Brace], plan: Plan) -> Seam:
    """Return a seam with the contact that lands add, where that is coated too."""
    if not braces or plan.fastening_of(contact.name).coat <= 0.0:
        return contact
    return _with_foot(contact, brace_foot(contact, braces))


def _with_foot(seam: Seam, foot: MultiPolygon) -> Seam:
    if foot.is_empty:
        return seam
    both = shapely.union(seam.section.shape, foot, grid_size=1e-6)
    return replace(seam, section=Section(seam.plane, to_polygons(both)))


def _known(kept: dict[Hashable, Thing], key: Hashable, make: Callable[[], Thing]) -> Thing:
    """Return what is kept under a key, or make and keep it."""
    if key not in kept:
        while len(kept) >= _REMEMBERED:
            del kept[next(iter(kept))]
        kept[key] = make()
    return kept[key]
