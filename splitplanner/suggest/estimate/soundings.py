"""Soundings: what hangs over air in a print direction, read off columns without cutting.

The uncut body is sounded once for each direction. A block between cut planes meets each column in
one stretch, so its overhang, its support and what rests on the bed are sums over the columns,
clipped, and no candidate has to be cut to be judged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.plan import Vector
from splitplanner.score.overhang import CONTACT, bridges, steepest_slope
from splitplanner.score.support import skewed
from splitplanner.solid import Columns, Solid, columns, frame_of
from splitplanner.suggest.estimate.compiled import compiled
from splitplanner.workshop import Printer

_ANYWHERE: Floats = np.empty((0, 3))


@dataclass(frozen=True, eq=False)
class Hanging:
    """What hangs over air; the numbers of `splitplanner.score.Overhang`, mm²."""

    area: float
    contact_area: float


@dataclass(frozen=True, eq=False)
class Sounding:
    """The columns of one body along one print direction.

    Attributes
    ----------
    up : (x, y, z)
        Unit vector.
    grid : Columns
    kinds : (k,) int8 array
        Of each crossing; see `_kernels`.
    secants : (k,) float array
        Area of the face crossed for each mm² in plan.
    steepest : float
        Sine of the overhang limit.
    """

    up: Vector
    grid: Columns
    kinds: NDArray[np.int8]
    secants: Floats
    steepest: float

    def measure(
        self, walls: Floats, floor: float, points: Floats = _ANYWHERE
    ) -> tuple[Hanging, float, float]:
        """Return what of a block hangs or rests, its support volume and its volume, mm, mm³.

        Parameters
        ----------
        walls : (w, 4) float array
            Normals n and distances d of the planes round the block, which keep n · p >= d.
        floor : float
            Height of the block's lowest point along `up`, mm.
        points : (n, 3) float array, mm, optional
            With the same hull as the block: only columns among them are looked at.
        """
        grid = self.grid
        sums = compiled().sound(
            grid.frame,
            grid.corner,
            grid.resolution,
            grid.shape,
            grid.starts,
            grid.heights,
            self.kinds,
            self.secants,
            walls,
            points,
            self.steepest,
            floor,
            CONTACT,
        )
        cell = grid.resolution**2
        hanging, resting, held, filled = sums
        return Hanging(cell * hanging, cell * resting), cell * held, cell * filled


def sounded(solid: Solid, up: Vector, printer: Printer, cells: int) -> Sounding:
    """Sound `solid` along `up` with about `cells` columns."""
    kernels = compiled()

    turned = skewed(frame_of(up))
    plan = solid.vertices @ turned[:2].T
    area = np.ptp(plan[:, 0]) * np.ptp(plan[:, 1])
    step = float(np.sqrt(max(area, 1e-9) / cells))
    grid = columns(solid, up, step, frame=turned)
    steepest = steepest_slope(printer.overhang_limit)
    slopes = solid.face_normals @ turned[2]
    bridged = bridges(solid, up, printer.overhang_limit, printer.bridge_span)
    of_face = np.full(len(slopes), kernels.GENTLE, dtype=np.int8)
    of_face[slopes < -steepest] = kernels.STEEP
    of_face[bridged] = kernels.BRIDGED
    kinds = np.where(grid.upward, kernels.TOP, of_face[grid.faces]).astype(np.int8)
    secants = frozen_floats(1.0 / np.maximum(np.abs(slopes[grid.faces]), 1e-6))
    kinds.setflags(write=False)
    return Sounding(up, grid, kinds, secants, steepest)
