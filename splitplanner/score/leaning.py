"""Tilts that lean a long piece across the bed."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.solid import Solid, tightest_box_axes
from splitplanner.workshop import Bed

_ELEVATIONS = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)


def leaning_directions(solid: Solid, bed: Bed) -> Floats:
    """Return print directions (n, 3) in which a piece longer than the bed's sides leans.

    Its long axis is raised from the bed by steps of 10°, along the bed's space diagonal and along
    the diagonals of its upright sides, and the piece is rolled about that axis by steps of 45°;
    each of these both ways up. Unit vectors, unranked; none when the tightest box round the piece
    is no longer than the shortest side of the bed.
    """
    long, wide, thin = tightest_box_axes(solid)
    longest = float(np.ptp(solid.hull.vertices @ long))
    room = np.array([bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin])
    if longest <= min(float(room.min()), bed.height):
        return frozen_floats(np.empty((0, 3)))
    flat = float(room.max()) if bed.kind == "circle" else float(np.hypot(*room))
    diagonals = np.degrees(np.arctan2(bed.height, [flat, *room])).tolist()
    elevations = list(dict.fromkeys([*diagonals, *_ELEVATIONS]))
    elevation, roll = np.meshgrid(np.radians(elevations), np.radians(np.arange(0.0, 360.0, 45.0)))
    elevation, roll = elevation.reshape(-1, 1), roll.reshape(-1, 1)
    across = np.cos(roll) * thin + np.sin(roll) * wide
    ups = np.cos(elevation) * across + np.sin(elevation) * long
    return frozen_floats(np.concatenate([ups, -ups]))
