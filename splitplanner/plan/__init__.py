"""The decision: part, cuts, print directions and joints; its files; and its history."""

from splitplanner.plan.joints import Joint, Pin, Vector
from splitplanner.plan.pieces import (
    WHOLE,
    Cut,
    Division,
    Piece,
    Seam,
    cut_piece,
    divide,
    loose_bodies,
    outline_points,
)
from splitplanner.plan.plan import UP, PartFile, Plan

__all__ = [
    "UP",
    "WHOLE",
    "Cut",
    "Division",
    "Joint",
    "PartFile",
    "Piece",
    "Pin",
    "Plan",
    "Seam",
    "Vector",
    "cut_piece",
    "divide",
    "loose_bodies",
    "outline_points",
]
