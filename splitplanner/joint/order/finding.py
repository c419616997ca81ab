"""In which order the pieces go together, so that each can be slid into place.

The order is found backwards: the part is taken apart into two groups along one direction, then
each of the groups, until single pieces are left. What can be taken apart when whole can also be
taken apart when some of it is gone, as fewer seams bind and less is in the way of a driver: so a
group that can not be taken apart settles that there is no order, whatever has been taken off
before. Only where pieces run into each other on the way are other ways tried.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.findings import Finding, Severity, called, counted, faults
from splitplanner.joint.order.conflicts import Conflict, conflict_of
from splitplanner.joint.order.motion import overlap_on_the_way
from splitplanner.joint.order.seams import Parting, Seams, closing_of, members
from splitplanner.joint.screws.access import Tool
from splitplanner.joint.screws.access_checks import check_access
from splitplanner.plan import Division, Joint, Seam, Vector
from splitplanner.progress import Report, silent
from splitplanner.solid import Solid

Reach = Callable[[Seam, tuple[str, ...]], tuple[Finding, ...]]
"""``reach(seam, in_place)``: faults of the screws of a seam that is closed when the pieces named,
its own among them, are in place."""

OVERLAP = 1e-3
"""Volume that two groups may share on the way and still pass: rounding, mm³."""
_MOST_TRIED = 3000
"""Ways to take groups apart that are looked at before the search gives up."""


@dataclass(frozen=True)
class Step:
    """One push that joins two groups of pieces.

    Attributes
    ----------
    moving, standing : tuple of str
        Names of the pieces in each group; those of a group hang together already.
    seams : tuple of str
        All that this push closes.
    direction : (x, y, z)
        Unit vector in which the moving group goes, in the part's frame.
    """

    moving: tuple[str, ...]
    standing: tuple[str, ...]
    seams: tuple[str, ...]
    direction: Vector


@dataclass(frozen=True, eq=False)
class Assembly:
    """The order in which the pieces go together.

    Attributes
    ----------
    steps : tuple of Step
        First to last. Where there is no order, that which there is when the proposal of the
        finding is followed; empty where nothing can be proposed.
    findings : tuple of Finding
        Faults. Kinds: ``assembly.conflict`` (seams that close along different directions),
        ``assembly.blocked`` (pieces run into each other on the way), those of `reach` at the
        step at which they come up; and the note ``assembly.apart`` (pieces without a seam).
    """

    steps: tuple[Step, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def is_possible(self) -> bool:
        """Whether every piece can be slid into place and every screw reached."""
        return not faults(self.findings)


def find_order(
    division: Division,
    joints: Mapping[str, Joint],
    solids: Mapping[str, Solid] | None = None,
    reach: Reach | None = None,
    report: Report = silent,
) -> Assembly:
    """Find in which order the pieces of a division go together.

    The last cut closes first wherever that can be done.

    Parameters
    ----------
    division : Division
    joints : mapping of seam name to Joint
        Seams that it does not name are glued.
    solids : mapping of piece name to Solid, optional
        The pieces with all that was added to them; those of the division if not given. They must
        not run into each other on the way.
    reach : callable, optional
        Tells which screws cannot be reached; see `Reach` and `screws_reached`.
    report : progress callback

    Returns
    -------
    Assembly
    """
    names = [piece.name for piece in sorted(division.pieces, key=lambda piece: piece.number)]
    indices = {name: index for index, name in enumerate(names)}
    closings = [
        closing_of(seam, joints.get(seam.name, Joint(seam.name)), indices)
        for seam in division.seams
    ]
    bodies = [(solids or {}).get(name, division.piece(name).solid) for name in names]
    search = _Search(division, names, bodies, reach, report)
    seams = Seams(closings, len(names))
    steps: list[Step] = []
    findings: list[Finding] = []
    groups = seams.bodies((1 << len(names)) - 1)
    if len(groups) > 1:
        findings.append(_apart(division, names, groups))
    for group in groups:
        conflict = conflict_of(seams, group)
        if conflict is not None:
            findings.append(_conflict(division, conflict))
        found, more = search.best(seams if conflict is None else conflict.resolved, group)
        steps += found
        findings += more
    return Assembly(tuple(steps), tuple(findings))


def screws_reached(
    division: Division,
    joints: Mapping[str, Joint],
    solids: Mapping[str, Solid],
    tool: Tool,
    nut_widths: Mapping[str, float] | None = None,
) -> Reach:
    """Return what tells whether the screws of a seam can be put in and turned when it is closed.

    Parameters
    ----------
    division : Division
    joints : mapping of seam name to Joint
    solids : mapping of piece name to Solid
        With all holes; see `check_access`.
    tool : Tool
    nut_widths : mapping of size to float, optional
        Across corners, mm; of a size that is not there as `check_access` takes it.
    """
    known = nut_widths or {}

    def reach(seam: Seam, in_place: tuple[str, ...]) -> tuple[Finding, ...]:
        joint = joints.get(seam.name)
        if joint is None or not joint.screws:
            return ()
        near = [solids[name] for name in in_place]
        sizes = {screw.size for screw in joint.screws}
        width = max(known[size] for size in sizes) if sizes <= known.keys() else None
        return check_access(joint, seam, near, tool, nut_width=width)

    return reach


@dataclass
class _Search:
    """Takes groups apart, and remembers what was found on the way."""

    division: Division
    names: list[str]
    solids: list[Solid]
    reach: Reach | None
    report: Report
    _overlaps: dict[tuple[int, int, Vector], float] = field(default_factory=dict)
    _reached: dict[tuple[str, int], tuple[Finding, ...]] = field(default_factory=dict)
    _tried: int = 0

    def best(self, seams: Seams | None, group: int) -> tuple[list[Step], list[Finding]]:
        """Return the steps that build a group, and what is at fault with them.

        The best there is: with no fault, else with screws that cannot be reached, else with
        pieces that run into each other.
        """
        if seams is None:
            return [], []
        for reaching, moving in ((True, True), (False, True), (False, False)):
            self._tried = 0
            tree = _Tree(self, seams, reaching, moving).of(group)
            if tree is not None:
                return self._steps(tree), self._faults(tree)
        return [], []

    def passes(self, parting: Parting, reaching: bool, moving: bool) -> tuple[bool, bool]:
        """Return whether screws are reached, and whether the groups pass each other."""
        self._tried += 1
        if self._tried > _MOST_TRIED:
            return True, False
        self.report(0.0, f"taking apart {counted(len(self.names), 'piece')}")
        reached = not reaching or not self._unreached(parting)
        passed = not reached or not moving or self._overlap(parting) <= OVERLAP
        return reached, passed

    def _unreached(self, parting: Parting) -> list[Finding]:
        if self.reach is None:
            return []
        whole = parting.stays | parting.leaves
        wanted = {closing.seam for closing in parting.closings}
        found: list[Finding] = []
        for seam in self.division.seams:
            if seam.name in wanted:
                key = seam.name, whole
                if key not in self._reached:
                    self._reached[key] = faults(self.reach(seam, self._named(whole)))
                found += self._reached[key]
        return found

    def _overlap(self, parting: Parting) -> float:
        key = parting.stays, parting.leaves, to_vector(parting.way)
        if key not in self._overlaps:
            self._overlaps[key] = overlap_on_the_way(
                [self.solids[index] for index in members(parting.stays)],
                [self.solids[index] for index in members(parting.leaves)],
                parting.way,
                [closing.normal for closing in parting.closings],
                OVERLAP,
            )
        return self._overlaps[key]

    def _named(self, mask: int) -> tuple[str, ...]:
        return tuple(self.names[index] for index in members(mask))

    def _steps(self, tree: tuple[Parting, ...]) -> list[Step]:
        steps = []
        for parting in tree:
            moving, standing, way = self._lighter_first(parting)
            seams = tuple(closing.seam for closing in parting.closings)
            direction = to_vector(way + 0.0)
            steps.append(Step(self._named(moving), self._named(standing), seams, direction))
        return steps

    def _lighter_first(self, parting: Parting) -> tuple[int, int, Floats]:
        """Return which group moves, which stands, and the way in which the first goes in."""
        if self._volume(parting.leaves) > self._volume(parting.stays) * (1 + 1e-9):
            return parting.stays, parting.leaves, parting.way
        return parting.leaves, parting.stays, -parting.way

    def _volume(self, mask: int) -> float:
        return sum(self.solids[index].volume for index in members(mask))

    def _faults(self, tree: tuple[Parting, ...]) -> list[Finding]:
        found: list[Finding] = []
        for parting in tree:
            found += self._unreached(parting)
            overlap = self._overlap(parting)
            if overlap > OVERLAP:
                found.append(self._blocked(parting, overlap))
        return found

    def _blocked(self, parting: Parting, overlap: float) -> Finding:
        numbers = [
            self.division.piece(name).number
            for name in self._named(self._lighter_first(parting)[0])
        ]
        closed = [closing.seam for closing in parting.closings]
        return Finding(
            "assembly.blocked",
            Severity.FAULT,
            f"{called('Piece', numbers)} cannot be slid into place at {called('seam', closed)}: "
            f"{overlap:.2f} mm³ run into other pieces on the way; move the cut or turn it.",
            closed[0],
            _places(self.division, closed),
            overlap,
            OVERLAP,
            "mm3",
        )


@dataclass
class _Tree:
    """One search, with some of what is asked for."""

    search: _Search
    seams: Seams
    reaching: bool
    moving: bool
    _known: dict[int, tuple[Parting, ...] | None] = field(default_factory=dict)
    _ran_into: set[int] = field(default_factory=set)

    def of(self, group: int) -> tuple[Parting, ...] | None:
        """Return the partings that take a group apart, last first; None if there are none."""
        if not group & (group - 1):
            return ()
        if group not in self._known:
            self._known[group] = self._take_apart(group)
        return self._known[group]

    def _take_apart(self, group: int) -> tuple[Parting, ...] | None:
        for parting in self.seams.partings(group):
            reached, passed = self.search.passes(parting, self.reaching, self.moving)
            if not passed:
                self._ran_into.add(group)
            if not (reached and passed):
                continue
            parts = [self.of(part) for part in (parting.stays, parting.leaves)]
            if parts[0] is not None and parts[1] is not None:
                return (*parts[0], *parts[1], parting)
            if not self._ran_into & {parting.stays, parting.leaves}:
                return None
            self._ran_into.add(group)
        return None


def _apart(division: Division, names: list[str], groups: list[int]) -> Finding:
    firsts = [division.piece(names[next(members(group))]) for group in groups]
    return Finding(
        "assembly.apart",
        Severity.NOTE,
        f"The pieces make {counted(len(groups), 'body', 'bodies')} that no seam joins; each is "
        "put together by itself.",
        where=np.array([piece.solid.bounds.mean(axis=0) for piece in firsts]),
        measured=float(len(groups)),
        allowed=1.0,
        unit="bodies",
    )


def _conflict(division: Division, conflict: Conflict) -> Finding:
    way_out = []
    if conflict.loose:
        way_out.append(
            f"make the pins of {called('seam', conflict.loose)} loose dowels, put in from one "
            "side when the pieces are together"
        )
    if conflict.common is not None:
        way_out.append(
            f"turn the holes of {called('seam', conflict.turned)} to the common direction "
            f"({', '.join(f'{value:.3f}' for value in conflict.common)})"
        )
    if len(conflict.seams) == 1:
        text = f"Seam {conflict.seams[0]} cannot close, as what holds it lies along several axes"
    else:
        text = (
            f"{called('Seam', conflict.seams)} close along different directions, so that no "
            "piece of them can be put in last"
        )
    advice = ", or ".join(way_out) or "cut elsewhere"
    return Finding(
        "assembly.conflict",
        Severity.FAULT,
        f"{text}; {advice}.",
        conflict.seams[0],
        _places(division, conflict.seams),
        conflict.angle,
        0.0,
        "deg",
    )


def _places(division: Division, seams: tuple[str, ...] | list[str]) -> Floats:
    found = [seam.section.centroid for seam in division.seams if seam.name in seams]
    return np.array(found).reshape(-1, 3)
