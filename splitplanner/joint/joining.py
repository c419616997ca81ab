"""Joining a whole plan: what holds each of its seams, one decided after the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, to_vector
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.besides import with_register, with_tape
from splitplanner.joint.fasteners.distances import Bar
from splitplanner.joint.fasteners.mirrored import MirrorLine, mirror_line
from splitplanner.joint.fasteners.patterns import is_bare
from splitplanner.joint.fasteners.placing import place_fasteners
from splitplanner.joint.fasteners.reserving import reserved_on
from splitplanner.joint.fasteners.telling import WANTING
from splitplanner.joint.flange.building import flange_lines, trimmed
from splitplanner.joint.flange.sizes import flange_size, slopes
from splitplanner.joint.making import Maker
from splitplanner.joint.screws.access import SeamAccess
from splitplanner.joint.screws.fits import access_to, tools_for
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.settling import settled
from splitplanner.plan import Division, Flange, Joint, Pin, Plan, Screw, Seam
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid import Plane, mirror_offset
from splitplanner.workshop import Shelf, hardware_shelf

_LACKING = ("joint.no_room", "joint.one_pin", "joint.close", *WANTING)
"""What is said of a seam that wants a flange."""
_BOSS = 1.5
"""A boss goes so many flange widths to both sides of its fastener. Common practice, no source."""
_ALONG = 9
"""Places along a fastener at which it is looked for in the flanges of other seams."""
_LATER = 0.2
"""Of what is left to do, what rounds after the one at hand are taken to be, in reports."""


def join(
    division: Division,
    plan: Plan,
    shelf: Shelf | None = None,
    *,
    seen: Bools,
    maker: Maker | None = None,
    kept: Mapping[str, Joint] | None = None,
    report: Report = silent,
) -> tuple[tuple[Joint, ...], tuple[Finding, ...]]:
    """Decide what holds every seam of a division, as the plan's fastening asks.

    The largest seams come first, and what a seam holds keeps clear of what was there before it.
    Where the walls have no room for pins and screws a flange is added, if it may be.

    Parameters
    ----------
    division : Division
    plan : Plan
        Its printer, fastening and print directions count.
    shelf : Shelf, optional
        Hardware to choose from; the built-in tables by default.
    seen : (m,) bool array
        Faces of the part on the good side.
    maker : Maker, optional
        Makes the flanges, and remembers them.
    kept : mapping of seam name to Joint, optional
        What holds these seams already and stays as it is.
    report : progress callback

    Returns
    -------
    joints : tuple of Joint
        One for each seam, in the order of the seams.
    findings : tuple of Finding

    Raises
    ------
    WorkshopError
        If hardware that is asked for is not on the shelf.
    """
    job = _Joining(division, plan, shelf or hardware_shelf(), seen, maker or Maker(), kept or {})
    return job.done(report)


def sloping(joint: Joint, seam: Seam, plan: Plan) -> Joint:
    """Return a joint whose flange slopes as the print directions of its pieces want it to."""
    if joint.flange is None:
        return joint
    below, above = _slopes(seam, plan)
    return replace(joint, flange=replace(joint.flange, slope_below=below, slope_above=above))


@dataclass(eq=False)
class _Joining:
    """All seams of a plan while they are being decided on.

    Attributes
    ----------
    joints : dict of seam name to Joint
        Those that have been.
    """

    division: Division
    plan: Plan
    shelf: Shelf
    seen: Bools
    maker: Maker
    kept: Mapping[str, Joint]

    def __post_init__(self) -> None:
        names = {seam.name for seam in self.division.seams}
        self.joints = {name: joint for name, joint in self.kept.items() if name in names}
        self.findings: dict[str, tuple[Finding, ...]] = {}

    def done(self, report: Report) -> tuple[tuple[Joint, ...], tuple[Finding, ...]]:
        """Decide on all seams."""
        order = sorted(self.division.seams, key=lambda seam: -round(seam.section.area, 3))
        still = [seam for seam in order if seam.name not in self.joints]
        flanges: dict[str, Flange] = {}
        for index, seam in enumerate(still):
            report(0.4 * index / len(still), f"placing fasteners on seam {seam.name}")
            flange = self._flange(seam) if self._is_sure_of_flange(seam) else None
            if flange is None and self._wants_flange(seam):
                flange = self._flange(seam)
            if flange is not None:
                flanges[seam.name] = flange
        flanges = settled(
            flanges, self.division, self._now, self.seen, self.maker, part_of(report, 0.4, 0.45)
        )
        for seam in still:
            if seam.name not in flanges and seam.name not in self.joints:
                self._wants_flange(seam)
        wanting = [seam for seam in still if seam.name in flanges]
        self._hold_by_flanges(wanting, flanges, part_of(report, 0.45, 0.9))
        for seam in still:
            report(0.9, f"adding to seam {seam.name}")
            self._add_the_rest(seam)
        found = [each for seam in order for each in self.findings.get(seam.name, ())]
        return tuple(self.joints[seam.name] for seam in self.division.seams), tuple(found)

    # -- with and without a flange ----------------------------------------------------------
    def _is_sure_of_flange(self, seam: Seam) -> bool:
        """Whether a seam gets a flange, whatever its walls hold, which need not be tried then.

        If it always does, or much of its walls is too thin for the wanted screws.
        """
        fastening, printer = self.plan.fastening_of(seam.name), self.plan.machine
        if fastening.screws == "none" or fastening.flange != "where needed":
            return fastening.flange == "always"
        return is_bare(seam.section.shape, screw_sizes(fastening, self.shelf, printer))

    def _wants_flange(self, seam: Seam) -> bool:
        """Place what is wanted in the bare walls; return whether a flange would do better."""
        joint, found = self._placed(seam)
        self.joints[seam.name], self.findings[seam.name] = joint, found
        may = self.plan.fastening_of(seam.name).flange == "where needed"
        return may and any(each.kind in _LACKING for each in found)

    def _flange(self, seam: Seam) -> Flange | None:
        """Return a flange for a seam; None where it has no hidden side."""
        fastening = self.plan.fastening_of(seam.name)
        width, thickness = flange_size(fastening, self.shelf, self.plan.machine)
        lines = flange_lines(seam, self.division.part, self.seen, width)
        return Flange(lines, width, thickness, *_slopes(seam, self.plan)) if lines else None

    def _hold_by_flanges(
        self, seams: list[Seam], flanges: dict[str, Flange], report: Report
    ) -> None:
        """Place fasteners in walls and flanges, unless the walls alone hold as well.

        All flanges are there before fasteners are placed on any, since they may be in the way, or
        carry what others want to hold on to. So when one is of no use and left out, those of the
        same pieces are held anew.
        """
        bare = {
            seam.name: _rank(self.joints[seam.name], self.findings[seam.name])
            for seam in seams
            if seam.name in self.joints
        }
        left, seams, begun = seams, list(seams), 0.0
        while left:
            # How many rounds there will be is not known: each takes most of what is left.
            ended = 1.0 - (1.0 - begun) * _LATER
            placing, begun = part_of(report, begun, ended), ended
            for seam in left:
                self.joints[seam.name] = Joint(seam.name, flange=flanges[seam.name])
            useless = []
            for index, seam in enumerate(left):
                placing(index / len(left), f"placing fasteners on the flange of seam {seam.name}")
                joint, found = self._placed(seam, left[index + 1 :])
                self.joints[seam.name], self.findings[seam.name] = joint, found
                if seam.name in bare and _rank(joint, found) <= bare[seam.name]:
                    useless.append(seam)
            for seam in useless:
                # Anew in the bare walls, for by now there are fasteners of others.
                self.joints[seam.name] = Joint(seam.name)
                self.joints[seam.name], self.findings[seam.name] = self._placed(seam)
            seams = [seam for seam in seams if seam not in useless]
            gone = {name for seam in useless for name in (seam.below, seam.above)}
            left = [seam for seam in seams if gone & {seam.below, seam.above}]
        in_bosses = [seam for seam in seams if self.plan.fastening_of(seam.name).bosses]
        bosses = [_in_bosses(self.joints[s.name], s, self._others(s)) for s in in_bosses]
        self.joints.update({joint.seam: joint for joint in bosses})

    def _placed(self, seam: Seam, later: Sequence[Seam] = ()) -> tuple[Joint, tuple[Finding, ...]]:
        """Place pins and screws on a seam, with the flange that it has by now; others are later."""
        now = self._now
        solids = self.maker.rimmed(self.division, now)
        fastening = self.plan.fastening_of(seam.name)
        before = self.joints.get(seam.name, Joint(seam.name))
        pins, screws, found = place_fasteners(
            self.maker.contact(seam, self.division, now),
            solids[seam.below],
            solids[seam.above],
            self.plan.machine,
            fastening,
            self.shelf,
            self._access(seam),
            self._others(seam),
            self._mirror(seam),
            self._reserved(seam, later),
        )
        return replace(before, pins=pins, screws=screws), found

    def _reserved(self, seam: Seam, later: Sequence[Seam]) -> tuple[Bar, ...]:
        """Return where the screws of other seams of the same pieces will want to be."""
        bars: list[Bar] = []
        for other in later:
            fastening, flange = self.plan.fastening_of(other.name), self.joints[other.name].flange
            near = {seam.below, seam.above} & {other.below, other.above}
            if near and flange is not None and fastening.screws != "none":
                sizes = screw_sizes(fastening, self.shelf, self.plan.machine)
                bars += reserved_on(flange, other, sizes)
        return tuple(bars)

    @property
    def _now(self) -> Plan:
        """The plan with what has been decided so far."""
        return self.plan.with_joints(tuple(self.joints.values()))

    def _access(self, seam: Seam) -> SeamAccess:
        """Return what tells where heads can sit, on the assembled part with all its flanges."""
        assembled = self.maker.assembled(self.division, self._now)
        tools = tools_for(self.plan.fastening_of(seam.name), self.shelf)
        return access_to(seam, assembled, self.division.part, self.seen, tools)

    def _mirror(self, seam: Seam) -> MirrorLine | None:
        """Return the line about which a seam is symmetric, as its part is."""
        lines = (mirror_line(seam, plane) for plane in self._mirrors)
        return next((line for line in lines if line is not None), None)

    @cached_property
    def _mirrors(self) -> tuple[Plane, ...]:
        """Planes of symmetry of the part, across the axes of its frame."""
        found = ((normal, mirror_offset(self.division.part, normal)) for normal in np.eye(3))
        return tuple(
            Plane(to_vector(normal), offset) for normal, offset in found if offset is not None
        )

    def _others(self, seam: Seam) -> tuple[Pin | Screw, ...]:
        """Return the fasteners of other seams, also of those that only come near this one."""
        near = (
            self.joints[other.name]
            for other in self.division.seams
            if other.name != seam.name and other.name in self.joints
        )
        return tuple(each for joint in near for each in joint.fasteners)

    # -- the rest ---------------------------------------------------------------------------
    def _add_the_rest(self, seam: Seam) -> None:
        """Add a register and tape, if they are wanted."""
        joint, found = with_register(seam, self.division, self._now, self.maker)
        self.joints[seam.name] = with_tape(joint, seam, self.division, self.plan, self.seen)
        self.findings[seam.name] = (*self.findings.get(seam.name, ()), *found)


def _slopes(seam: Seam, plan: Plan) -> tuple[float, float]:
    ups = plan.up(seam.below), plan.up(seam.above)
    return slopes(seam.plane.normal, ups, plan.machine.overhang_limit)


def _in_bosses(joint: Joint, seam: Seam, others: Sequence[Pin | Screw]) -> Joint:
    """Return a joint whose flange is only there where its fasteners sit; without any, none is.

    It stays where those of other seams reach into it.
    """
    assert joint.flange is not None
    into = [point for each in others for point in _inside(joint.flange, seam, each)]
    at = np.reshape([*(each.at for each in joint.fasteners), *into], (-1, 3))
    if not len(at):
        return replace(joint, flange=None)
    bosses = trimmed(joint.flange, seam.plane.to_plane(at), _BOSS * joint.flange.width)
    return replace(joint, flange=bosses)


def _inside(flange: Flange, seam: Seam, fastener: Pin | Screw) -> Floats:
    """Return the places along a fastener of another seam that may lie in a flange, (n, 3) mm."""
    middle, axis = np.array(fastener.at), np.array(fastener.axis)
    back = fastener.depth if isinstance(fastener, Pin) else fastener.seat
    points = middle + np.linspace(-back, fastener.depth, _ALONG)[:, None] * axis
    rises = min(flange.slope_below, flange.slope_above) < 90.0
    height = flange.thickness + (flange.width if rises else 0.0) + fastener.edge_distance
    lines = shapely.multilinestrings([shapely.linestrings(line) for line in flange.lines])
    apart = shapely.distance(lines, shapely.points(seam.plane.to_plane(points)))
    near = (np.abs(seam.plane.height(points)) < height) & (
        apart < flange.width + fastener.edge_distance
    )
    result: Floats = points[near]
    return result


def _rank(joint: Joint, findings: tuple[Finding, ...]) -> tuple[int, int]:
    """Return how well a seam is held; more is better."""
    lacks = sum(each.kind in _LACKING for each in findings)
    return -lacks, len(joint.fasteners)


def left_open(division: Division, plan: Plan) -> list[Finding]:
    """Warn of seams that nothing holds, and of what is said of pieces or seams not there."""
    found = [
        Finding(
            "joint.none",
            Severity.WARNING,
            f"Seam {seam.name} has no pins; hold its pieces in line by other means while the glue "
            "sets.",
            seam.name,
            seam.section.centroid[None, :],
        )
        for seam in division.seams
        if not plan.joint(seam.name).pins and plan.joint(seam.name).register is None
    ]
    names = {seam.name for seam in division.seams}
    found += [
        Finding(
            "plan.no_seam",
            Severity.WARNING,
            f"The plan says how seam {name} is to be held, which its cuts do not make; delete "
            "that, or name another seam.",
            name,
        )
        for name in plan.own_fastenings
        if name not in names
    ]
    return found + [
        Finding(
            "plan.no_piece",
            Severity.WARNING,
            f"The plan has a print direction for {piece_words(name)}, which its cuts do not make; "
            "delete it.",
            name,
        )
        for name in plan.print_directions
        if name not in division.by_name
    ]
