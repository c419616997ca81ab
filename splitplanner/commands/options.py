"""The options of the command line, each described once."""

from __future__ import annotations

import math
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.errors import WishesError, WorkshopError

if TYPE_CHECKING:
    from splitplanner.plan import Fastening, Fastenings
    from splitplanner.plan.fastening import Flanges
    from splitplanner.workshop import Insert, Material, Printer, Shelf

PRINTER = "The printer"
SEAMS = "How seams are held"
"""Headings in the help."""


class ScrewsInto(StrEnum):
    """What the threads of screws go into."""

    NUT = "nut"
    INSERT = "insert"
    PLASTIC = "plastic"
    NONE = "none"


class FlangeWhere(StrEnum):
    """Where an internal rim is added."""

    NEVER = "never"
    WHERE_NEEDED = "where-needed"
    ALWAYS = "always"


_FLANGES: dict[FlangeWhere, Flanges] = {
    FlangeWhere.NEVER: "never",
    FlangeWhere.WHERE_NEEDED: "where needed",
    FlangeWhere.ALWAYS: "always",
}
CouponFile = Annotated[
    Path, typer.Option("--out", "-o", metavar="FILE", help="Where the coupon goes, STL.")
]
Part = Annotated[
    Path,
    typer.Argument(metavar="MODEL", help="The part: STL, OBJ, PLY, OFF, GLB, 3MF or STEP."),
]
PartOfPlan = Annotated[
    Path | None,
    typer.Option("--part", metavar="MODEL", help="The part, if it is not where the plan says."),
]
Out = Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the results go.")]
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
FasteningFile = Annotated[
    Path | None,
    typer.Option(
        "--fastening",
        metavar="FILE",
        help="All of how seams are to be held, TOML: pins, screws, flange, register, coat, glue, "
        "tape, marks; dowel pins alone, with a flange where they need one, if not given. A table "
        "seams.S3 in it has what differs of seam S3.",
        rich_help_panel=SEAMS,
    ),
]
Screws = Annotated[
    ScrewsInto | None,
    typer.Option(
        "--screws",
        help="Screws, and what their threads go into; overrides the file.",
        rich_help_panel=SEAMS,
    ),
]
ScrewSize = Annotated[
    str | None,
    typer.Option(
        "--screw-size",
        metavar="SIZE",
        help="Thread of the screws, such as M4; M3 unless the file says otherwise.",
        rich_help_panel=SEAMS,
    ),
]
Flange = Annotated[
    FlangeWhere | None,
    typer.Option(
        "--flange",
        help="Where an internal rim is added on the hidden side of seams; overrides the file.",
        rich_help_panel=SEAMS,
    ),
]
SingleSeams = Annotated[
    list[str] | None,
    typer.Option(
        "--seam",
        metavar='"SEAM: ENTRY=VALUE, ..."',
        help="How one seam is held in its own way, by the entries of the file, such as “S3: "
        "register=tongue, screws=none”; overrides the file, and may be given more than once.",
        rich_help_panel=SEAMS,
    ),
]
PinsFile = Annotated[
    Path | None,
    typer.Option(
        "--pins",
        metavar="FILE",
        help="Dowel pins on your shelf, CSV; taken first.",
        rich_help_panel=SEAMS,
    ),
]
HardwareFolder = Annotated[
    Path | None,
    typer.Option(
        "--hardware",
        metavar="FOLDER",
        help="Tables of your own, such as screws.csv and inserts.csv; their rows are taken before "
        "the built-in ones.",
        rich_help_panel=SEAMS,
    ),
]
Diameters = Annotated[
    list[float] | None,
    typer.Option(
        "--diameter",
        metavar="MM",
        help="Of a pin or of anything else that goes into a hole; may be given more than once. "
        "3, 4 and 5 if neither this nor --insert is given.",
    ),
]
Inserts = Annotated[
    list[str] | None,
    typer.Option(
        "--insert",
        metavar="SIZE",
        help="Thread of a heat-set insert on the hardware shelf, such as M3; may be given more "
        "than once.",
    ),
]
Unit = Annotated[
    str | None,
    typer.Option(
        "--unit",
        metavar="UNIT",
        help="Unit of the model's numbers: mm, cm, m, inch, foot or micron; else what its file "
        "says, or mm.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print the scorecard as JSON for scripts.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Show no progress.")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace an older result in FOLDER.")]
Pictures = Annotated[
    bool, typer.Option("--pictures/--no-pictures", help="Draw the cuts and the pieces, or not.")
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
Seed = Annotated[
    int,
    typer.Option("--seed", metavar="N", min=0, help="Same input, options and seed: same files."),
]
Weights = Annotated[
    list[str] | None,
    typer.Option(
        "--weight",
        metavar="CRITERION=NUMBER",
        help="How much a criterion of the plan score counts, such as “support volume=1”; may be "
        "given more than once. The criteria are listed in every scorecard.",
    ),
]
WishesFile = Annotated[
    Path | None,
    typer.Option(
        "--wishes",
        metavar="FILE",
        help="What you want of the plan, TOML: regions to keep seams out of, planes that must be "
        "cut, the good side, longest seam, smallest piece, number of pieces.",
    ),
]


def weights_of(texts: list[str] | None) -> dict[str, float] | None:
    """Read weights written as ``criterion=number``; None if there are none.

    Raises
    ------
    WishesError
        If a text is something else, or names no criterion.
    """
    from splitplanner.score import CRITERIA

    known = {criterion.name for criterion in CRITERIA}
    weights: dict[str, float] = {}
    for text in texts or []:
        name, _, number = text.rpartition("=")
        name = name.strip()
        try:
            weight = float(number)
        except ValueError:
            weight = math.nan
        if name not in known or not 0.0 <= weight < math.inf:
            raise WishesError(
                f"“{text}” is no weight; write the name of a criterion, an equals sign and a "
                "number from 0 on, such as “support volume=1”. The criteria are: "
                f"{', '.join(sorted(known))}."
            )
        weights[name] = weight
    return weights or None


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


def shelf_of(hardware: Path | None, pins: Path | None = None) -> Shelf:
    """Return the hardware shelf.

    Parameters
    ----------
    hardware : Path or None
        Folder of tables whose rows come before the built-in ones.
    pins : Path or None
        File of dowel pins that come before all others.

    Raises
    ------
    WorkshopError
        If one of the files cannot be read or has a wrong row.
    """
    from splitplanner.workshop import DowelPin, hardware_shelf
    from splitplanner.workshop.tables import own_rows

    shelf = hardware_shelf(hardware)
    if pins is None:
        return shelf
    own = own_rows(DowelPin, "dowel_pins.csv", pins)
    return replace(shelf, dowel_pins=own + shelf.dowel_pins)


def fastening_of(
    file: Path | None,
    screws: ScrewsInto | None,
    size: str | None,
    flange: FlangeWhere | None,
    seams: list[str] | None,
    shelf: Shelf,
    printer: Printer,
) -> Fastenings:
    """Return how seams are to be held: as a file says, with single entries overridden.

    Raises
    ------
    PlanFileError
        If the file cannot be read, or an entry is wrong.
    WorkshopError
        If a size is given and there are no screws, or the shelf has not what it takes.
    """
    from splitplanner.plan import Fastenings, read_fastenings, with_words

    held = Fastenings() if file is None else read_fastenings(file)
    general = held.general
    if screws is not None:
        general = replace(general, screws=screws.value)
    if flange is not None:
        general = replace(general, flange=_FLANGES[flange])
    if size is not None:
        general = replace(general, screw_size=size)
    held = held.with_general(general)
    for words in seams or []:
        held = with_words(held, words)
    ways = (held.general, *held.own.values())
    if size is not None and all(each.screws == "none" for each in ways):
        raise WorkshopError(
            f"A screw size, {size}, says nothing without screws; add --screws nut, insert or "
            "plastic."
        )
    for each in ways:
        _refuse_missing(each, shelf, printer)
    return held


def _refuse_missing(fastening: Fastening, shelf: Shelf, printer: Printer) -> None:
    """Refuse what cannot be had before anything is planned: screw, nut, washer, key, fibre."""
    from splitplanner.joint.screws.sizes import screw_sizes
    from splitplanner.workshop import fibre_density

    if fastening.screws != "none":
        screw_sizes(fastening, shelf, printer)
        standard, size = fastening.screw_standard, fastening.screw_size
        if fastening.screws == "plastic":
            shelf.key(shelf.forming_screw(shelf.thread(size).diameter).key)
        else:
            shelf.key(shelf.screw(standard, size).key)
    if fastening.tape_plies:
        fibre_density(fastening.tape_fibre)


def inserts_of(sizes: list[str] | None, shelf: Shelf) -> list[Insert]:
    """Return the heat-set inserts of the sizes of their threads.

    Raises
    ------
    WorkshopError
        If one is not on the shelf; says what is.
    """
    return [shelf.insert(size) for size in sizes or []]
