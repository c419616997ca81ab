"""The command ``splitplanner demo``: a demonstration part, planned and written."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from splitplanner.commands import load_options, options, printer_options, seam_options
from splitplanner.commands.printing import faults_as_sentences, show
from splitplanner.errors import WorkshopError
from splitplanner.progress import Report, part_of
from splitplanner.terminal import shown_progress, stop_held
from splitplanner.workshop import Printer

DEMO_NAMES = ("rain_hood", "dew_shield", "garden_heron", "l_bracket", "cargo_lid")
"""The demonstration parts, written here so that help is shown without loading geometry."""


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
    bed: printer_options.BedSize = "220x220x250",
    material: printer_options.MaterialFile = None,
    fastening: seam_options.FasteningFile = None,
    screws: seam_options.Screws = None,
    screw_size: seam_options.ScrewSize = None,
    flange: seam_options.Flange = None,
    seam: seam_options.SingleSeams = None,
    hardware: seam_options.HardwareFolder = None,
    loads: load_options.LoadsFile = None,
    braces: load_options.BracesFile = None,
    seed: options.Seed = 0,
    pictures: options.Pictures = True,
    as_json: options.Json = False,
    quiet: options.Quiet = False,
) -> None:
    """Make a demonstration part, plan it and write everything; replaces an earlier demo.

    Without --material it is of generic PETG, at a price that is only an example.
    """
    with faults_as_sentences(as_json):
        machine = printer_options.printer_of(bed, None, None)
        with stop_held():
            from splitplanner.workshop import example_material

            shelf = seam_options.shelf_of(hardware)
            held = seam_options.fastening_of(
                fastening, screws, screw_size, flange, seam, shelf, machine
            )
        how = {
            "seed": seed, "shelf": shelf, "fastening": held.general, "own_fastenings": held.own,
            "material": printer_options.material_of(material) or example_material(),
            "loadings": load_options.loads_of(loads) or (),
            "braces": load_options.braces_of(braces, shelf) or (),
        }  # fmt: skip
        with shown_progress(quiet) as report:
            result = _demonstrate(out, name, triangles, machine, how, pictures, report)
        show(result, as_json, f"Written to {out / name}")


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
