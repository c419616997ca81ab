"""What print directions are ranked by: criteria of the plan score, and terms of their own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.plan import Vector
from splitplanner.score.bed_fit import BedFit
from splitplanner.score.criteria import CRITERIA
from splitplanner.score.criteria.axis_layers import AXIS_LAYERS
from splitplanner.score.criteria.bed_hold import BED_HOLD
from splitplanner.score.criteria.little_contact import LITTLE_CONTACT
from splitplanner.score.criteria.overhang_area import OVERHANG_AREA
from splitplanner.score.criteria.print_hours import PRINT_HOURS
from splitplanner.score.criteria.slenderness import SLENDERNESS
from splitplanner.score.criteria.support_volume import SUPPORT_VOLUME
from splitplanner.score.criteria.tight_fit import TIGHT_FIT
from splitplanner.score.criteria.too_large import TOO_LARGE
from splitplanner.score.criteria.travel_crossings import TRAVEL_CROSSINGS
from splitplanner.score.criteria.travel_seen import TRAVEL_SEEN
from splitplanner.score.criterion import Criterion, Numbers, PartNumbers, PieceNumbers, SeamNumbers
from splitplanner.score.glancing import DirectionFigures
from splitplanner.score.layers import across_layers
from splitplanner.score.support import Support
from splitplanner.score.tipping import tipping_with_brim
from splitplanner.solid import Solid
from splitplanner.strength import WholeUnderLoad
from splitplanner.workshop import Printer

FIRM = 10.0
"""A print that may be tilted by so many degrees before it falls over stands firm: an upright block
5.7 times as tall as wide just does (common practice, no source)."""
_BRIM_COSTS = 0.1
"""What a brim costs, beside a print that stands on a point: a gram of material and a minute to trim
it (the program's own choice)."""


@dataclass(frozen=True)
class _Hanging:
    area: float
    contact_area: float


@dataclass(frozen=True, eq=False)
class _Print:
    """A piece in one direction, as criteria of the plan score look at it."""

    name: str
    up: Vector
    volume: float
    area: float
    fit: BedFit
    overhang: _Hanging
    support: Support


@dataclass(frozen=True, eq=False)
class Way:
    """A piece in one print direction, and all that is known of it: a plan of this piece alone.

    Attributes
    ----------
    figures : DirectionFigures
    middle : float
        Height of its centre of mass above the bed, mm.
    load : (x, y, z) or None
        Direction of the pull that the piece has to bear, unit vector.
    part : PartNumbers
        The uncut part, by which figures are scaled.
    printer : Printer
    pieces : sequence of PieceNumbers
        The piece.
    seams : sequence of SeamNumbers
        None.
    under_load : sequence of WholeUnderLoad
        None: what seams lose by it is no matter of how a piece prints.
    """

    figures: DirectionFigures
    middle: float
    load: Vector | None
    part: PartNumbers
    printer: Printer
    pieces: Sequence[PieceNumbers]
    seams: Sequence[SeamNumbers] = ()
    under_load: Sequence[WholeUnderLoad] = ()


def way_of(
    figures: DirectionFigures,
    piece: Solid,
    part: PartNumbers,
    printer: Printer,
    load: Vector | None,
) -> Way:
    """Return a piece in the direction of these figures."""
    height, sides, spare = figures.height, figures.sides, figures.spare
    fit = BedFit(
        figures.fits, figures.up, 0.0, (0.0, 0.0), height, spare, 0.0, sides, figures.outline
    )
    held = Support(figures.support, figures.overhang, 0.0, 0.0, float("nan"))
    hanging = _Hanging(figures.overhang, figures.contact)
    row = _Print("", figures.up, piece.volume, piece.area, fit, hanging, held)
    up = np.array(figures.up)
    middle = float(piece.centroid @ up - (piece.hull.vertices @ up).min())
    return Way(figures, middle, load, part, printer, (row,))


@dataclass(frozen=True)
class RankingTerm:
    """One figure that makes a print direction better or worse; lower is better.

    Attributes
    ----------
    name, unit : str
        Where it is a criterion of the plan score, its name.
    reference : float
        The value that counts as 1.
    weight : float
        Default weight of one reference.
    value : function of Way
    """

    name: str
    unit: str
    reference: float
    weight: float
    value: Callable[[Way], float]


def _of_criterion(
    criterion: Criterion, value: Callable[[Way], float] | None = None, weight: float | None = None
) -> RankingTerm:
    """Return a term that is a criterion of the plan score, by its estimate from numbers."""
    estimate: Callable[[Numbers], float] | None = criterion.estimate
    found = value or estimate
    assert found is not None
    return RankingTerm(
        criterion.name,
        criterion.unit,
        criterion.reference,
        criterion.weight if weight is None else weight,
        found,
    )


def _per_surface(value: Callable[[DirectionFigures], float]) -> Callable[[Way], float]:
    """Return a function that sets an area beside the surface of the part, mm² per cm²."""
    return lambda way: value(way.figures) / (way.part.area / 100.0)


def unsteady(tip: float, middle: float) -> float:
    """Return how badly a print stands: 0 where it is firm, 1 and more on a point, up to 2.1.

    What makes a print fail is that it falls, and what does not stand firm by itself usually does
    with a brim, which is cheap. So the share of `FIRM` that is missing counts in full only as far
    as it is still missing with a brim (`splitplanner.score.tipping.BRIM`); what the brim makes good
    counts a tenth. A print 200 mm tall on a foot 25 mm wide, its centre half way up, tips at 7.1°
    and at 9.9° with a brim: 0.04. One whose centre lies 5 mm beyond its foot just stands on
    its brim: 1.1. Ever farther out: 2.1, as it falls before it is done if no support holds it.

    Parameters
    ----------
    tip : float
        As `splitplanner.score.tipping_angle`.
    middle : float
        Height of the centre of mass above the bed, mm.
    """
    bare = min(max(0.0, 1.0 - tip / FIRM), 1.0)
    held = min(max(0.0, 1.0 - tipping_with_brim(tip, middle) / FIRM), 2.0)
    return held + _BRIM_COSTS * bare


def _unsteady(way: Way) -> float:
    return unsteady(way.figures.tip, way.middle)


def _across_load(way: Way) -> float:
    return 0.0 if way.load is None else across_layers(way.figures.up, way.load)


_SURFACE = "mm² per cm² of surface"

RANKING_TERMS: tuple[RankingTerm, ...] = (
    *map(_of_criterion, (TOO_LARGE, TIGHT_FIT, OVERHANG_AREA, SUPPORT_VOLUME, BED_HOLD)),
    *map(_of_criterion, (PRINT_HOURS, SLENDERNESS, LITTLE_CONTACT, AXIS_LAYERS)),
    _of_criterion(TRAVEL_CROSSINGS, lambda way: way.figures.crossings, 1.0),
    _of_criterion(TRAVEL_SEEN, lambda way: way.figures.crossings_seen, 0.25),
    RankingTerm(
        "supports on the good side",
        _SURFACE,
        10.0,
        1.0,
        _per_surface(lambda each: each.support_seen),
    ),
    RankingTerm(
        "good side on the bed", _SURFACE, 10.0, 0.1, _per_surface(lambda each: each.contact_seen)
    ),
    RankingTerm("unsteady on the bed", f"of {FIRM:g}°", 1.0, 0.25, _unsteady),
    RankingTerm("layers across the load", "share of the stress", 1.0, 0.5, _across_load),
)
"""In the order in which they are shown. Of those that the plan score has too, references are its
own, and weights but for travels: in a plan they are left out, as the search cannot see them. All
are the program's own choice."""


def ranking_weights(weights: Mapping[str, float]) -> dict[str, float]:
    """Return the weight of each term by name: the user's, or else its own.

    Weights of criteria of the plan score that no direction changes are left out.

    Raises
    ------
    ValueError
        If a weight is given to what is neither a term nor a criterion.
    """
    own = {term.name: term.weight for term in RANKING_TERMS}
    unknown = set(weights) - own.keys() - {criterion.name for criterion in CRITERIA}
    if unknown:
        raise ValueError(f"there is no criterion called {', '.join(sorted(unknown))}")
    return {name: weights.get(name, weight) for name, weight in own.items()}
