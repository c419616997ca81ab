"""Integrals over what outlines enclose, or over the part of it on one side of a straight line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats, frozen_floats


@dataclass(frozen=True, eq=False)
class Edges:
    """The edges of closed outlines, each from its start to its end.

    Attributes
    ----------
    starts, ends : (m, 2) float array
        Outer outlines run counterclockwise, holes clockwise.
    """

    starts: Floats
    ends: Floats

    @classmethod
    def of(cls, rings: Sequence[Floats]) -> Edges:
        """Return the edges of closed rings (m, 2) that do not repeat their first corner."""
        if not rings:
            return cls(np.empty((0, 2)), np.empty((0, 2)))
        following = [np.roll(ring, -1, axis=0) for ring in rings]
        return cls(np.vstack(rings), np.vstack(following))

    @cached_property
    def moments(self) -> Floats:
        """Integrals of 1, u, v, u², uv, v² over the inside, (6,)."""
        return frozen_floats(_green(self.starts, self.ends))

    def moments_below(self, plane: Floats) -> Floats:
        """Return those over the part of it where ``a + b u + c v`` is below 0.

        Green's theorem about a point of the line there, so that edges along it add nothing: those
        that close the part need not be known.

        Parameters
        ----------
        plane : (3,) float array
            a, b and c.

        Returns
        -------
        (6,) float array
        """
        begun = plane[0] + self.starts @ plane[1:]
        ended = plane[0] + self.ends @ plane[1:]
        below, after = begun < 0, ended < 0
        if below.all():
            return self.moments
        if not below.any():
            return np.zeros(6)
        crossing = below != after
        share = np.where(crossing, begun, 0.0) / np.where(crossing, begun - ended, 1.0)
        met = self.starts + share[:, None] * (self.ends - self.starts)
        some = below | after
        starts = np.where(below[:, None], self.starts, met)[some]
        ends = np.where(after[:, None], self.ends, met)[some]
        middle = met[int(crossing.argmax())]
        return _moved(_green(starts - middle, ends - middle), middle)


def _green(starts: Floats, ends: Floats) -> Floats:
    """Green's theorem on straight edges, exact; below 0 for what runs clockwise."""
    (x, y), (p, q) = starts.T, ends.T
    cross = x * q - p * y
    return np.array(
        [
            cross.sum() / 2,
            cross @ (x + p) / 6,
            cross @ (y + q) / 6,
            cross @ (x * x + x * p + p * p) / 12,
            cross @ (2 * x * y + x * q + p * y + 2 * p * q) / 24,
            cross @ (y * y + y * q + q * q) / 12,
        ]
    )


def _moved(moments: Floats, middle: Floats) -> Floats:
    """Return moments about `middle` as those about the origin."""
    area, u, v, uu, uv, vv = moments
    x, y = middle
    return np.array(
        [
            area,
            u + area * x,
            v + area * y,
            uu + 2 * x * u + area * x * x,
            uv + x * v + y * u + area * x * y,
            vv + 2 * y * v + area * y * y,
        ]
    )
