"""What a planned part stands: its load cases on part, seams, layers and braces."""

from splitplanner.loaded.answering import strength_answer
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
from splitplanner.loaded.uncut import Chains
from splitplanner.loaded.wording import (
    brace_words,
    factor_words,
    fall_words,
    loading_words,
    low_end,
    named,
    percent_words,
    unloaded_words,
    way_words,
    ways_words,
    weakest_words,
)

__all__ = [
    "WAYS",
    "BraceUnderLoad",
    "Chains",
    "HeldWay",
    "LoadAnswer",
    "PieceUnderLoad",
    "SeamUnderLoad",
    "StrengthAnswer",
    "Way",
    "Weakest",
    "brace_words",
    "factor_words",
    "fall_words",
    "loading_words",
    "low_end",
    "named",
    "percent_words",
    "strength_answer",
    "unloaded_words",
    "way_words",
    "ways_words",
    "weakest_words",
]
