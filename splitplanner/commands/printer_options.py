"""The printer and the filament, as options of the command line."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.errors import WorkshopError

if TYPE_CHECKING:
    from splitplanner.workshop import Material, Printer

PRINTER = "The printer"
"""Heading in the help."""
BedSize = Annotated[
    str | None,
    typer.Option(
        "--bed",
        metavar="SIZE",
        help='Width x depth x height in mm, such as 220x220x250 (the default); or "round 200x300", '
        "diameter x height.",
        rich_help_panel=PRINTER,
    ),
]
PrinterFile = Annotated[
    Path | None,
    typer.Option(
        "--printer",
        metavar="FILE",
        help="Settings of the printer, TOML; --bed overrides its bed.",
        rich_help_panel=PRINTER,
    ),
]
MaterialFile = Annotated[
    Path | None,
    typer.Option(
        "--material",
        metavar="FILE",
        help="The material, TOML: density, price, what you measured of its shrink, and the like. "
        "Files of pieces are scaled by its shrink, unless it says scaled = false.",
        rich_help_panel=PRINTER,
    ),
]
Overhang = Annotated[
    float | None,
    typer.Option(
        metavar="ANGLE",
        help="Steepest overhang that prints without support, degrees from vertical; 45 unless "
        "--printer or --material says otherwise.",
        rich_help_panel=PRINTER,
    ),
]
SpoolLeft = Annotated[
    float | None,
    typer.Option(
        "--spool-left",
        metavar="GRAMS",
        help="Filament left on your started spool: whether it is enough, and on which bed it is "
        "empty.",
        rich_help_panel=PRINTER,
    ),
]


def printer_of(bed: str | None, file: Path | None, overhang: float | None) -> Printer:
    """Return the printer: as a file says, with its bed and overhang limit overridden.

    Raises
    ------
    WorkshopError
        If the file cannot be read, or an entry is wrong.
    """
    from splitplanner.workshop import Bed, Printer, read_printer

    machine = Printer() if file is None else read_printer(file)
    if bed is not None:
        machine = replace(machine, bed=Bed.parse(bed))
    if overhang is not None:
        machine = replace(machine, overhang_limit=overhang)
    return machine


def material_of(file: Path | None, overhang: float | None = None) -> Material | None:
    """Return the material that a file tells of; None if there is no file.

    An overhang limit (degrees from vertical) that is asked for counts instead of the material's.

    Raises
    ------
    WorkshopError
        If the file cannot be read, or an entry is wrong.
    """
    if file is None:
        return None
    from splitplanner.workshop import read_material

    material = read_material(file)
    if overhang is None or material.overhang_limit is None:
        return material
    return replace(material, overhang_limit=None)


def refuse_spool(left: float | None, material: Material | None) -> None:
    """Refuse what says nothing of a started spool, before anything is planned.

    Raises
    ------
    WorkshopError
        If it is no mass, or there is no material.
    """
    if left is None:
        return
    if not 0.0 <= left < math.inf:
        raise WorkshopError(f"What is left on the spool must be 0 g or above, got {left:g} g.")
    if material is None:
        raise WorkshopError(
            f"What is left on the spool, {left:g} g, says nothing without a material; plan with "
            "--material FILE."
        )
