"""What has to be bought, or taken from the shelf, for a plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.joint import Brace, sensible, tape_figures
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.plan import Joint, Plan, Screw, Tape
from splitplanner.workshop import Shelf

NUT, WASHER = "ISO 4032", "ISO 7089"
"""What goes with a screw, by standard, where no shelf says otherwise."""
PIN = "dowel pin"


@dataclass(frozen=True)
class NeededHardware:
    """Pieces of hardware that are alike.

    Attributes
    ----------
    what : str
        In words, such as ``dowel pin``.
    standard : str
        Empty for what is bought by its maker's data sheet.
    size : str
        As it is ordered: ``3`` of pins and washers, ``M3`` of what has a thread.
    length : float
        mm; 0 for what has none.
    hole : float
        Diameter of the hole that an insert is set into, mm; 0 for anything else.
    seams : tuple of (str, int)
        Where it goes, in the order of the plan, and how many of it: names of seams, and of braces.
    """

    what: str
    standard: str
    size: str
    length: float
    hole: float
    seams: tuple[tuple[str, int], ...]

    @property
    def count(self) -> int:
        """How many there are in all seams and braces."""
        return sum(count for _, count in self.seams)

    @property
    def name(self) -> str:
        """As it is ordered, such as ``ISO 4762 - M3 x 12``."""
        if self.hole:
            return f"for {self.size}, set into holes of {self.hole:g} mm"
        size = f"{self.size} x {self.length:g}" if self.length else self.size
        return f"{self.standard} - {size}"


@dataclass(frozen=True)
class NeededTape:
    """Tape of one fibre, weight and width, and what goes into it.

    Attributes
    ----------
    fibre : str
    areal_weight : float
        g/m².
    width : float
        mm.
    cuts : tuple of (str, int, float)
        For each seam its name, how many plies are cut, and the length of each, mm.
    fibre_mass : float
        Of the dry fibre, g.
    resin_mass : float
        In the laminate, g.
    mixed_mass : float
        Resin and hardener to mix, with what is lost, g.
    """

    fibre: str
    areal_weight: float
    width: float
    cuts: tuple[tuple[str, int, float], ...]
    fibre_mass: float
    resin_mass: float
    mixed_mass: float

    @property
    def length(self) -> float:
        """Of all plies one after another, mm."""
        return sum(plies * length for _, plies, length in self.cuts)

    @property
    def name(self) -> str:
        """As it is ordered."""
        return f"{self.fibre}, {self.areal_weight:g} g/m², {self.width:.0f} mm wide"


@dataclass(frozen=True)
class NeededBrace:
    """A brace.

    Attributes
    ----------
    brace : str
        Its name.
    metal : str
        What it is cut from; empty for one that is printed.
    stock : float
        Thickness, mm.
    length, width : float
        Of the smallest rectangle round its outline, mm.
    """

    brace: str
    metal: str
    stock: float
    length: float
    width: float

    @property
    def name(self) -> str:
        """As it is ordered or made."""
        size = f"{self.length:.0f} x {self.width:.0f} x {self.stock:g} mm"
        return f"{self.metal or 'printed flat'}, {size}"


@dataclass(frozen=True)
class PartsList:
    """All that a plan takes beside its pieces.

    Attributes
    ----------
    hardware : tuple of NeededHardware
    tapes : tuple of NeededTape
    braces : tuple of NeededBrace
    """

    hardware: tuple[NeededHardware, ...]
    tapes: tuple[NeededTape, ...]
    braces: tuple[NeededBrace, ...] = ()

    @property
    def mixed_mass(self) -> float:
        """Resin and hardener to mix for all tape, with what is lost, g."""
        return sum(tape.mixed_mass for tape in self.tapes)


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


def list_parts(plan: Plan, shelf: Shelf | None = None, braces: Sequence[Brace] = ()) -> PartsList:
    """Return the hardware of joints and braces, and what tape takes; what is alike is one row.

    Parameters
    ----------
    plan : Plan
    shelf : Shelf, optional
        What nuts and washers were chosen from, which are called as there; those that are not there
        are of `NUT` and `WASHER`.
    braces : sequence of Brace, optional
        Those of the plan, as they were made.
    """
    joints = sensible(plan).joints
    found: dict[_Kind, Counter[str]] = {}
    for joint in joints:
        for kind in _hardware(joint, shelf):
            found.setdefault(kind, Counter())[joint.seam] += 1
    for brace in braces:
        for kind in _bolts(brace, shelf):
            found.setdefault(kind, Counter())[brace.wish.name] += 1
    rows = [NeededHardware(*kind, tuple(counts.items())) for kind, counts in found.items()]
    return PartsList(tuple(sorted(rows, key=_place)), tuple(_tapes(joints)), tuple(_strips(braces)))


def needed_parts(
    plan: Plan, shelf: Shelf | None = None, braces: Sequence[Brace] = ()
) -> tuple[NeededPart, ...]:
    """Return the parts list of a plan in words; see `list_parts`."""
    needed = list_parts(plan, shelf, braces)
    parts = [NeededPart(str(row.count), row.name, row.what) for row in needed.hardware]
    for tape in needed.tapes:
        parts.append(NeededPart(f"{tape.length / 1000:.2f} m", tape.name, "fibre tape"))
    if needed.tapes:
        name = "resin and hardener, with what is lost"
        parts.append(NeededPart(f"{needed.mixed_mass:.0f} g", name, "laminating resin"))
    for brace in needed.braces:
        parts.append(NeededPart("1", brace.name, f"brace “{brace.brace}”"))
    return tuple(parts)


_Kind = tuple[str, str, str, float, float]
"""What is alike: all of `NeededHardware` but where it goes."""


def _place(row: NeededHardware) -> tuple[str, float, str]:
    """Return what rows are sorted by: thin pins and short screws come first."""
    return row.what, float(row.size) if row.what == PIN else row.length, row.name


def _hardware(joint: Joint, shelf: Shelf | None) -> Iterator[_Kind]:
    """Yield everything in a joint."""
    for pin in joint.pins:
        yield PIN, pin.standard, f"{pin.diameter:g}", pin.length, 0.0
    for screw in joint.screws:
        yield from _with_what_goes(screw, screw.washers, shelf)


def _bolts(brace: Brace, shelf: Shelf | None) -> Iterator[_Kind]:
    """Yield everything that holds a brace."""
    for bolt in brace.bosses.bolts:
        yield from _with_what_goes(bolt, brace.bosses.size.screw.washers, shelf)


def _with_what_goes(screw: Screw | BraceBolt, washers: int, shelf: Shelf | None) -> Iterator[_Kind]:
    """Yield a screw, and what goes with it."""
    what = "thread-forming screw" if screw.hold == "plastic" else "screw"
    yield what, screw.standard, screw.size, screw.length, 0.0
    if screw.hold == "nut":
        yield "nut", _nut(screw.size, shelf), screw.size, 0.0, 0.0
    if screw.hold == "insert":
        yield "heat-set insert", "", screw.size, 0.0, screw.hole
    for _ in range(washers):
        size = screw.size.removeprefix("M")
        yield "washer", _washer(screw.size, shelf), size, 0.0, 0.0


def _strips(braces: Iterable[Brace]) -> Iterator[NeededBrace]:
    """Yield the braces themselves."""
    for brace in braces:
        wish = brace.wish
        metal = "" if wish.is_printed else wish.metal
        yield NeededBrace(wish.name, metal, wish.stock, *brace.profile.size)


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


def _tapes(joints: Sequence[Joint]) -> Iterator[NeededTape]:
    """Yield tape by fibre, weight and width."""
    taped = [(joint.seam, joint.tape) for joint in joints if joint.tape is not None]
    for kind in sorted({_kind(tape) for _, tape in taped}):
        alike = [(seam, tape) for seam, tape in taped if _kind(tape) == kind]
        figures = [tape_figures(tape) for _, tape in alike]
        yield NeededTape(
            *kind,
            tuple((seam, tape.plies, tape.length) for seam, tape in alike),
            sum(each.fibre_mass for each in figures),
            sum(each.resin_mass for each in figures),
            sum(each.mixed_mass for each in figures),
        )


def _kind(tape: Tape) -> tuple[str, float, float]:
    return tape.fibre, tape.areal_weight, tape.width
