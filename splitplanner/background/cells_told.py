"""A plan checked by finite cells, as it is handed to who asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from splitplanner.background.overlay import Overlay
from splitplanner.plan import Loading

if TYPE_CHECKING:
    # They take long to load, and who only passes this on has no need of them.
    from splitplanner.loaded.cells_values import BraceInCells, CellsHeld, SeamInCells


@dataclass(frozen=True, eq=False)
class WayInCells:
    """The part with its seams held in one way, by finite cells.

    Attributes
    ----------
    held : str
        ``glued`` for the part as if printed in one, else one of `splitplanner.loaded.WAYS`.
    stiffness : float
        Of the part as if printed in one; 1 is as stiff.
    deflection : float
        The largest way that a point of a piece moves, mm.
    percentiles : (float, float)
        Shares of its strength that 95 and 99 % of the surface of the piece that takes most stay
        below; 1 is where it fails.
    piece : str
        Which piece that is; "" for the part as if printed in one.
    seams : tuple of SeamInCells
    braces : tuple of BraceInCells
    """

    held: CellsHeld
    stiffness: float
    deflection: float
    percentiles: tuple[float, float]
    piece: str = ""
    seams: tuple[SeamInCells, ...] = ()
    braces: tuple[BraceInCells, ...] = ()

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.held

    @property
    def screw(self) -> tuple[float, str]:
        """The largest pull in a screw, N, and its seam; 0 and "" without screws."""
        pulls = [(float(seam.screws.max()), seam.seam) for seam in self.seams if len(seam.screws)]
        return max(pulls, default=(0.0, ""))

    @property
    def opening(self) -> tuple[float, str]:
        """The widest gap in a seam, mm, and the seam; 0 and "" without seams."""
        return max(((seam.opening, seam.seam) for seam in self.seams), default=(0.0, ""))

    @property
    def glue(self) -> tuple[float, str]:
        """The largest share of its strength that glue takes, and its seam; 0 and "" without."""
        return max(((seam.glue, seam.seam) for seam in self.seams if seam.glue), default=(0.0, ""))

    @property
    def has_hardware(self) -> bool:
        """Whether there are pins or screws in a seam."""
        return any(len(seam.screws) or len(seam.pins) for seam in self.seams)

    @property
    def is_glued(self) -> bool:
        """Whether glue counts in a seam."""
        return any(seam.glue > 0.0 for seam in self.seams)


@dataclass(frozen=True, eq=False)
class CellsTold:
    """A plan under a load case by finite cells, its seams held in one way after the other.

    Attributes
    ----------
    loading : Loading
    factor : float
        So many times its loads are on it: what a fall makes of them.
    ways : tuple of WayInCells
        The part as if printed in one first.
    notes : tuple of str
        Which ways could not be worked out, and why; what else is to be known of the figures.
    overlays : tuple of Overlay
        Of the plan as it is; none where that could not be worked out.
    seconds : float
        How long it took by the clock.
    accuracy : str
        How near the figures come.
    """

    loading: Loading
    factor: float
    ways: tuple[WayInCells, ...]
    notes: tuple[str, ...]
    overlays: tuple[Overlay, ...]
    seconds: float
    accuracy: str
