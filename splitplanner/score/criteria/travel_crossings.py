"""How often the nozzle has to travel over a gap, where it may leave a string."""

from __future__ import annotations

from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures
from splitplanner.score.islands import islands


def _crossings(figures: Figures) -> float:
    printer = figures.printer
    return sum(
        islands(row.piece.solid, row.up, printer.layer_height, printer.line_width).crossings
        for row in figures.pieces
    )


# 1000: an island beside another for 200 mm of height in layers of 0.2 mm.
TRAVEL_CROSSINGS = Criterion(
    "travel crossings", "crossings", 1000.0, 0.0, _crossings, adds_up=True, concern="travel"
)
