"""The whole result folder: pieces, plan, scorecard and pictures, written at once or not at all.

::

    DIR/pieces/piece-01.stl ...   each piece in its print direction on the bed, pin holes drilled
    DIR/pieces.3mf                all of them, each on its own bed
    DIR/beds/bed-01.3mf ...       those that are printed together, each as it lies on that bed
    DIR/braces/brace-01.dxf ...   outline and holes of each brace, in mm; of one that is printed
                                  flat also the solid, as .stl and .3mf
    DIR/print_sheet.txt           what to set in the slicer for each bed
    DIR/plan.json                 the plan
    DIR/scorecard.txt|json|csv    the figures
    DIR/pictures/*.png            the part with its cuts, pulled apart, and each piece on the bed
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from splitplanner.errors import UnsoundError
from splitplanner.findings import Finding, counted, faults, numbered
from splitplanner.joint import as_in_file, file_allowance
from splitplanner.output.beds import bed_file_name, bed_three_mf, beds_of, fit_in_file
from splitplanner.output.brace_files import brace_dxf, brace_file_name, printed_brace
from splitplanner.output.csv_records import scorecard_csv
from splitplanner.output.mesh_files import stl_bytes
from splitplanner.output.pictures import exploded, part_with_cuts, piece_colours, piece_on_bed
from splitplanner.output.print_sheet import print_sheet_text
from splitplanner.output.printable import PrintableMesh, printable_mesh
from splitplanner.output.records import scorecard_json
from splitplanner.output.result import Result, piece_file_name
from splitplanner.output.scene import Scene
from splitplanner.output.tables import scorecard_text
from splitplanner.output.three_mf import on_beds, three_mf_bytes
from splitplanner.output.writing import whole_folder, write_file
from splitplanner.plan import Plan, plan_to_text, with_part_path
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import PieceFigures
from splitplanner.solid import Solid

Draw = Callable[[Sequence[tuple[Path, Scene]], Report], tuple[Finding, ...]]
"""Draws scenes to PNG files; the viewport's, since this room knows no VTK."""


def write_result(
    result: Result,
    folder: Path,
    model: Path,
    *,
    draw: Draw | None = None,
    stl: bool = True,
    three_mf: bool = True,
    overwrite: bool = False,
    report: Report = silent,
) -> Result:
    """Write all files of a sound plan, or those that are wanted besides plan and scorecard.

    Parameters
    ----------
    result : Result
    folder : Path
        See the module's text for what it will hold.
    model : Path
        The part's file, which the plan file points to.
    draw : callable, optional
        How pictures are drawn; none are without it.
    stl, three_mf : bool
        Whether the pieces are written as STL files, and as 3MF files: all in one, and one for
        each bed.
    overwrite : bool
        Whether a folder written before may be replaced.
    report : progress callback

    Returns
    -------
    Result
        With the findings of writing added; they are in the scorecard too.

    Raises
    ------
    UnsoundError
        If the plan is not sound; nothing is written.
    ExportError
        If the files cannot be written; what was there is whole.
    """
    if not result.is_sound:
        raise _unsound(result)
    with whole_folder(folder, overwrite) as place:
        meshes, found = _meshes(result, place / "pieces" if stl else None, report)
        result = result.with_findings(*found)
        if three_mf:
            report(0.4, "writing the 3MF files")
            _write_three_mf(result, place, meshes)
        if result.braces:
            report(0.41, "writing the braces")
            result, printed = _with_braces(result, place / "braces", stl, three_mf)
            meshes = [*meshes, *printed]
        if three_mf:
            _write_beds(result, place / "beds", meshes, part_of(report, 0.42, 0.5))
        if draw is not None:
            (place / "pictures").mkdir()
            scenes = _scenes(result, place / "pictures")
            result = result.with_findings(*draw(scenes, part_of(report, 0.5, 0.98)))
        report(0.98, "writing the scorecard")
        plan = with_part_path(result.plan, model, folder / "plan.json")
        write_file(place / "plan.json", plan_to_text(plan).encode())
        write_file(place / "print_sheet.txt", print_sheet_text(result, bed_files=three_mf).encode())
        write_file(place / "scorecard.txt", scorecard_text(result).encode())
        json_text = scorecard_json(result, files=stl, bed_files=three_mf)
        write_file(place / "scorecard.json", json_text.encode())
        csv_text = scorecard_csv(result, files=stl, bed_files=three_mf)
        write_file(place / "scorecard.csv", csv_text.encode())
    report(1.0, "done")
    return result


def _meshes(
    result: Result, place: Path | None, report: Report
) -> tuple[list[tuple[str, PrintableMesh]], list[Finding]]:
    """Return the pieces by name, and what was found; write them as STL if there is a `place`.

    They are made whatever is written: only then it is known that they can be.
    """
    if place is not None:
        place.mkdir()
    meshes: list[tuple[str, PrintableMesh]] = []
    found: list[Finding] = []
    rows = result.card.figures.pieces
    for index, row in enumerate(rows):
        doing = "writing" if place is not None else "making"
        report(0.4 * index / len(rows), f"{doing} piece {row.piece.number}")
        name = piece_file_name(row.piece)
        mesh = printable_mesh(_laid(row, result.plan), name)
        # Its mesh is known by the name of its file.
        found += [numbered(each, {name: row.piece.number}) for each in mesh.findings]
        if place is not None:
            write_file(place / f"{name}.stl", stl_bytes(mesh, name))
        meshes.append((name, mesh))
    return meshes, found


def _unsound(result: Result) -> UnsoundError:
    found = faults(result.findings)
    more = counted(len(found) - 1, "more fault")
    others = f" There {'is' if len(found) == 2 else 'are'} {more}." if len(found) > 1 else ""
    return UnsoundError(
        f"The plan is not sound, so nothing was written: {found[0].message}{others}",
        subject=found[0].subject,
        findings=found,
    )


def _laid(row: PieceFigures, plan: Plan) -> Solid:
    """Return a piece as files have it, lying on the bed."""
    allowance = file_allowance(plan.printer, plan.material)
    fit = fit_in_file(row, plan.printer, plan.material)
    return as_in_file(row.piece.solid, fit.pose(row.piece.solid), allowance)


def _write_three_mf(
    result: Result, place: Path, meshes: Sequence[tuple[str, PrintableMesh]]
) -> None:
    items = on_beds(meshes, result.plan.printer.bed)
    data = three_mf_bytes(items, f"{result.title}: {len(items)} pieces", result.title)
    write_file(place / "pieces.3mf", data)


def _write_beds(
    result: Result, place: Path, meshes: Sequence[tuple[str, PrintableMesh]], report: Report
) -> None:
    """Write a 3MF file for each bed, with what is printed together: pieces, or braces."""
    place.mkdir()
    by_piece = {
        row.name: named for row, named in zip(result.card.figures.prints, meshes, strict=True)
    }
    beds = beds_of(result, part_of(report, 0.0, 0.5))
    for index, bed in enumerate(beds):
        report(0.5 + 0.5 * index / len(beds), f"writing bed {bed.number}")
        data = bed_three_mf(result, bed.load, by_piece)
        write_file(place / f"{bed_file_name(bed.load)}.3mf", data)


def _with_braces(
    result: Result, place: Path, stl: bool, three_mf: bool
) -> tuple[Result, list[tuple[str, PrintableMesh]]]:
    """Write the files of all braces.

    Returns the result with what was found of those that are printed, and these by name.
    """
    place.mkdir()
    printed: list[tuple[str, PrintableMesh]] = []
    for number, brace in enumerate(result.braces, 1):
        name = brace_file_name(number)
        write_file(place / f"{name}.dxf", brace_dxf(brace))
        if not brace.wish.is_printed:
            continue
        mesh = printed_brace(brace, number, result.plan)
        result = result.with_findings(*mesh.findings)
        printed.append((name, mesh))
        if stl:
            write_file(place / f"{name}.stl", stl_bytes(mesh, name))
        if three_mf:
            title = f"{result.title}: brace {brace.wish.name}"
            items = on_beds([(name, mesh)], result.plan.printer.bed)
            write_file(place / f"{name}.3mf", three_mf_bytes(items, title, result.title))
    return result, printed


def _scenes(result: Result, place: Path) -> list[tuple[Path, Scene]]:
    division, plan = result.made, result.plan
    colours = piece_colours(division)
    scenes = [
        (place / "part.png", part_with_cuts(division, plan)),
        (place / "exploded.png", exploded(division, plan, braces=result.braces)),
    ]
    for row in result.card.figures.pieces:
        pose = row.fit.pose(row.piece.solid)
        scene = piece_on_bed(row.piece, pose, plan.printer.bed, colours[row.piece.name])
        scenes.append((place / f"{piece_file_name(row.piece)}.png", scene))
    return scenes
