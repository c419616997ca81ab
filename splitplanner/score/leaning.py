"""Tilts that lean a long piece, or a wide plate, across the bed."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

_ELEVATIONS = (10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)
_HEADINGS = 36
_HAIR = 1e-9
"""Tilts that reach the height of the bed stay this share of it lower, for rounding."""


def leaning_directions(solid: Solid, bed: Bed) -> Floats:
    """Return print directions (n, 3) in which a piece longer than the bed's sides leans.

    Its long axis is raised from the bed by steps of 10°, along the bed's space diagonal and along
    the diagonals of its upright sides, and the piece is rolled about that axis by steps of 45°;
    a piece that is wider than the bed, too, is tilted as a plate (`plate_directions`). Each of
    these both ways up. Unit vectors, unranked; none when the tightest box round the piece is no
    longer than the shortest side of the bed.
    """
    corners = solid.hull.vertices
    axes = solid.box_axes
    long, wide, thin = axes
    room = np.array([bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin])
    shortest = min(float(room.min()), bed.height)
    if float(np.ptp(corners @ long)) <= shortest:
        return frozen_floats(np.empty((0, 3)))
    flat = float(room.max()) if bed.kind == "circle" else float(np.hypot(*room))
    diagonals = np.degrees(np.arctan2(bed.height, [flat, *room])).tolist()
    elevations = list(dict.fromkeys([*diagonals, *_ELEVATIONS]))
    elevation, roll = np.meshgrid(np.radians(elevations), np.radians(np.arange(0.0, 360.0, 45.0)))
    elevation, roll = elevation.reshape(-1, 1), roll.reshape(-1, 1)
    across = np.cos(roll) * thin + np.sin(roll) * wide
    ups = np.cos(elevation) * across + np.sin(elevation) * long
    if float(np.ptp(corners @ wide)) > shortest:
        ups = np.concatenate([ups, plate_directions(corners, axes, bed.height)])
    return frozen_floats(np.concatenate([ups, -ups]))


def plate_directions(corners: Floats, axes: Floats, height: float) -> Floats:
    """Return the tilts (n, 3) that raise a plate as steeply as the bed's height allows.

    Towards headings 10° apart in the plane of the plate: those of its edges, its diagonals nearly,
    and those between. Tilted by e, a plate of length a along the heading and of thickness t is
    ``a sin e + t cos e`` high and takes up ``a cos e + t sin e`` of the bed, which is least at the
    steepest e, where the height is reached: ``asin(height / hypot(a, t)) - atan2(t, a)``.

    Parameters
    ----------
    corners : (k, 3) float array, mm
        Of the hull of the plate.
    axes : (3, 3) float array
        Of its tightest box, longest first.
    height : float
        Of the bed, mm.
    """
    long, wide, thin = axes
    turns = 2.0 * np.pi * np.arange(_HEADINGS)[:, None] / _HEADINGS
    headings = np.cos(turns) * long + np.sin(turns) * wide
    lengths = np.ptp(corners @ headings.T, axis=0)
    thickness = float(np.ptp(corners @ thin))
    share = (1.0 - _HAIR) * height / np.hypot(lengths, thickness)
    steepest = np.arcsin(np.minimum(share, 1.0)) - np.arctan2(thickness, lengths)
    elevation = np.where(share >= 1.0, np.pi / 2.0, steepest)[:, None]
    # A plate thicker than the bed is high cannot be tilted so at all.
    usable = elevation[:, 0] > 0.0
    ups: Floats = (np.cos(elevation) * thin + np.sin(elevation) * headings)[usable]
    return ups
