"""Hole allowances per diameter, as they were measured with the fit coupon."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from splitplanner.errors import WorkshopError

if TYPE_CHECKING:
    from splitplanner.workshop.printer import Printer

Allowances = tuple[tuple[float, float], ...]
"""Pairs (diameter, allowance), both mm, with rising diameters."""

_MOST = 2.0
"""An allowance beyond this is a mistake, mm: holes are some tenths off, no more."""
_SAME = 1e-6
"""Diameters that differ by no more than this are one, mm."""


def allowance_at(measured: Allowances, diameter: float, otherwise: float) -> float:
    """Return the allowance of a hole of `diameter`, mm.

    Linear between the measured diameters; beyond the outermost ones it stays as it is there, since
    nothing is known of what goes on.

    Parameters
    ----------
    measured : tuple of (diameter, allowance)
        mm, with rising diameters.
    diameter : float
        Nominal, mm.
    otherwise : float
        What is returned where nothing was measured, mm.
    """
    if not measured:
        return otherwise
    if diameter <= measured[0][0]:
        return measured[0][1]
    for (low, at_low), (high, at_high) in pairwise(measured):
        if diameter == high:
            return at_high
        if diameter < high:
            return at_low + (at_high - at_low) * (diameter - low) / (high - low)
    return measured[-1][1]


def check_allowances(measured: Allowances, name: str) -> None:
    """Check a table of hole allowances.

    Parameters
    ----------
    measured : tuple of (diameter, allowance)
        mm.
    name : str
        Of the printer.

    Raises
    ------
    WorkshopError
        If a diameter is not above 0, an allowance is no small length, or diameters do not rise.
    """
    for diameter, allowance in measured:
        if not 0 < diameter < math.inf:
            raise WorkshopError(
                f"Printer “{name}”: the diameter of a measured hole must be above 0 mm, "
                f"got {diameter:g} mm."
            )
        if not abs(allowance) <= _MOST:
            raise WorkshopError(
                f"Printer “{name}”: the allowance of a {diameter:g} mm hole must be between "
                f"-{_MOST:g} and {_MOST:g} mm, got {allowance:g} mm."
            )
    for (before, _), (diameter, _) in pairwise(measured):
        if diameter - before <= _SAME:
            raise WorkshopError(
                f"Printer “{name}”: the measured holes must be sorted by diameter and each named "
                f"once, got {before:g} mm before {diameter:g} mm."
            )


def with_measured(printer: Printer, diameter: float, allowance: float) -> Printer:
    """Return `printer` with the allowance that was measured for a diameter.

    Parameters
    ----------
    printer : Printer
    diameter : float
        Nominal, mm; an allowance that was kept for it is replaced.
    allowance : float
        mm.

    Raises
    ------
    WorkshopError
        If the diameter is not above 0 or the allowance is no small length.
    """
    others = [pair for pair in printer.hole_allowances if abs(pair[0] - diameter) > _SAME]
    measured = tuple(sorted([*others, (float(diameter), float(allowance))]))
    return replace(printer, hole_allowances=measured)
