"""How a block would best be printed, estimated."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.score import BedFit, Support, bed_fit, fits_any, leaning_directions
from splitplanner.score.criteria.bed_hold import LEAST_CONTACT
from splitplanner.score.plan_fit import TOLERANCE
from splitplanner.solid import Solid, fibonacci_sphere, frame_of
from splitplanner.solid.hull import hull_mesh
from splitplanner.suggest.bounds import bed_diagonal
from splitplanner.suggest.box_sizes import bed_sizes, is_slender, is_wide_plate, least_count
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.compiled import compiled
from splitplanner.suggest.estimate.soundings import Hanging, Sounding
from splitplanner.workshop import Bed

_LOWER = 1e-4
"""Of prints that cost the same the lower one is taken: this much for a part's size of height."""
_CLOSER = 4
"""So many directions, the cheapest by coarse soundings, are looked at closely."""
_EASY = 1.0101
"""Blocks with more to spare than this are not measured more closely: they are no tight fit."""
_FEW_POINTS = 400
"""So few points are not worth choosing from."""
_THICK = 0.25
"""A block whose points spread across its length by more than this share of their spread along it
(squares of lengths) is no bar; nor is one that is flat."""
_FLAT = 0.04
"""A block whose points spread through it by more than this share of their spread across it (squares
of lengths) is no plate."""
_ASKEW = 1.5
"""By so much the sides of the tightest box may be less than those of one along principal axes."""
_PROBES = np.ascontiguousarray(fibonacci_sphere(96)[:48])
"""Half the directions around; the others are about opposite."""


@dataclass(frozen=True, eq=False)
class PieceEstimate:
    """The numbers of a piece that has not been cut; see `splitplanner.score.criterion`."""

    name: str
    up: Vector
    volume: float
    area: float
    fit: BedFit
    overhang: Hanging
    support: Support


@dataclass(frozen=True)
class Reach:
    """Whether a block fits the bed in some direction, and how many pieces it should take."""

    fits: bool
    needs: int


@dataclass(frozen=True, eq=False)
class Printed:
    """A block in its best print direction; one that does not fit, as if it did.

    Attributes
    ----------
    piece : PieceEstimate
    cost : float
        What it adds to the plan score; infinite if it fits in no direction.
    """

    piece: PieceEstimate
    cost: float


def reach_of(points: Floats, ups: list[Vector], frames: Floats, bed: Bed) -> Reach:
    """Tell whether a block fits, without looking at what hangs over air.

    Parameters
    ----------
    points : (n, 3) float array, mm
        Its outermost points; see `outermost`.
    ups : list of (x, y, z)
        Print directions to try.
    frames : (k, 3, 3) float array
        Axes of boxes that are put round it.
    bed : Bed
    """
    spans = np.ptp(np.einsum("kij,nj->kni", frames, points), axis=1)
    needs = least_count(spans, bed)
    fits = needs == 1 and bed.kind != "outline" and not bed.blocked
    if not fits and float(spans.max()) <= bed_diagonal(bed):
        fits = _first_fitting(points, ups, bed) is not None or _leaning(points, bed) is not None
    return Reach(fits, 1 if fits else max(2, needs))


@dataclass(frozen=True, eq=False)
class Glance:
    """What coarse soundings tell of the print directions of a block.

    Attributes
    ----------
    order : tuple of int
        The directions, the likeliest first.
    cost : float
        About the least that the block may add to the plan score.
    """

    order: tuple[int, ...]
    cost: float


@dataclass(frozen=True, eq=False)
class _Standing:
    """A block as it stands in each of many print directions."""

    block: Block
    points: Floats
    ups: list[Vector]
    costs: Costs
    fits: list[BedFit]

    @cached_property
    def reaches(self) -> tuple[Floats, Floats]:
        """Heights of its lowest point, and how tall it is, (k,) mm."""
        along = self.points @ np.array(self.ups).T
        return along.min(axis=0), np.ptp(along, axis=0)

    @cached_property
    def area(self) -> float:
        """Of its surface, mm²; cut faces are looked for only where something may count them."""
        return self.block.surface if self.costs.needs_fit else self.block.area

    def pieces(self, chosen: Sequence[int], sums: Sequence[Sequence[float]]) -> list[PieceEstimate]:
        """Return the block printed in the chosen directions, of these sums of columns."""
        # The truth is the same whichever way the columns run.
        volume = sum(row[3] for row in sums) / len(sums)
        return [
            _piece(self.ups[at], Hanging(hanging, resting), held, volume, self.area, self.fits[at])
            for at, (hanging, resting, held, _) in zip(chosen, sums, strict=True)
        ]

    def prices(self, chosen: Sequence[int], pieces: list[PieceEstimate]) -> Floats:
        """Return by what pieces in the chosen directions are compared; of equals the lower wins."""
        heights = self.reaches[1][list(chosen)]
        prices = np.array([self.costs.of_print(piece) for piece in pieces])
        return prices + _LOWER * heights / self.costs.part.size

    def glance(self) -> Glance:
        """Look at all directions by coarse soundings.

        Their columns are too far apart to tell a small foot from none: where they find none, the
        price is taken to be the higher one, but the least cost is that with a foot.
        """
        every = range(len(self.ups))
        bundle = self.block.ground.coarse(tuple(self.ups))
        sums = bundle.measure(self.block.rows, self.reaches[0], self.points)
        standing = sums[:, 1] > 0.0
        sums[:, 1] = np.maximum(sums[:, 1], LEAST_CONTACT)
        pieces = self.pieces(every, sums.tolist())
        prices = self.prices(every, pieces)
        afloat = replace(pieces[0], overhang=Hanging(pieces[0].overhang.area, 0.0))
        loss = self.costs.of_print(afloat) - self.costs.of_print(pieces[0])
        order = np.argsort(np.round(np.where(standing, prices, prices + loss), 9), kind="stable")
        return Glance(tuple(order.tolist()), float(prices.min()))

    def closely(self, order: Sequence[int]) -> list[PieceEstimate]:
        """Return the block printed in the first few directions of an order, the cheapest first."""
        few = order[:_CLOSER]
        floors = self.reaches[0]
        sums = [_sums(self.block, self.ups[at], float(floors[at]), self.points) for at in few]
        pieces = self.pieces(few, sums)
        ranked = np.argsort(np.round(self.prices(few, pieces), 9), kind="stable")
        return [pieces[at] for at in ranked]

    def along(self, up: Vector) -> PieceEstimate:
        """Return the block printed in any direction."""
        floor = float((self.points @ np.array(up)).min())
        return hung_over(self.block.ground.sounding(up), self.block.rows, floor, self.area)


def glanced(block: Block, points: Floats, ups: list[Vector], costs: Costs) -> Glance:
    """Look over the print directions `ups` of a block, whether it fits in them or not."""
    return _Standing(block, points, ups, costs, [_roomy(up) for up in ups]).glance()


def printed(
    block: Block,
    points: Floats,
    ups: list[Vector],
    frames: Floats,
    reach: Reach,
    costs: Costs,
    glance: Glance | None = None,
) -> Printed:
    """Choose the best of the print directions `ups` for a block with the outermost `points`.

    A few that are cheapest at a `glance` are looked at closely.
    """
    bed = costs.printer.bed
    fits = _fits_on(points, ups, reach, bed) if costs.needs_fit else [_roomy(up) for up in ups]
    standing = _Standing(block, points, ups, costs, fits)
    order = (glance or standing.glance()).order
    pieces = standing.closely(order)
    piece = pieces[0]
    if reach.fits:
        ordered = [*(row.up for row in pieces), *(ups[at] for at in order[_CLOSER:])]
        fit = _box_fit(points, piece.up, frames, bed)
        if fit is None and not costs.needs_fit:
            fit = _easy_fit(points, ordered, bed)
        fit = fit or _first_fitting(points, ordered, bed)
        fit = fit or _leaning(points, bed)
        if fit is None:
            return Printed(piece, math.inf)
        known = [row for row in pieces if row.up == fit.up]
        piece = known[0] if known else standing.along(fit.up)
        piece = replace(piece, fit=fit)
    return Printed(piece, costs.of_piece(piece))


def _fits_on(points: Floats, ups: list[Vector], reach: Reach, bed: Bed) -> list[BedFit]:
    """Return the fit in each direction; of a block that does not fit, as if it did."""
    fits = [_fit_on(points, up, bed) for up in ups]
    if reach.fits:
        return fits
    return [replace(fit, spare=max(fit.spare, _EASY)) for fit in fits]


def _box_fit(points: Floats, up: Vector, frames: Floats, bed: Bed) -> BedFit | None:
    """Return the fit of a block whose box lies on a plain bed with more than a hair to spare."""
    if bed.kind == "outline" or bed.blocked:
        return None
    width, depth, height = bed_sizes(bed)
    for frame in (*frames, frame_of(up)):
        along = np.abs(frame @ np.array(up))
        axis = int(along.argmax())
        if along[axis] > 1.0 - 1e-9:
            spans = np.ptp(points @ frame.T, axis=0)
            short, long = sorted(np.delete(spans, axis).tolist())
            room = sorted((width, depth))
            spare = min(room[0] / short, room[1] / long, height / float(spans[axis]))
            if spare > _EASY:
                tall = float(spans[axis])
                return BedFit(
                    True, up, 0.0, (0.0, 0.0), tall, spare, 0.0, (long, short), long * short
                )
    return None


def _sums(block: Block, up: Vector, floor: float, points: Floats) -> tuple[float, ...]:
    hanging, held, volume = block.ground.sounding(up).measure(block.rows, floor, points)
    return hanging.area, hanging.contact_area, held, volume


def hung_over(sounding: Sounding, walls: Floats, floor: float, area: float) -> PieceEstimate:
    """Return what a sounding tells of the body between walls; its fit is not looked at.

    Parameters
    ----------
    sounding : Sounding
    walls : (w, 4) float array
        See `Sounding.measure`.
    floor : float
        Height of its lowest point along the print direction, mm.
    area : float
        Of its surface, mm².
    """
    hanging, held, volume = sounding.measure(walls, floor)
    return _piece(sounding.up, hanging, held, volume, area, _roomy(sounding.up))


def _piece(
    up: Vector, hanging: Hanging, held: float, volume: float, area: float, fit: BedFit
) -> PieceEstimate:
    support = Support(held, hanging.area, 0.0, 0.0, math.nan)
    return PieceEstimate("", up, volume, area, fit, hanging, support)


def _roomy(up: Vector) -> BedFit:
    """Return the fit of a piece whose size does not matter yet."""
    return BedFit(True, up, 0.0, (0.0, 0.0), 0.0, 2.0, 0.0, (1.0, 1.0), 1.0)


def _first_fitting(points: Floats, ups: list[Vector], bed: Bed) -> BedFit | None:
    """Return the fit in the first of `ups` in which the points fit."""
    for up, need in zip(ups, _takes_up(points, ups, bed)[0], strict=True):
        if need <= 1.0:
            fit = _fit_on(points, up, bed)
            if fit.fits:
                return fit
    return None


def _takes_up(points: Floats, ups: list[Vector], bed: Bed) -> tuple[Floats, Floats]:
    """Return how much of the bed the points take up in each direction, at least and for certain."""
    frames = np.array([frame_of(up) for up in ups])
    sides = np.array([bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin, bed.height])
    least, certain = np.empty(len(ups)), np.empty(len(ups))
    compiled().least_needs(points, frames, sides + 2 * TOLERANCE, least, certain)
    return least, certain


def _easy_fit(points: Floats, ups: list[Vector], bed: Bed) -> BedFit | None:
    """Return a roomy fit in the first of `ups` in which points may fit; None if they fit tightly.

    Only that they fit with more than a hair to spare is true of what is returned.
    """
    if bed.kind != "rectangle" or bed.blocked:
        return None
    least, certain = _takes_up(points, ups, bed)
    first = int(np.argmax(least <= 1.0))
    return _roomy(ups[first]) if certain[first] * _EASY < 1.0 else None


def _fit_on(points: Floats, up: Vector, bed: Bed) -> BedFit:
    """Return the fit of a block; on a bed of odd shape not how much it has to spare over a hair.

    To find the yaw with most to spare there takes a hundred times as long.
    """
    odd = bed.kind == "outline" or bool(bed.blocked)
    if odd:
        plain = bed_fit(points, up, Bed.rectangle(bed.width, bed.depth, bed.height, bed.margin))
        if not plain.fits or not fits_any(points, up, bed):
            return replace(plain, fits=False, spare=min(plain.spare, 1.0))
        if fits_any(_EASY * points, up, bed):
            return replace(plain, spare=_EASY)
    return bed_fit(points, up, bed)


def outermost(points: Floats, directions: Floats) -> Floats:
    """Return the points that lie furthest in some direction.

    Parameters
    ----------
    points : (n, 3) float array, mm
    directions : (k, 3) float array
        Extents along these are those of all points; besides, a hundred directions all around
        are looked in, so that the hull of what is returned is a little smaller at most.
    """
    if len(points) <= _FEW_POINTS:
        return points
    probes = np.concatenate([directions, _PROBES])
    found = np.zeros((2, len(probes)), dtype=np.int64)
    compiled().furthest(np.ascontiguousarray(points), probes, found)
    return points[np.unique(found)]


def _leaning(points: Floats, bed: Bed) -> BedFit | None:
    """Return the fit of a slender block, or of a plate wider than the bed, leaning across it.

    None where it does not fit so, or is neither.
    """
    away = points - points.mean(axis=0)
    (thin, wide, long), across = np.linalg.eigh(away.T @ away)
    if thin <= 1e-12 * long or (wide > _THICK * long and thin > _FLAT * wide):
        return None
    if not _may_lean(np.sort(np.ptp(away @ across, axis=0)), bed):
        return None
    hull = Solid.from_arrays(*hull_mesh(points))
    sides = np.sort(np.ptp(hull.vertices @ hull.box_axes.T, axis=0))
    if not (is_slender(sides) or is_wide_plate(sides, bed)):
        return None
    tilts = leaning_directions(hull, bed)
    if not fits_any(hull.vertices, tilts, bed):
        return None
    fits = (_fit_on(points, up, bed) for up in tilts)
    return next((fit for fit in fits if fit.fits), None)


def _may_lean(sides: Floats, bed: Bed) -> bool:
    """Return whether a block may be slender or a wide plate, by its box along principal axes.

    The tightest box, which takes longer to find, decides.
    """
    thin, wide, long = sides.tolist()
    bar, plate = (thin, wide / _ASKEW, long), (thin / _ASKEW, wide, long / _ASKEW)
    return is_slender(np.array(bar)) or is_wide_plate(np.array(plate), bed)
