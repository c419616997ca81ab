"""What has to be bought, or taken from the shelf, for a plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.joint import sensible, tape_figures
from splitplanner.plan import Joint, Plan, Tape
from splitplanner.workshop import Shelf

NUT, WASHER = "ISO 4032", "ISO 7089"
"""What goes with a screw, by standard, where no shelf says otherwise."""


@dataclass(frozen=True)
class NeededPart:
    """One line of a parts list.

    Attributes
    ----------
    amount : str
        How many, or how much with its unit.
    name : str
        As it is ordered, such as ``ISO 4762 - M3 x 12``.
    what : str
        In words.
    """

    amount: str
    name: str
    what: str


def needed_parts(plan: Plan, shelf: Shelf | None = None) -> tuple[NeededPart, ...]:
    """Return the hardware of all joints and what their tape takes; what is alike is one line.

    Parameters
    ----------
    plan : Plan
    shelf : Shelf, optional
        What nuts and washers were chosen from, which are called as there; those that are not there
        are of `NUT` and `WASHER`.
    """
    joints = sensible(plan).joints
    counts = Counter(each for joint in joints for each in _hardware(joint, shelf))
    parts = [
        NeededPart(str(count), name, what)
        for (what, _, name), count in sorted(counts.items(), key=lambda item: item[0])
    ]
    return (*parts, *_tape_lines([joint.tape for joint in joints if joint.tape is not None]))


def _hardware(joint: Joint, shelf: Shelf | None) -> Iterator[tuple[str, float, str]]:
    """Yield what, a size to sort by, and name of everything in a joint."""
    for pin in joint.pins:
        yield "dowel pin", pin.diameter, f"{pin.standard} - {pin.diameter:g} x {pin.length:g}"
    for screw in joint.screws:
        size = f"{screw.size} x {screw.length:g}"
        if screw.hold == "plastic":
            yield "thread-forming screw", screw.length, f"{screw.standard} - {size}"
        else:
            yield "screw", screw.length, f"{screw.standard} - {size}"
        if screw.hold == "nut":
            yield "nut", 0.0, f"{_nut(screw.size, shelf)} - {screw.size}"
        if screw.hold == "insert":
            yield "heat-set insert", 0.0, f"for {screw.size}, set into holes of {screw.hole:g} mm"
        for _ in range(screw.washers):
            name = f"{_washer(screw.size, shelf)} - {screw.size.removeprefix('M')}"
            yield "washer", 0.0, name


def _nut(size: str, shelf: Shelf | None) -> str:
    """Return the standard of the nuts of a size."""
    with suppress(WorkshopError):
        return NUT if shelf is None else shelf.nut(size).standard
    return NUT


def _washer(size: str, shelf: Shelf | None) -> str:
    """Return the standard of the washers of a size."""
    with suppress(WorkshopError):
        return WASHER if shelf is None else shelf.washer(size).standard
    return WASHER


def _tape_lines(tapes: list[Tape]) -> Iterator[NeededPart]:
    """Yield tape by fibre, weight and width, and the resin for all of it."""
    kinds = sorted({(tape.fibre, tape.areal_weight, tape.width) for tape in tapes})
    for fibre, weight, width in kinds:
        alike = [tape for tape in tapes if (tape.fibre, tape.areal_weight) == (fibre, weight)]
        length = sum(tape.plies * tape.length for tape in alike if tape.width == width)
        name = f"{fibre}, {weight:g} g/m², {width:.0f} mm wide"
        yield NeededPart(f"{length / 1000:.2f} m", name, "fibre tape")
    if tapes:
        mixed = sum(tape_figures(tape).mixed_mass for tape in tapes)
        yield NeededPart(
            f"{mixed:.0f} g", "resin and hardener, with what is lost", "laminating resin"
        )
