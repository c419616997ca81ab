"""The command line: ``plan``, ``batch``, ``check``, ``demo``, ``coupon``, ``calibrate``.

Exit codes: 0 done; 1 the plan is not sound; 2 wrong use; 3 the model cannot be read or closed;
4 no sound plan was found; 5 the files cannot be written; 6 a printer, hardware, fastening or plan
file is wrong; 7 some models of a batch were not planned; 8 the cluster cannot be used; 70 the
program itself failed; 130 stopped by the user.

With ``--json`` the standard output is one JSON document: the scorecard, or the fault. Only wrong
use is reported as text alone. Progress and sentences go to the standard error output.
"""

from __future__ import annotations

import io
import json
import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console, RenderableType
from rich.text import Text

from splitplanner import __version__
from splitplanner import command_options as options
from splitplanner.calibrate_command import calibrate
from splitplanner.errors import (
    Cancelled,
    ClusterError,
    CutError,
    ExportError,
    HelperError,
    JointError,
    LoadError,
    NoProposalError,
    OpenSolidError,
    PlanFileError,
    ReadError,
    SolidError,
    SplitPlannerError,
    UnsoundError,
    WishesError,
    WorkshopError,
)
from splitplanner.findings import faults
from splitplanner.progress import Report, part_of
from splitplanner.terminal import shown_progress, stop_held, stop_on_signals
from splitplanner.workshop import Printer

EXIT_CODES: tuple[tuple[type[SplitPlannerError], int], ...] = (
    (UnsoundError, 1),
    (ReadError, 3),
    (OpenSolidError, 3),
    (SolidError, 3),
    (NoProposalError, 4),
    (ExportError, 5),
    (WorkshopError, 6),
    (PlanFileError, 6),
    (WishesError, 6),
    (CutError, 6),
    (JointError, 6),
    (LoadError, 6),
    (ClusterError, 8),
    (HelperError, 70),
    (Cancelled, 130),
)
"""Which fault ends the program with which exit code."""

DEBUG = "SPLITPLANNER_DEBUG"
"""Environment variable; when it is set, a failure of the program itself shows its trace."""
DEMO_NAMES = ("rain_hood", "dew_shield", "garden_heron", "l_bracket", "cargo_lid")
"""The demonstration parts, written here so that help is shown without loading geometry."""
_SOME_FAILED = 7
"""Exit code when some models of a batch were not planned."""
_FAILED = 70
"""Exit code when the program itself failed; EX_SOFTWARE of sysexits.h (BSD)."""

app = typer.Typer(
    name="splitplanner",
    help="Split a model that is larger than the print bed into sound, printable, joined pieces.",
    epilog=(
        "Exit codes: 0 done, 1 plan not sound, 2 wrong use, 3 model cannot be read or closed, "
        "4 no sound plan found, 5 files cannot be written, 6 printer, hardware, fastening or "
        "plan file wrong, 7 some models of a batch not planned, 8 cluster cannot be used, 70 "
        "failure of the program itself, 130 stopped."
    ),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback(invoke_without_command=True)
def _main(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if version:
        typer.echo(f"splitplanner {__version__}")
        raise typer.Exit


@app.command()
def plan(
    part: options.Part,
    out: options.Out,
    bed: options.BedSize = None,
    printer: options.PrinterFile = None,
    material: options.MaterialFile = None,
    spool_left: options.SpoolLeft = None,
    overhang: options.Overhang = None,
    fastening: options.FasteningFile = None,
    screws: options.Screws = None,
    screw_size: options.ScrewSize = None,
    flange: options.Flange = None,
    seam: options.SingleSeams = None,
    pins: options.PinsFile = None,
    hardware: options.HardwareFolder = None,
    unit: options.Unit = None,
    proposal: Annotated[
        int, typer.Option(metavar="N", min=1, help="Which proposal to build; 1 is the best.")
    ] = 1,
    weight: options.Weights = None,
    wishes: options.WishesFile = None,
    seed: options.Seed = 0,
    overwrite: options.Overwrite = False,
    pictures: options.Pictures = True,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Propose splits of a model, join the best one, and write its pieces and figures.

    Example: splitplanner plan hood.stl --bed 220x220x250 --out hood
    """
    with faults_as_sentences(as_json):
        with stop_held():
            from splitplanner import job
            from splitplanner.output import refuse_target
            from splitplanner.score import read_wishes
        machine = options.printer_of(bed, printer, overhang)
        shelf = options.shelf_of(hardware, pins)
        held = options.fastening_of(fastening, screws, screw_size, flange, seam, shelf, machine)
        weights = options.weights_of(weight)
        wanted = read_wishes(wishes) if wishes else None
        filament = options.material_of(material, overhang)
        options.refuse_spool(spool_left, filament)
        refuse_target(out, overwrite)
        with shown_progress(quiet) as report:
            result = job.plan_part(
                part, machine, unit=unit, seed=seed, proposal=proposal, shelf=shelf,
                fastening=held.general, own_fastenings=held.own, weights=weights, wishes=wanted,
                material=filament, spool_left=spool_left, report=part_of(report, 0.0, 0.8),
            )  # fmt: skip
            result = job.write(
                result, out, part, pictures=pictures, overwrite=overwrite,
                report=part_of(report, 0.8, 1.0),
            )  # fmt: skip
        _show(result, as_json, f"Written to {out}")


@app.command()
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Holds the models.")],
    out: options.Out,
    bed: options.BedSize = None,
    printer: options.PrinterFile = None,
    material: options.MaterialFile = None,
    overhang: options.Overhang = None,
    fastening: options.FasteningFile = None,
    screws: options.Screws = None,
    screw_size: options.ScrewSize = None,
    flange: options.Flange = None,
    seam: options.SingleSeams = None,
    pins: options.PinsFile = None,
    hardware: options.HardwareFolder = None,
    unit: options.Unit = None,
    weight: options.Weights = None,
    wishes: options.WishesFile = None,
    seed: options.Seed = 0,
    jobs: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            help="How many models are planned at a time; one a core if not given.",
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS", help="Plan on a running dask.distributed cluster: its scheduler."
        ),
    ] = None,
    overwrite: options.Overwrite = False,
    pictures: options.Pictures = True,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Plan every model in FOLDER, with one table as the result; models done before are kept.

    Example: splitplanner batch models --bed 220x220x250 --out plans
    """
    with faults_as_sentences(as_json):
        with stop_held():
            from splitplanner import batch as many
            from splitplanner.score import read_wishes
        machine = options.printer_of(bed, printer, overhang)
        shelf = options.shelf_of(hardware, pins)
        held = options.fastening_of(fastening, screws, screw_size, flange, seam, shelf, machine)
        chosen = many.BatchOptions(
            unit, seed, shelf=shelf, fastening=held.general, own_fastenings=held.own,
            weights=options.weights_of(weight),
            wishes=read_wishes(wishes) if wishes else None, pictures=pictures,
            material=options.material_of(material, overhang),
        )  # fmt: skip
        models = many.models_in(folder)
        with shown_progress(quiet) as report, many.executor_at(cluster) as executor:
            result = many.plan_many(
                models, machine, out, options=chosen, executor=executor, workers=jobs,
                overwrite=overwrite, report=report,
            )  # fmt: skip
        if as_json:
            print_json(many.batch_record(result))
        else:
            print_tables(many.batch_table(result), f"Written to {out}")
    if not result.all_planned:
        raise typer.Exit(_SOME_FAILED)


@app.command()
def check(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan file, plan.json.")],
    part: Annotated[
        Path | None,
        typer.Option("--part", metavar="MODEL", help="The part, if it is not where the plan says."),
    ] = None,
    spool_left: options.SpoolLeft = None,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Check and measure a plan anew, such as one edited by hand; exit code 1 if it is not sound."""
    with faults_as_sentences(as_json):
        with stop_held():
            from splitplanner import job
        with shown_progress(quiet) as report:
            result = job.check_plan(plan_file, part, report, spool_left=spool_left)
        options.refuse_spool(spool_left, result.plan.material)
        _show(result, as_json, "The plan is sound" if result.is_sound else "The plan is not sound")
    if not result.is_sound:
        raise typer.Exit(1)


@app.command()
def demo(
    out: options.Out = Path("demo-out"),
    name: Annotated[
        str, typer.Option("--part", metavar="NAME", help=f"One of {', '.join(DEMO_NAMES)}.")
    ] = "rain_hood",
    triangles: Annotated[
        int,
        typer.Option(
            min=5_000, max=500_000, metavar="N", help="How finely it is modelled, 5000 to 500000."
        ),
    ] = 130_000,
    bed: options.BedSize = "220x220x250",
    material: options.MaterialFile = None,
    fastening: options.FasteningFile = None,
    screws: options.Screws = None,
    screw_size: options.ScrewSize = None,
    flange: options.Flange = None,
    seam: options.SingleSeams = None,
    hardware: options.HardwareFolder = None,
    seed: options.Seed = 0,
    pictures: options.Pictures = True,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Make a demonstration part, plan it and write everything; replaces an earlier demo.

    Without --material it is of generic PETG, at a price that is only an example.
    """
    with faults_as_sentences(as_json):
        machine = options.printer_of(bed, None, None)
        with stop_held():
            from splitplanner.workshop import example_material

            shelf = options.shelf_of(hardware)
            held = options.fastening_of(fastening, screws, screw_size, flange, seam, shelf, machine)
        how = {
            "seed": seed, "shelf": shelf, "fastening": held.general, "own_fastenings": held.own,
            "material": options.material_of(material) or example_material(),
        }  # fmt: skip
        with shown_progress(quiet) as report:
            result = _demonstrate(out, name, triangles, machine, how, pictures, report)
        _show(result, as_json, f"Written to {out / name}")


@app.command()
def coupon(
    out: options.CouponFile = Path("coupon.stl"),
    bed: options.BedSize = None,
    printer: options.PrinterFile = None,
    overhang: options.Overhang = None,
    diameter: options.Diameters = None,
    insert: options.Inserts = None,
    hardware: options.HardwareFolder = None,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Replace FILE.")] = False,
    as_json: options.Json = False,
) -> None:
    """Make a fit coupon: a plate with graded holes, to find which allowance your printer needs.

    Example: splitplanner coupon --diameter 3 --diameter 4 --insert M3 --out coupon.stl
    """
    with faults_as_sentences(as_json):
        with stop_held():
            from splitplanner.joint.coupon import coupon as made_for
            from splitplanner.output import save_stl
            from splitplanner.output.coupon_tables import coupon_record, coupon_table, refuse_file
        refuse_file(out, overwrite)
        machine = options.printer_of(bed, printer, overhang)
        inserts = options.inserts_of(insert, options.shelf_of(hardware))
        diameters = diameter or ([] if inserts else [3.0, 4.0, 5.0])
        made = made_for(machine, diameters, inserts)
        save_stl(made.solid, out)
        if as_json:
            print_json(coupon_record(made, machine, out, inserts))
        else:
            print_tables(coupon_table(made, machine, inserts), f"Written to {out}")


app.command()(calibrate)


def _demonstrate(
    out: Path, name: str, triangles: int, machine: Printer, how: dict[str, Any], pictures: bool,
    report: Report,
) -> Any:  # fmt: skip
    with stop_held():
        from splitplanner import job
        from splitplanner.demo_parts import DEMO_PARTS
        from splitplanner.output import refuse_target, save_stl
    if name not in DEMO_PARTS:
        raise WorkshopError(
            f"There is no demonstration part “{name}”; there are {', '.join(DEMO_PARTS)}."
        )
    refuse_target(out / name, overwrite=True)
    report(0.0, f"making the part {name}")
    model = out / f"{name}.stl"
    save_stl(DEMO_PARTS[name].make(triangles), model)
    result = job.plan_part(model, machine, **how, report=part_of(report, 0.05, 0.8))
    return job.write(
        result, out / name, model, pictures=pictures, overwrite=True,
        report=part_of(report, 0.8, 1.0),
    )  # fmt: skip


def _show(result: Any, as_json: bool, closing: str) -> None:
    from splitplanner.output import scorecard_record, scorecard_tables

    if as_json:
        print_json(scorecard_record(result))
    else:
        print_tables(scorecard_tables(result), closing)


def print_tables(tables: RenderableType, closing: str) -> None:
    """Print tables for a screen, or as plain text into a file or another program."""
    from splitplanner.output import plain_text

    if not sys.stdout.isatty():
        sys.stdout.write(f"{plain_text(tables)}\n{closing}.\n")
        return
    console = Console(highlight=False)
    console.print(tables)
    console.print(Text(f"\n{closing}.", style="bold"), soft_wrap=True)


@contextmanager
def faults_as_sentences(as_json: bool) -> Iterator[None]:
    """Turn expected faults into one sentence and an exit code; Ctrl-C ends without a trace."""
    try:
        yield
    except SplitPlannerError as fault:
        code = next((code for kind, code in EXIT_CODES if isinstance(fault, kind)), 1)
        _complain(fault, code, as_json)
        raise typer.Exit(code) from fault
    except KeyboardInterrupt:
        _complain(Cancelled("Stopped; nothing was left half written."), 130, as_json)
        raise typer.Exit(130) from None
    except BrokenPipeError:
        raise  # whoever read the output has enough; typer ends the program without a word
    except Exception as fault:  # the border of the program: no trace for the user
        if os.environ.get(DEBUG):
            traceback.print_exc()
        _complain(_own_fault(fault), _FAILED, as_json)
        raise typer.Exit(_FAILED) from fault


def print_json(record: dict[str, Any]) -> None:
    """Print a record as one JSON document."""
    # In ASCII, which every encoding of a terminal or pipe can hold.
    sys.stdout.write(json.dumps(record, indent=2, allow_nan=False) + "\n")


def _own_fault(fault: Exception) -> SplitPlannerError:
    what = type(fault).__name__ + (f": {fault}" if str(fault) else "")
    return SplitPlannerError(
        f"The program itself failed ({what}); nothing was left half written. Please report it with "
        f"the model and the options, and with what it prints when {DEBUG}=1 is set."
    )


def _complain(fault: SplitPlannerError, code: int, as_json: bool) -> None:
    if as_json:
        record = {
            "error": type(fault).__name__,
            "exit_code": code,
            "message": str(fault),
            "subject": fault.subject,
            "findings": [finding.as_record() for finding in fault.findings],
        }
        print_json(record)
    console = Console(stderr=True, highlight=False, soft_wrap=True)
    console.print(Text(str(fault), style="bold red"))
    for finding in faults(fault.findings):
        if finding.message not in str(fault):
            console.print(Text(f"  {finding.message}"))


def main() -> None:
    """Run the program; `splitplanner.__main__` is its entry point."""
    try:
        stop_on_signals()
        for stream in (sys.stdout, sys.stderr):
            # A name that the terminal cannot show is no reason to fail.
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")
        app()
    except KeyboardInterrupt:
        sys.exit(130)
