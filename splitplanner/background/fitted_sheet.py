"""How the braces of a plan lie on a sheet of stock, as it is handed to who asked."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.arrays import Floats
from splitplanner.findings import Finding


@dataclass(frozen=True, eq=False)
class FittedSheet:
    """Braces on a sheet.

    Attributes
    ----------
    size : (width, depth)
        Of the sheet, mm.
    margin : float
        Kept free all round, mm.
    outlines : tuple of (n, 2) float arrays
        As the braces lie, mm; none where they do not fit.
    finding : Finding
        By how much they fit, or do not.
    """

    size: tuple[float, float]
    margin: float
    outlines: tuple[Floats, ...]
    finding: Finding
