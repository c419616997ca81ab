"""The figures of each seam and the places of its pins and screws, as the tables show them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Division, Joint, Pin, Screw, Seam
from splitplanner.score import Figures
from splitplanner.window.lists.piece_rows import about
from splitplanner.window.seams.flat import flat_fasteners, head_is_below, title


@dataclass(frozen=True)
class FastenerPlace:
    """A pin or a screw of a seam, by its place in the plane of the cut.

    Attributes
    ----------
    index : int
        Among pins and screws of the seam, the pins first.
    name : str
        Such as ``Pin 1`` or ``Screw A``.
    u, v : float
        Plane coordinates, mm.
    size : str
        Such as ``d4`` or ``M3``.
    length : float
        mm.
    head_in : int or None
        The number of the piece that a screw's head is in; None of a pin.
    seat : float
        How far from the cut the head bears, mm.
    hold : str
        What a screw's thread goes into: nut, insert or plastic; empty of a pin.
    """

    index: int
    name: str
    u: float
    v: float
    size: str
    length: float
    head_in: int | None = None
    seat: float = 0.0
    hold: str = ""

    @property
    def key(self) -> int:
        """What a table knows it by."""
        return self.index


@dataclass(frozen=True)
class SeamLine:
    """What the table of seams shows of one seam; None for what has not been measured yet.

    Attributes
    ----------
    name : str
    between : (int, int)
        The numbers of the two pieces.
    joint : Joint
        What holds it.
    fasteners : tuple of FastenerPlace
    findings : int
        How many are about this seam.
    worst : Severity or None
        Of them.
    seen, hidden : float or None
        Length of the outlines, mm.
    area, room : float or None
        mm².
    fitting, deep : int or None
        Pins that fit in the room, and those with material round them.
    lever_arm : (ru, rv) or None
        Of those, mm.
    is_own : bool
        Whether it is to be held in its own way.
    """

    name: str
    between: tuple[int, int]
    joint: Joint
    fasteners: tuple[FastenerPlace, ...]
    findings: int
    worst: Severity | None
    seen: float | None = None
    hidden: float | None = None
    area: float | None = None
    room: float | None = None
    fitting: int | None = None
    deep: int | None = None
    lever_arm: tuple[float, float] | None = None
    is_own: bool = False

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.name


def seam_lines(
    division: Division,
    figures: Figures | None,
    joints: Sequence[Joint],
    findings: Sequence[Finding],
    own: Collection[str] = (),
) -> tuple[SeamLine, ...]:
    """Return a row for each seam of a division.

    Parameters
    ----------
    division : Division
    figures : Figures or None
        None while they are being measured.
    joints : sequence of Joint
    findings : sequence of Finding
        Those whose subject is the seam are counted.
    own : collection of str
        Names of the seams that are held in their own way.
    """
    measured = {} if figures is None else {row.seam.name: row for row in figures.seams}
    held = {joint.seam: joint for joint in joints}
    lines = []
    for seam in division.seams:
        count, worst = about(findings, seam.name)
        between = (division.piece(seam.below).number, division.piece(seam.above).number)
        joint = held.get(seam.name, Joint(seam.name))
        places = fastener_places(seam, joint, between)
        row = measured.get(seam.name)
        if row is None:
            line = SeamLine(seam.name, between, joint, places, count, worst)
            lines.append(replace(line, is_own=seam.name in own))
            continue
        lines.append(
            SeamLine(
                seam.name,
                between,
                joint,
                places,
                count,
                worst,
                row.figures.seen_length,
                row.figures.hidden_length,
                row.figures.area,
                row.room.area,
                row.room.count,
                row.deep_room.count,
                row.deep_room.lever_arm,
                seam.name in own,
            )
        )
    return tuple(lines)


def fastener_places(
    seam: Seam, joint: Joint, between: tuple[int, int]
) -> tuple[FastenerPlace, ...]:
    """Return where pins and screws stand in the plane of a seam.

    Parameters
    ----------
    seam : Seam
    joint : Joint
    between : (int, int)
        The numbers of the pieces below and above.
    """
    fasteners: tuple[Pin | Screw, ...] = (*joint.pins, *joint.screws)
    if not fasteners:
        return ()
    flat = flat_fasteners(seam.plane, joint, (str(between[0]), str(between[1])))
    places = []
    for index, each in enumerate(fasteners):
        name, u, v = title(flat, index), flat[index].u, flat[index].v
        if isinstance(each, Pin):
            places.append(FastenerPlace(index, name, u, v, f"d{each.diameter:g}", each.length))
            continue
        head_in = between[0] if head_is_below(each, seam.plane) else between[1]
        places.append(
            FastenerPlace(index, name, u, v, each.size, each.length, head_in, each.seat, each.hold)
        )
    return tuple(places)
