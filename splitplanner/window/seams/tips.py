"""What is said of what lies under the pointer in the plan of a seam."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import Point

from splitplanner.plan import Flange, Register, Tape
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import FlatFastener
from splitplanner.window.seams.ground import SeamGround, standing, told

EMPTY = (
    "Double-click in the room, or press Insert, to add a pin; with Ctrl, or Shift and Insert, a "
    "screw."
)
HELD = "Drag a pin or a screw, or choose one with ] and move it by the arrow keys."
"""What can be done on a seam that nothing, or something, stands on."""
REGISTER_WORDS = {
    "lap": "lap",
    "tongue": "tongue and groove",
    "studs": "printed pins",
    "wedge": "wedge key",
}
"""By the form of the register."""


def fastener_tip(
    ground: SeamGround, fasteners: Sequence[FlatFastener], index: int, q: Quantities
) -> str:
    """Say how a pin or a screw stands."""
    return told(fasteners, index, standing(ground, fasteners, index), q)


def tip_at(ground: SeamGround, u: float, v: float, reach: float, q: Quantities) -> str:
    """Say what is at a place beside pins and screws; empty where nothing is.

    Parameters
    ----------
    ground : SeamGround
    u, v : float
        mm.
    reach : float
        What is this near counts as there, mm.
    q : Quantities
    """
    point, bands = Point(u, v), ground.bands
    if bands.register is not None and ground.register_shape.distance(point) <= reach / 2:
        return register_tip(bands.register, q)
    if bands.tape is not None and ground.tape_lines.distance(point) <= reach:
        return tape_tip(bands.tape, q)
    if ground.shown.distance(point) <= reach:
        return "Outline on the good side: it is seen from outside."
    if bands.flange is not None and ground.rim.distance(point) <= 0:
        return flange_tip(bands.flange, q)
    return ""


def register_tip(register: Register, q: Quantities) -> str:
    """Say how large a register is."""
    word = REGISTER_WORDS[register.form]
    wide = "thick" if register.form == "studs" else "wide"
    return (
        f"{word[0].upper()}{word[1:]}, {q.length(register.width)} {wide} at the foot: stands "
        f"{q.length(register.height)} up from the piece below, with a gap of "
        f"{q.length(register.gap, 2)} on each side."
    )


def tape_tip(tape: Tape, q: Quantities) -> str:
    """Say what a tape is made of and how large it is."""
    plies = "1 ply" if tape.plies == 1 else f"{q.number(tape.plies)} plies"
    return (
        f"Tape over the seam on its hidden side: {plies} of {tape.fibre}, {q.length(tape.width)} "
        f"wide over both pieces, {q.length(tape.length, 0)} long."
    )


def flange_tip(flange: Flange, q: Quantities) -> str:
    """Say how large a flange is."""
    return (
        f"Flange: {q.length(flange.width)} from the wall to its free edge, "
        f"{q.length(flange.thickness)} thick on each side of the seam."
    )
