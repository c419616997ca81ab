"""Print directions of a piece, ranked: many are looked at, the best few are measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, to_vector, unit_vector
from splitplanner.plan import Piece, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.score.any_fit import fits_any
from splitplanner.score.figures import PieceFigures, measure_piece
from splitplanner.score.glancing import LAYERS, THREADS, DirectionFigures, Glances
from splitplanner.score.good_side_figures import faces_on_good_side
from splitplanner.score.islands import MOST_LAYERS
from splitplanner.score.measuring_ways import measured_direction
from splitplanner.score.ranking_terms import RANKING_TERMS, ranking_weights, way_of
from splitplanner.score.ways_up import SAME, Origin, finer, ways_up
from splitplanner.solid import Solid, principal_axes
from splitplanner.workshop import Printer

MOST_DIRECTIONS = 500
MEASURED = 4
"""So many directions are measured; they lie well apart."""
_APART = float(np.cos(np.radians(8.0)))
_REFINED, _REFINED_APART = 3, float(np.cos(np.radians(20.0)))
_LOWER = 1e-4
"""Of prints that cost the same the lower one comes first: this much for a part's size of height."""
_CLOSER, _CHECKED = 30, 150
"""So many directions are looked at closely; of so many it is found out whether the piece fits."""
_A_LITTLE = 0.99
"""What is too large by an unknown measure is taken to fit at this scale."""
_BATCH = 100
_LEAST = 0.01
"""A figure is the least only if it is less than the next by more than this share of it."""


@dataclass(frozen=True, eq=False)
class WayUp:
    """One print direction of a piece, with what it costs.

    Attributes
    ----------
    figures : DirectionFigures
    origin : Origin
        Why it was looked at.
    terms : mapping of name to float
        What each of `splitplanner.score.RANKING_TERMS` adds; those that add nothing are left out.
    row : PieceFigures or None
        As it was measured for the scorecard; None where it was only looked at.
    best_at : tuple of str
        What it has least of, or none of, of all that were measured and fit.
    """

    figures: DirectionFigures
    origin: Origin
    terms: Mapping[str, float]
    row: PieceFigures | None = None
    best_at: tuple[str, ...] = ()

    @property
    def up(self) -> Vector:
        """Print direction in the part's frame, unit vector."""
        return self.figures.up

    @property
    def fits(self) -> bool:
        """Whether the piece fits the bed so."""
        return self.figures.fits

    @property
    def total(self) -> float:
        """What the piece costs in this direction, in terms of the plan score; lower is better."""
        return sum(self.terms.values())


@dataclass(frozen=True, eq=False)
class RankedDirections:
    """The print directions of one piece.

    Attributes
    ----------
    piece : str
        Its name.
    measured : tuple of WayUp
        The best few, measured, the best first; those that fit before those that do not.
    looked_at : tuple of WayUp
        All that were looked at, by estimates, in the same order.
    """

    piece: str
    measured: tuple[WayUp, ...]
    looked_at: tuple[WayUp, ...]

    @property
    def best(self) -> WayUp:
        """The first of those that were measured."""
        return self.measured[0]


def rank_directions(
    piece: Piece,
    part: Solid,
    seen: Bools,
    printer: Printer,
    *,
    seams: Sequence[Vector] = (),
    load_direction: ArrayLike | None = None,
    weights: Mapping[str, float] | None = None,
    most: int = MOST_DIRECTIONS,
    measured: int = MEASURED,
    also: Sequence[Vector] = (),
    report: Report = silent,
) -> RankedDirections:
    """Rank print directions of a piece.

    Directions come from `splitplanner.score.ways_up.ways_up`. All are looked at, the best are
    turned a little as long as that makes them better, and the best few that lie 8° apart are
    measured as for the scorecard. Ranked is by the sum of `RANKING_TERMS`; of equals the lower
    print comes first.

    Parameters
    ----------
    piece : Piece
    part : Solid
        The uncut part.
    seen : (m,) bool array
        Its faces on the good side.
    printer : Printer
    seams : sequence of (x, y, z)
        Normals of the piece's seams.
    load_direction : (3,) array, optional
        Of the greatest pull that this piece has to bear, in the part's frame; its sense and its
        length do not count. Layers across it are weak: ``cos² t`` of it parts them, at the angle t
        to the print direction (`splitplanner.score.across_layers`).
    weights : mapping of name to weight, optional
        Replaces default weights, of terms and of criteria of the plan score.
    most : int
        How many directions are looked at, besides those that are found nearby.
    measured : int
        How many are measured at most.
    also : sequence of (x, y, z)
        Directions that are measured in any case, besides these.
    report : progress callback

    Raises
    ------
    ValueError
        If `most` or `measured` is less than 1, a direction has no length, a weight is given to what
        does not exist, or `seen` does not have one entry for each face of the part.
    """
    if measured < 1:
        raise ValueError(f"at least one print direction must be measured, got {measured}")
    pull = None if load_direction is None else to_vector(unit_vector(load_direction))
    judge = _Judge(piece, part, seen, printer, pull, ranking_weights(weights or {}))
    words = f"looking how piece {piece.number} may print"
    ups, origins = ways_up(piece.solid, seams, printer.bed, most)
    found: list[WayUp] = []
    for start in range(0, len(ups), _BATCH):
        report(0.6 * start / len(ups), words)
        batch = slice(start, start + _BATCH)
        found += judge.glance(ups[batch], origins[batch])
    report(0.6, words)
    found = _closely(judge.ranked(found), judge)
    found = judge.ranked(found + _closely(_found_nearby(found, judge), judge))
    best = _apart(found, measured, _APART)
    if also:
        given = judge.glance(np.array(also), [Origin.GIVEN] * len(also))
        best = _apart([*best, *given], len(best) + len(given), SAME)
    rows = judge.measure(best, part_of(report, 0.7, 1.0))
    return RankedDirections(piece.name, _with_best(judge.ranked(rows)), tuple(found))


@dataclass(eq=False)
class _Judge:
    """Looks at and measures directions of one piece."""

    piece: Piece
    part: Solid
    seen: Bools
    printer: Printer
    load: Vector | None
    weights: Mapping[str, float]

    def __post_init__(self) -> None:
        self.good = faces_on_good_side(self.piece.solid, self.part, self.seen)
        self.glances = Glances(self.piece.solid, self.good, self.printer)

    def glance(self, ups: Floats, origins: Sequence[Origin], layers: int = LAYERS) -> list[WayUp]:
        """Look at directions."""
        looks = self.glances.look(np.asarray(ups), layers)
        return [WayUp(f, o, self._terms(f)) for f, o in zip(looks, origins, strict=True)]

    def prices(self, ups: Floats) -> Floats:
        """Return by what directions are ranked; infinite where the piece does not fit."""
        ways = self.glance(ups, [Origin.FINER] * len(ups))
        return np.array([self._key(way)[1] if self.fits(way) else np.inf for way in ways])

    def fits(self, way: WayUp) -> bool:
        """Return whether the piece fits the bed in a direction; exact."""
        return way.fits and fits_any(self.piece.solid, way.up, self.printer.bed)

    def too_large(self, way: WayUp) -> WayUp:
        """Return a direction in which the piece turned out not to fit."""
        spare = min(way.figures.spare, _A_LITTLE)
        figures = replace(way.figures, fits=False, spare=spare)
        return WayUp(figures, way.origin, self._terms(figures))

    def ranked(self, ways: Sequence[WayUp]) -> list[WayUp]:
        """Return the directions, the best first."""
        return sorted(ways, key=self._key)

    def measure(self, ways: Sequence[WayUp], report: Report) -> list[WayUp]:
        """Measure directions as for the scorecard."""
        words = f"measuring how piece {self.piece.number} prints"
        rows = []
        # Imported late: it would hold up the start of the window.
        from concurrent.futures import ThreadPoolExecutor

        # Sections spend most of their time in loops that let go of the interpreter.
        with ThreadPoolExecutor(THREADS) as pool:
            every = [pool.submit(self._measured, way) for way in ways]
            try:
                for index, each in enumerate(every):
                    report(index / len(ways), words)
                    rows.append(each.result())
            except BaseException:
                pool.shutdown(wait=False, cancel_futures=True)
                raise
        report(1.0, words)
        return rows

    def _measured(self, way: WayUp) -> WayUp:
        row = measure_piece(self.piece, way.up, self.printer)
        figures = measured_direction(row, self.good, self.part, self.seen, self.printer)
        return WayUp(figures, way.origin, self._terms(figures), row)

    def _key(self, way: WayUp) -> tuple[bool, float]:
        low = _LOWER * way.figures.height / self.part.size
        return not way.fits, round(way.total + low, 9)

    def _terms(self, figures: DirectionFigures) -> dict[str, float]:
        way = way_of(figures, self.piece.solid, self.part, self.printer, self.load)
        terms = {
            term.name: self.weights[term.name] * term.value(way) / term.reference
            for term in RANKING_TERMS
            if self.weights[term.name]
        }
        return {name: value for name, value in terms.items() if value}


def _closely(ranked: Sequence[WayUp], judge: _Judge) -> list[WayUp]:
    """Look closely at the best directions in which the piece fits; return all, the best first.

    By as many layers as the scorecard counts islands in. Directions before them in which it does
    not fit are marked so; where it is found to fit in none, the best are looked at all the same.
    """
    fitting: list[int] = []
    after = list(ranked)
    for at, way in enumerate(ranked[:_CHECKED]):
        if not way.fits or len(fitting) == _CLOSER:
            break
        if judge.fits(way):
            fitting.append(at)
        else:
            after[at] = judge.too_large(way)
    chosen = fitting or list(range(min(len(ranked), _CLOSER)))
    ups = np.array([ranked[at].up for at in chosen]).reshape(-1, 3)
    looks = judge.glance(ups, [ranked[at].origin for at in chosen], MOST_LAYERS)
    for at, way in zip(chosen, looks, strict=True):
        after[at] = way if fitting else judge.too_large(way)
    return judge.ranked(after)


def _found_nearby(found: Sequence[WayUp], judge: _Judge) -> list[WayUp]:
    """Turn the best directions a little; return what is better."""
    starts = _apart([way for way in found if way.fits], _REFINED, _REFINED_APART)
    if not starts:
        return []
    ups = np.array([way.up for way in starts])
    turned = finer(ups, principal_axes(judge.piece.solid), judge.prices, judge.prices(ups))
    moved = np.abs(turned - ups).max(axis=1) > 1e-9
    return judge.glance(turned[moved], [Origin.FINER] * int(moved.sum()))


def _apart(ranked: Sequence[WayUp], most: int, cosine: float) -> list[WayUp]:
    """Return the first directions that are further apart than an angle."""
    kept: list[WayUp] = []
    for way in ranked:
        if len(kept) == most:
            break
        if all(np.dot(way.up, other.up) < cosine for other in kept):
            kept.append(way)
    return kept


_KINDS: tuple[tuple[str, str, Callable[[DirectionFigures], float], float], ...] = (
    ("no overhang", "least overhang", lambda each: each.overhang, 1.0),
    ("no support", "least support", lambda each: each.support, 1.0),
    (
        "no support on the good side",
        "least support on the good side",
        lambda each: each.support_seen,
        1.0,
    ),
    ("no travel over gaps", "fewest travels over gaps", lambda each: each.crossings, 0.5),
    (
        "no travel over gaps on the good side",
        "fewest travels over gaps on the good side",
        lambda each: each.crossings_seen,
        0.5,
    ),
    (
        "good side off the bed",
        "least of the good side on the bed",
        lambda each: each.contact_seen,
        1.0,
    ),
    ("", "most bed contact", lambda each: -each.contact, 0.0),
    ("", "firmest stand", lambda each: -each.tip, 0.0),
    ("", "lowest print", lambda each: each.height, 0.0),
)
"""What a direction may be best at: with none of it, with least of it, the figure, and up to what it
counts as none."""


def _with_best(ways: Sequence[WayUp]) -> tuple[WayUp, ...]:
    """Say of each direction what it is best at."""
    fitting = [way for way in ways if way.fits] or list(ways)
    notes: dict[Vector, list[str]] = {way.up: [] for way in ways}
    for none, least, value, nothing in _KINDS:
        values = sorted(value(way.figures) for way in fitting)
        if values[-1] - values[0] <= _LEAST * abs(values[-1]):
            continue
        for way in fitting:
            found = value(way.figures)
            if none and found <= nothing:
                notes[way.up].append(none)
            elif found == values[0] and values[1] - found > _LEAST * abs(values[1]):
                notes[way.up].append(least)
    return tuple(
        WayUp(way.figures, way.origin, way.terms, way.row, tuple(notes[way.up])) for way in ways
    )
