"""Support volume: what has to be printed below the overhangs and thrown away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, unit_vector
from splitplanner.score.overhang import Overhang, overhang
from splitplanner.solid import Solid, feet_below, floor_below, frame_of

CELLS_ACROSS = 400
"""Cells along the longer side of the plan when no resolution is given."""
_SKEW = np.radians(31.717474)
"""The grid is turned by arctan(golden ratio - 1), so that edges along the frame's axes meet its
cells at ever different places and their rounding evens out."""


@dataclass(frozen=True, eq=False)
class Support:
    """Support of one piece in one print direction.

    Attributes
    ----------
    volume : float
        mm³.
    area : float
        Plan area of the overhangs it holds up, mm².
    touching : float
        Part of `area` whose support stands on the piece and not on the bed, mm².
    highest : float
        Height of the highest column, mm.
    resolution : float
        Side of the grid's cells, mm.
    """

    volume: float
    area: float
    touching: float
    highest: float
    resolution: float


def support_volume(
    solid: Solid,
    up: ArrayLike,
    limit: float,
    bridge_span: float,
    resolution: float | None = None,
    *,
    known: Overhang | None = None,
) -> Support:
    """Add up the columns from every overhang down to the bed or to the next surface below.

    The prisms from each face down to the bed are exact. What is taken off where a column lands on
    the piece is sampled on a grid of cell centres: a face's mean landing height is the mean over
    its cells (a face that no centre falls on takes the column at its centroid), weighted with the
    face's exact plan area. So a piece whose supports all stand on the bed has an exact figure, and
    otherwise only the outline of what they land on is as coarse as the grid.

    Parameters
    ----------
    solid, up, limit, bridge_span
        As for `splitplanner.score.overhang.overhang`.
    resolution : float, optional
        Side of the cells, mm; by default the plan's longer side / `CELLS_ACROSS`.
    known : Overhang, optional
        The overhang of the same solid, direction and limits, if it has been measured already.

    Returns
    -------
    Support

    Raises
    ------
    ValueError
        As `overhang`, or if the resolution is not positive or much too fine.
    """
    direction = unit_vector(up)
    hanging = overhang(solid, direction, limit, bridge_span) if known is None else known
    frame = frame_of(direction)
    if resolution is None:
        u, v = (solid.vertices @ frame[:2].T).T
        resolution = float(max(np.ptp(u), np.ptp(v))) / CELLS_ACROSS
    chosen = np.flatnonzero(hanging.faces)
    if not len(chosen):
        return Support(0.0, 0.0, 0.0, 0.0, resolution)
    height = solid.vertices @ direction
    bed = float(height.min())
    landing, share, clear = _landings(solid, frame, resolution, chosen, bed)
    plan_area = -solid.face_areas[chosen] * (solid.face_normals[chosen] @ direction)
    middle = solid.centroids_of(chosen) @ direction
    on_bed = share == 0.0
    top = height[solid.faces[chosen]].max(axis=1) - bed
    return Support(
        volume=float(plan_area @ np.maximum(middle - landing, 0.0)),
        area=float(plan_area.sum()),
        touching=float(plan_area @ share),
        highest=float(np.where(on_bed, top, clear).max()),
        resolution=float(resolution),
    )


def skewed(frame: Floats) -> Floats:
    """Return a frame (rows u, v, n) turned about n, so that no edge of a part runs along a grid."""
    cosine, sine = np.cos(_SKEW), np.sin(_SKEW)
    turn = np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    result: Floats = turn @ frame
    return result


def _landings(
    solid: Solid, frame: Floats, resolution: float, chosen: Ints, bed: float
) -> tuple[Floats, Floats, Floats]:
    """Return for each `chosen` face what its columns stand on.

    Returns
    -------
    landing : (c,) float array, mm
        Mean height of their feet along n.
    share : (c,) float array
        Share of them that stand on the solid.
    clear : (c,) float array, mm
        The longest of them.
    """
    grid = skewed(frame)
    found = feet_below(solid, resolution, grid, chosen, bed)
    count, on_solid, total, clear = found.count, found.on_solid, found.total, found.longest
    missed = np.flatnonzero(count == 0)
    if len(missed):
        middles = solid.centroids_of(chosen[missed])
        feet = floor_below(solid, grid[2], middles)
        lands = np.isfinite(feet)
        feet = np.where(lands, feet, bed)
        count[missed], on_solid[missed], total[missed] = 1, lands, feet
        clear[missed] = np.maximum(middles @ grid[2] - feet, 0.0)
    return total / count, on_solid / count, clear
