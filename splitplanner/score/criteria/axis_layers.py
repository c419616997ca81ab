"""Pieces whose layers lie across the part's long axis, along which bending pulls."""

from __future__ import annotations

from splitplanner.score.criterion import by_numbers
from splitplanner.score.layers import layers_along_part

AXIS_LAYERS = by_numbers(
    "layers across the long axis",
    "share of the stress",
    1.0,
    0.0,
    layers_along_part,
    adds_up=True,
    concern="strength",
)
