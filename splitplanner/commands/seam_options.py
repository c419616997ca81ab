"""How seams are held and the hardware for it, as options of the command line."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.errors import WorkshopError

if TYPE_CHECKING:
    from splitplanner.plan import Fastening, Fastenings
    from splitplanner.plan.fastening import Flanges
    from splitplanner.workshop import Printer, Shelf

SEAMS = "How seams are held"
"""Heading in the help."""


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
    if hardware is not None and not any(hardware.glob("*.csv")):
        raise WorkshopError(
            f"The hardware folder {hardware} holds no table, such as screws.csv or inserts.csv.",
            subject=str(hardware),
        )
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
    from splitplanner.joint.screws.from_shelf import screw_sizes
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
