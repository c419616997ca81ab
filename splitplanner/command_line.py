"""The command line: plan, batch, check, strength, demo, coupon, calibrate.

Exit codes: 0 done; 1 the plan is not sound; 2 wrong use; 3 the model cannot be read or closed;
4 no sound plan was found; 5 the files cannot be written; 6 a printer, hardware, fastening or plan
file is wrong; 7 some models of a batch were not planned; 8 the cluster cannot be used; 70 the
program itself failed; 130 stopped by the user.

With ``--json`` the standard output is one JSON document: the scorecard, or the fault. Only wrong
use is reported as text alone. Progress and sentences go to the standard error output.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Annotated

import typer

from splitplanner import __version__
from splitplanner.commands import load_options, options, printer_options, seam_options
from splitplanner.commands.calibrate import calibrate
from splitplanner.commands.demo import demo
from splitplanner.commands.printing import faults_as_sentences, print_json, print_tables, show
from splitplanner.commands.strength import strength
from splitplanner.progress import part_of
from splitplanner.terminal import shown_progress, stop_held, stop_on_signals

_SOME_FAILED = 7
"""Exit code when some models of a batch were not planned."""

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
    bed: printer_options.BedSize = None,
    printer: printer_options.PrinterFile = None,
    material: printer_options.MaterialFile = None,
    spool_left: printer_options.SpoolLeft = None,
    overhang: printer_options.Overhang = None,
    fastening: seam_options.FasteningFile = None,
    screws: seam_options.Screws = None,
    screw_size: seam_options.ScrewSize = None,
    flange: seam_options.Flange = None,
    seam: seam_options.SingleSeams = None,
    pins: seam_options.PinsFile = None,
    hardware: seam_options.HardwareFolder = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
    sheet: load_options.SheetSize = None,
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
        machine = printer_options.printer_of(bed, printer, overhang)
        shelf = seam_options.shelf_of(hardware, pins)
        held = seam_options.fastening_of(
            fastening, screws, screw_size, flange, seam, shelf, machine
        )
        weights = options.weights_of(weight)
        wanted = read_wishes(wishes) if wishes else None
        filament = printer_options.material_of(material, overhang)
        printer_options.refuse_spool(spool_left, filament)
        stood, braced = load_options.loads_of(loads), load_options.braces_of(braces, shelf)
        stock = load_options.sheet_of(sheet)
        load_options.refuse_sheet(sheet, braces)
        refuse_target(out, overwrite)
        with shown_progress(quiet) as report:
            result = job.plan_part(
                part, machine, unit=unit, seed=seed, proposal=proposal, shelf=shelf,
                fastening=held.general, own_fastenings=held.own, weights=weights, wishes=wanted,
                material=filament, spool_left=spool_left, loadings=stood or (),
                braces=braced or (), report=part_of(report, 0.0, 0.8),
            )  # fmt: skip
            result = load_options.laid_or_told(result, stock)
            result = job.write(
                result, out, part, pictures=pictures, overwrite=overwrite,
                report=part_of(report, 0.8, 1.0),
            )  # fmt: skip
        show(result, as_json, f"Written to {out}")


@app.command()
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Holds the models.")],
    out: options.Out,
    bed: printer_options.BedSize = None,
    printer: printer_options.PrinterFile = None,
    material: printer_options.MaterialFile = None,
    overhang: printer_options.Overhang = None,
    fastening: seam_options.FasteningFile = None,
    screws: seam_options.Screws = None,
    screw_size: seam_options.ScrewSize = None,
    flange: seam_options.Flange = None,
    seam: seam_options.SingleSeams = None,
    pins: seam_options.PinsFile = None,
    hardware: seam_options.HardwareFolder = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
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
        machine = printer_options.printer_of(bed, printer, overhang)
        shelf = seam_options.shelf_of(hardware, pins)
        held = seam_options.fastening_of(
            fastening, screws, screw_size, flange, seam, shelf, machine
        )
        chosen = many.BatchOptions(
            unit, seed, shelf=shelf, fastening=held.general, own_fastenings=held.own,
            weights=options.weights_of(weight),
            wishes=read_wishes(wishes) if wishes else None, pictures=pictures,
            material=printer_options.material_of(material, overhang),
            loads=load_options.asked_loads(loads),
            braces=load_options.asked_braces(braces, shelf),
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
    part: options.PartOfPlan = None,
    pins: seam_options.PinsFile = None,
    hardware: seam_options.HardwareFolder = None,
    spool_left: printer_options.SpoolLeft = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
    sheet: load_options.SheetSize = None,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Check and measure a plan anew, such as one edited by hand; exit code 1 if it is not sound."""
    with faults_as_sentences(as_json):
        with stop_held():
            from splitplanner import job
        stock, shelf = load_options.sheet_of(sheet), seam_options.shelf_of(hardware, pins)
        with shown_progress(quiet) as report:
            result = job.check_plan(
                plan_file, part, report, shelf=shelf, spool_left=spool_left,
                loadings=load_options.loads_of(loads),
                braces=load_options.braces_of(braces, shelf),
            )  # fmt: skip
            result = load_options.laid_on_sheet(result, stock)
        printer_options.refuse_spool(spool_left, result.plan.material)
        show(result, as_json, "The plan is sound" if result.is_sound else "The plan is not sound")
    if not result.is_sound:
        raise typer.Exit(1)


@app.command()
def coupon(
    out: options.CouponFile = Path("coupon.stl"),
    bed: printer_options.BedSize = None,
    printer: printer_options.PrinterFile = None,
    overhang: printer_options.Overhang = None,
    diameter: options.Diameters = None,
    insert: options.Inserts = None,
    hardware: seam_options.HardwareFolder = None,
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
        machine = printer_options.printer_of(bed, printer, overhang)
        inserts = options.inserts_of(insert, seam_options.shelf_of(hardware))
        diameters = diameter or ([] if inserts else [3.0, 4.0, 5.0])
        made = made_for(machine, diameters, inserts)
        save_stl(made.solid, out)
        if as_json:
            print_json(coupon_record(made, machine, out, inserts))
        else:
            print_tables(coupon_table(made, machine, inserts), f"Written to {out}")


app.command()(calibrate)
app.command()(strength)
app.command()(demo)


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
