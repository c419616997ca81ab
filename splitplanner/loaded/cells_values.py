"""What finite cells say of a plan under a load case."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.plan import Loading
from splitplanner.strength import Stage

CellsHeld = Literal["glued", "open", "fastened", "taped", "braced"]
"""The part as if printed in one, or its seams held as in `answers.Way`."""
PERCENTILES = (95.0, 99.0)
"""Stress at sharp corners has no end in theory, and grows with ever smaller cells: percentiles of
the surface are told instead of peaks."""


@dataclass(frozen=True, eq=False)
class PieceInCells:
    """What happens to one piece.

    Attributes
    ----------
    name : str
        "" for the part as if printed in one.
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
        Its surface as it was computed, with its flanges and holes if it has them; divided where
        its faces are larger than cells, as figures differ over them.
    moved : (n, 3) float array
        How far each of these vertices moves, mm.
    share : (m,) float array
        How much of its strength is taken on each of these faces, in the middle of it or of its
        worst part in one cell; 1 is where it fails.
    percentiles : (2,) tuple of float
        Shares that 95 and 99 % of its surface stay below.
    """

    name: str
    vertices: Floats
    faces: Ints
    moved: Floats
    share: Floats
    percentiles: tuple[float, float]

    @property
    def deflection(self) -> float:
        """The largest way that a point of its surface moves, mm."""
        return float(np.linalg.norm(self.moved, axis=1).max())


@dataclass(frozen=True, eq=False)
class SeamInCells:
    """What goes through one seam and how it gapes.

    Attributes
    ----------
    seam : str
    force, moment : (3,) float array
        On the piece above, about the seam's centroid, in the part's frame, N and N·mm; what braces
        carry past it left out.
    tension, shear, bending, twist : float
        The same along its normal and across it: N, above 0 where it is pulled; and N·mm.
    opening : float
        The widest gap, mm; 0 where glue holds it.
    gaping : float
        Share of the contact that is open.
    screws : (n,) float array
        Pull in each screw of the joint, N; none lets its pieces apart by less than 0.
    pushed : (n, 3) float array
        What acts across each screw, N; 0 where pins or a register take it.
    pins : (p, 3) float array
        What acts across each pin, N.
    tape : float
        Pull in all of the tape, N.
    glue : float
        Share of its strength that 95 % of the glue stays below, tension and shear together; 1 is
        where it fails, 0 where no glue counts.
    """

    seam: str
    force: Floats
    moment: Floats
    tension: float
    shear: float
    bending: float
    twist: float
    opening: float
    gaping: float
    screws: Floats
    pushed: Floats
    pins: Floats
    tape: float
    glue: float = 0.0


@dataclass(frozen=True, eq=False)
class BraceInCells:
    """What a brace takes.

    Attributes
    ----------
    brace : str
    pull : float
        The largest along it, N, above 0 where it is stretched.
    bending : float
        The largest in its sheet, N·mm.
    stress : float
        The largest, MPa, from pull and bending both ways.
    proof : float
        What its sheet stands, MPa.
    bolts : (b, 3) float array
        What each bolt does to its piece, in the part's frame, N.
    """

    brace: str
    pull: float
    bending: float
    stress: float
    proof: float
    bolts: Floats


@dataclass(frozen=True, eq=False)
class LiveAnswer:
    """What seams and braces do, without what becomes of the pieces.

    Attributes
    ----------
    held : str
    sag : float
        How far loads move along themselves, by their whole size: work over force, mm.
    stiffness : float or None
        Of the part as if printed in one, where that is known; 1 is as stiff.
    seams : tuple of SeamInCells
    braces : tuple of BraceInCells
    """

    held: CellsHeld
    sag: float
    stiffness: float | None
    seams: tuple[SeamInCells, ...]
    braces: tuple[BraceInCells, ...]


@dataclass(frozen=True, eq=False)
class CellCheck:
    """A plan under a load case by finite cells.

    Attributes
    ----------
    loading : Loading
    factor : float
        So many times its loads.
    held : str
    pieces : tuple of PieceInCells
    seams : tuple of SeamInCells
    braces : tuple of BraceInCells
    sag : float
        As `LiveAnswer.sag`.
    stiffness : float or None
        Of the part as if printed in one; 1 is as stiff. None where that was not worked out.
    freedoms : int
        How large the model was.
    seconds : float
        Of processor time, for this answer and what it needed.
    """

    loading: Loading
    factor: float
    held: CellsHeld
    pieces: tuple[PieceInCells, ...]
    seams: tuple[SeamInCells, ...]
    braces: tuple[BraceInCells, ...]
    sag: float
    stiffness: float | None
    freedoms: int
    seconds: float

    @property
    def deflection(self) -> float:
        """The largest way that a point of any piece moves, mm."""
        return max(piece.deflection for piece in self.pieces)

    def seam(self, name: str) -> SeamInCells:
        """Return what one seam does."""
        return next(seam for seam in self.seams if seam.seam == name)


def bolt_factor(seam: SeamInCells, stage: Stage) -> Floats:
    """Return how many times what the hand formula gives each screw takes by cells, (n,).

    The hand formula is a lower bound: it knows no prying. NaN for a screw that it gives nothing.

    Parameters
    ----------
    seam : SeamInCells
        Held by screws and pins, under the load of `stage`.
    stage : Stage
        Of `SeamCapacity.stages`, the one with ``screws`` and no tape or glue.
    """
    hand, found = np.asarray(stage.tensions, float), np.asarray(seam.screws, float)
    if hand.shape != found.shape:
        raise ValueError(f"got {len(found)} screws by cells and {len(hand)} by hand")
    felt = hand > 1e-9 * max(float(np.abs(found).max(initial=0.0)), 1e-300)
    return np.where(felt, found / np.where(felt, hand, 1.0), np.nan)


def percentiles_of(share: Floats, areas: Floats) -> tuple[float, float]:
    """Return which shares so much of the surface stays below; see `PERCENTILES`."""
    order = np.argsort(share)
    reached = np.cumsum(areas[order]) / areas.sum() * 100.0
    low, high = (
        float(share[order[min(int(np.searchsorted(reached, each)), len(order) - 1)]])
        for each in PERCENTILES
    )
    return low, high
