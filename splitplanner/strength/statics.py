"""Statics of a slender beam in space that is held at some stations, and how far it gives way.

What supports do follows from balance and from what stays in place, all at once: forces along and
across the axis, bending and twist. The centroids may lie in any line, so that a force along the
axis bends and one across it twists where they lie apart. Displacements follow from the elastic
energy (Castigliano; virtual work), which shear forces do not add to here.
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
    """

    resultants: Floats
    motion: Floats
    reactions: Floats
    energy: float


def held(
    placed: Placed, pulling: Floats, bending: Floats, twisting: Floats, centres: Floats
) -> Held:
    """Return what supports do to a beam, and what is in it.

    Parameters
    ----------
    placed : Placed
    pulling, twisting : (n,) float array
        Flexibilities of the stations, 1 / (E A) and 1 / (G J).
    bending : (n, 2, 2) float array
        The inverse of E times the second moments.
    centres : (n, 2) float array
        Shear centres from the centroids, mm: torques count about these.

    Raises
    ------
    LoadError
        If the part can slide along the axis or turn about it.
    """
    soft = _softness(placed, pulling, bending, twisting, centres)
    owners, ways, real = _holds(placed)
    knots = [placed.knot(placed.case.supports[k].station) for k in owners]
    units = np.array([_unit(placed, knot, way) for knot, way in zip(knots, ways, strict=True)])
    sums = summed(placed)
    loose = _motion(placed, soft, sums)[knots]
    bent = [_motion(placed, soft, _after(placed, k, w)) for k, w in zip(knots, units, strict=True)]
    # Where a support holds, its own give and that of the whole part come to nothing.
    gives = np.array(
        [[unit @ motion[k] for motion in bent] for unit, k in zip(units, knots, strict=True)]
    )
    last = sums[-1].sum(axis=0) + placed.wrenches[-1]
    matrix = np.block([[gives, units], [units.T, np.zeros((6, 6))]])
    found = _equilibrated(matrix, -np.concatenate([np.einsum("ki,ki->k", units, loose), last]))
    _check(placed, found[: len(units)], ways, real)
    for size, knot, unit in zip(found, knots, units, strict=False):
        sums = sums + size * _after(placed, knot, unit)
    motion = _motion(placed, soft, sums) + found[len(units) :]
    reactions = np.zeros((len(placed.case.supports), 6))
    reactions[owners, ways] = np.where(real, found[: len(units)], 0.0)
    return Held(
        _about(
            valued(sums, np.array([0.0, 1.0])),
            np.stack([placed.middles[:-1], placed.middles[1:]], 1),
        ),
        np.column_stack([motion[:, :3] + np.cross(motion[:, 3:], placed.middles), motion[:, 3:]]),
        reactions,
        0.5 * float(placed.steps @ (_energies(placed, soft, sums) @ WEIGHT)),
    )


def _softness(
    placed: Placed, pulling: Floats, bending: Floats, twisting: Floats, centres: Floats
) -> Floats:
    """Return flexibilities against wrenches about the centroids, (m, 4, 6, 6)."""
    stations = np.zeros((len(pulling), 6, 6))
    stations[:, 2, 2] = pulling
    stations[:, 3:5, 3:5] = _QUARTER.T @ bending @ _QUARTER
    # The torque about the shear centre s is that about the centroid less (s x force).
    arms = np.zeros((len(pulling), 6))
    arms[:, 0], arms[:, 1], arms[:, 5] = centres[:, 1], -centres[:, 0], 1.0
    stations += twisting[:, None, None] * arms[:, :, None] * arms[:, None, :]
    return placed.inside(stations)


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


def _motion(placed: Placed, soft: Floats, sums: Floats) -> Floats:
    """Return how knots move as rigid bodies, seen from the middle of the axis, (m + 1, 6).

    Shift of the middle, and turn; the first knot stays.
    """
    places = placed.middles_inside()
    inner = -_about(valued(sums, AT), places)
    strain = np.einsum("mkij,mkj->mki", soft, inner)
    # A turn about a place shifts the middle of the axis by (place x turn).
    moved = np.concatenate(
        [strain[..., :3] + np.cross(places, strain[..., 3:]), strain[..., 3:]], -1
    )
    grown = np.einsum("k,mki->mi", WEIGHT, moved) * placed.steps[:, None]
    return np.concatenate([np.zeros((1, 6)), np.cumsum(grown, axis=0)])


def _energies(placed: Placed, soft: Floats, sums: Floats) -> Floats:
    """Return twice the elastic energy per length at the places of Gauss's rule, (m, 4)."""
    inner = _about(valued(sums, AT), placed.middles_inside())
    found: Floats = np.einsum("mki,mkij,mkj->mk", inner, soft, inner)
    return found


def _equilibrated(matrix: Floats, right: Floats) -> Floats:
    """Return the solution of equations whose rows and columns have very different sizes."""
    rows = np.abs(matrix).max(axis=1)
    scaled = matrix / rows[:, None]
    columns = np.abs(scaled).max(axis=0)
    result: Floats = np.linalg.solve(scaled / columns, right / rows) / columns
    return result
