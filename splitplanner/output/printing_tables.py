"""What it takes to print the pieces, as text: hours, filament, money and spools."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import counted
from splitplanner.output.beds import beds_of
from splitplanner.output.result import Result
from splitplanner.output.text_tables import add_row, empty_table, titled
from splitplanner.score import FilamentUse, PrintTotals, SpoolUse, filament_of
from splitplanner.workshop import Material


def printing_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield the table of what each piece takes to print, and what is to be said of spools.

    Nothing where the layers of the pieces were not worked out.
    """
    totals, material = result.printing(), result.plan.material
    if totals is None:
        return
    of = "" if material is None else f" of {material.name}"
    yield titled(f"Printing{of}, by layers; hours are for one piece after another")
    yield _printing_table(result, totals)
    if material is None:
        yield Text("\nMass and cost are not known without a material.")
    elif totals.spools is not None:
        yield Text(f"\n{spool_words(totals.spools, material, result.spool_left)}")


def bed_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield the table of beds: what is printed together, and what that takes."""
    yield titled("Beds, as few as were found; hours are for all pieces of a bed at once")
    table = empty_table(
        "\n", "\npieces", "free\n%", "height\nmm", "support\ncm³", "time\nh", "\nlayers",
        "printed\ncm³", "filament\nm", "mass\ng", "\ncost", left=["\npieces"],
    )  # fmt: skip
    for bed in beds_of(result):
        add_row(
            table,
            f"bed {bed.number}",
            _on_bed(bed.load.names, result),
            f"{100 * bed.load.free:.0f}",
            f"{bed.load.height:.1f}",
            f"{bed.support / 1000:.1f}",
            "-" if bed.hours is None else f"{bed.hours:.1f}",
            "-" if bed.layers is None else str(bed.layers),
            "-" if bed.volume is None else f"{bed.volume / 1000:.1f}",
            *_filament_cells(bed.filament),
        )
    yield table


def _on_bed(names: Sequence[str], result: Result) -> str:
    """Return what lies on a bed: numbers of pieces, or names of braces."""
    told = [result.printed_as(name) for name in names]
    return (" " if all(each.isdigit() for each in told) else ", ").join(told)


def in_grams(mass: float) -> str:
    """Return a mass as it stands in papers, which have no locale."""
    return f"{mass:.0f} g"


def spool_words(
    spools: SpoolUse,
    material: Material,
    left: float | None,
    written: Callable[[float], str] = in_grams,
) -> str:
    """Return in one sentence which spools it takes.

    Parameters
    ----------
    spools : SpoolUse
    material : Material
    left : float or None
        On the started spool, g; None where it is not known.
    written : function, optional
        Writes a mass, g.
    """
    full = f"{counted(spools.new_spools, 'new spool')} of {written(material.spool_mass)}"
    over = f"{written(spools.over)} are left over"
    if left is None:
        return f"It takes {full}; {over}."
    if spools.is_enough:
        return f"The started spool is enough: of its {written(left)}, {over}."
    return (
        f"The started spool, with {written(left)}, is not enough: it takes {full} besides; {over}."
    )


def _printing_table(result: Result, totals: PrintTotals) -> Table:
    printer, material = result.plan.printer, result.plan.material
    table = empty_table(
        "\n", "time\nh", "\nlayers", "travels from\nisland to island", "printed\ncm³",
        "filament\nm", "mass\ng", "\ncost",
    )  # fmt: skip
    for row in result.card.figures.prints:
        if row.printed is None:
            continue
        use = None if material is None else filament_of(row, material, result.card.figures)
        add_row(
            table,
            result.printed_as(row.name),
            f"{row.printed.hours:.1f}",
            str(row.printed.layers),
            str(row.printed.crossings),
            f"{printer.mass_factor * row.printed.volume / 1000:.1f}",
            *_filament_cells(use),
        )
    volume = f"{totals.volume / 1000:.1f}"
    cells = (volume, *_filament_cells(totals.filament))
    add_row(table, "all", f"{totals.hours:.1f}", "", "", *cells, style="bold")
    return table


def _filament_cells(use: FilamentUse | None) -> tuple[str, str, str]:
    if use is None:
        return "-", "-", "-"
    cost = "-" if use.cost is None else f"{use.cost:.2f}"
    return f"{use.length / 1000:.1f}", f"{use.mass:.0f}", cost
