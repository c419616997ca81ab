"""What is said of walls and printed lines below the view."""

from __future__ import annotations

from collections.abc import Iterator

from splitplanner.score import WallFigures
from splitplanner.window.quantities import Quantities

_NAMED = 3
"""So many thicknesses are named."""


def thickness_words(walls: WallFigures, quantities: Quantities) -> str:
    """Return which thicknesses the walls of the part have."""
    if not walls.walls:
        return "The part has no walls of one thickness."
    named = ", ".join(
        f"{quantities.share(each.share)} {quantities.length(each.thickness, 2)}"
        for each in walls.walls[:_NAMED]
    )
    return f"Walls of the part, by area: {named}."


def lines_words(walls: WallFigures, quantities: Quantities) -> str:
    """Return how much of the walls is no whole number of lines, and what would suit them."""
    width = quantities.length(walls.line_width, 2)
    said = f"{quantities.share(walls.off)} of wall area is off lines of {width}"
    ways = ", or ".join(_ways(walls, quantities))
    return f"{said}. {ways}." if ways else f"{said}."


def _ways(walls: WallFigures, quantities: Quantities) -> Iterator[str]:
    if walls.has_better_width:
        best = quantities.length(walls.best_line_width, 2)
        yield f"Best: lines of {best} ({quantities.share(walls.best_off)} off)"
    # Of walls that differ a little the largest tells.
    models = {each.model: each.thickness for each in reversed(walls.off_walls)}
    digits = 3 if quantities.unit == "inch" else 2
    named = [
        f"{quantities.number(quantities.shown(model), digits)} for "
        f"{quantities.length(thickness, 2)}"
        for model, thickness in reversed(models.items())
    ]
    if named:
        yield f"{'w' if walls.has_better_width else 'W'}alls of {', '.join(named[:_NAMED])}"
