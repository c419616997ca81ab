"""The command ``splitplanner strength``: what a planned part stands of its load cases."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.commands import load_options, options
from splitplanner.commands.printing import faults_as_sentences, print_json, print_tables
from splitplanner.errors import LoadError
from splitplanner.findings import listed
from splitplanner.progress import Report, part_of
from splitplanner.terminal import shown_progress, stop_held

if TYPE_CHECKING:
    from splitplanner.background.cells_told import CellsTold
    from splitplanner.output import Result


def strength(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan file, plan.json.")],
    part: options.PartOfPlan = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
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
        stood, braced = load_options.loads_of(loads), load_options.braces_of(braces)
        with shown_progress(quiet) as report:
            sections = part_of(report, 0.0, 0.3 if cells else 1.0)
            result = job.check_plan(plan_file, part, sections, loadings=stood, braces=braced)
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
            print_tables(Group(*strength_blocks(result), *blocks), "Nothing was written")


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
