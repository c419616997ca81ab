"""The table of a batch: on the terminal, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.batch.rows import BatchResult, BatchRow, Outcome
from splitplanner.findings import counted
from splitplanner.loaded import factor_words, percent_words
from splitplanner.strength import CAUTIONS

FORMAT = "split plan batch"
VERSION = 1

_STYLE = {Outcome.PLANNED: None, Outcome.FAILED: "bold red", Outcome.WAITING: "dim"}


def batch_record(result: BatchResult) -> dict[str, Any]:
    """Return the table as plain values; what was not found out is None."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "bed": result.bed,
        **{str(outcome): result.count(outcome) for outcome in Outcome},
        "models": [
            {
                "model": row.model,
                "folder": row.folder,
                "outcome": str(row.outcome),
                "pieces": row.pieces,
                "score": row.score,
                "least_pieces_possible": row.least_pieces,
                "print_time": row.hours,
                "filament_mass": row.mass,
                "spools": row.spools,
                "filament_cost": row.cost,
                "holds_of_uncut": row.ratio,
                "holds_of_load": row.holds,
                "warnings": row.warnings,
                "notes": row.notes,
                "failure": row.failure or None,
                "fault": row.fault or None,
            }
            for row in result.rows
        ],
    }


def batch_json(result: BatchResult) -> str:
    """Return the table as JSON text."""
    record = batch_record(result)
    return json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def batch_csv(result: BatchResult) -> str:
    """Return the table as CSV, one model a row; what was not found out is empty."""
    stream = io.StringIO()
    rows = csv.writer(stream, lineterminator="\n")
    models = batch_record(result)["models"]
    rows.writerow(models[0] if models else [])
    rows.writerows(["" if cell is None else cell for cell in row.values()] for row in models)
    return stream.getvalue()


def batch_table(result: BatchResult) -> RenderableType:
    """Return the table for printing with rich."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, header_style="", show_edge=False)
    table.add_column(Text("\nmodel"), overflow="fold")
    # What no model has is no column: without a material there is neither mass nor cost.
    shown = [each for each in _COLUMNS if each.is_always or result.total(each.figure) is not None]
    for column in (each.title for each in shown):
        table.add_column(Text(column), justify="right", no_wrap=True)
    table.add_column(Text("\nfindings, or why it failed"), ratio=1)
    for row in result.rows:
        # As Text: names of files may hold what would be taken as markup.
        cells = (row.model, *(each.cell(row) for each in shown), _said(row))
        table.add_row(*(Text(cell) for cell in cells), style=_STYLE[row.outcome])
    # Figures of strength never go without them.
    said = CAUTIONS if result.total("ratio") is not None else ()
    cautions = [Text(f"\nCaution: {each}") for each in said]
    return Group(table, *cautions, Text(f"\n{_summary(result)}.", style="bold"))


@dataclass(frozen=True)
class _Column:
    """A figure of a model, and how it is shown."""

    figure: str
    title: str
    form: str | Callable[[float], str]
    is_always: bool = False

    def cell(self, row: BatchRow) -> str:
        value = getattr(row, self.figure)
        if value is None:
            return ""
        return format(value, self.form) if isinstance(self.form, str) else self.form(value)


_COLUMNS = (
    _Column("pieces", "\npieces", "d", True),
    _Column("score", "\nscore", ".3f", True),
    _Column("least_pieces", "least\npossible", "d", True),
    _Column("hours", "time\nh", ".1f"),
    _Column("mass", "mass\ng", ".0f"),
    _Column("spools", "\nspools", "d"),
    _Column("cost", "\ncost", ".2f"),
    _Column("ratio", "holds\nof uncut", percent_words),
    _Column("holds", "holds\nthe load", factor_words),
)


def _said(row: BatchRow) -> str:
    if row.outcome is Outcome.FAILED:
        return row.failure
    if row.outcome is Outcome.WAITING:
        return "not planned yet"
    found = [(row.warnings, "warning"), (row.notes, "note")]
    return ", ".join(counted(number, noun) for number, noun in found if number) or "none"


def _summary(result: BatchResult) -> str:
    planned = result.count(Outcome.PLANNED)
    text = f"{planned} of {counted(len(result.rows), 'model')} planned"
    if result.kept:
        text += f", {result.kept} of them before"
    failed, waiting = result.count(Outcome.FAILED), result.count(Outcome.WAITING)
    text += f", {failed} failed" if failed else ""
    text += f", {waiting} not planned yet" if waiting else ""
    takes = [
        form.format(total)
        for figure, form in _TOGETHER.items()
        if (total := result.total(figure)) is not None
    ]
    return f"{text}. Together: {', '.join(takes)}" if takes else text


_TOGETHER = {
    "hours": "{:.1f} h of printing",
    "mass": "{:.0f} g of filament",
    "cost": "which cost {:.2f}",
}
