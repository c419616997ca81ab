"""Whether outlines can be cut from a sheet, at any turn: how much is spare or missing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.solid import to_polygons

_QUARTER = math.pi / 2
_ROUND = 1e-6
"""An outline that is larger than the sheet by no more than this fits: rounding, mm."""
_LEAN = 0.15
"""Outlines that are laid beside each other are drawn this much simpler, to the outside, mm."""
_TURNS = (2.0, 6.0, 15.0, 45.0)
"""Several outlines are also tried turned by so much from square, both ways, degrees."""
_FIRST_TURNS = 12
_MOST_ORDERS = 24
_BISECTION = 0.5
"""To this, in mm, it is told what several outlines leave or lack."""


@dataclass(frozen=True)
class Sheet:
    """A rectangular sheet of stock.

    Attributes
    ----------
    width, depth : float
        mm.
    margin : float
        Kept all round for clamps, mm.
    gap : float
        Between two outlines, for the cutter, mm.
    """

    width: float
    depth: float
    margin: float = 0.0
    gap: float = 0.0

    def __post_init__(self) -> None:
        if min(self.width, self.depth) <= 2 * self.margin or self.margin < 0 or self.gap < 0:
            raise ValueError(
                f"A sheet of {self.width:g} x {self.depth:g} mm has no room inside a margin of "
                f"{self.margin:g} mm; give margins and gaps of 0 or more that leave some."
            )

    @property
    def room(self) -> tuple[float, float]:
        """Width and depth inside the margin, mm."""
        return self.width - 2 * self.margin, self.depth - 2 * self.margin


@dataclass(frozen=True)
class Lying:
    """How an outline lies on a sheet.

    Attributes
    ----------
    turn : float
        Counterclockwise about the origin, degrees, before it is shifted.
    shift : (x, y)
        mm; the sheet's low corner is the origin.
    """

    turn: float
    shift: tuple[float, float]

    def placed(self, outline: Polygon) -> Polygon:
        """Return the outline as it lies."""
        turned = _turned(outline, math.radians(self.turn))
        return shapely.transform(turned, lambda flat: flat + np.array(self.shift))


@dataclass(frozen=True)
class StockFit:
    """Whether outlines can be cut from a sheet.

    Attributes
    ----------
    spare : float
        By how much the sheet could be smaller, both ways at once, mm; below 0 what it lacks.
    lying : tuple of Lying
        One an outline, in their order; empty where several do not fit.
    is_exact : bool
        Whether no turn could do better: for one outline. For several it is the best that was
        found.
    """

    spare: float
    lying: tuple[Lying, ...]
    is_exact: bool

    @property
    def fits(self) -> bool:
        """Whether all can be cut from it."""
        return self.spare >= -_ROUND


def stock_fit(outlines: Sequence[Polygon], sheet: Sheet) -> StockFit:
    """Return how outlines lie best on a sheet.

    Raises
    ------
    ValueError
        If there are none.
    """
    if not outlines:
        raise ValueError("a sheet needs something to be cut from it, got no outline")
    if len(outlines) == 1:
        spare, angle = best_turn(outlines[0], *sheet.room)
        low = shapely.bounds(_turned(outlines[0], angle))[:2]
        x, y = (sheet.margin - low).tolist()
        return StockFit(spare, (Lying(math.degrees(angle), (x, y)),), is_exact=True)
    return _Search(tuple(outlines), sheet).best()


def check_stock(outlines: Sequence[Polygon], sheet: Sheet) -> tuple[StockFit, Finding]:
    """Return how outlines lie on a sheet, and a sentence on it: a fault where they do not fit."""
    fit = stock_fit(outlines, sheet)
    what = "The brace" if len(outlines) == 1 else f"{len(outlines)} braces"
    on = f"the sheet of {sheet.width:g} x {sheet.depth:g} mm with {sheet.margin:g} mm for clamps"
    if fit.fits:
        verb = "lies" if len(outlines) == 1 else "lie"
        message = f"{what} {verb} on {on} and {max(fit.spare, 0):.1f} mm are spare both ways."
    else:
        found = "at any turn" if fit.is_exact else "at the turns and in the orders tried"
        verb = "does" if len(outlines) == 1 else "do"
        message = (
            f"{what} {verb} not fit on {on} {found}, {-fit.spare:.1f} mm are missing both ways; "
            "take a larger sheet, or make braces shorter or of two lengths."
        )
    severity = Severity.NOTE if fit.fits else Severity.FAULT
    return fit, Finding(
        "brace.stock", severity, message, measured=fit.spare, allowed=0.0, unit="mm"
    )


def best_turn(outline: Polygon, width: float, depth: float) -> tuple[float, float]:
    """Return by how much an outline is smaller than a rectangle at its best turn, and that turn.

    Exact. A convex room holds an outline where it holds its hull. Between two turns at which an
    edge of the hull is parallel to a side, the same corners touch its bounding rectangle, whose
    sides are then sinusoids, concave; the smaller of the two spares, both convex, is greatest at
    an end of that interval or where they are equal, which is a closed form (rotating calipers:
    Toussaint, Proc. IEEE MELECON 1983, with the crossing added).

    Returns
    -------
    spare : float
        mm; below 0 where it does not fit.
    turn : float
        Radians, from 0 up to half a turn.
    """
    hull = shapely.get_coordinates(shapely.orient_polygons(outline.convex_hull).exterior)
    edges = np.diff(hull, axis=0)
    stops = np.unique(np.append(np.mod(-np.arctan2(edges[:, 1], edges[:, 0]), _QUARTER), 0.0))
    corners = hull[:-1]
    best, at = -math.inf, 0.0
    for start, end in zip(stops, [*stops[1:], _QUARTER], strict=True):
        middle = (start + end) / 2
        along_x = corners @ [math.cos(middle), -math.sin(middle)]
        along_y = corners @ [math.sin(middle), math.cos(middle)]
        across = corners[along_x.argmax()] - corners[along_x.argmin()]
        up = corners[along_y.argmax()] - corners[along_y.argmin()]
        for quarter, (x, y) in enumerate(((width, depth), (depth, width))):
            for angle in (start, end, *_crossings(across, up, x - y, start, end)):
                c, s = math.cos(angle), math.sin(angle)
                spare = min(x - (across[0] * c - across[1] * s), y - (up[0] * s + up[1] * c))
                if spare > best + 1e-12:
                    best, at = float(spare), float(angle + quarter * _QUARTER)
    return best, at


def _crossings(across: Floats, up: Floats, apart: float, low: float, high: float) -> list[float]:
    """Return the turns between two at which both sides leave as much."""
    a, b = across[0] - up[1], -across[1] - up[0]
    size = math.hypot(a, b)
    if size < abs(apart) or size == 0.0:
        return []
    around, off = math.atan2(b, a), math.acos(apart / size)
    angles = [(around + sign * off) % (2 * math.pi) for sign in (1, -1)]
    return [angle for angle in angles if low < angle < high]


def _rows(angle: float) -> Floats:
    """Return the matrix (2, 2) that turns rows of coordinates by an angle, radians."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, s], [-s, c]])


def _turned(outline: shapely.Geometry, angle: float) -> shapely.Geometry:
    matrix = _rows(angle)
    return shapely.transform(outline, lambda flat: flat @ matrix)


@dataclass
class _Search:
    """Lays several outlines one after the other, each as low as it goes, then as far to the left.

    Where one may lie beside another is exact at each turn: their Minkowski difference, from the
    convex blocks of both, is what its shift must keep out of.
    """

    outlines: tuple[Polygon, ...]
    sheet: Sheet
    _kept_out: dict[tuple[int, int, float], shapely.Geometry] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.turns = [_turns_of(outline, *self.sheet.room) for outline in self.outlines]
        self.plain = [
            [_turned(outline, angle) for angle in turns]
            for outline, turns in zip(self.outlines, self.turns, strict=True)
        ]
        self.like = [
            next(at for at, other in enumerate(self.outlines) if shapely.equals_exact(one, other))
            for one in self.outlines
        ]
        self.blocks = [_blocks(_wide(one, self.sheet.gap)) for one in self.outlines]

    def best(self) -> StockFit:
        """Return the best lie found, and by bisection how much the sheet could shrink or lacks."""
        room = np.array(self.sheet.room)
        single = min(best_turn(outline, *self.sheet.room)[0] for outline in self.outlines)
        lying = self._lay(*room)
        if lying is not None:
            low, high = 0.0, max(single, 0.0)
        else:
            span = sum(
                float(np.hypot(*np.ptp(shapely.get_coordinates(one), axis=0)))
                for one in self.outlines
            )
            low, high = -span - len(self.outlines) * (self.sheet.gap + 1), min(single, 0.0)
        while high - low > _BISECTION:
            middle = (low + high) / 2
            found = self._lay(*(room - middle))
            low, high = (middle, high) if found is not None else (low, middle)
            if found is not None and lying is not None:
                lying = found
        return StockFit(low, lying or (), is_exact=False)

    def _lay(self, width: float, depth: float) -> tuple[Lying, ...] | None:
        """Return how all lie in a room, or None if no order and turn tried does."""
        for order in self._orders():
            # The first one lies as drawn, square to the sheet, or at its best; the others at any.
            for first in range(min(_FIRST_TURNS, len(self.turns[order[0]]))):
                found = self._one_order(order, first, width, depth)
                if found is not None:
                    return found
        return None

    def _orders(self) -> list[tuple[int, ...]]:
        """Return the orders that are tried; those in which equal outlines change places are one."""
        found: dict[tuple[int, ...], tuple[int, ...]] = {}
        for order in itertools.permutations(range(len(self.outlines))):
            found.setdefault(tuple(self.like[index] for index in order), order)
            if len(found) == _MOST_ORDERS:
                break
        return list(found.values())

    def _one_order(
        self, order: Sequence[int], first: int, width: float, depth: float
    ) -> tuple[Lying, ...] | None:
        laid: dict[int, tuple[int, Floats]] = {}
        for index in order:
            turns = [first] if not laid else range(len(self.turns[index]))
            options = [
                (*key, turn)
                for turn in turns
                if (key := self._lowest(index, turn, laid, width, depth)) is not None
            ]
            if not options:
                return None
            _, _, y, x, turn = min(options)
            laid[index] = (turn, np.array([x, y]))
        margin = self.sheet.margin
        found = []
        for index in range(len(self.outlines)):
            turn, (x, y) = laid[index]
            degrees = math.degrees(self.turns[index][turn])
            found.append(Lying(degrees, (float(x) + margin, float(y) + margin)))
        return tuple(found)

    def _lowest(
        self,
        index: int,
        turn: int,
        laid: dict[int, tuple[int, Floats]],
        width: float,
        depth: float,
    ) -> tuple[float, float, float, float] | None:
        """Return top and right side and the shift (y, x) of the lowest place at a turn."""
        low_x, low_y, high_x, high_y = self.plain[index][turn].bounds
        if high_x - low_x > width + _ROUND or high_y - low_y > depth + _ROUND:
            return None
        # A little larger, so that what fits just so is no line.
        free: shapely.Geometry = shapely.box(
            -low_x - _ROUND, -low_y - _ROUND, width - high_x + _ROUND, depth - high_y + _ROUND
        )
        for other, (its_turn, shift) in laid.items():
            barred = self._barred(other, its_turn, index, turn)
            moved = shapely.transform(barred, lambda flat, by=shift: flat + by)
            free = shapely.difference(free, moved)
        places = shapely.get_coordinates(free)
        if not len(places):
            return None
        x, y = min(places.tolist(), key=lambda place: (round(place[1], 6), place[0]))
        return high_y + y, high_x + x, y, x

    def _barred(self, one: int, its_turn: int, other: int, turn: int) -> shapely.Geometry:
        """Return the shifts of `other` at which it would lie on `one`, which is not shifted.

        Found once for every turn of one against the other.
        """
        angle = self.turns[one][its_turn]
        between = round((self.turns[other][turn] - angle) % (2 * math.pi), 9)
        key = self.like[one], self.like[other], between
        if key not in self._kept_out:
            turned = [block @ _rows(between) for block in self.blocks[other]]
            sums = [
                (first[:, None] - second[None]).reshape(-1, 2)
                for first in self.blocks[one]
                for second in turned
            ]
            which = np.repeat(np.arange(len(sums)), [len(points) for points in sums])
            clouds = shapely.multipoints(shapely.points(np.vstack(sums)), indices=which)
            self._kept_out[key] = shapely.union_all(shapely.convex_hull(clouds))
        return _turned(self._kept_out[key], angle)


def _turns_of(outline: Polygon, width: float, depth: float) -> list[float]:
    """Return the turns that are tried, radians: as drawn, square, at its best, and near square."""
    _, best = best_turn(outline, width, depth)
    hull = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    side = hull[1] - hull[0]
    square = -math.atan2(side[1], side[0])
    angles = [quarter * _QUARTER for quarter in range(4)]
    angles += [square + quarter * _QUARTER for quarter in range(4)]
    angles += [best, best + math.pi]
    angles += [
        square + quarter * _QUARTER + math.radians(sign * step)
        for step in _TURNS
        for quarter in range(4)
        for sign in (1, -1)
    ]
    found: list[float] = []
    for angle in (angle % (2 * math.pi) for angle in angles):
        if all(abs(math.remainder(angle - other, 2 * math.pi)) > 1e-6 for other in found):
            found.append(angle)
    return found


def _wide(outline: Polygon, gap: float) -> Polygon:
    """Return an outline with half the gap round it, with few corners, nowhere smaller."""
    grown = outline.buffer(gap / 2 + 2 * _LEAN, quad_segs=4)
    return max(to_polygons(grown.simplify(_LEAN)), key=lambda one: one.area)


def _blocks(outline: Polygon) -> list[Floats]:
    """Return the corners of convex polygons that fill one, (n, 2) mm each.

    Triangles, joined to their neighbours as long as they stay convex.
    """
    parts = list(shapely.get_parts(shapely.constrained_delaunay_triangles(outline)))
    blocks = []
    while parts:
        block = parts.pop(0)
        index = 0
        while index < len(parts):
            joined = shapely.union(block, parts[index])
            if joined.geom_type == "Polygon" and joined.convex_hull.area - joined.area < _ROUND:
                block = joined
                del parts[index]
                index = 0
            else:
                index += 1
        blocks.append(shapely.get_coordinates(shapely.convex_hull(block))[:-1])
    return blocks
