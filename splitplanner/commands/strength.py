"""The command ``splitplanner strength``: what a planned part stands of its load cases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.commands import load_options, options, seam_options
from splitplanner.commands.printing import faults_as_sentences, print_json, print_tables
from splitplanner.errors import LoadError
from splitplanner.findings import listed
from splitplanner.progress import Report, part_of
from splitplanner.terminal import shown_progress, stop_held

if TYPE_CHECKING:
    from rich.console import RenderableType

    from splitplanner.background.cells_told import CellsTold
    from splitplanner.output import Result


def strength(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan file, plan.json.")],
    part: options.PartOfPlan = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
    hardware: seam_options.HardwareFolder = None,
    cells: Annotated[
        list[str] | None,
        typer.Option(
            "--cells",
            metavar="CASE",
            help="A load case that is checked by finite cells too, on the solids themselves, with "
            "contact and prying: half a minute to some minutes each, and up to 3 GB of memory. "
            "May be given more than once.",
        ),
    ] = None,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Say what a planned part stands of its load cases, seam by seam, beside the uncut part.

    Example: splitplanner strength hood/plan.json --loads usual --braces two
    """
    with faults_as_sentences(as_json):
        with stop_held():
            from rich.console import Group

            from splitplanner import job
            from splitplanner.commands.cells_tables import cells_blocks, cells_record
            from splitplanner.output import strength_blocks, strength_record
        shelf = seam_options.shelf_of(hardware)
        stood, braced = load_options.loads_of(loads), load_options.braces_of(braces, shelf)
        with shown_progress(quiet) as report:
            sections = part_of(report, 0.0, 0.3 if cells else 1.0)
            result = job.check_plan(
                plan_file, part, sections, shelf=shelf, loadings=stood, braces=braced
            )
            if result.strength is None:
                raise LoadError(
                    f"The plan {plan_file} has no load case: give some with --loads FILE, or with "
                    f"--loads {load_options.USUAL}.",
                    subject=str(plan_file),
                )
            told = _checked(result, cells or (), part_of(report, 0.3, 1.0))
        if as_json:
            record = strength_record(result.strength)
            print_json(record | ({"cells": [cells_record(each) for each in told]} if told else {}))
        else:
            blocks = [block for each in told for block in cells_blocks(each, result)]
            said = _findings_of(result)
            print_tables(Group(*strength_blocks(result), *blocks, *said), "Nothing was written")


def _findings_of(result: Result) -> Iterator[RenderableType]:
    """Yield what does not hold, or could not be worked out, and what to do for it."""
    from splitplanner.findings import Severity
    from splitplanner.output import findings_table
    from splitplanner.output.text_tables import titled

    found = [
        each
        for each in result.findings
        if each.kind.startswith(("strength.", "brace.")) or each.severity is Severity.FAULT
    ]
    if found:
        yield titled("Findings")
        yield findings_table(found)


def _checked(result: Result, names: Sequence[str], report: Report) -> tuple[CellsTold, ...]:
    """Return the load cases of these names by finite cells."""
    from splitplanner.background.cells_checking import checked_in_cells

    known = [loading.name for loading in result.plan.loadings]
    for name in names:
        if name not in known:
            raise LoadError(f"There is no load case “{name}”; there are {listed(known)}.")
    return tuple(
        checked_in_cells(result, name, part_of(report, at / len(names), (at + 1) / len(names)))
        for at, name in enumerate(names)
    )
