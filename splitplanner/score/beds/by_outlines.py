"""Pieces on beds by their plan views, pockets and holes and all."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Any

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.progress import Report, part_of, silent
from splitplanner.score.beds.cells import Grid, Outline, Windows, spectrum
from splitplanner.score.beds.loads import PlacedPiece, ToPlace, turning
from splitplanner.score.outline_fit import FreeArea

_YAWS = 24
"""A piece is tried at so many yaws all round, from the one at which it lies square."""
_SIMPLER = 0.05
"""Outlines are looked at with corners left out that stand out by less than this, mm."""
_ARC = 8
"""Chords of a quarter of a circle."""

Rank = Callable[[int, int, int, int], tuple[int, ...]]
"""What a place is chosen by, the least first: from row and column of its end and of its start."""


def by_outlines(
    pieces: Sequence[ToPlace],
    free: FreeArea,
    spacing: float,
    least: int,
    most: int,
    report: Report = silent,
) -> list[tuple[PlacedPiece, ...]] | None:
    """Put pieces, each of which fits the bed, on at most so many beds.

    Greedy, in several orders (large ones first, or long ones) and toward either side: each piece
    goes to the first bed with room for it, and there, of all yaws that are tried and all places, to
    where it reaches least far along y, or along x (bottom-left filling, as by Baker, Coffman &
    Rivest, SIAM J. Comput. 9 (1980) 846, with outlines for rectangles). Places are those of a grid
    of about 144 cells; every cell that an outline touches is counted, so what is found is free of
    overlaps, and some tight places are missed. The result can always be done; it is not always the
    least number of beds.

    Parameters
    ----------
    pieces : sequence of ToPlace
    free : FreeArea
    spacing : float
        Between plan views, mm.
    least, most : int
        With `least` beds it is done; None is returned where `most` are not enough.
    report : progress callback
    """
    if most < max(least, 1):
        return None
    grid = Grid.over(free)
    ready = [_Ready(piece, grid, spacing) for piece in pieces]
    best: list[tuple[PlacedPiece, ...]] | None = None
    ways = [(size, rank) for size in (_by_area, _by_length) for rank in (_along_y, _along_x)]
    for index, (size, rank) in enumerate(ways):
        stage = part_of(report, index / len(ways), (index + 1) / len(ways))
        found = _filled(sorted(ready, key=size, reverse=True), grid, rank, most, stage)
        if found is not None:
            best, most = found, len(found) - 1
        if most < max(least, 1):
            break
    return best


def _by_area(piece: _Ready) -> float:
    return round(float(piece.piece.view.area), 3)


def _by_length(piece: _Ready) -> float:
    return round(piece.piece.rectangle[0], 3)


def _along_y(bottom: int, right: int, row: int, column: int) -> tuple[int, ...]:
    return bottom, right, row, column


def _along_x(bottom: int, right: int, row: int, column: int) -> tuple[int, ...]:
    return right, bottom, column, row


class _Ready:
    """A piece with all that is needed to place it again and again."""

    def __init__(self, piece: ToPlace, grid: Grid, spacing: float) -> None:
        self.piece = piece
        self._grid, self._spacing = grid, spacing
        lighter = piece.view.simplify(_SIMPLER)
        # As far out again as corners that were left out may stand.
        self._view = lighter.buffer(_SIMPLER, join_style="mitre") if lighter.area else piece.view
        self._outline = Outline.of(self._view, grid.step)

    @cached_property
    def yaws(self) -> list[float]:
        """Those at which it is no larger than the bed, the square ones first."""
        steps = [self.piece.square + 360.0 * step / _YAWS for step in range(_YAWS)]
        steps += [self.piece.fit.yaw + 90.0 * quarter for quarter in range(4)]
        steps.sort(key=lambda yaw: round((yaw - self.piece.square) % 90.0, 6) > 0.0)
        once = {round(yaw % 360.0, 6): yaw for yaw in reversed(steps)}
        rows, columns = self._grid.taken.shape
        room = np.array([columns, rows]) * self._grid.cell + 1e-6
        return [
            yaw for yaw in reversed(once.values())
            if (np.ptp(self._outline.turned(turning(yaw)).points, axis=0) <= room).all()
        ]  # fmt: skip

    @cached_property
    def windows(self) -> Windows:
        """Its cells at all yaws."""
        found = []
        for yaw in self.yaws:
            outline = self._outline.turned(turning(yaw))
            found.append(self._grid.window(outline))
        return Windows(found, self._grid.taken.shape)

    def at(self, index: int, row: int, column: int) -> PlacedPiece:
        """Return it at one of its yaws with the low corner of its box at a cell's."""
        low = self._outline.turned(turning(self.yaws[index])).points.min(axis=0)
        shift = self._grid.low + self._grid.cell * [column, row] - low
        return self.piece.placed(self.yaws[index], (float(shift[0]), float(shift[1])))

    def keeps_off(self, placed: PlacedPiece) -> Bools:
        """Return the cells that others may not touch when it lies so."""
        # Chords of an arc run inside it.
        reach = self._spacing / math.cos(math.pi / 4 / _ARC) + 2.0 * self._grid.slack
        grown = self._view.buffer(reach, quad_segs=_ARC)
        outline = Outline.of(grown, self._grid.step).turned(turning(placed.yaw))
        return self._grid.cells(Outline(outline.points + placed.shift, outline.following))


class _Filling:
    """A bed as it fills."""

    def __init__(self, grid: Grid) -> None:
        self._taken = grid.taken.copy()
        self._spectrum: Any = None
        self.pieces: list[PlacedPiece] = []

    def take(self, ready: _Ready, rank: Rank) -> bool:
        """Put a piece where it ranks first; False where there is no room for it."""
        if self._spectrum is None:
            self._spectrum = spectrum(self._taken)
        best: tuple[tuple[int, ...], int, int, int] | None = None
        if ready.yaws:
            for index, places in enumerate(ready.windows.open_places(self._spectrum)):
                r, c = ready.windows.shapes[index]
                rows, columns = np.nonzero(places)
                if not len(rows):
                    continue
                # The first of either order is among the least rows and the least columns.
                for at in {_first(rows, columns), _first(columns, rows)}:
                    row, column = int(rows[at]), int(columns[at])
                    key = rank(row + r, column + c, row, column)
                    if best is None or key < best[0]:
                        best = key, index, row, column
        if best is None and self.pieces:
            return False
        # Alone it has the place that is known, where the grid is too coarse to find one.
        placed = ready.piece.alone() if best is None else ready.at(*best[1:])
        self.pieces.append(placed)
        self._taken |= ready.keeps_off(placed)
        self._spectrum = None
        return True


def _first(major: Any, minor: Any) -> int:
    """Return the index of the least of `major`, and of the least of `minor` among these."""
    least = np.flatnonzero(major == major.min())
    return int(least[np.argmin(minor[least])])


def _filled(
    order: Sequence[_Ready], grid: Grid, rank: Rank, most: int, report: Report
) -> list[tuple[PlacedPiece, ...]] | None:
    """Return what lies on each bed when pieces are placed in this order; None beyond `most`."""
    beds: list[_Filling] = []
    for index, ready in enumerate(order):
        report(index / len(order), "putting pieces together on beds")
        if any(bed.take(ready, rank) for bed in beds):
            continue
        if len(beds) == most:
            return None
        beds.append(_Filling(grid))
        beds[-1].take(ready, rank)
    return [tuple(bed.pieces) for bed in beds]
