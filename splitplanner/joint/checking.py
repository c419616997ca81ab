"""Checking all joints of a plan: on their pieces, with each other, and as they are put together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from splitplanner.arrays import Bools, to_vector
from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity, faults
from splitplanner.joint.brace.surroundings import check_braces
from splitplanner.joint.fasteners.distances import check_hardware
from splitplanner.joint.flange.checks import check_flange, check_seen
from splitplanner.joint.holes.checks import hole_volumes_inside
from splitplanner.joint.holes.made import check_made
from splitplanner.joint.keeping_clear import kept_clear, others_of
from splitplanner.joint.making import Maker
from splitplanner.joint.order.finding import Assembly, find_order, screws_reached
from splitplanner.joint.pins.checks import check_pins
from splitplanner.joint.pins.rules import check_sizes, is_sensible
from splitplanner.joint.register.checks import check_register
from splitplanner.joint.screws.access import Tool
from splitplanner.joint.screws.checks import ScrewFit, check_screws
from splitplanner.joint.screws.fits import fit_of, tools_of
from splitplanner.joint.screws.sizes_checks import check_screw_sizes
from splitplanner.joint.tape import check_tape
from splitplanner.plan import Division, Joint, Piece, Plan, Seam
from splitplanner.progress import Report, silent
from splitplanner.score import widest_place
from splitplanner.workshop import FormingScrew, Insert, Shelf, hardware_shelf

_WAY = 5.0
"""Beyond head and nut hardware of other joints keeps out of the way for so long, mm; access to
them is checked on the pieces."""


def check_joints(
    division: Division,
    plan: Plan,
    shelf: Shelf | None = None,
    *,
    seen: Bools,
    maker: Maker | None = None,
    pieces: Sequence[Piece] | None = None,
) -> tuple[Finding, ...]:
    """Check that every joint of a plan is sound.

    Pins and screws have sizes that suit the printer and stand in material on both sides, flanges
    and registers are whole, hardware of all seams keeps its distances, and in the pieces as they
    are made everything is free that has to be, and material left. Braces seat on them, are bolted
    to every piece that they pass over, and go with all other hardware.

    Parameters
    ----------
    division : Division
    plan : Plan
    shelf : Shelf, optional
        Has the hardware's figures; the built-in tables by default.
    seen : (m,) bool array
        Faces of the part on the good side.
    maker : Maker, optional
        Has made flanges and braces before.
    pieces : sequence of Piece, optional
        As they are printed, with all holes; made anew if they are not given.
    """
    job = _Checking(division, plan, shelf or hardware_shelf(), seen, maker or Maker())
    seams = {seam.name: seam for seam in division.seams}
    findings: list[Finding] = []
    for index, joint in enumerate(plan.joints):
        seam = seams.get(joint.seam)
        if seam is None:
            findings.append(_no_such_seam(joint))
            continue
        findings += job.of(joint, seam)
        findings += check_hardware(joint, plan.joints[index + 1 :], reach=_WAY)
    findings += job.as_made(pieces, findings)
    return (*findings, *job.of_sight(), *job.examples())


def assembly_of(
    division: Division,
    plan: Plan,
    pieces: tuple[Piece, ...],
    shelf: Shelf | None = None,
    report: Report = silent,
) -> Assembly:
    """Return in which order the pieces of a plan go together; see `find_order`.

    Parameters
    ----------
    division : Division
    plan : Plan
    pieces : tuple of Piece
        As they are printed, with all holes.
    shelf : Shelf, optional
    report : progress callback
    """
    joints = {joint.seam: joint for joint in plan.joints}
    solids = {piece.name: piece.solid for piece in pieces}
    hardware = shelf or hardware_shelf()
    tools = {joint.seam: _tools(joint, hardware) for joint in plan.joints}
    if not any(tools.values()):
        return find_order(division, joints, solids, None, report)
    # Room is bored for the nut as it is: a wider one would graze it.
    nuts = {nut.size: nut.across_corners for nut in hardware.nuts}

    def reach(seam: Seam, in_place: tuple[str, ...]) -> tuple[Finding, ...]:
        ways = (
            screws_reached(division, joints, solids, tool, nuts)
            for tool in tools.get(seam.name, ())
        )
        found = [way(seam, in_place) for way in ways]
        return _by_any(found) if found else ()

    return find_order(division, joints, solids, reach, report)


def _by_any(found: Sequence[tuple[Finding, ...]]) -> tuple[Finding, ...]:
    """Return what is found of screws that none of several tools reaches, one finding set a tool."""
    missed = [{finding.where.tobytes() for finding in findings} for findings in found]
    by_none = set.intersection(*missed)
    left = [
        tuple(finding for finding in findings if finding.where.tobytes() in by_none)
        for findings in found
    ]
    return min(left, key=len)


def _tools(joint: Joint, shelf: Shelf) -> tuple[Tool, ...]:
    """Return the tools for the first screw that the shelf knows; the others are found elsewhere."""
    for screw in joint.screws:
        with suppress(WorkshopError):
            return tools_of(screw, shelf)
    return ()


@dataclass(frozen=True, eq=False)
class _Checking:
    """What the checks of one plan share."""

    division: Division
    plan: Plan
    shelf: Shelf
    seen: Bools
    maker: Maker

    def of(self, joint: Joint, seam: Seam) -> Iterator[Finding]:
        """Check one joint."""
        plan, coat = self.plan, self.plan.fastening_of(seam.name).coat
        rimmed = self.maker.rimmed(self.division, plan)
        below, above = rimmed[seam.below], rimmed[seam.above]
        ups = plan.up(seam.below), plan.up(seam.above)
        yield from check_sizes(joint, plan.machine)
        sensible = replace(joint, pins=tuple(pin for pin in joint.pins if is_sensible(pin)))
        yield from check_pins(sensible, seam, below, above)
        fits = list(self._fits(joint))
        unknown = [each for each in fits if isinstance(each, Finding)]
        yield from unknown
        if joint.screws and not unknown:
            known = [each for each in fits if isinstance(each, ScrewFit)]
            yield from check_screw_sizes(joint, self.shelf, plan.machine)
            yield from check_screws(joint, seam, below, above, plan.machine, known, ups, coat)
        yield from hole_volumes_inside(sensible, seam, below, above, plan.machine, ups, coat)
        yield from self._of_forms(joint, seam)

    def as_made(
        self, pieces: Sequence[Piece] | None, found: Sequence[Finding]
    ) -> tuple[Finding, ...]:
        """Check the pieces as they are printed, but for fasteners of which faults were found."""
        planned = self.maker.planned_braces(self.division, self.plan, self.shelf)
        if pieces is None:
            pieces = self.maker.make(self.division, self.plan, shelf=self.shelf).pieces
        solids = {piece.name: piece.solid for piece in pieces}
        faulty = [to_vector(at) for each in faults(found) for at in each.where]
        ground = self.maker.grounded(self.division, self.plan)
        return (
            *check_made(self.division, self.plan, solids, faulty),
            *planned.findings,
            *check_braces(ground, planned.braces, solids, self.plan, self.shelf),
        )

    def of_sight(self) -> tuple[Finding, ...]:
        """Check that no flange shows, all at once: looking at the part takes longest."""
        rims = self.maker.flanges(self.division, self.plan).values()
        if not rims:
            return ()
        assembled = self.maker.assembled(self.division, self.plan)
        bodies = [(rim.contact, (rim.below, rim.above)) for rim in rims]
        return check_seen(bodies, self.division.part, assembled, self.seen)

    def examples(self) -> Iterator[Finding]:
        """Warn of hardware whose sizes are those of no product."""
        screws = [screw for joint in self.plan.joints for screw in joint.screws]
        bolted = self.maker.braces(self.division, self.plan, self.shelf)
        bolts = [brace.bosses.size.screw for brace in bolted]
        held = {(screw.hold, screw.size, screw.standard) for screw in screws}
        held |= {(bolt.hold, bolt.size, bolt.standard) for bolt in bolts}
        for hold, size, standard in sorted(held):
            row: Insert | FormingScrew | None = None
            # What is not on the shelf is found elsewhere.
            with suppress(WorkshopError):
                if hold == "insert":
                    row = self.shelf.insert(size)
                elif hold == "plastic":
                    row = self.shelf.forming_screw(standard)
            if row is not None and row.is_example:
                message = (
                    f"“{row.name}” is an example and no product: put the sizes of your data sheet "
                    "into a hardware folder of your own, and place the screws anew."
                )
                yield Finding("hardware.example", Severity.WARNING, message, row.name)

    def _of_forms(self, joint: Joint, seam: Seam) -> Iterator[Finding]:
        """Check flange, register and tape, on the pieces as cut."""
        below, above = (self.division.piece(name).solid for name in (seam.below, seam.above))
        if joint.flange is not None:
            rims = self.maker.rims(joint.flange, seam, self.division, self.plan)
            bodies = rims.below, rims.above
            part = self.division.part
            ups = self.plan.up(seam.below), self.plan.up(seam.above)
            yield from check_flange(
                joint.flange, seam, below, above, bodies, part, ups, self.plan.machine
            )
        if joint.register is not None:
            others = others_of(self.plan, seam)
            clear = kept_clear(joint, seam, others)
            made = self.maker.register(joint, seam, self.division, others)
            yield from check_register(
                joint.register, seam, below, above, self.plan.machine, None, clear, made
            )
        if joint.tape is not None:
            yield from check_tape(joint.tape, seam, widest_place(seam.section.shape)[0])

    def _fits(self, joint: Joint) -> Iterator[ScrewFit | Finding]:
        """Yield what the shelf knows of each screw, or that it has none of it."""
        for number, screw in enumerate(joint.screws, 1):
            try:
                yield fit_of(screw, self.shelf)
            except WorkshopError as fault:
                yield Finding(
                    "joint.not_on_shelf",
                    Severity.FAULT,
                    f"Seam {joint.seam}, screw {number}: {fault}",
                    joint.seam,
                )


def _no_such_seam(joint: Joint) -> Finding:
    return Finding(
        "joint.no_seam",
        Severity.FAULT,
        f"The plan has a joint for seam {joint.seam}, which its cuts do not make; delete the "
        "joint or bring the cut back.",
        joint.seam,
    )
