"""The command ``splitplanner strength``: what a planned part stands of its load cases."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from splitplanner.commands import load_options, options
from splitplanner.commands.printing import faults_as_sentences, print_json, print_tables
from splitplanner.errors import LoadError
from splitplanner.terminal import shown_progress, stop_held


def strength(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan file, plan.json.")],
    part: options.PartOfPlan = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
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
            from splitplanner.output import strength_blocks, strength_record
        stood, braced = load_options.loads_of(loads), load_options.braces_of(braces)
        with shown_progress(quiet) as report:
            result = job.check_plan(plan_file, part, report, loadings=stood, braces=braced)
        if result.strength is None:
            raise LoadError(
                f"The plan {plan_file} has no load case: give some with --loads FILE, or with "
                f"--loads {load_options.USUAL}.",
                subject=str(plan_file),
            )
        if as_json:
            print_json(strength_record(result.strength))
        else:
            print_tables(Group(*strength_blocks(result)), "Nothing was written")
