"""What the check by finite cells found, as text and as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.loaded import percent_words, way_words
from splitplanner.output import Result
from splitplanner.output.strength_records import figure
from splitplanner.output.text_tables import add_row, empty_table, titled


def cells_blocks(told: CellsTold, result: Result) -> Iterator[RenderableType]:
    """Yield the table of one load case by cells, one row a way of holding the seams."""
    yield titled(f"By finite cells, load case “{told.loading.name}”")
    yield Text("Of each surface so much takes no more of its strength than the share shown.\n")
    yield _table(told, result)
    for note in told.notes:
        yield Text(f"\n{note}")
    yield Text(f"\n{told.accuracy}")


def _table(told: CellsTold, result: Result) -> Table:
    table = empty_table(
        "\nseams held by", "as stiff\nas uncut", "moves\nmm", "95 % of\nsurface",
        "99 % of\nsurface",
        "in\npiece", "widest\ngap, mm", "most pulled\nscrew, N", "brace\nMPa",
        left=("\nseams held by",),
    )  # fmt: skip
    for way in told.ways:
        gap, at = way.opening
        pull, of = way.screw
        add_row(
            table,
            _words(way),
            percent_words(way.stiffness),
            f"{way.deflection:.2f}",
            *(percent_words(share) for share in way.percentiles),
            str(result.number(way.piece)) if way.piece else "-",
            f"{gap:.2f} {at}" if at else "-",
            f"{pull:.0f} {of}" if of else "-",
            f"{max(brace.stress for brace in way.braces):.0f}" if way.braces else "-",
        )
    return table


def _words(way: WayInCells) -> str:
    if way.held == "glued":
        return "printed in one"
    return way_words(way.held, way.has_hardware, way.is_glued)


def cells_record(told: CellsTold) -> dict[str, Any]:
    """Return one load case by cells as plain values; forces in N, stresses in MPa."""
    return {
        "name": told.loading.name,
        "factor": figure(told.factor),
        "ways": [_way(way) for way in told.ways],
        "notes": list(told.notes),
        "accuracy": told.accuracy,
    }


def _way(way: WayInCells) -> dict[str, Any]:
    return {
        "way": way.held,
        "stiffness": figure(way.stiffness),
        "deflection": figure(way.deflection),
        "percentiles": [figure(share) for share in way.percentiles],
        "piece": way.piece,
        "seams": [_plain(asdict(seam)) for seam in way.seams],
        "braces": [_plain(asdict(brace)) for brace in way.braces],
    }


def _plain(record: dict[str, Any]) -> dict[str, Any]:
    """Return a record with its arrays as lists of rounded numbers."""
    return {name: _plain_value(value) for name, value in record.items()}


def _plain_value(value: Any) -> Any:
    if isinstance(value, str):
        return value
    if hasattr(value, "tolist"):
        return _plain_value(value.tolist())
    return [_plain_value(each) for each in value] if isinstance(value, list) else figure(value)
