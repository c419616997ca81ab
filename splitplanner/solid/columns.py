"""Vertical rays on a regular grid, kept as columns of crossings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats, frozen_ints
from splitplanner.solid.plane import frame_of
from splitplanner.solid.solid import Solid

CELLS_AT_MOST = 16_000_000
"""Finer grids are refused: they would need gigabytes."""
_EVERYWHERE = np.empty(0, dtype=np.bool_)


@dataclass(frozen=True, eq=False)
class Columns:
    """Where upright rays through the centres of a square grid cross a solid's surface.

    Attributes
    ----------
    frame : (3, 3) float array
        Rows u, v, n; ``frame @ p`` gives plan coordinates and height of a point.
    corner : (2,) float array, mm
        Low corner of the grid in (u, v).
    resolution : float
        Side of a cell, mm.
    shape : (rows, across)
        Number of cells along v and u; cell = row * across + column.
    starts : (cells + 1,) int array
        The crossings of cell c are ``starts[c]:starts[c + 1]``, from low to high.
    heights : (k,) float array, mm
        Height of each crossing along n.
    faces : (k,) int array
        Face crossed.
    upward : (k,) bool array
        True where the ray leaves material (the face looks up), False where it enters.
    """

    frame: Floats
    corner: Floats
    resolution: float
    shape: tuple[int, int]
    starts: Ints
    heights: Floats
    faces: Ints
    upward: Bools

    @cached_property
    def cells(self) -> Ints:
        """Cell of each crossing, (k,)."""
        return frozen_ints(np.repeat(np.arange(len(self.starts) - 1), np.diff(self.starts)))

    def centres(self, cells: ArrayLike) -> Floats:
        """Return the plan coordinates (n, 2) mm of the centres of `cells` (n,)."""
        row, column = np.divmod(np.asarray(cells), self.shape[1])
        steps = np.stack([column, row], axis=-1) + 0.5
        result: Floats = self.corner + self.resolution * steps
        return result

    def floors(self) -> Ints:
        """Return for each crossing the next upward crossing below it, (k,); -1 for none."""
        if not len(self.heights):
            return np.empty(0, dtype=np.int64)
        places = np.where(self.upward, np.arange(len(self.upward)), -1)
        before = np.concatenate([[-1], np.maximum.accumulate(places)[:-1]])
        result: Ints = np.where(before >= self.starts[self.cells], before, -1)
        return result


def columns(
    solid: Solid, up: ArrayLike, resolution: float, *, frame: ArrayLike | None = None
) -> Columns:
    """Send an upright ray through the centre of each cell of a grid over `solid`.

    A ray through a shared edge or corner crosses exactly one of the faces that meet there, so in
    a closed solid every column has as many upward as downward crossings.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Direction of the rays.
    resolution : float
        Side of a cell, mm.
    frame : (3, 3) array, optional
        Rows u, v, n to use instead of ``frame_of(up)``, for a grid turned about `up`.

    Raises
    ------
    ValueError
        If the resolution is not positive or asks for more than `CELLS_AT_MOST` cells.
    """
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.solid import _column_kernels as kernels

    axes = frozen_floats(frame_of(up) if frame is None else frame, (3, 3))
    placed, corner, across, rows = _gridded(solid, axes, resolution)
    faces, every = np.array(solid.faces), np.arange(len(solid.faces))
    found = kernels.crossings(placed, faces, every, float(resolution), across, rows, _EVERYWHERE)
    starts, heights, at = kernels.stacked(*found, across * rows)
    upward = kernels.looking_up(placed, faces)[at]
    for array in (corner, starts, heights, at, upward):
        array.setflags(write=False)
    return Columns(axes, corner, float(resolution), (rows, across), starts, heights, at, upward)


def _gridded(solid: Solid, axes: Floats, resolution: float) -> tuple[Floats, Floats, int, int]:
    """Lay a grid over a solid in a frame.

    Returns
    -------
    placed : (n, 3) float array
        Its corners in the frame, in plan from the grid's low corner.
    corner : (2,) float array
        That corner.
    across, rows : int
        Number of cells.
    """
    if not resolution > 0.0:
        raise ValueError(f"the resolution must be more than 0 mm, got {resolution}")
    placed = np.ascontiguousarray(solid.vertices @ axes.T)
    if not len(placed):
        placed = np.zeros((1, 3))
    # One after the other: numpy is slow along the long side of a narrow array.
    plan = placed[:, 0], placed[:, 1]
    corner = np.array([along.min() for along in plan])
    spans = np.array([along.max() for along in plan]) - corner
    across, rows = (max(int(n), 1) for n in np.ceil(spans / resolution))
    if across * rows > CELLS_AT_MOST:
        raise ValueError(
            f"a resolution of {resolution} mm gives {across * rows} columns, more than "
            f"{CELLS_AT_MOST}; use a coarser one"
        )
    for along, low in zip(plan, corner, strict=True):
        along -= low
    return placed, corner, across, rows


@dataclass(frozen=True, eq=False)
class Feet:
    """What upright columns under some faces of a solid stand on.

    Attributes
    ----------
    count : (c,) int array
        Columns under each face.
    on_solid : (c,) int array
        How many of them stand on the solid.
    total : (c,) float array, mm
        Sum of the heights of their feet.
    longest : (c,) float array, mm
        The longest of them; 0 where there is none.
    """

    count: Ints
    on_solid: Ints
    total: Floats
    longest: Floats


def feet_below(
    solid: Solid, resolution: float, frame: ArrayLike, chosen: ArrayLike, bed: float
) -> Feet:
    """Stand columns under faces, one in each cell of the grid that `columns` lays.

    The same columns, crossings and floors as those of `Columns` and `Columns.floors`, but only
    those that are asked for are worked out.

    Parameters
    ----------
    solid : Solid
    resolution : float
        Side of a cell, mm.
    frame : (3, 3) array
        Rows u, v, n.
    chosen : (c,) int array
        Faces; one that does not look down has no columns.
    bed : float
        Height along n of what columns stand on that nothing of the solid is below, mm.

    Raises
    ------
    ValueError
        As `columns`.
    """
    from splitplanner.solid import _column_kernels as kernels

    axes = frozen_floats(frame, (3, 3))
    placed, _, across, rows = _gridded(solid, axes, resolution)
    faces, wanted = np.array(solid.faces), np.array(chosen, dtype=np.int64)
    grid = float(resolution), across, rows
    up = kernels.looking_up(placed, faces)
    hanging = wanted[~up[wanted]]
    cells, heights, at = kernels.crossings(placed, faces, hanging, *grid, _EVERYWHERE)
    # Floors are looked for only where something hangs.
    within = np.zeros(across * rows, dtype=np.bool_)
    within[cells] = True
    floors = kernels.crossings(placed, faces, np.flatnonzero(up), *grid, within)
    row = np.empty(len(faces), dtype=np.int64)
    row[wanted] = np.arange(len(wanted))
    sums = np.zeros((len(wanted), 4))
    stacks = kernels.stacked(*floors, across * rows)
    kernels.stand(cells, heights, at, row[at], *stacks, sums, float(bed))
    counts = sums[:, :2].astype(np.int64)
    return Feet(counts[:, 0], counts[:, 1], sums[:, 2].copy(), sums[:, 3].copy())


def floor_below(solid: Solid, up: ArrayLike, points: ArrayLike) -> Floats:
    """Return the height of the first upward-looking surface straight below each point.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Which way is up; heights are measured along it.
    points : (n, 3) array, mm

    Returns
    -------
    (n,) float array, mm
        -inf where there is none.
    """
    from splitplanner.solid import _column_kernels as kernels

    axes = frame_of(up)
    placed = np.ascontiguousarray(solid.vertices @ axes.T)
    wanted = np.asarray(points, float).reshape(-1, 3) @ axes.T
    floors = np.full(len(wanted), -np.inf)
    if not len(wanted) or not len(placed):
        return floors
    lowest = min(placed[:, 1].min(), wanted[:, 1].min())
    placed[:, 1] -= lowest
    wanted[:, 1] -= lowest
    # As many strips as points in each, so that a face looks at few points that are not its own.
    count = int(np.sqrt(len(wanted))) + 1
    strip = float(wanted[:, 1].max()) / count or 1.0
    row = np.minimum((wanted[:, 1] / strip).astype(np.int64), count - 1)
    order = np.lexsort((wanted[:, 0], row))
    strips = np.searchsorted(row[order], np.arange(count + 1))
    found = floors.copy()
    kernels.raise_floors(placed, solid.faces, wanted[order], strip, strips, found)
    floors[order] = found
    return floors
