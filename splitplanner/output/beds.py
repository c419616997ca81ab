"""The beds of a result: what is printed together, and what their files hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from weakref import WeakKeyDictionary

from splitplanner.joint import as_in_file, file_allowance, scaled_fit
from splitplanner.output.printable import PrintableMesh, printable_mesh
from splitplanner.output.result import Result
from splitplanner.output.three_mf import BuildItem, on_one_bed, three_mf_bytes
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import (
    BedFit,
    BedLoad,
    BedPrint,
    Figures,
    PieceFigures,
    PlacedPiece,
    ToPlace,
    bed_prints,
    share_beds,
)
from splitplanner.workshop import Material, Printer

_known: WeakKeyDictionary[Figures, tuple[Material | None, tuple[BedPrint, ...]]] = (
    WeakKeyDictionary()
)
"""What was found: papers, records and files of one result ask for it one after another."""


def beds_of(result: Result, report: Report = silent) -> tuple[BedPrint, ...]:
    """Return on which beds all of a result is printed, as files have it.

    As few beds as are found (`splitplanner.score.share_beds`), with what each takes. Braces that
    are printed come last, on beds of their own, since they are filled altogether.
    """
    figures, material = result.card.figures, result.plan.material
    known = _known.get(figures)
    if known is None or known[0] != material:
        known = _known[figures] = material, _beds(figures, material, report)
    return known[1]


def fit_in_file(row: PieceFigures, printer: Printer, material: Material | None) -> BedFit:
    """Return how a piece lies on a bed of its own as its file has it: larger by its shrink."""
    allowance = file_allowance(printer, material)
    return scaled_fit(row.piece.solid, row.fit, allowance, printer.bed)


def _beds(figures: Figures, material: Material | None, report: Report) -> tuple[BedPrint, ...]:
    printer = figures.printer
    # Where a piece is scaled by more along x than along y, as much room is kept each way.
    scale = max(file_allowance(printer, material).scale[:2])
    loads: list[BedLoad] = []
    reports = part_of(report, 0.0, 0.8), part_of(report, 0.8, 1.0)
    for rows, told in zip((figures.pieces, figures.braces), reports, strict=True):
        things = [
            ToPlace.of(row.name, row.piece.solid, fit_in_file(row, printer, material), scale)
            for row in rows
        ]
        found = share_beds(things, printer.bed, report=told)
        loads += [replace(load, number=len(loads) + load.number) for load in found]
    return bed_prints(loads, figures, material)


def bed_file_name(load: BedLoad) -> str:
    """Return the stem of the file of a bed, such as ``bed-03``."""
    return f"bed-{load.number:02d}"


def bed_three_mf(
    result: Result, load: BedLoad, meshes: Mapping[str, tuple[str, PrintableMesh]]
) -> bytes:
    """Return the 3MF file of one bed: each of its pieces as it lies there.

    Parameters
    ----------
    result : Result
    load : BedLoad
        Of `result`.
    meshes : mapping of name to (name in the file, mesh)
        Of each piece or brace as it lies on a bed of its own, as its file has it.

    Raises
    ------
    ExportError
        If a piece does not lie on the bed, or cannot be written as it lies there.
    """
    rows = {row.name: row for row in result.card.figures.prints}
    items = [_item(result, rows[piece.name], piece, *meshes[piece.name]) for piece in load.pieces]
    of = len(beds_of(result))
    title = f"{result.title}: bed {load.number} of {of}"
    return three_mf_bytes(on_one_bed(items, result.plan.printer.bed), title, result.title)


def _item(
    result: Result, row: PieceFigures, piece: PlacedPiece, name: str, mesh: PrintableMesh
) -> BuildItem:
    """Return the mesh of a piece turned and moved to its place among others."""
    printer, material = result.plan.printer, result.plan.material
    own, solid = fit_in_file(row, printer, material), row.piece.solid
    allowance = file_allowance(printer, material)
    if (own.yaw, own.shift) == (piece.yaw, piece.shift):
        return BuildItem(name, mesh, outline=piece.outline)
    if allowance.turns_matter:  # It shrinks by more along x than along y, and is made for that.
        laid = as_in_file(solid, piece.fit.pose(solid), allowance)
        return BuildItem(name, printable_mesh(laid, name), outline=piece.outline)
    item = BuildItem(name, mesh, yaw=(piece.yaw - own.yaw) % 360.0)
    x, y, _ = (*own.shift, 0.0) @ item.turn
    offset = (piece.shift[0] - float(x), piece.shift[1] - float(y), 0.0)
    return BuildItem(name, mesh, offset, item.yaw, piece.outline)
