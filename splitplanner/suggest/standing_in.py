"""A light stand-in for the part, on which plans are looked for."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.arrays import Bools
from splitplanner.score import Wishes
from splitplanner.solid import Solid
from splitplanner.suggest.wishing import good_side_of

TRIANGLES = 9_000
"""Parts with more triangles than this are searched on a stand-in."""
TOLERANCES = (0.05, 0.1, 0.2)
"""How far (mm) a stand-in's surface may lie from the part's, the first that makes it light enough;
the finalists are cut exactly."""


@dataclass(frozen=True, eq=False)
class Standing:
    """The solid that plans are looked for on, and its good side.

    Attributes
    ----------
    solid : Solid
        The part itself or a stand-in.
    seen : (m,) bool array
        Its faces on the good side.
    tolerance : float
        How far its surface may lie from the part's, mm.
    """

    solid: Solid
    seen: Bools
    tolerance: float


def stand_in_for(part: Solid, wishes: Wishes | None = None) -> Standing:
    """Return the part, or a solid with fewer triangles that is much the same."""
    solid, before = part, 0.0
    for tolerance in TOLERANCES:
        if len(solid.faces) > TRIANGLES:
            # Made from the one before, which is far lighter than the part.
            solid = solid.simplified(tolerance - before)
            before = tolerance
    return Standing(solid, good_side_of(solid, part, wishes or Wishes()), before)
