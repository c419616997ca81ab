"""The hardware shelf: dowel pins by standard, diameter and stocked length."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from splitplanner.errors import WorkshopError

_COLUMNS = ("standard", "diameter", "chamfer", "length_min", "length_max", "lengths", "source")


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
        if not (math.isfinite(self.diameter) and self.diameter > 0):
            raise WorkshopError(f"{name}: the diameter must be above 0 mm.")
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
        object.__setattr__(self, "lengths", tuple(sorted(set(self.lengths))))
        if not self.lengths:
            raise WorkshopError(f"{name}: name at least one length that you can buy.")
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
    table = resources.files("splitplanner.workshop") / "data" / "dowel_pins.csv"
    built_in = _rows(table.read_text(encoding="utf-8"), "dowel_pins.csv")
    if extra is None:
        return built_in
    try:
        text = extra.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise WorkshopError(
            f"The dowel pin file {extra} cannot be read: {error.strerror}.", subject=str(extra)
        ) from error
    except UnicodeDecodeError as error:
        raise WorkshopError(
            f"The dowel pin file {extra} is not text in UTF-8; save it as CSV in UTF-8.",
            subject=str(extra),
        ) from error
    return _rows(text, str(extra)) + built_in


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


def _rows(text: str, name: str) -> tuple[DowelPin, ...]:
    reader = csv.DictReader(text.splitlines(), skipinitialspace=True, strict=True)
    try:
        header = [column.strip() for column in reader.fieldnames or ()]
        missing = [column for column in _COLUMNS if column not in header]
        if missing:
            raise WorkshopError(
                f"{name}, line 1: column {missing[0]} is missing; the columns are "
                f"{', '.join(_COLUMNS)}.",
                subject=name,
            )
        reader.fieldnames = header
        return tuple(_pin(row, name, reader.line_num) for row in reader)
    except csv.Error as error:
        raise WorkshopError(
            f"{name}, line {reader.line_num}: not a CSV row ({error}).", subject=name
        ) from error


def _pin(row: dict[str, str | None], name: str, line: int) -> DowelPin:
    if None in row or None in row.values():
        raise WorkshopError(
            f"{name}, line {line}: give {len(_COLUMNS)} values, one for each column.", subject=name
        )
    cells = {column: (value or "").strip() for column, value in row.items()}
    try:
        return DowelPin(
            standard=cells["standard"],
            diameter=_number(cells, "diameter"),
            length_min=_number(cells, "length_min"),
            length_max=_number(cells, "length_max"),
            chamfer=_number(cells, "chamfer"),
            source=cells["source"] or f"{name}, line {line}",
            lengths=tuple(
                _number({"lengths": cell}, "lengths") for cell in cells["lengths"].split()
            ),
        )
    except WorkshopError as error:
        raise WorkshopError(f"{name}, line {line}: {error}", subject=name) from error


def _number(cells: dict[str, str], column: str) -> float:
    try:
        return float(cells[column])
    except ValueError as error:
        raise WorkshopError(f"“{cells[column]}” in column {column} is not a number.") from error
