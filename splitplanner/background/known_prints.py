"""A print that its maker knows, worked out as it would be for the pieces of a plan."""

from __future__ import annotations

from pathlib import Path

from splitplanner.background.desk import Desk, Hand
from splitplanner.plan import Vector
from splitplanner.progress import Report, part_of
from splitplanner.score import LayeredPrint, known_print
from splitplanner.solid import Solid, read_solid
from splitplanner.workshop import Printer


def work_out_print(
    desk: Desk,
    report: Report,
    hand: Hand,
    what: Path | Solid,
    up: Vector,
    printer: Printer,
    is_held: bool,
) -> LayeredPrint:
    """Work out the print of a model file, or of a piece, with this direction up."""
    if isinstance(what, Path):
        what = read_solid(what, None, part_of(report, 0.0, 0.5)).solid
    report(0.5, "working out its layers")
    return known_print(what, up, printer, is_held=is_held)
