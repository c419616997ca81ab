"""What to set in the slicer for each bed, as plain text: ``print_sheet.txt``."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator

from splitplanner.findings import counted
from splitplanner.joint import file_allowance
from splitplanner.output.beds import bed_file_name, beds_of, fit_in_file
from splitplanner.output.cautions import CAUTIONS
from splitplanner.output.result import Result
from splitplanner.output.surface_tables import marks_words
from splitplanner.output.text_tables import direction_words
from splitplanner.score import BedPrint, PieceFigures, PlacedPiece
from splitplanner.workshop import Material, Printer

WIDTH = 100
"""Columns."""
_LABEL = 15
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|cm²|cm³|m|g|h|°C|%)(?:[ ,;.)]|$))")
"""No line ends between a number and its unit."""
_NO_SUPPORT = 1.0
"""No support is set where less than this would be printed, mm³: rounding."""


def print_sheet_text(result: Result, *, bed_files: bool = True) -> str:
    """Return what to set for each bed, as text: one block a bed.

    Parameters
    ----------
    result : Result
    bed_files : bool, optional
        Whether beds are written as files; each is then named.
    """
    beds = beds_of(result)
    printer = result.plan.printer
    lines = [
        f"{result.title}: what to print, on {counted(len(beds), 'bed')} of {printer.bed} mm",
        "",
        *_head(result),
    ]
    left = result.spool_left
    material = result.plan.material
    for bed in beds:
        spool, left = _spool(bed, material, left)
        file = f" (beds/{bed_file_name(bed.load)}.3mf)" if bed_files else ""
        title = f"{bed.title} of {len(beds)}{file}"
        lines += ["", title, "-" * len(title)]
        for label, text in (*_settings(result, bed), *spool):
            lines += _entry(label, text)
    for caution in CAUTIONS:
        lines += ["", *textwrap.wrap(f"Caution: {caution}", WIDTH)]
    return "\n".join(lines) + "\n"


def _entry(label: str, text: str) -> list[str]:
    lines = textwrap.wrap(
        _BEFORE_UNIT.sub("\xa0", text),
        WIDTH,
        initial_indent=f"  {label:<{_LABEL}}",
        subsequent_indent=" " * (_LABEL + 2),
        break_on_hyphens=False,
        break_long_words=False,
    )
    return [line.replace("\xa0", " ") for line in lines]


def _head(result: Result) -> Iterator[str]:
    """Yield what holds for all beds."""
    printer, material = result.plan.printer, result.plan.material
    yield from textwrap.wrap(
        "The files hold pieces and places only. Set what is below in your slicer, where hours and "
        "grams will differ a little: here they are worked out by layers, without slicing.",
        WIDTH,
    )
    allowance = file_allowance(printer, material)
    if allowance.is_scaled:
        x, y, z = (100.0 * (each - 1.0) for each in allowance.scale)
        yield from textwrap.wrap(
            f"Pieces in files are larger by {x:+.2f} % along x, {y:+.2f} % along y and {z:+.2f} % "
            "upward, for what the material shrinks: do not scale them again"
            + (", and do not turn them." if allowance.turns_matter else "."),
            WIDTH,
        )
    if allowance.has_foot:
        yield from textwrap.wrap(
            f"They have a chamfer of {allowance.foot_width:g} mm, {allowance.foot_height:g} mm "
            "high, where they lie on the bed: let the slicer take nothing off there.",
            WIDTH,
        )
    note = "" if material is None or not material.note else f"; {material.note.rstrip('.')}"
    name = "not chosen, so mass and cost are not known" if material is None else material.name
    yield from textwrap.wrap(f"Material: {name}{note}.", WIDTH)


def _settings(result: Result, bed: BedPrint) -> Iterator[tuple[str, str]]:
    printer, material = result.plan.printer, result.plan.material
    rows = {row.name: row for row in result.card.figures.prints}
    braced = any(row.name in bed.load.names for row in result.card.figures.braces)
    for index, piece in enumerate(bed.load.pieces):
        row, label = rows[piece.name], "Braces" if braced else "Pieces"
        name = row.name if braced else f"piece {row.piece.number}"
        yield ("" if index else label), f"{name}: {_lying(row, piece, printer, material)}"
    marked = [each for each in result.good_sides if each.name in bed.load.names]
    for index, each in enumerate(marked):
        words = f"piece {rows[each.name].piece.number}: {marks_words(each)}"
        yield ("Good side" if index == 0 else ""), words
    yield "Material", "-" if material is None else material.name
    if material is not None and (heat := _temperatures(material)):
        yield "Temperatures", heat
    yield "Nozzle", f"{printer.nozzle:g} mm"
    yield "Line width", f"{printer.line_width:g} mm"
    layers = "" if bed.layers is None else f", {counted(bed.layers, 'layer')}"
    yield "Layer height", f"{printer.layer_height:g} mm{layers}"
    wide = printer.wall_lines * printer.line_width
    yield "Wall lines", f"{printer.wall_lines}, {wide:g} mm together"
    yield "Solid layers", f"{printer.top_layers} above, {printer.bottom_layers} below"
    filled = "100 %, since braces count as solid in the figures of strength"
    yield "Infill", filled if braced else f"{100.0 * printer.infill:g} %"
    yield "Support", _support(bed, result)
    yield from _takes(bed)


def _lying(
    row: PieceFigures, piece: PlacedPiece, printer: Printer, material: Material | None
) -> str:
    turn = (piece.yaw - fit_in_file(row, printer, material).yaw) % 360.0
    words = [f"{direction_words(row.up)} of the part upward", f"{piece.fit.height:.1f} mm high"]
    if 0.05 <= turn <= 359.95:
        words.append(f"turned by {turn:.1f}° from how its own file has it")
    support = row.support.volume
    words.append(f"support {support / 1000:.1f} cm³" if support >= _NO_SUPPORT else "no support")
    return ", ".join(words)


def _temperatures(material: Material) -> str:
    known = (("nozzle", material.nozzle_temperature), ("bed", material.bed_temperature))
    return ", ".join(f"{what} {value:g} °C" for what, value in known if value is not None)


def _support(bed: BedPrint, result: Result) -> str:
    if bed.support < _NO_SUPPORT:
        return "no"
    printer, material = result.plan.machine, result.plan.material
    by = "" if material is None or material.overhang_limit is None else f" ({material.name})"
    return (
        f"yes: {bed.support / 1000:.1f} cm³ of columns, filled by "
        f"{100.0 * printer.support_infill:g} %, below what is steeper than "
        f"{printer.overhang_limit:g}° from vertical{by} and no bridge of up to "
        f"{printer.bridge_span:g} mm"
    )


def _takes(bed: BedPrint) -> Iterator[tuple[str, str]]:
    if bed.hours is None or bed.volume is None:
        return
    yield "Time", f"{bed.hours:.1f} h"
    use = bed.filament
    if use is None:
        yield "Filament", f"{bed.volume / 1000:.1f} cm³"
        return
    cost = "" if use.cost is None else f", which cost {use.cost:.2f}"
    yield "Filament", f"{use.length / 1000:.1f} m, {use.mass:.0f} g{cost}"


def _spool(
    bed: BedPrint, material: Material | None, left: float | None
) -> tuple[list[tuple[str, str]], float | None]:
    """Return what is to be said of the spool, and what is left on it, g; each is used to its end.

    Where it is not known what is on a started one, the first bed has a full one.
    """
    if bed.filament is None or material is None:
        return [], left
    mass, full = bed.filament.mass, material.spool_mass
    start = full if left is None else left
    on_it = f"{start:.0f} g are on it before"
    if mass <= start:
        return [("Spool", f"{on_it}, {start - mass:.0f} g after")], start - mass
    over = (start - mass) % full
    more = counted(math.ceil((mass - start) / full), "full one")
    words = (
        f"{on_it}, which is too little: have {more} of {full:.0f} g ready and be there to change; "
        f"{over:.0f} g are left after"
    )
    return [("Spool", words)], over
