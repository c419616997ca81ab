"""What it takes to print the pieces, as text: hours, filament, money and spools."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import counted
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


def spool_words(spools: SpoolUse, material: Material, left: float | None) -> str:
    """Return in one sentence which spools it takes; `left` is on the started one, g, or None."""
    full = f"{counted(spools.new_spools, 'new spool')} of {material.spool_mass:.0f} g"
    if left is None:
        return f"It takes {full}; {spools.over:.0f} g of that are left over."
    if spools.is_enough:
        return (
            f"The started spool is enough: of its {left:.0f} g, {spools.over:.0f} g are left over."
        )
    return (
        f"The started spool, with {left:.0f} g, is not enough: it takes {full} besides; "
        f"{spools.over:.0f} g are left over."
    )


def _printing_table(result: Result, totals: PrintTotals) -> Table:
    printer, material = result.plan.printer, result.plan.material
    table = empty_table(
        "\n", "time\nh", "\nlayers", "travels from\nisland to island", "printed\ncm³",
        "filament\nm", "mass\ng", "\ncost",
    )  # fmt: skip
    for row in result.card.figures.pieces:
        if row.printed is None:
            continue
        use = None if material is None else filament_of(row, material, result.card.figures)
        add_row(
            table,
            str(row.piece.number),
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
