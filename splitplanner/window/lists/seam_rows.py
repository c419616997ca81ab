"""The figures of each seam and the places of its pins, as the table of seams shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Division, Joint, Pin, Seam
from splitplanner.score import Figures
from splitplanner.window.lists.piece_rows import about


@dataclass(frozen=True)
class PinPlace:
    """A pin of a seam, by its place in the plane of the cut.

    Attributes
    ----------
    index : int
        Among the pins of the seam.
    u, v : float
        Plane coordinates, mm.
    diameter, length : float
        mm.
    """

    index: int
    u: float
    v: float
    diameter: float
    length: float

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
    pins : tuple of PinPlace
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
    """

    name: str
    between: tuple[int, int]
    pins: tuple[PinPlace, ...]
    findings: int
    worst: Severity | None
    seen: float | None = None
    hidden: float | None = None
    area: float | None = None
    room: float | None = None
    fitting: int | None = None
    deep: int | None = None
    lever_arm: tuple[float, float] | None = None

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.name


def seam_lines(
    division: Division,
    figures: Figures | None,
    joints: Sequence[Joint],
    findings: Sequence[Finding],
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
    """
    measured = {} if figures is None else {row.seam.name: row for row in figures.seams}
    pins = {joint.seam: joint.pins for joint in joints}
    lines = []
    for seam in division.seams:
        count, worst = about(findings, seam.name)
        between = (division.piece(seam.below).number, division.piece(seam.above).number)
        places = pin_places(seam, pins.get(seam.name, ()))
        row = measured.get(seam.name)
        if row is None:
            lines.append(SeamLine(seam.name, between, places, count, worst))
            continue
        lines.append(
            SeamLine(
                seam.name,
                between,
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
            )
        )
    return tuple(lines)


def pin_places(seam: Seam, pins: Sequence[Pin]) -> tuple[PinPlace, ...]:
    """Return where pins stand in the plane of a seam."""
    places = []
    for index, pin in enumerate(pins):
        u, v = seam.plane.to_plane([pin.at])[0]
        places.append(PinPlace(index, float(u), float(v), pin.diameter, pin.length))
    return tuple(places)
