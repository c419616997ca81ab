"""Dowel pins by standard, diameter and stocked length."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from splitplanner.errors import WorkshopError
from splitplanner.workshop.entries import check_above_zero, stocked_lengths
from splitplanner.workshop.tables import built_in_rows, own_rows

_TABLE = "dowel_pins.csv"


@dataclass(frozen=True)
class DowelPin:
    """A parallel pin as it is sold.

    Attributes
    ----------
    standard : str
        Such as ``ISO 8734``.
    diameter : float
        Nominal, mm.
    length_min, length_max : float
        Shortest and longest pin of this diameter in the standard, mm.
    chamfer : float
        Length of the chamfer at each end, mm (approximate in the standards).
    source : str
        Where the values are from, and whether from memory.
    lengths : tuple of float
        Lengths on the shelf, rising, mm.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm or the lengths do not lie within the range.
    """

    standard: str
    diameter: float
    length_min: float
    length_max: float
    chamfer: float
    source: str
    lengths: tuple[float, ...]

    def __post_init__(self) -> None:
        name = f"Dowel pin “{self.standard} d{self.diameter:g}”"
        if not self.standard:
            raise WorkshopError("A dowel pin needs the name of its standard or its maker.")
        check_above_zero(name, diameter=self.diameter)
        if not 0 < self.length_min <= self.length_max < math.inf:
            raise WorkshopError(
                f"{name}: the lengths must run from a shortest above 0 mm to a longest, got "
                f"{self.length_min:g} to {self.length_max:g} mm."
            )
        if not 0 <= self.chamfer < min(self.length_min, self.diameter) / 2:
            raise WorkshopError(
                f"{name}: a chamfer of {self.chamfer:g} mm leaves no pin; give less than half its "
                "diameter and half its shortest length."
            )
        object.__setattr__(self, "lengths", stocked_lengths(name, self.lengths))
        low, high = self.lengths[0], self.lengths[-1]
        if not self.length_min <= low <= high <= self.length_max:
            raise WorkshopError(
                f"{name}: stocked lengths {low:g} to {high:g} mm lie outside its range "
                f"{self.length_min:g} to {self.length_max:g} mm."
            )


def dowel_pins(extra: Path | None = None) -> tuple[DowelPin, ...]:
    """Return the dowel pins of the built-in table, and the user's own.

    Parameters
    ----------
    extra : Path, optional
        CSV file with the columns standard, diameter, chamfer, length_min, length_max, lengths
        (separated by spaces) and source; its rows come first, so that they are chosen first.

    Raises
    ------
    WorkshopError
        If the file cannot be read or a row is wrong; names file and line.
    """
    own = () if extra is None else own_rows(DowelPin, _TABLE, extra)
    return own + built_in_rows(DowelPin, _TABLE)


def stock_length(
    pin: DowelPin, *, at_least: float | None = None, nearest: float | None = None
) -> float:
    """Return one of the stocked lengths of `pin`, mm.

    Parameters
    ----------
    pin : DowelPin
    at_least : float, optional
        The shortest length that is not below this, mm.
    nearest : float, optional
        The length nearest to this, mm; the shorter of two equally near.

    Raises
    ------
    ValueError
        Unless exactly one of `at_least` and `nearest` is given.
    WorkshopError
        If no stocked pin is as long as `at_least`.
    """
    if (at_least is None) == (nearest is None):
        raise ValueError("give either at_least or nearest")
    if nearest is not None:
        return min(pin.lengths, key=lambda length: (abs(length - nearest), length))
    long_enough = [length for length in pin.lengths if at_least is not None and length >= at_least]
    if not long_enough:
        raise WorkshopError(
            f"No {pin.standard} pin of {pin.diameter:g} mm is {at_least:g} mm long; the longest "
            f"on the shelf is {pin.lengths[-1]:g} mm."
        )
    return long_enough[0]
