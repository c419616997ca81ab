"""Loads of a case as numbers on the stretches between knots along the axis.

A force with its moment about one point, and a couple, are one *wrench*: three components of force
and three of moment along (u, v, axis), the moment about the middle of the axis. On every stretch
spread loads and centroids go in a straight line, so that sums of wrenches are polynomials of the
third degree in the share of the stretch: (m, 4, 6) arrays of coefficients, lowest first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import LoadError
from splitplanner.plan.load_cases import LoadCase, PointLoad, SpreadLoad, WeightLoad
from splitplanner.strength.stations import SectionChain

_ROUND = 1e-9
"""Stations nearer than this share of the length are one."""
_GAUSS = np.polynomial.legendre.leggauss(4)
AT, WEIGHT = (_GAUSS[0] + 1.0) / 2.0, _GAUSS[1] / 2.0
"""Places and weights on a stretch of length 1: exact to the seventh degree, which moments times
flexibility times moments have."""


@dataclass(frozen=True, eq=False)
class Placed:
    """Loads of a case on a part.

    Attributes
    ----------
    chain : SectionChain
    case : LoadCase
    knots : (m + 1,) float array
        mm along the axis, rising.
    steps : (m,) float array
        Between them.
    middles : (m + 1, 3) float array
        Centroids at the knots from the middle of the axis, along (u, v, axis), mm.
    wrenches : (m + 1, 6) float array
        At the knots, N and N·mm.
    spread : (m, 2, 3) float array
        Forces at both ends of each stretch, N/mm.
    """

    chain: SectionChain
    case: LoadCase
    knots: Floats
    steps: Floats
    middles: Floats
    wrenches: Floats
    spread: Floats

    def knot(self, station: float) -> int:
        """Return the knot at a station."""
        return int(np.argmin(np.abs(self.knots - station)))

    def inside(self, figures: Floats) -> Floats:
        """Return `figures` (n, ...) of the stations at the places of Gauss's rule, (m, 4, ...)."""
        places = self.knots[:-1, None] + self.steps[:, None] * AT
        found = self.chain.between(figures, places.ravel())
        result: Floats = found.reshape(*places.shape, *figures.shape[1:])
        return result

    def middles_inside(self) -> Floats:
        """Return the centroids at the places of Gauss's rule, (m, 4, 3)."""
        result: Floats = (
            self.middles[:-1, None] + AT[:, None] * np.diff(self.middles, axis=0)[:, None]
        )
        return result


def wrench(place: Floats, force: Floats) -> Floats:
    """Return the wrench (6,) of a force (3,) at a place (3,)."""
    return np.concatenate([force, np.cross(place, force)])


def both_ends(values: Floats) -> Floats:
    """Return values (m + 1, ...) at knots for start and end of each stretch, (2m, ...)."""
    found = np.stack([values[:-1], values[1:]], axis=1)
    result: Floats = found.reshape(-1, *values.shape[1:])
    return result


def placed_loads(chain: SectionChain, case: LoadCase) -> Placed:
    """Return the loads of a case on a part.

    Raises
    ------
    LoadError
        If one lies beside the part, or a support does.
    """
    knots = _knots(chain, case)
    middle = sum(chain.ends) / 2.0
    middles = np.column_stack([chain.between(chain.centroids, knots), knots - middle])
    placed = Placed(
        chain,
        case,
        knots,
        np.diff(knots),
        middles,
        np.zeros((len(knots), 6)),
        np.zeros((len(knots) - 1, 2, 3)),
    )
    for load in case.loads:
        _place(placed, load)
    return placed


def _knots(chain: SectionChain, case: LoadCase) -> Floats:
    low, high = chain.ends
    near = _ROUND * (high - low)
    named = [("A support", support.station) for support in case.supports]
    for load in case.loads:
        if isinstance(load, PointLoad):
            named.append(("A load", load.station))
        elif isinstance(load, SpreadLoad):
            named += [("A load", load.start), ("A load", load.end)]
    for what, station in named:
        if not low - near <= station <= high + near:
            raise LoadError(
                f"Load case “{case.name}”: {what.lower()} at {station:g} mm lies beside the part, "
                f"which reaches from {low:g} to {high:g} mm; move it there."
            )
    places = np.sort([low, high, *(station for _, station in named)])
    # Stations that all but meet one of these are left out, so that no stretch is too short.
    own = chain.positions[np.abs(chain.positions[:, None] - places).min(axis=1) > near]
    held = np.sort([support.station for support in case.supports])
    if (np.diff(held) <= near).any():
        raise LoadError(
            f"Load case “{case.name}”: two supports are at one station; move one of them."
        )
    knots = np.unique(np.clip(np.concatenate([places, own]), low, high))
    kept: Floats = knots[np.concatenate([[True], np.diff(knots) > near])]
    return kept


def _place(placed: Placed, load: PointLoad | SpreadLoad | WeightLoad) -> None:
    """Add a load to the arrays of `placed`, while they are being filled."""
    frame, force = placed.chain.frame, placed.chain.frame @ np.array(load.force)
    if isinstance(load, PointLoad):
        knot = placed.knot(load.station)
        place = placed.middles[knot].copy()
        if load.at is not None:
            place[:2] = frame[:2] @ np.array(load.at)
        placed.wrenches[knot] += wrench(place, force)
        placed.wrenches[knot, 3:] += frame @ np.array(load.moment)
    elif isinstance(load, SpreadLoad):
        first, last = placed.knot(load.start), placed.knot(load.end)
        placed.spread[first:last] += force / (placed.knots[last] - placed.knots[first])
    else:
        area = placed.chain.between(placed.chain.area, placed.knots)
        share = area / (placed.steps @ (area[1:] + area[:-1]) / 2.0)
        placed.spread[:] += np.stack([share[:-1], share[1:]], axis=1)[:, :, None] * force


def summed(placed: Placed) -> Floats:
    """Return the sum of all wrenches at lower stations, (m, 4, 6) coefficients."""
    start = placed.spread[:, 0]
    more = placed.spread[:, 1] - start
    place, rise = placed.middles[:-1], np.diff(placed.middles, axis=0)
    # Forces p and their moments r x p, both p and r straight lines, summed up from the start.
    density = np.zeros((len(start), 3, 6))
    density[:, 0] = np.concatenate([start, np.cross(place, start)], axis=1)
    turning = np.cross(place, more) + np.cross(rise, start)
    density[:, 1] = np.concatenate([more, turning], axis=1)
    density[:, 2, 3:] = np.cross(rise, more)
    grown = density * (placed.steps[:, None] / np.arange(1, 4))[:, :, None]
    whole = np.cumsum(grown.sum(axis=1), axis=0)
    base = np.cumsum(placed.wrenches[:-1], axis=0)
    base += np.concatenate([np.zeros((1, 6)), whole[:-1]])
    return np.concatenate([base[:, None], grown], axis=1)


def valued(coefficients: Floats, at: Floats) -> Floats:
    """Return values (m, k, ...) of polynomials (m, 4, ...) at shares `at` (k,) of each stretch."""
    powers = at[:, None] ** np.arange(coefficients.shape[1])
    found: Floats = np.einsum("kp,mp...->mk...", powers, coefficients)
    return found
