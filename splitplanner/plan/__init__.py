"""The decision: part, cuts, print directions and joints; its files; and its history."""

from splitplanner.plan.document import Document
from splitplanner.plan.files import (
    load_plan,
    part_path,
    plan_from_text,
    plan_to_text,
    save_plan,
    with_part_path,
)
from splitplanner.plan.joints import Joint, Pin, Vector
from splitplanner.plan.pieces import (
    WHOLE,
    Cut,
    Cutter,
    Division,
    Halves,
    Piece,
    Seam,
    cut_piece,
    divide,
    divided_by,
    loose_bodies,
    named_bodies,
    outline_points,
)
from splitplanner.plan.plan import UP, PartFile, Plan
from splitplanner.plan.remembered_cuts import RememberedCuts

__all__ = [
    "UP",
    "WHOLE",
    "Cut",
    "Cutter",
    "Division",
    "Document",
    "Halves",
    "Joint",
    "PartFile",
    "Piece",
    "Pin",
    "Plan",
    "RememberedCuts",
    "Seam",
    "Vector",
    "cut_piece",
    "divide",
    "divided_by",
    "load_plan",
    "loose_bodies",
    "named_bodies",
    "outline_points",
    "part_path",
    "plan_from_text",
    "plan_to_text",
    "save_plan",
    "with_part_path",
]
