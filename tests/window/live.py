"""Answers of a kept check, made by hand: a seam with two screws, of which one goes; two braces."""

import numpy as np

from splitplanner.background.live_told import LiveState, LiveTold
from splitplanner.loaded.cells_values import BraceInCells, LiveAnswer, SeamInCells

_NONE = np.zeros(3)


def seam(pulls, gap):
    """Seam S1 with pulls in its screws, N, and a gap, mm."""
    screws = np.array(pulls)
    return SeamInCells(
        "S1", _NONE, _NONE, 0.0, 0.0, 0.0, 0.0, gap, 0.25, screws, np.zeros((len(screws), 3)),
        np.zeros((0, 3)), 0.0,
    )  # fmt: skip


def state(stiffness, pulls, factors, gap, braces):
    """Stiffness of the uncut part, the seam, and stress in braces by name, MPa."""
    made = tuple(
        BraceInCells(name, 10.0, 0.0, stress, 80.0, np.zeros((2, 3)))
        for name, stress in braces.items()
    )
    answer = LiveAnswer("braced", 0.1, stiffness, (seam(pulls, gap),), made)
    return LiveState(answer, {"S1": np.array(factors)})


BEFORE = state(0.63, [12.0, 40.0], [np.nan, 1.5], 0.02, {"left": 34.0, "right": 30.0})
AFTER = state(0.58, [55.2], [1.24], 0.03, {"left": 36.0, "right": 30.0})
TOLD = LiveTold("pressed", BEFORE, AFTER, 0.02)
AS_CHECKED = LiveTold("pressed", BEFORE, BEFORE, 0.02)
