"""Plan views as cells of a grid over the bed, and where one goes beside others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.score.outline_fit import FreeArea

CELLS = 144
"""Along the longer side of the bed; a product of small primes, for quick transforms."""
_SAMPLES = 4
"""Points along an outline for each cell that it crosses."""


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells over what is free of a bed.

    Attributes
    ----------
    low : (2,) float array, mm
        Of the bed's free area.
    cell : (2,) float array, mm
        Size of a cell along x and y.
    taken : (rows, columns) bool array
        Cells that no piece may touch; rows go along y.
    slack : float
        Shapes whose cells differ overlap by no more than this, mm: a corner of a cell may be
        crossed between two points of an outline.
    """

    low: Floats
    cell: Floats
    taken: Bools
    slack: float

    @staticmethod
    def over(free: FreeArea) -> Grid:
        """Return the grid of a bed; what is not free is taken."""
        low = free.corners.min(axis=0)
        size = np.array(free.size)
        count = np.maximum(np.rint(size / (size.max() / CELLS)), 1).astype(int)
        if free.disc is not None:  # The plan of a round bed is a polygon round it.
            x, y, radius = free.disc
            low, size = np.array([x - radius, y - radius]), np.full(2, 2.0 * radius)
        grid = Grid(low, size / count, np.zeros(count[::-1], dtype=np.bool_), 0.0)
        slack = float(grid.cell.max()) / _SAMPLES / 2.0
        shape = free.shape
        if free.disc is not None:
            shape = shape.intersection(shapely.Point(x, y).buffer(radius, quad_segs=64))
        closed = shapely.box(*low, *(low + size)).difference(shape)
        taken = grid.cells(Outline.of(closed.buffer(slack) if closed.area else closed, grid.step))
        return Grid(low, grid.cell, taken, slack)

    @property
    def step(self) -> float:
        """Between two points of an outline, mm."""
        return float(self.cell.min()) / _SAMPLES

    def cells(self, outline: Outline) -> Bools:
        """Return the cells of the grid that a shape touches, (rows, columns)."""
        rows, columns = self.taken.shape
        return _touched(outline, (outline.points - self.low) / self.cell, rows, columns)

    def window(self, outline: Outline) -> Bools:
        """Return the cells that a shape touches from the low corner of its box on, (r, c)."""
        ends = (outline.points - outline.points.min(axis=0)) / self.cell
        # A box that ends at the end of a cell, but for rounding, ends there.
        columns, rows = np.maximum(np.ceil(ends.max(axis=0) - 1e-6), 1).astype(int)
        return _touched(outline, np.minimum(ends, [columns - 1e-9, rows - 1e-9]), rows, columns)


def _touched(outline: Outline, ends: Floats, rows: int, columns: int) -> Bools:
    """Return the cells that a shape touches whose points (n, 2) are given in cells."""
    touched = _middles(ends, ends[outline.following], rows, columns)
    at = np.floor(ends).astype(int)
    at = at[(at >= 0).all(axis=1) & (at < [columns, rows]).all(axis=1)]
    touched[at[:, 1], at[:, 0]] = True
    return touched


def _middles(starts: Floats, ends: Floats, rows: int, columns: int) -> Bools:
    """Return the cells whose middles are inside rings of edges, by the even-odd rule."""
    middle = np.arange(rows) + 0.5
    # Every edge is short: it crosses few lines of middles, mostly none or one.
    first = np.searchsorted(middle, np.minimum(starts[:, 1], ends[:, 1]))
    count = np.searchsorted(middle, np.maximum(starts[:, 1], ends[:, 1])) - first
    edge = np.repeat(np.arange(len(starts)), count)
    line = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    share = (middle[line] - starts[edge, 1]) / (ends[edge, 1] - starts[edge, 1])
    x = starts[edge, 0] + share * (ends[edge, 0] - starts[edge, 0])
    column = np.clip(np.ceil(x - 0.5), 0, columns).astype(int)
    crossings = np.zeros((rows, columns + 1), dtype=np.int32)
    np.add.at(crossings, (line, column), 1)
    inside: Bools = np.cumsum(crossings[:, :columns], axis=1) % 2 == 1
    return inside


@dataclass(frozen=True, eq=False)
class Outline:
    """All rings of a shape as points, close to each other.

    Attributes
    ----------
    points : (n, 2) float array, mm
    following : (n,) int array
        The point after each in its ring.
    """

    points: Floats
    following: Ints

    @staticmethod
    def of(shape: Any, step: float) -> Outline:
        """Return points along a shapely shape, no further apart than `step`, mm."""
        rings = shapely.get_rings(shapely.get_parts(shape))
        points = [shapely.get_coordinates(shapely.segmentize(each, step))[:-1] for each in rings]
        begin, following = 0, []
        for ring in points:
            following.append(begin + np.roll(np.arange(len(ring)), -1))
            begin += len(ring)
        if not points:
            return Outline(np.empty((0, 2)), np.empty(0, dtype=np.int64))
        return Outline(np.concatenate(points), np.concatenate(following))

    def turned(self, matrix: Floats) -> Outline:
        """Return it turned by a matrix (2, 2) for columns."""
        return Outline(self.points @ matrix.T, self.following)


class Windows:
    """The cells of one piece at several yaws, ready to be held against what is taken.

    Parameters
    ----------
    windows : list of (r, c) bool arrays
    shape : (rows, columns)
        Of the grid; each window fits into it.
    """

    def __init__(self, windows: list[Bools], shape: tuple[int, int]) -> None:
        self.shapes = [each.shape for each in windows]
        self._size = shape
        stack = np.zeros((len(windows), *shape), dtype=np.float32)
        for layer, each in zip(stack, windows, strict=True):
            layer[: each.shape[0], : each.shape[1]] = each
        self._spectra = np.conj(spectrum(stack))

    def open_places(self, taken: Any) -> list[Bools]:
        """Return for each window where it touches nothing; `taken` is the `spectrum` of what is.

        Each array holds the places of the window's first cell at which all of it is on the grid.
        Correlation by transforms (the convolution theorem): as many cells as a window has in common
        with what is taken. It goes round the edges of the grid only where the window does.
        """
        # Imported late: loading scipy would hold up the start of the window.
        from scipy import fft

        common = fft.irfft2(self._spectra * taken, s=self._size)
        rows, columns = self._size
        # Whole numbers, but for rounding far below a half.
        return [
            each[: rows - r + 1, : columns - c + 1] < 0.5
            for each, (r, c) in zip(common, self.shapes, strict=True)
        ]


def spectrum(cells: Any) -> Any:
    """Return the transform of one or more grids of cells."""
    from scipy import fft

    return fft.rfft2(np.asarray(cells, dtype=np.float32))
