"""Soundings along many directions at once, coarse ones, to tell which are worth a closer look."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.score.overhang import CONTACT
from splitplanner.suggest.estimate.compiled import compiled
from splitplanner.suggest.estimate.soundings import Sounding


@dataclass(eq=False)
class Bundle:
    """Soundings of one body, laid end to end so that one compiled loop goes through all of them.

    Attributes
    ----------
    soundings : sequence of Sounding
        All for the same overhang limit.
    """

    soundings: list[Sounding]

    def __post_init__(self) -> None:
        grids = [sounding.grid for sounding in self.soundings]
        self._frames = np.array([grid.frame for grid in grids])
        self._corners = np.array([grid.corner for grid in grids])
        self._steps = np.array([grid.resolution for grid in grids])
        self._shapes = np.array([grid.shape for grid in grids])
        self._starts = np.concatenate([grid.starts for grid in grids])
        self._heights = np.concatenate([grid.heights for grid in grids])
        self._kinds = np.concatenate([sounding.kinds for sounding in self.soundings])
        self._secants = np.concatenate([sounding.secants for sounding in self.soundings])
        self._cells = np.cumsum([0, *(len(grid.starts) for grid in grids)])
        self._crossings = np.cumsum([0, *(len(grid.heights) for grid in grids)])

    def measure(self, walls: Floats, floors: Floats, points: Floats) -> Floats:
        """Return what of a block hangs, what rests, its support and its volume in each direction.

        Parameters
        ----------
        walls : (w, 4) float array
            See `Sounding.measure`.
        floors : (k,) float array
            Heights of the block's lowest point, mm.
        points : (n, 3) float array, mm
            With the same hull as the block.

        Returns
        -------
        (k, 4) float array
            mm², mm², mm³, mm³.
        """
        sums = np.empty((len(floors), 4))
        compiled().sound_each(
            self._frames,
            self._corners,
            self._steps,
            self._shapes,
            self._starts,
            self._heights,
            self._kinds,
            self._secants,
            self._cells,
            self._crossings,
            walls,
            points,
            self.soundings[0].steepest,
            np.ascontiguousarray(floors),
            CONTACT,
            sums,
        )
        sums *= self._steps[:, None] ** 2
        return sums
