"""How long the seams are that people see from where they stand."""

from __future__ import annotations

from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures
from splitplanner.score.views import Views, seen_length


def seen_from(views: Views, weight: float = 0.0) -> Criterion:
    """Return a criterion that counts what is seen of the seams from given places.

    It is not one of the default criteria, since only the user knows where people stand.

    Parameters
    ----------
    views : Views
        Without any, nothing is seen: the value is 0.
    weight : float
        Default weight of one reference.
    """

    def measure(figures: Figures) -> float:
        lengths = (seen_length(row.seam, figures.part, views) for row in figures.seams)
        return sum(lengths) / figures.part.size

    return Criterion(
        "seam seen from your places", "mm per mm of the part's diagonal", 1.0, weight, measure
    )
