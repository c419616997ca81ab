"""What is told of braces: what they are, and when they are bolted on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from rich.console import RenderableType

from splitplanner.errors import WorkshopError
from splitplanner.findings import called, counted
from splitplanner.joint import Brace
from splitplanner.joint.brace.first_hole import FirstHole, first_hole
from splitplanner.output.brace_files import brace_file_name
from splitplanner.output.result import Result
from splitplanner.output.text_tables import add_row, direction_words, empty_table, titled
from splitplanner.plan import Vector
from splitplanner.score import FilamentUse, filament_of
from splitplanner.workshop import hardware_shelf


@dataclass(frozen=True)
class BraceStep:
    """The bolting of one brace, after all pieces are together.

    Attributes
    ----------
    number : int
        Of the step, after those of `Result.assembly`.
    name : str
    pieces : tuple of int
        Numbers of the pieces that it is bolted to.
    direction : (x, y, z)
        The way in which it is put on, in the part's frame.
    bolts : int
    first : FirstHole or None
        Which of its ends goes where; None without bolts.
    """

    number: int
    name: str
    pieces: tuple[int, ...]
    direction: Vector
    bolts: int
    first: FirstHole | None


def brace_steps(result: Result) -> tuple[BraceStep, ...]:
    """Return the last steps of the assembly: one a brace, in the order of the plan."""
    first = len(result.assembly()) + 1
    return tuple(_step(brace, number, result) for number, brace in enumerate(result.braces, first))


def _step(brace: Brace, number: int, result: Result) -> BraceStep:
    x, y, z = brace.wish.towards
    return BraceStep(
        number=number,
        name=brace.wish.name,
        pieces=tuple(sorted({result.number(bolt.piece) for bolt in brace.bosses.bolts})),
        direction=(-x + 0.0, -y + 0.0, -z + 0.0),
        bolts=len(brace.bosses.bolts),
        first=first_hole(brace, result.division.part),
    )


def step_words(step: BraceStep) -> str:
    """Return what is done in a step."""
    lies = (
        "" if step.first is None else step.first.words(f"{step.first.distance:.0f} mm", minus="-")
    )
    return (
        f"put brace “{step.name}” on along {direction_words(step.direction)} and bolt it to "
        f"{called('piece', step.pieces)} by {counted(step.bolts, 'bolt')}{lies and f'; {lies}'}"
    )


def brace_stuff(brace: Brace) -> str:
    """Return what a brace is cut or printed from, such as ``aluminium, 4 mm``."""
    wish = brace.wish
    return f"{'printed' if wish.is_printed else wish.metal}, {wish.stock:g} mm"


def brace_mass(brace: Brace, result: Result) -> float | None:
    """Return what a brace weighs, g; None where its material or metal is not known.

    A printed one by its layers, as in the tables of printing.
    """
    if brace.wish.is_printed:
        use = _filament_of(brace, result)
        return None if use is None else use.mass
    with suppress(WorkshopError):
        metal = (result.shelf or hardware_shelf()).sheet_metal(brace.wish.metal)
        return metal.mass(brace.solid.volume)
    return None


def _filament_of(brace: Brace, result: Result) -> FilamentUse | None:
    """Return what a printed brace takes; None where that is not known."""
    figures, material = result.card.figures, result.plan.material
    rows = [row for row in figures.braces if row.piece.solid is brace.solid]
    return filament_of(rows[0], material, figures) if rows and material is not None else None


def brace_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield a table of the braces with its title; nothing without any."""
    if not result.braces:
        return
    yield titled("Braces, each drawn with its outline, its holes and where its left end goes")
    table = empty_table(
        "brace", "of", "size, mm", "mass, g", "bolts", "drawing", left=["brace", "of"],
        wide="drawing",
    )  # fmt: skip
    for number, brace in enumerate(result.braces, 1):
        length, width = brace.profile.size
        mass = brace_mass(brace, result)
        bolt = brace.bosses.bolts[0] if brace.bosses.bolts else None
        add_row(
            table,
            brace.wish.name,
            brace_stuff(brace),
            f"{length:.0f} x {width:.0f}",
            "not known" if mass is None else f"{mass:.0f}",
            "none" if bolt is None else f"{len(brace.bosses.bolts)} {bolt.size} x {bolt.length:g}",
            f"braces/{brace_file_name(number)}.dxf",
        )
    yield table


def braces_record(result: Result) -> list[dict[str, Any]]:
    """Return plain values of the braces, for JSON."""
    found = []
    for number, (brace, step) in enumerate(zip(result.braces, brace_steps(result), strict=True), 1):
        length, width = brace.profile.size
        mass = brace_mass(brace, result)
        found.append(
            {
                "name": step.name,
                "file": f"braces/{brace_file_name(number)}.dxf",
                "printed": brace.wish.is_printed,
                "metal": None if brace.wish.is_printed else brace.wish.metal,
                "thickness": brace.wish.stock,
                "length": round(length, 6),
                "width": round(width, 6),
                "mass": None if mass is None else round(mass, 6),
                "pieces": list(step.pieces),
                "step": step.number,
                "direction": [round(each, 9) for each in step.direction],
                "first_hole": None if step.first is None else _first_hole(step.first),
                "bolts": [
                    {
                        "piece": result.number(bolt.piece),
                        "station": round(bolt.station, 6),
                        "at": [round(each, 6) for each in bolt.at],
                        "standard": bolt.standard,
                        "size": bolt.size,
                        "length": bolt.length,
                        "hold": bolt.hold,
                    }
                    for bolt in brace.bosses.bolts
                ],
            }
        )
    return found


def _first_hole(first: FirstHole) -> dict[str, Any]:
    towards = [round(each, 9) for each in first.towards]
    return {"towards": towards, "distance": round(first.distance, 6)}
