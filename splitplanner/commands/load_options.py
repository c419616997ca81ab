"""What a part has to stand and its braces, as options of the command line."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from splitplanner.errors import JointError, WorkshopError

if TYPE_CHECKING:
    from splitplanner.job import AskedBraces, AskedLoads, Braces, Loads
    from splitplanner.output import Result
    from splitplanner.workshop import Shelf

STRENGTH = "What the part has to stand"
"""Heading in the help."""
USUAL: Final = "usual"
PROPOSED: Final = "two"
"""Words that stand for a file."""

LoadsFile = Annotated[
    str | None,
    typer.Option(
        "--loads",
        metavar="FILE",
        help="Load cases, TOML: supports, forces, falls. Seams are then put where the part is bent "
        f"little, and it is said what they hold. The word “{USUAL}” stands for a fall on its back, "
        "a push from the side and a twist.",
        rich_help_panel=STRENGTH,
    ),
]
BracesFile = Annotated[
    str | None,
    typer.Option(
        "--braces",
        metavar="FILE",
        help="Braces that are bolted over seams, TOML. The word "
        f"“{PROPOSED}” stands for two of 4 mm aluminium along the part.",
        rich_help_panel=STRENGTH,
    ),
]
SheetSize = Annotated[
    str | None,
    typer.Option(
        "--sheet",
        metavar="SIZE",
        help="Sheet from which the braces are cut, width x height in mm, and where it is clamped "
        "the margin, such as 500x250+10: whether they fit, and how many mm are spare or missing.",
        rich_help_panel=STRENGTH,
    ),
]


def sheet_of(text: str | None) -> tuple[float, float, float] | None:
    """Return width, height and clamp margin of a sheet, mm.

    Raises
    ------
    WorkshopError
        If the text is no such size.
    """
    if text is None:
        return None
    found = re.fullmatch(r"\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*(?:\+\s*([\d.]+)\s*)?", text)
    try:
        sizes = [float(each or 0.0) for each in found.groups()] if found else []
    except ValueError:
        sizes = []
    if not sizes or min(sizes[:2]) <= 0.0:
        raise WorkshopError(
            f"“{text}” is no size of a sheet; write width x height in mm, and the margin of the "
            "clamps after a plus, such as 500x250+10."
        )
    width, height, margin = sizes
    return width, height, margin


def laid_on_sheet(result: Result, sheet: tuple[float, float, float] | None) -> Result:
    """Return a result with the finding of how its braces lie on a sheet.

    Raises
    ------
    JointError
        If there is no brace, or they are not cut from one sheet.
    """
    from splitplanner.joint.brace.on_sheet import fit_on_sheet

    return result if sheet is None else result.with_findings(fit_on_sheet(result.braces, *sheet)[1])


def laid_or_told(result: Result, sheet: tuple[float, float, float] | None) -> Result:
    """Return the same of a plan that was just made, which is not lost for a sheet.

    Where it is too small, or cannot be told of since there are braces of two kinds, a warning says
    so: pieces are the same on any sheet.
    """
    from dataclasses import replace

    from splitplanner.findings import Finding, Severity

    if not result.braces and any(each.kind == "brace.none" for each in result.findings):
        return result  # it was said why there are none
    try:
        laid = laid_on_sheet(result, sheet)
    except JointError as fault:
        return result.with_findings(Finding("brace.sheet", Severity.WARNING, str(fault)))
    more = laid.findings[len(result.findings) :]
    return result.with_findings(
        *(
            replace(each, severity=Severity.WARNING) if each.severity is Severity.FAULT else each
            for each in more
        )
    )


def refuse_sheet(sheet: str | None, braces: str | None) -> None:
    """Refuse a sheet where no braces are asked for that could be cut from it.

    Raises
    ------
    WorkshopError
    """
    if sheet is not None and braces is None:
        raise WorkshopError(
            f"A sheet, {sheet}, says nothing without braces; add --braces FILE or --braces "
            f"{PROPOSED}."
        )


def asked_loads(text: str | None) -> AskedLoads | None:
    """Return the load cases of a file, or the word for the usual ones.

    Raises
    ------
    PlanFileError
        If the file cannot be read or is wrong.
    """
    if text is None or text == USUAL:
        return None if text is None else USUAL
    from splitplanner.plan import read_loads

    return read_loads(Path(text))


def loads_of(text: str | None) -> Loads | None:
    """Return what gives the load cases of a part: those of a file, or the usual ones.

    Raises
    ------
    PlanFileError
        If the file cannot be read or is wrong.
    """
    from splitplanner.job import loads_for

    return loads_for(asked_loads(text))


def braces_of(text: str | None, shelf: Shelf | None = None) -> Braces | None:
    """Return the braces of a file, or what proposes two; see `asked_braces`."""
    from splitplanner.job import braces_for

    return braces_for(asked_braces(text, shelf), shelf)


def asked_braces(text: str | None, shelf: Shelf | None = None) -> AskedBraces | None:
    """Return the braces of a file, or the word for two that are proposed.

    Parameters
    ----------
    text : str or None
        Name of the file, or `PROPOSED`.
    shelf : Shelf, optional
        What their bolts are taken from; the built-in tables by default.

    Raises
    ------
    PlanFileError
        If the file cannot be read or is wrong.
    WorkshopError
        If the shelf has not what their bolts take: found out now, and not after the search.
    """
    if text is None or text == PROPOSED:
        return None if text is None else PROPOSED
    from splitplanner.joint.brace.planned import brace_screw
    from splitplanner.plan.brace_file import read_braces
    from splitplanner.workshop import Printer, hardware_shelf

    braces = read_braces(Path(text))
    for brace in braces:
        try:
            brace_screw(brace, shelf or hardware_shelf(), Printer())
        except WorkshopError as fault:
            raise WorkshopError(f"Brace “{brace.name}”: {fault}") from fault
    return braces
