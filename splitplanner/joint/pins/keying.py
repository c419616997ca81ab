"""Whether a pattern of pins lets a piece be put on in one way only."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats

VISIBLE_STEP = 2.0
"""An outline that stands off by this (mm) is seen and felt. Common practice, no source."""
_SAMPLES = 400
_FINEST = 0.25
"""Spacing of the outline's stand-in points, mm."""
_MOST_POINTS = 20_000


@dataclass(frozen=True)
class Keying:
    """How far the pieces would stand off in the least visible of all wrong ways to join them.

    Attributes
    ----------
    step : float
        Greatest distance of the turned outline from the outline, mm; inf when the pins go into
        the holes in one way only.
    """

    step: float

    @property
    def is_keyed(self) -> bool:
        """True when every wrong way is visible."""
        return self.step >= VISIBLE_STEP


class SeamOutline:
    """The outline of a seam, made ready for many comparisons with itself turned.

    Parameters
    ----------
    shape : MultiPolygon
        Seam polygons, plane coordinates, mm; not empty.
    """

    def __init__(self, shape: MultiPolygon) -> None:
        length = shape.length
        dense = shapely.segmentize(shape, max(_FINEST, length / _MOST_POINTS))
        # Imported late: loading scipy would hold up the start of the window.
        from scipy.spatial import cKDTree

        self._tree = cKDTree(shapely.get_coordinates(dense))
        self._samples = shapely.get_coordinates(shapely.segmentize(shape, length / _SAMPLES))

    def step(self, motion: Floats) -> float:
        """Return how far the outline, moved by `motion` (2, 3), stands off from itself, mm.

        The directed Hausdorff distance at 400 points or more, to half the spacing of the stand-in
        points.
        """
        moved = self._samples @ motion[:, :2].T + motion[:, 2]
        return float(np.max(self._tree.query(moved)[0]))

    def keying(self, places: Floats, diameters: Floats, slack: Floats) -> Keying:
        """Return how well a pattern of holes keys this seam.

        Parameters
        ----------
        places : (n, 2) float array, mm
            Hole centres in plane coordinates, two or more.
        diameters : (n,) float array, mm
            Of the pins: a pin goes into a hole for its own diameter only.
        slack : (n,) float array, mm
            How far a pin may stand from a hole's centre and still be taken to go in.
        """
        steps = (self.step(motion) for motion in motions(places, diameters, slack))
        return Keying(min(steps, default=math.inf))


def motions(places: Floats, diameters: Floats, slack: Floats) -> Iterator[Floats]:
    """Yield the turns and shifts in the plane that put all pins into holes, but not into their own.

    Parameters
    ----------
    places : (n, 2) float array, mm
    diameters, slack : (n,) float array, mm
        See `SeamOutline.keying`.

    Yields
    ------
    (2, 3) float array
        Rotation and shift: ``motion[:, :2] @ p + motion[:, 2]``. The best fit of the pins to the
        holes in the sense of least squares (plane case of Kabsch, Acta Cryst. A32 (1976) 922).
    """
    count = len(places)
    seen: set[tuple[int, ...]] = {tuple(range(count))}
    for i in range(count):
        for j in range(count):
            if i == j:
                continue
            start = _fit(places[:2], places[[i, j]])
            order = _assigned(places, diameters, 2 * slack, start)
            if order is None or order in seen:
                continue
            seen.add(order)
            motion = _fit(places, places[list(order)])
            moved = places @ motion[:, :2].T + motion[:, 2]
            if (np.hypot(*(moved - places[list(order)]).T) <= slack).all():
                yield motion


def _assigned(
    places: Floats, diameters: Floats, slack: Floats, motion: Floats
) -> tuple[int, ...] | None:
    """Return the hole into which each pin goes, or None if one finds none."""
    moved = places @ motion[:, :2].T + motion[:, 2]
    apart = np.linalg.norm(moved[:, None, :] - places[None, :, :], axis=2)
    apart[diameters[:, None] != diameters[None, :]] = np.inf
    nearest = np.argmin(apart, axis=1)
    fits = apart[np.arange(len(places)), nearest] <= slack
    if not fits.all() or len(set(nearest.tolist())) < len(places):
        return None
    return tuple(nearest.tolist())


def _fit(source: Floats, target: Floats) -> Floats:
    """Return the rotation and shift (2, 3) that bring `source` (n, 2) nearest to `target`."""
    middle, goal = source.mean(axis=0), target.mean(axis=0)
    a, b = source - middle, target - goal
    turn = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return np.column_stack([rotation, goal - rotation @ middle])
