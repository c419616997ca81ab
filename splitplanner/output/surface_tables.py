"""What pieces have on the good side, and how walls come out in lines, as text."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import counted
from splitplanner.output.result import Result
from splitplanner.output.text_tables import add_row, empty_table, titled
from splitplanner.score import GoodSideFigures, WallFigures

_SHOWN = 0.05
"""Of cm², cm and travels; less is rounded to nothing."""


def good_side_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield the table of what each piece has on the good side; nothing if it was not measured."""
    if result.good_sides:
        yield titled("On the good side, as each piece prints")
        yield _good_side_table(result)


def _good_side_table(result: Result) -> Table:
    table = empty_table(
        "\n", "supports\ntouch, cm²", "seam\nmm", "travels\nover gaps", "on the bed\ncm²"
    )
    for each in result.good_sides:
        add_row(
            table,
            str(result.number(each.name)),
            f"{each.supports / 100:.1f}",
            f"{each.seam:.0f}",
            f"{each.crossings:.0f}",
            f"{each.contact / 100:.1f}",
        )
    return table


def marks_words(marks: GoodSideFigures) -> str:
    """Return what a piece has on its good side as it prints; what is too little to show is not."""
    found = [
        (marks.supports / 100, f"supports touch {marks.supports / 100:.1f} cm²"),
        (marks.seam / 10, f"{marks.seam:.0f} mm of seam"),
        (marks.crossings, f"{counted(round(marks.crossings), 'travel')} over gaps"),
        (marks.contact / 100, f"{marks.contact / 100:.1f} cm² on the bed"),
    ]
    return ", ".join(words for amount, words in found if amount >= _SHOWN) or "nothing"


def wall_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield the table of the walls of the part, and what would suit them; nothing if not known."""
    walls = result.walls
    if walls is None or not walls.walls:
        return
    yield titled(f"Walls of the part, in printed lines of {walls.line_width:g} mm")
    yield _walls_table(walls)
    yield Text(f"\n{walls_words(walls)}")


def walls_words(walls: WallFigures) -> str:
    """Return how much of the walls is no whole number of lines, and which width is best."""
    said = f"{100 * walls.off:.1f} % of all wall area is off by more than {walls.tolerance:.3g} mm"
    if not walls.has_better_width:
        return f"{said}; no line width that the nozzle prints makes that less."
    return (
        f"{said}; with lines of {walls.best_line_width:.2f} mm, which the nozzle prints, it would "
        f"be {100 * walls.best_off:.1f} %."
    )


def _walls_table(walls: WallFigures) -> Table:
    table = empty_table(
        "thickness\nmm", "of all walls\n%", "\nlines", "\nin whole lines", "model instead\nmm"
    )
    for wall in walls.walls:
        is_filled = not wall.is_off and wall.lines > wall.whole + 1.0
        add_row(
            table,
            f"{wall.thickness:.2f}",
            f"{100 * wall.share:.0f}",
            f"{wall.lines:.1f}",
            f"{wall.whole} and filler" if is_filled else f"{wall.whole}{', off' * wall.is_off}",
            f"{wall.model:.2f}" if wall.is_off else "-",
        )
    return table
