"""The steps in which a part is put together, as a table shows them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.background.examined import MadeBrace
from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity, called, capital, counted
from splitplanner.joint import Assembly, Step
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.loaded.wording import named
from splitplanner.plan import Division, Joint, Pin, Plan, Screw, Tape, Vector
from splitplanner.solid import Solid
from splitplanner.window.lists.lines import RANK
from splitplanner.window.lists.piece_rows import about
from splitplanner.window.lists.way_words import way_arrow, way_words
from splitplanner.workshop import Shelf, hardware_shelf

_FLAT = 0.05
"""Groups that move so nearly along a plane, as a sine, do not come apart by it."""
_ALONG = 0.99
"""A pin holds a piece to its own direction, and no other, as a cosine."""


@dataclass(frozen=True)
class StepRow:
    """One push that joins two groups of pieces.

    Attributes
    ----------
    number : int
        From 1, in the order of the assembly.
    step : Step
    moving, standing : tuple of int
        Numbers of the pieces in each group, rising.
    joint : Joint
        All pins and screws of the seams that close; it has no name.
    tapes : tuple of Tape
        Over those seams.
    tools : str
        What the screws are turned by; empty without any.
    way : float
        How far the moving pieces go straight at the end: over pins and registers, and along what
        they slide in, mm.
    colour : str
        Of the first piece that moves, ``#RRGGBB``.
    findings : int
        How many of the assembly are about the seams that close.
    worst : Severity or None
        Of them.
    brace : MadeBrace or None
        That is bolted on; then no piece moves and no seam closes.
    """

    number: int
    step: Step
    moving: tuple[int, ...]
    standing: tuple[int, ...]
    joint: Joint
    tapes: tuple[Tape, ...]
    tools: str
    way: float
    colour: str
    findings: int
    worst: Severity | None
    brace: MadeBrace | None = None

    @property
    def key(self) -> int:
        """What a table knows it by."""
        return self.number

    @property
    def screws(self) -> tuple[Screw | BraceBolt, ...]:
        """All that are tightened."""
        return self.joint.screws if self.brace is None else self.brace.bolts


def step_rows(
    assembly: Assembly,
    division: Division,
    plan: Plan,
    shelf: Shelf | None,
    colours: Mapping[str, str],
) -> tuple[StepRow, ...]:
    """Return a row for each step of an assembly.

    Parameters
    ----------
    assembly : Assembly
    division : Division
        The pieces as they are printed.
    plan : Plan
    shelf : Shelf or None
        Has the keys; the built-in tables by default.
    colours : mapping of piece name to ``#RRGGBB``
    """
    keys = shelf or hardware_shelf()
    return tuple(
        _row(number, step, assembly.findings, division, plan, keys, colours)
        for number, step in enumerate(assembly.steps, 1)
    )


def _row(
    number: int,
    step: Step,
    findings: Sequence[Finding],
    division: Division,
    plan: Plan,
    shelf: Shelf,
    colours: Mapping[str, str],
) -> StepRow:
    joints = [plan.joint(name) for name in step.seams]
    pins = tuple(pin for joint in joints for pin in joint.pins)
    screws = tuple(screw for joint in joints for screw in joint.screws)
    closing = [seam for seam in division.seams if seam.name in step.seams]
    counts = [about(findings, name) for name in step.seams]
    worst = [each for _, each in counts if each is not None]
    moving, standing = (
        sorted((division.piece(name) for name in names), key=lambda piece: piece.number)
        for names in (step.moving, step.standing)
    )
    return StepRow(
        number,
        step,
        tuple(piece.number for piece in moving),
        tuple(piece.number for piece in standing),
        Joint("", pins, screws),
        tuple(joint.tape for joint in joints if joint.tape is not None),
        ", ".join(tools_of(screws, shelf)),
        max(
            way_in(
                [piece.solid for piece in standing],
                [piece.solid for piece in moving],
                step.direction,
                [(seam.plane.normal, _height(plan.joint(seam.name))) for seam in closing],
            ),
            standing_out(pins, step.direction),
        ),
        colours.get(moving[0].name, "#B8BDC6"),
        sum(count for count, _ in counts),
        min(worst, key=RANK.index, default=None),
    )


def _height(joint: Joint) -> float:
    """Return how far the register of a seam stands up, mm; 0 without one."""
    return 0.0 if joint.register is None else joint.register.height


def way_in(
    standing: Sequence[Solid],
    moving: Sequence[Solid],
    way: Vector,
    closing: Sequence[tuple[Vector, float]],
) -> float:
    """Return how far a group goes straight at the end, by the forms of both alone, mm.

    Where the push closes all seams at once, face to face, it is as far as their registers stand
    up. Where a seam slides, it is from where a plane has the groups apart: one square to an axis,
    to a seam or to the way itself, whichever is nearest.

    Parameters
    ----------
    standing, moving : sequences of Solid
        Both in their places in the part.
    way : (x, y, z)
        Unit vector in which the second group goes in.
    closing : sequence of ((x, y, z), float)
        The normal of each seam that closes, and how far its register stands up, mm.
    """
    back = -np.array(way)
    normals = np.array([normal for normal, _ in closing]).reshape(-1, 3)
    opening = np.abs(normals @ back)
    if bool((opening > _FLAT).all()):
        registers = np.array([height for _, height in closing]) / opening
        return float(registers.max(initial=0.0))
    across = np.vstack([np.eye(3), normals, [way]])
    across = np.vstack([across, -across])
    slopes = across @ back
    top = _heights(standing, across).max(axis=0)
    foot = _heights(moving, across).min(axis=0)
    gaps = np.maximum(top - foot, 0.0)
    # What moves along a plane that has the groups apart never runs into anything.
    if bool((gaps[np.abs(slopes) <= _FLAT] <= _touching(standing)).any()):
        return 0.0
    leaves = slopes > _FLAT
    return float((gaps[leaves] / slopes[leaves]).min())


def _touching(solids: Sequence[Solid]) -> float:
    """Return what is rounding in heights of solids, mm."""
    return 1e-6 * max(solid.size for solid in solids)


def _heights(solids: Sequence[Solid], across: Floats) -> Floats:
    """Return heights of all corners along directions (k, 3), (n, k) mm."""
    heights: Floats = np.vstack([solid.vertices for solid in solids]) @ across.T
    return heights


def standing_out(pins: Sequence[Pin], way: Vector) -> float:
    """Return how far pins that guide a piece stand out of the other: half of the longest, mm."""
    guiding = [pin for pin in pins if abs(float(np.dot(pin.axis, way))) >= _ALONG]
    return max((pin.length / 2 for pin in guiding), default=0.0)


def tools_of(screws: Sequence[Screw | BraceBolt], shelf: Shelf) -> Iterator[str]:
    """Yield what screws are turned by, and what holds nuts that lie open."""
    keys, spanners = set(), set()
    for screw in screws:
        # What is not on the shelf is found elsewhere.
        with suppress(WorkshopError):
            if screw.hold == "plastic":
                keys.add(shelf.forming_screw(screw.standard).key)
            else:
                keys.add(shelf.screw(screw.standard, screw.size).key)
            is_open = isinstance(screw, BraceBolt) or not screw.nut_room
            if screw.hold == "nut" and is_open:
                spanners.add(shelf.nut(screw.size).across_flats)
    if keys:
        yield f"hex key {_sizes(keys)}"
    if spanners:
        yield f"spanner {_sizes(spanners)}"


def _sizes(sizes: set[float]) -> str:
    return f"{' and '.join(f'{size:g}' for size in sorted(sizes))} mm"


def step_text(row: StepRow, way: str, then: str, lies: str = "") -> str:
    """Return a step as a sentence or two.

    Parameters
    ----------
    row : StepRow
    way : str
        How far, with its unit; empty for no way.
    then : str
        What is done when the seams are closed; empty for nothing.
    lies : str
        Which end of a brace goes where; empty for pieces.
    """
    direction = row.step.direction
    if row.brace is not None:
        text = (
            f"Step {row.number}: push {named('brace', row.brace.name)} {way_arrow(direction)} "
            f"{way_words(direction)} into its place and bolt it to "
            f"{called('piece', row.standing)}; {then}."
        )
        return f"{text} {capital(lies)}." if lies else text
    one, other = (called("piece", numbers) for numbers in (row.moving, row.standing))
    far = f", the last {way} straight" if way else ""
    pins = counted(len(row.joint.pins), "pin")
    on = f" on {pins}" if row.joint.pins else ""
    seams = called("seam", row.step.seams)
    closes = f"closes {seams}{on}"
    text = (
        f"Step {row.number}: push {one} {way_arrow(direction)} {way_words(direction)} onto "
        f"{other}{far}; this {closes}."
    )
    return f"{text} Then {then}." if then else text


def order_said(assembly: Assembly, pieces: int, braces: int = 0) -> str:
    """Return what is to be said of an order as a whole; empty where the steps say all.

    Parameters
    ----------
    assembly : Assembly
    pieces : int
        How many there are.
    braces : int
        How many are bolted on at the end.
    """
    if braces and assembly.is_possible and not assembly.steps:
        return ""
    if pieces < 2:
        return "The part is in one piece, so there is nothing to put together."
    if not assembly.steps and assembly.is_possible:
        return "No seam joins the pieces, so there is nothing to put together."
    if not assembly.steps:
        return "The pieces cannot be put together; below is why."
    if any(finding.kind == "assembly.conflict" for finding in assembly.findings):
        return "As it is there is no order: these steps hold once what is proposed below is done."
    if not assembly.is_possible:
        return "These steps come nearest to an order; what is wrong with them is below."
    return ""
