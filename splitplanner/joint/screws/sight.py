"""Lines of sight along the axes of screws, past what is in place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid import Sight, Solid, fibonacci_sphere, frame_of

_INSET = 0.99
"""Rings are this share of the radius, so that what touches the cylinder does not block it."""
_SPACING = 1.6
"""Lines in a cylinder are no farther apart than about this, mm: thinner than printed walls."""
_LEAST_RINGS = 3
_PER_RING = 8
"""Lines that each ring has more than the one within it, at least."""
_ARMS = 120
"""Ways in which a key's arm is tried round the axis: every 3°."""
_WAYS_OUT = 128
_LEAST_OUT = 3


class Past:
    """Lines of sight past several solids."""

    def __init__(self, solids: Sequence[Solid]) -> None:
        self._solids = tuple(solids)
        self._sights = tuple(Sight.of(solid) for solid in self._solids)
        self.off = max((sight.off for sight in self._sights), default=0.0)

    def first(self, starts: Floats, towards: Floats) -> tuple[Floats, Bools, Ints]:
        """Return how far rays (n, 3) go; whether they then leave a solid; and the face, all (n,).

        A ray that leaves a solid without having entered it has started in it.
        """
        nearest = np.full(len(starts), np.inf)
        leaves = np.zeros(len(starts), dtype=np.bool_)
        faces = np.full(len(starts), -1, dtype=np.int64)
        still = np.zeros_like(starts)
        for solid, sight in zip(self._solids, self._sights, strict=True):
            distance, face = sight.first(starts, still, towards)
            out = (face >= 0) & (np.einsum("ij,ij->i", solid.face_normals[face], towards) > 0)
            # Inside one solid is inside, wherever the others are met.
            closer = (out & ~leaves) | ((distance < nearest) & (out == leaves))
            nearest[closer], faces[closer], leaves[closer] = (
                distance[closer],
                face[closer],
                out[closer],
            )
        return nearest, leaves, faces

    def free(self, starts: Floats, towards: Floats) -> Floats:
        """Return how far rays (n, 3) go before they meet material, (n,) mm; 0 from within it."""
        distance, leaves, _ = self.first(starts, towards)
        return np.where(leaves, 0.0, distance)

    def free_round(self, feet: Floats, axis: Floats, radius: float) -> Floats:
        """Return how long a free cylinder can be that stands on each foot (n, 3), (n,) mm."""
        starts = feet[:, None, :] + rings(axis, radius)
        along = np.broadcast_to(axis, starts.shape).reshape(-1, 3)
        free = self.free(starts.reshape(-1, 3), along)
        result: Floats = free.reshape(starts.shape[:2]).min(axis=1)
        return result

    def lead_out(self, places: Floats, least: int = _LEAST_OUT) -> Bools:
        """Return from which places (n, 3) at least so many of 128 directions lead out, (n,)."""
        ways = fibonacci_sphere(_WAYS_OUT)
        starts = np.repeat(places, _WAYS_OUT, axis=0)
        towards = np.tile(ways, (len(places), 1))
        is_open = np.ones(len(starts), dtype=np.bool_)
        for sight in self._sights:
            is_open &= sight.is_open(starts, np.zeros_like(starts), towards)
        result: Bools = is_open.reshape(len(places), _WAYS_OUT).sum(axis=1) >= least
        return result

    def swing(
        self, hubs: Floats, axis: Floats, thickness: float, reach: float
    ) -> tuple[Floats, Floats]:
        """Return through how many degrees a key's arm goes, (n,), and its tip midway, (n, 3) mm.

        The arm is `thickness` thick and reaches out to `reach` from the axis, mm. It lies across
        the axis with its outer side at the hub. Each way is tried by the middle and both edges of
        the arm, on three levels.
        """
        u, v, _ = frame_of(axis)
        angles = 2 * np.pi * np.arange(_ARMS) / _ARMS
        along = np.cos(angles)[:, None] * u + np.sin(angles)[:, None] * v
        across = np.cross(axis, along)
        half = _INSET * thickness / 2
        middles = hubs - thickness / 2 * axis
        edges = [half * (x * across + z * axis) for x in (-1, 0, 1) for z in (-1, 0, 1) if x or z]
        # Most ways are blocked for the middle already.
        starts = np.repeat(middles[:, None], _ARMS, axis=1)
        towards = np.broadcast_to(along, starts.shape)
        is_free = self.free(starts.reshape(-1, 3), towards.reshape(-1, 3)) >= reach
        (some,) = np.nonzero(is_free)
        if len(some):
            arms = some % _ARMS
            sides = starts.reshape(-1, 3)[some, None] + np.stack(edges, axis=1)[arms]
            ways = np.repeat(along[arms], len(edges), axis=0)
            free = self.free(sides.reshape(-1, 3), ways).reshape(len(some), -1)
            is_free[some] = (free >= reach).all(axis=1)
        widest, middle = _widest(is_free.reshape(len(hubs), _ARMS))
        return widest, middles + reach * along[middle]


def _widest(is_free: Bools) -> tuple[Floats, Ints]:
    """Return the widest run (degrees) of free ways in each row (n, k) round, and its middle."""
    count = is_free.shape[1]
    run = np.zeros(len(is_free), dtype=np.int64)
    best, end = run.copy(), run.copy()
    for index, column in enumerate(np.hstack([is_free, is_free]).T):
        run = np.where(column, np.minimum(run + 1, count), 0)
        better = run > best
        best[better], end[better] = run[better], index
    degrees = np.where(best == count, 360.0, np.maximum(best - 1, 0) * 360.0 / count)
    return degrees, (end - best // 2) % count


def rings(axis: Floats, radius: float) -> Floats:
    """Return offsets across `axis` for lines of sight in a cylinder, (k, 3) mm; 0 among them."""
    flat = [np.zeros((1, 2))]
    many = max(_LEAST_RINGS, int(np.ceil(radius / _SPACING)))
    for ring in range(1, many + 1):
        around = _INSET * radius * ring / many
        count = max(_PER_RING * ring, int(np.ceil(2 * np.pi * around / _SPACING)))
        angles = 2 * np.pi * np.arange(count) / count
        flat.append(around * np.column_stack([np.cos(angles), np.sin(angles)]))
    result: Floats = np.vstack(flat) @ frame_of(axis)[:2]
    return result
