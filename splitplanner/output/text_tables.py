"""How every table on the terminal and in ``scorecard.txt`` looks."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import JustifyMethod
from rich.table import Table
from rich.text import Text

from splitplanner.plan import Vector, wording


def titled(title: str) -> Text:
    """Return what stands over a table."""
    # Not the title of the table, which would be wrapped to the width of a narrow one.
    return Text(f"\n{title}", style="bold")


def empty_table(*columns: str, left: Sequence[str] = (), wide: str = "") -> Table:
    """Return an empty table; only the column `wide` may be wrapped."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, header_style="", show_edge=False)
    for column in columns:
        justify: JustifyMethod = "left" if column in left or column == wide else "right"
        table.add_column(Text(column), justify=justify, no_wrap=column != wide)
    return table


def add_row(table: Table, *cells: str, style: str | None = None) -> None:
    """Add a row of texts."""
    # As Text: names of files may hold what would be taken as markup.
    table.add_row(*(Text(cell) for cell in cells), style=style)


def direction_words(vector: Vector) -> str:
    """Return a direction in words; its minus is a hyphen, which every terminal can show."""
    return wording.direction_words(vector, minus="-")
