"""What a planned part stands: its load cases on part, seams, layers and braces."""

from splitplanner.loaded.answers import (
    WAYS,
    BraceUnderLoad,
    HeldWay,
    LoadAnswer,
    PieceUnderLoad,
    SeamUnderLoad,
    StrengthAnswer,
    Way,
    Weakest,
)

__all__ = [
    "WAYS",
    "BraceUnderLoad",
    "HeldWay",
    "LoadAnswer",
    "PieceUnderLoad",
    "SeamUnderLoad",
    "StrengthAnswer",
    "Way",
    "Weakest",
]
