"""Quadratic finite cells: pieces of any form embedded in a regular grid, without a mesher."""

from splitplanner.strength.cells.grid import CellGrid, cell_grid
from splitplanner.strength.cells.model import SIZE, CellModel, Patch, embedded
from splitplanner.strength.cells.solving import (
    FIRM,
    Factor,
    Hold,
    factorised,
    held_matrix,
    reaction,
)
from splitplanner.strength.cells.stiffness import VOID, elastic_tensor

__all__ = [
    "FIRM",
    "SIZE",
    "VOID",
    "CellGrid",
    "CellModel",
    "Factor",
    "Hold",
    "Patch",
    "cell_grid",
    "elastic_tensor",
    "embedded",
    "factorised",
    "held_matrix",
    "reaction",
]
