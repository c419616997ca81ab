"""How often the nozzle travels over a gap beside the good side, where a string would show."""

from __future__ import annotations

from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures
from splitplanner.score.gaps import seen_crossings


def _seen(figures: Figures) -> float:
    printer = figures.printer
    return sum(
        seen_crossings(
            row.piece.solid,
            row.up,
            printer.layer_height,
            printer.line_width,
            figures.part,
            figures.good_side,
        )
        for row in figures.pieces
    )


# 250: a gap beside the good side for 50 mm of height in layers of 0.2 mm.
TRAVEL_SEEN = Criterion(
    "travel crossings seen", "crossings", 250.0, 0.0, _seen, adds_up=True, concern="travel"
)
