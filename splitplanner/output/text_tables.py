"""How every table on the terminal and in ``scorecard.txt`` looks."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import JustifyMethod
from rich.table import Table
from rich.text import Text

from splitplanner.plan import Vector


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
    """Return ``+x`` and the like for an axis, else the three components."""
    for index, axis in enumerate("xyz"):
        if abs(abs(vector[index]) - 1.0) < 1e-9:
            return ("+" if vector[index] > 0 else "-") + axis
    # + 0.0 turns -0.0 into 0.0
    return "(" + " ".join(f"{round(component, 2) + 0.0:.2f}" for component in vector) + ")"
