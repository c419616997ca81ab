"""Quadratic finite cells: pieces of any form embedded in a regular grid, without a mesher."""

from splitplanner.strength.cells.assembly import Assembly, Contact, Tie, sprung, stacked
from splitplanner.strength.cells.condensing import Condensed, condensed
from splitplanner.strength.cells.flexibility import NewGaps
from splitplanner.strength.cells.grid import CellGrid, cell_grid
from splitplanner.strength.cells.model import SIZE, CellModel, Patch, embedded
from splitplanner.strength.cells.ordering import elimination_order
from splitplanner.strength.cells.seam_points import SPACING, SeamPoints, seam_points
from splitplanner.strength.cells.solving import (
    FIRM,
    Factor,
    Hold,
    factorised,
    held_matrix,
    reaction,
)
from splitplanner.strength.cells.springs import Joined, SeamAnswer
from splitplanner.strength.cells.stiffness import VOID, elastic_tensor
from splitplanner.strength.cells.wholes import held_as_whole

__all__ = [
    "FIRM",
    "SIZE",
    "SPACING",
    "VOID",
    "Assembly",
    "CellGrid",
    "CellModel",
    "Condensed",
    "Contact",
    "Factor",
    "Hold",
    "Joined",
    "NewGaps",
    "Patch",
    "SeamAnswer",
    "SeamPoints",
    "Tie",
    "cell_grid",
    "condensed",
    "elastic_tensor",
    "elimination_order",
    "embedded",
    "factorised",
    "held_as_whole",
    "held_matrix",
    "reaction",
    "seam_points",
    "sprung",
    "stacked",
]
