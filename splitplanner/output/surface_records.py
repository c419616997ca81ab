"""What pieces have on the good side, and how walls come out in lines, as plain values."""

from __future__ import annotations

from typing import Any

from splitplanner.arrays import Floats
from splitplanner.output.result import Result
from splitplanner.score import WallFigures

Record = dict[str, Any]


def good_side_record(piece: str, result: Result) -> Record:
    """Return what a piece has on the good side; nothing where that was not measured."""
    for each in result.good_sides:
        if each.name == piece:
            return {
                "good_side_held": _figure(each.held),
                "good_side_stood_on": _figure(each.stood_on),
                "good_side_seam": _figure(each.seam),
                "good_side_travel_crossings": _figure(each.crossings),
                "good_side_on_bed": _figure(each.contact),
            }
    return {}


def walls_record(walls: WallFigures) -> Record:
    """Return how the walls of the part come out in printed lines; shares are of their area."""
    return {
        "line_width": _figure(walls.line_width),
        "tolerance": _figure(walls.tolerance),
        "area": _figure(walls.area),
        "off": _figure(walls.off),
        "with_filler": _figure(walls.filled),
        "thinner_than_a_line": _figure(walls.thin.share),
        "best_line_width": _figure(walls.best_line_width),
        "off_at_best": _figure(walls.best_off),
        "thicknesses": [
            {
                "thickness": _figure(wall.thickness),
                "share": _figure(wall.share),
                "lines": wall.whole,
                "off": wall.is_off,
                "model_instead": _figure(wall.model),
            }
            for wall in walls.walls
        ],
        "histogram": {
            "edges": _rounded(walls.edges),
            "areas": _rounded(walls.histogram),
        },
    }


def _figure(value: float) -> float:
    return round(float(value), 4) + 0.0


def _rounded(values: Floats) -> list[float]:
    return [_figure(value) for value in values]
