"""How much of the good side supports and the bed leave their marks on."""

from __future__ import annotations

from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures
from splitplanner.score.good_side_figures import faces_on_good_side, supports_on


def _marks(figures: Figures) -> float:
    """Return the area that is marked beside the surface of the part, as overhang is told.

    Of each piece: what supports hold and what they stand on, and what lies on the bed; those of
    `splitplanner.score.good_side_figures.GoodSideFigures`.
    """
    area = 0.0
    for row in figures.pieces:
        solid = row.piece.solid
        good = faces_on_good_side(solid, figures.part, figures.good_side)
        held, stood_on = supports_on(solid, row.up, row.overhang, good)
        area += held + stood_on + float(solid.face_areas[row.overhang.contact & good].sum())
    return area / (figures.part.area / 100)


# It looks from every face of the pieces back at the part, so a search cannot tell it by numbers.
GOOD_SIDE_MARKS = Criterion(
    "marks on the good side", "mm² per cm² of surface", 10.0, 0.0, _marks, adds_up=True
)
