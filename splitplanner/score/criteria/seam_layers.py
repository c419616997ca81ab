"""Seams that pull the layers of a piece apart."""

from __future__ import annotations

from splitplanner.score.criterion import by_numbers
from splitplanner.score.layers import layers_at_seams

SEAM_LAYERS = by_numbers(
    "layers pulled apart at seams", "seams", 1.0, 0.0, layers_at_seams, concern="strength"
)
