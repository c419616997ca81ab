"""The open ends of a flange: where they would hang over, they run out to the wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.flange.sizes import slope_towards
from splitplanner.joint.flange.stretches import Stretch
from splitplanner.joint.flange.walls import Back
from splitplanner.plan import Vector
from splitplanner.solid import Plane

_LEAST = 20.0
"""An end that would have to run out at less than this, in degrees from the wall, ends square: it
would take three widths (common practice, no source)."""
_STRAIGHT = 0.5
"""An end runs out as far as the line goes straight on: cosine of the turn."""
_SQUARE = 89.9
"""Degrees."""


@dataclass(frozen=True)
class Printed:
    """How a piece prints.

    Attributes
    ----------
    up : (x, y, z)
        Print direction.
    limit : float
        The printer's overhang limit, degrees from vertical.
    """

    up: Vector
    limit: float


def end_planes(
    stretches: Sequence[Stretch],
    sections: Sequence[tuple[Back, Floats, float]],
    plane: Plane,
    printed: Printed,
) -> dict[int, tuple[Plane, ...]]:
    """Return the planes below which stretches stay, so that their open ends print.

    Where a piece prints with its seam upright, the lower end of a rim on a wall would hang over by
    the rim's width. It runs out to the wall instead, along a plane through the wall's surface at
    the end of the line.

    Parameters
    ----------
    stretches : sequence of Stretch
    sections : sequence of (Back, section, width)
        Of each stretch.
    plane : Plane
        The seam's.
    printed : Printed

    Returns
    -------
    dict of number of a stretch to planes
    """
    found: dict[int, tuple[Plane, ...]] = {}
    for number, stretch in enumerate(stretches):
        way = (stretch.end - stretch.start) / np.linalg.norm(stretch.end - stretch.start)
        for is_open, end, out, step in (
            (stretch.before is None, stretch.start, -way, 1),
            (stretch.after is None, stretch.end, way, -1),
        ):
            ending = _End(end, out, stretch.normal, *sections[number][::2])
            running_out = ending.runs_out(plane, printed) if is_open else None
            if running_out is not None:
                cut, length = running_out
                for other in _along(stretches, number, step, length):
                    found[other] = (*found.get(other, ()), cut)
    return found


@dataclass(frozen=True, eq=False)
class _End:
    """An end of a line (2,), the ways out of it and to the free side, and the section there."""

    at: Floats
    out: Floats
    normal: Floats
    back: Back
    width: float

    def runs_out(self, plane: Plane, printed: Printed) -> tuple[Plane, float] | None:
        """Return the plane along which it runs out, and how far, mm; None where it ends square."""
        right, front, _ = plane.frame
        out, free = (way[0] * right + way[1] * front for way in (self.out, self.normal))
        slope = slope_towards(free, out, printed.up, printed.limit)
        if not _LEAST <= slope < _SQUARE:
            return None
        away = np.radians(slope)
        # Through the wall's surface where it lies deepest, so that no ledge is left at its foot.
        back = self.back
        surface = back.foot + back.root + min(0.0, back.lean * back.reach)
        through = plane.to_space([self.at + surface * self.normal])[0]
        cut = Plane.through(through, np.sin(away) * out + np.cos(away) * free)
        return cut, float((self.width - surface) / np.tan(away))


def _along(stretches: Sequence[Stretch], number: int, step: int, length: float) -> list[int]:
    """Return the stretches that begin within a length of an end, as far as they go straight on."""
    first, found, gone = stretches[number], [], 0.0
    at: int | None = number
    while at is not None and gone < length and at not in found:
        stretch = stretches[at]
        if stretch.normal @ first.normal < _STRAIGHT:
            break
        found.append(at)
        gone += float(np.linalg.norm(stretch.end - stretch.start))
        at = stretch.after if step > 0 else stretch.before
    return found
