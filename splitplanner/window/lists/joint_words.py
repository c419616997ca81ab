"""What holds a seam in a few words, for tables; hardware is sold by mm whatever is read in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.plan import Flange, Joint, Pin, Register, Screw, Tape
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import screw_size

HELD_IN = {"nut": "with nuts", "insert": "in inserts", "plastic": "in plastic"}
"""What screws and bolts are tightened in, by how they hold."""
_REGISTERS = {
    "lap": "lap",
    "tongue": "tongue and groove",
    "studs": "printed pins",
    "wedge": "wedge key",
}


def pins_text(joint: Joint) -> str:
    """Return how many pins of which size, such as ``3 × d4 × 16``; empty without any."""
    found = Counter(_pin_size(pin) for pin in joint.pins)
    return ", ".join(f"{count} × {size}" for size, count in found.items())


def screws_text(joint: Joint) -> str:
    """Return how many screws, such as ``6 × M3 × 12 with nuts``; empty without any."""
    return fasteners_text(joint.screws)


def fasteners_text(screws: Iterable[Screw | BraceBolt]) -> str:
    """Return how many screws, or bolts of a brace, such as ``6 × M3 × 12 with nuts``."""
    found = Counter((screw_size(screw), HELD_IN[screw.hold]) for screw in screws)
    return ", ".join(f"{count} × {size} {hold}" for (size, hold), count in found.items())


def flange_text(flange: Flange | None, q: Quantities) -> str:
    """Return width and thickness of a flange on one side; empty without one."""
    return "" if flange is None else q.size((flange.width, flange.thickness), 1)


def register_text(register: Register | None, q: Quantities) -> str:
    """Return form and height of a register; empty without one."""
    return "" if register is None else f"{_REGISTERS[register.form]} {q.length(register.height)}"


def tape_text(tape: Tape | None, q: Quantities) -> str:
    """Return plies, fibre, width and length of a tape; empty without one."""
    if tape is None:
        return ""
    plies = "1 ply" if tape.plies == 1 else f"{q.number(tape.plies)} plies"
    return f"{plies} of {tape.fibre}, {q.size((tape.width, tape.length))}"


def hardware_text(joint: Joint) -> str:
    """Return what has to be bought for a seam, such as ``6 screws ISO 4762 M3 × 12, 6 nuts M3``."""
    found: Counter[tuple[str, str]] = Counter()
    for pin in joint.pins:
        found["pin", f"{pin.standard} {_pin_size(pin)}"] += 1
    for screw in joint.screws:
        found["screw", f"{screw.standard} {screw_size(screw)}"] += 1
    for screw in joint.screws:
        for what, count in _with(screw):
            found[what, screw.size] += count
    return ", ".join(
        f"{count} {what}{'s' if count > 1 else ''} {size}" for (what, size), count in found.items()
    )


def held_text(joint: Joint, q: Quantities) -> str:
    """Return all that holds a seam, in one line; empty if nothing does."""
    named = (
        ("", pins_text(joint)),
        ("", screws_text(joint)),
        ("flange ", flange_text(joint.flange, q)),
        ("", register_text(joint.register, q)),
        ("tape: ", tape_text(joint.tape, q)),
    )
    return "; ".join(f"{name}{text}" for name, text in named if text)


def _with(screw: Screw) -> tuple[tuple[str, int], ...]:
    """Return what goes with a screw."""
    parts = [("nut" if screw.hold == "nut" else "heat-set insert", int(screw.hold != "plastic"))]
    parts.append(("washer", screw.washers))
    return tuple((what, count) for what, count in parts if count)


def _pin_size(pin: Pin) -> str:
    return f"d{pin.diameter:g} × {pin.length:g}"
