"""The command ``splitplanner calibrate``: a printer's factors from one print that is known."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from splitplanner.commands import options, printer_options
from splitplanner.errors import WorkshopError
from splitplanner.progress import part_of
from splitplanner.terminal import shown_progress, stop_held

if TYPE_CHECKING:
    from rich.table import Table

    from splitplanner.score import Spent
    from splitplanner.workshop import Material, Printer


class Up(StrEnum):
    """Which way up a model was printed."""

    Z = "z"
    MINUS_Z = "-z"
    X = "x"
    MINUS_X = "-x"
    Y = "y"
    MINUS_Y = "-y"


_UPS = {
    f"{sign}{axis}": tuple(float(each == axis) * (-1.0 if sign else 1.0) for each in "xyz")
    for axis in "xyz"
    for sign in ("", "-")
}


def calibrate(
    part: Annotated[
        Path,
        typer.Argument(metavar="MODEL", help="What you printed, whole and in one piece."),
    ],
    printer: Annotated[
        Path,
        typer.Option(
            "--printer",
            metavar="FILE",
            help="Settings of the printer that it was printed with, TOML; the factors are written "
            "into it.",
            rich_help_panel=printer_options.PRINTER,
        ),
    ],
    hours: Annotated[
        float | None, typer.Option(metavar="HOURS", help="How long it took to print.")
    ] = None,
    grams: Annotated[
        float | None,
        typer.Option(
            metavar="GRAMS", help="What it weighed, supports and all; takes --material as well."
        ),
    ] = None,
    material: printer_options.MaterialFile = None,
    up: Annotated[
        Up, typer.Option("--up", help="Which direction of the model was up on the bed.")
    ] = Up.Z,
    support: Annotated[
        bool, typer.Option("--support/--no-support", help="Whether it was printed with supports.")
    ] = True,
    unit: options.Unit = None,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Find your printer's factors for time and mass by one print whose hours and grams you know.

    Example: splitplanner calibrate vase.stl --hours 7.5 --printer own.toml
    """
    from splitplanner.commands import printing

    with printing.faults_as_sentences(as_json):
        with stop_held():
            from splitplanner.score import Spent, calibrated, known_print, spent_on
            from splitplanner.solid import read_solid
            from splitplanner.workshop import printing_with, read_printer
            from splitplanner.workshop.printer_file import set_entries
        machine, filament = read_printer(printer), printer_options.material_of(material)
        known = Spent(hours, grams)
        _refuse(known, filament)
        with shown_progress(quiet) as report:
            solid = read_solid(part, unit, part_of(report, 0.0, 0.5)).solid
            report(0.5, "working out its layers")
            used = printing_with(machine, filament)
            made = known_print(solid, _UPS[up.value], used, is_held=support)
        worked_out = spent_on(made, filament, machine)
        after = calibrated(machine, worked_out, known)
        set_entries(printer, _factors(after, known))
        if as_json:
            printing.print_json(_record(machine, worked_out, known, after))
        else:
            printing.print_tables(
                _table(machine, worked_out, known, after), f"Written to {printer}"
            )


def _refuse(known: Spent, material: Material | None) -> None:
    """Refuse what says nothing, before a model is read."""
    if known.hours is None and known.grams is None:
        raise WorkshopError("Say what the print took: --hours, --grams or both.")
    for value, what in ((known.hours, "hours"), (known.grams, "grams")):
        if value is not None and not 0 < value < float("inf"):
            raise WorkshopError(f"The {what} of a print are above 0, got {value:g}.")
    if known.grams is not None and material is None:
        raise WorkshopError(
            "The grams of a print say nothing without the density of its material; add --material "
            "FILE."
        )


def _factors(printer: Printer, known: Spent) -> dict[str, float]:
    """Return the entries of the printer's file that are found out, to four digits."""
    found = {}
    if known.hours is not None:
        found["time_factor"] = float(f"{printer.time_factor:.4g}")
    if known.grams is not None:
        found["mass_factor"] = float(f"{printer.mass_factor:.4g}")
    return found


def _rows(
    before: Printer, worked_out: Spent, known: Spent, after: Printer
) -> Iterator[tuple[str, str, float, float, float, float]]:
    """Yield what, its unit, worked out without a factor, known, factor before and after."""
    factors = _factors(after, known)
    if known.hours is not None and worked_out.hours is not None:
        bare = worked_out.hours / before.time_factor
        yield "time", "h", bare, known.hours, before.time_factor, factors["time_factor"]
    if known.grams is not None and worked_out.grams is not None:
        bare = worked_out.grams / before.mass_factor
        yield "mass", "g", bare, known.grams, before.mass_factor, factors["mass_factor"]


def _record(before: Printer, worked_out: Spent, known: Spent, after: Printer) -> dict[str, Any]:
    return {
        what: {
            "unit": unit,
            "worked_out": round(bare, 4),
            "known": took,
            "factor_before": old,
            "factor": new,
        }
        for what, unit, bare, took, old, new in _rows(before, worked_out, known, after)
    }


def _table(before: Printer, worked_out: Spent, known: Spent, after: Printer) -> Table:
    from splitplanner.output.text_tables import add_row, empty_table

    table = empty_table(
        "\n", "worked out\nwithout a factor", "\nit took", "factor\nbefore", "factor\nnow",
        left=["\n"],
    )  # fmt: skip
    for what, unit, bare, took, old, new in _rows(before, worked_out, known, after):
        add_row(table, what, f"{bare:.2f} {unit}", f"{took:g} {unit}", f"{old:g}", f"{new:g}")
    return table
