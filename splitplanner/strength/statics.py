"""Statics of a slender beam in space that is held at some stations, and how far it gives way.

What supports do follows from balance and from what stays in place, all at once: forces along and
across the axis, bending and twist. The centroids may lie in any line, so that a force along the
axis bends and one across it twists where they lie apart. Clamped sections do not warp, which makes
open ones far stiffer against twist (Vlasov, Thin-Walled Elastic Beams; from memory). Displacements
follow from the elastic energy (Castigliano; virtual work).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.errors import LoadError
from splitplanner.strength.placing import AT, WEIGHT, Placed, summed, valued, wrench

_ROUND = 1e-7
"""What is held by nothing, and needs to be held by less than this share of the loads, is held by
rounding."""
_QUARTER = np.array([[0.0, -1.0], [1.0, 0.0]])
"""From a moment vector across the axis to the way in which it bends."""


@dataclass(frozen=True, eq=False)
class Held:
    """A beam with its supports.

    Attributes
    ----------
    resultants : (m, 2, 6) float array
        At both ends of each stretch, of all that acts at lower stations: force, and moment about
        the section's own centroid, along (u, v, axis), N and N·mm.
    motion : (m + 1, 6) float array
        How centroids of the knots move and sections turn, mm and radians.
    reactions : (s, 6) float array
        Force and moment of each support, about the centroid there.
    energy : float
        Elastic, N·mm.
    twist_rate : (m, 4) float array
        Radians/mm, at the places of Gauss's rule on each stretch.
    """

    resultants: Floats
    motion: Floats
    reactions: Floats
    energy: float
    twist_rate: Floats


@dataclass(frozen=True, eq=False)
class Softness:
    """How the stations of a beam give way, against what acts about their centroids.

    Attributes
    ----------
    pulling : (n,) float array
        1 / (E A), 1/N.
    bending : (n, 2, 2) float array
        The inverse of E times the second moments, 1/(N·mm²).
    sliding : (n, 2, 2) float array
        Under shear, 1/N.
    twisting : (n,) float array
        G J, N·mm².
    warping : (n,) float array
        E Γ, N·mm⁴.
    centres : (n, 2) float array
        Shear centres from the centroids, mm: torques count about these.
    """

    pulling: Floats
    bending: Floats
    sliding: Floats
    twisting: Floats
    warping: Floats
    centres: Floats


def held(placed: Placed, softness: Softness) -> Held:
    """Return what supports do to a beam, and what is in it.

    Raises
    ------
    LoadError
        If the part can slide along the axis or turn about it.
    """
    law = _Law(placed, softness)
    owners, ways, real = _holds(placed)
    knots = [placed.knot(placed.case.supports[k].station) for k in owners]
    units = np.array([_unit(placed, knot, way) for knot, way in zip(knots, ways, strict=True)])
    sums = summed(placed)
    loose = law.motion(sums)[knots]
    bent = [law.motion(_after(placed, k, w))[knots] for k, w in zip(knots, units, strict=True)]
    # Where a support holds, its own give and that of the whole part come to nothing.
    gives = np.einsum("ki,jki->kj", units, np.array(bent))
    last = sums[-1].sum(axis=0) + placed.wrenches[-1]
    matrix = np.block([[gives, units], [units.T, np.zeros((6, 6))]])
    found = _equilibrated(matrix, -np.concatenate([np.einsum("ki,ki->k", units, loose), last]))
    _check(placed, found[: len(units)], ways, real)
    for size, knot, unit in zip(found, knots, units, strict=False):
        sums = sums + size * _after(placed, knot, unit)
    motion = law.motion(sums) + found[len(units) :]
    reactions = np.zeros((len(placed.case.supports), 6))
    reactions[owners, ways] = np.where(real, found[: len(units)], 0.0)
    ends = np.stack([placed.middles[:-1], placed.middles[1:]], axis=1)
    shift = motion[:, :3] + np.cross(motion[:, 3:], placed.middles)
    return Held(
        _about(valued(sums, np.array([0.0, 1.0])), ends),
        np.column_stack([shift, motion[:, 3:]]),
        reactions,
        law.energy(sums),
        law.twist_rate(law.torque(_about(valued(sums, AT), law.places))),
    )


class _Law:
    """How the stretches of a beam give way, at the places of Gauss's rule."""

    def __init__(self, placed: Placed, softness: Softness) -> None:
        self.placed, self.places = placed, placed.middles_inside()
        stations = np.zeros((len(softness.pulling), 6, 6))
        stations[:, :2, :2] = softness.sliding
        stations[:, 2, 2] = softness.pulling
        stations[:, 3:5, 3:5] = _QUARTER.T @ softness.bending @ _QUARTER
        self.soft = placed.inside(stations)
        # The torque about the shear centre s is that about the centroid less (s x force).
        centres = placed.inside(softness.centres)
        self.arms = np.zeros((*self.places.shape[:2], 6))
        self.arms[..., 0], self.arms[..., 1] = centres[..., 1], -centres[..., 0]
        self.arms[..., 5] = 1.0
        self.twisting = 1.0 / placed.inside(1.0 / softness.twisting)
        self.warping = placed.inside(softness.warping)
        self.bands = self._bands(softness)

    def _bands(self, softness: Softness) -> Floats | None:
        """Return ``-(E Γ θ')' + G J θ`` between knots by linear elements, for `solveh_banded`.

        θ is the twist per length; it is 0 where the part is clamped. None where keeping sections
        from warping is not felt beyond two steps.
        """
        steps = self.placed.steps
        reach = np.sqrt(np.max(softness.warping / softness.twisting))
        if reach < 2.0 * steps.max():
            return None
        warped = (self.warping @ WEIGHT) / steps
        first, second = 1.0 - AT, AT
        own = [steps * ((self.twisting * f * g) @ WEIGHT) for f, g in _pairs(first, second)]
        diagonal = np.zeros(len(steps) + 1)
        diagonal[:-1] += warped + own[0]
        diagonal[1:] += warped + own[2]
        bands = np.array([np.concatenate([[0.0], own[1] - warped]), diagonal])
        for support in self.placed.case.supports:
            if support.clamped:
                bands[1, self.placed.knot(support.station)] *= 1e12
        return bands

    def torque(self, resultants: Floats) -> Floats:
        """Return the sum of torques about the shear centre, (m, 4), of wrenches (m, 4, 6)."""
        found: Floats = np.einsum("mki,mki->mk", self.arms, resultants)
        return found

    def twist_rate(self, torque: Floats) -> Floats:
        """Return the twist per length (m, 4) by torques (m, 4) of all at lower stations."""
        if self.bands is None:
            free: Floats = -torque / self.twisting
            return free
        from scipy.linalg import solveh_banded

        steps = self.placed.steps
        right = np.zeros(len(steps) + 1)
        right[:-1] -= steps * ((torque * (1.0 - AT)) @ WEIGHT)
        right[1:] -= steps * ((torque * AT) @ WEIGHT)
        rate = solveh_banded(self.bands, right)
        found: Floats = rate[:-1, None] * (1.0 - AT) + rate[1:, None] * AT
        return found

    def motion(self, sums: Floats) -> Floats:
        """Return how knots move as rigid bodies, seen from the middle of the axis, (m + 1, 6).

        Shift of the middle, and turn; the first knot stays.
        """
        acting = _about(valued(sums, AT), self.places)
        strain = -np.einsum("mkij,mkj->mki", self.soft, acting)
        strain += self.twist_rate(self.torque(acting))[..., None] * self.arms
        # A turn about a place shifts the middle of the axis by (place x turn).
        shift = strain[..., :3] + np.cross(self.places, strain[..., 3:])
        moved = np.concatenate([shift, strain[..., 3:]], axis=-1)
        grown = np.einsum("k,mki->mi", WEIGHT, moved) * self.placed.steps[:, None]
        return np.concatenate([np.zeros((1, 6)), np.cumsum(grown, axis=0)])

    def energy(self, sums: Floats) -> float:
        """Return the elastic energy, N·mm."""
        acting = _about(valued(sums, AT), self.places)
        twice = np.einsum("mki,mkij,mkj->mk", acting, self.soft, acting)
        torque = self.torque(acting)
        twice -= torque * self.twist_rate(torque)
        return 0.5 * float(self.placed.steps @ (twice @ WEIGHT))


def _pairs(first: Floats, second: Floats) -> tuple[tuple[Floats, Floats], ...]:
    return (first, first), (first, second), (second, second)


def _holds(placed: Placed) -> tuple[list[int], list[int], Bools]:
    """Return support and component (0 to 5) of everything that is held, and whether it really is.

    Where no support holds along the axis or about it, the first one does for the time being.
    """
    owners, ways = [], []
    for index, support in enumerate(placed.case.supports):
        kept = [True, True, support.axial, support.clamped, support.clamped, support.twist]
        ways += [way for way in range(6) if kept[way]]
        owners += [index] * sum(kept)
    real = [True] * len(ways)
    for way in (2, 5):
        if way not in ways:
            owners, ways, real = [*owners, 0], [*ways, way], [*real, False]
    return owners, ways, np.array(real)


def _check(placed: Placed, sizes: Floats, ways: list[int], real: Bools) -> None:
    """Raise if something that no support holds would have to be held."""
    span = placed.knots[-1] - placed.knots[0]
    forces = (
        np.abs(placed.wrenches[:, :3]).sum()
        + (np.abs(placed.spread) * placed.steps[:, None, None]).sum()
    )
    couples = np.abs(placed.wrenches[:, 3:]).sum()
    for size, way in zip(sizes[~real], np.array(ways)[~real], strict=True):
        if abs(size) > _ROUND * (forces if way == 2 else couples + forces * span):
            what = "slide along" if way == 2 else "turn about"
            raise LoadError(
                f"Load case “{placed.case.name}”: the part can {what} the axis; let a support hold "
                "it."
            )


def _unit(placed: Placed, knot: int, way: int) -> Floats:
    """Return the wrench of a force (way 0 to 2) or couple (3 to 5) of 1 at a knot's centroid."""
    one = np.eye(6)[way]
    found = wrench(placed.middles[knot], one[:3])
    found[3:] += one[3:]
    return found


def _after(placed: Placed, knot: int, unit: Floats) -> Floats:
    """Return the sum at lower stations, (m, 4, 6), of one wrench at a knot."""
    sums = np.zeros((len(placed.steps), 4, 6))
    sums[knot:, 0] = unit
    return sums


def _about(sums: Floats, places: Floats) -> Floats:
    """Return wrenches (..., 6) about other `places` (..., 3)."""
    moment = sums[..., 3:] - np.cross(places, sums[..., :3])
    return np.concatenate([sums[..., :3], moment], axis=-1)


def _equilibrated(matrix: Floats, right: Floats) -> Floats:
    """Return the solution of equations whose rows and columns have very different sizes."""
    rows = np.abs(matrix).max(axis=1)
    scaled = matrix / rows[:, None]
    columns = np.abs(scaled).max(axis=0)
    result: Floats = np.linalg.solve(scaled / columns, right / rows) / columns
    return result
