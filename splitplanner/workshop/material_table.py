"""Materials of the user's own in a table: CSV, one a row."""

from __future__ import annotations

import csv
import io
from dataclasses import fields
from pathlib import Path
from typing import Any

from splitplanner.errors import WorkshopError
from splitplanner.workshop.material import Material

_COLUMNS = tuple(field.name for field in fields(Material))
_NEEDED = ("name", "density")
_TEXTS = ("name", "note")
_SEVERAL = ("shrink", "annealing")
_ANSWERS = {"yes": True, "no": False}


def read_materials(path: Path) -> tuple[Material, ...]:
    """Read materials from a CSV file in UTF-8, in the order of its rows.

    Its columns are fields of `Material`, name and density among them, in any order. What is left
    empty is not known, or as it is by default; shrink and annealing are three numbers with spaces
    between them; “scaled” is yes or no.

    Raises
    ------
    WorkshopError
        If the file cannot be read or a row is wrong; names file and line.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise _fault(path, f"cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise _fault(path, "is not text in UTF-8; save it as CSV in UTF-8") from error
    reader = csv.reader(io.StringIO(text, newline=""), skipinitialspace=True, strict=True)
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if row]
    except csv.Error as error:
        raise _fault(path, f"line {reader.line_num}: not a CSV row ({error})") from error
    header = rows[0][1] if rows else []
    _check_header(path, header)
    found: dict[str, Material] = {}
    for line, cells in rows[1:]:
        material = _material(path, line, header, cells)
        if material.name in found:
            raise _fault(path, f"line {line}: there is a “{material.name}” above it already")
        found[material.name] = material
    return tuple(found.values())


def _check_header(path: Path, header: list[str]) -> None:
    for column in header:
        if column not in _COLUMNS or header.count(column) > 1:
            wrong = "twice" if column in _COLUMNS else "not known"
            raise _fault(
                path,
                f"line 1: column “{column}” is {wrong}; the columns may be {', '.join(_COLUMNS)}",
            )
    missing = [column for column in _NEEDED if column not in header]
    if missing:
        raise _fault(path, f"line 1: column {missing[0]} is missing")


def _material(path: Path, line: int, header: list[str], cells: list[str]) -> Material:
    if len(cells) != len(header):
        raise _fault(path, f"line {line}: give {len(header)} values, one for each column")
    given = dict(zip(header, cells, strict=True))
    if not given["density"]:
        raise _fault(path, f"line {line}: the density is missing")
    values: dict[str, Any] = {"name": given["name"]}
    for column, cell in given.items():
        if not cell:
            continue
        try:
            values[column] = _value(column, cell)
        except ValueError as error:
            raise _fault(path, f"line {line}: “{cell}” in column {column} {error}") from error
    try:
        return Material(**values)
    except WorkshopError as error:
        raise _fault(path, f"line {line}: {str(error).rstrip('.')}") from error


def _value(column: str, cell: str) -> Any:
    """Return what a cell says; a ValueError says what is wrong with it."""
    if column in _TEXTS:
        return cell
    if column == "scaled":
        if cell.casefold() not in _ANSWERS:
            raise ValueError("is neither yes nor no")
        return _ANSWERS[cell.casefold()]
    try:
        if column in _SEVERAL:
            return tuple(float(each) for each in cell.split())
        return float(cell)
    except ValueError:
        what = "is not three numbers" if column in _SEVERAL else "is not a number"
        raise ValueError(what) from None


def _fault(path: Path, what: str) -> WorkshopError:
    return WorkshopError(f"The table of materials {path}, {what}.", subject=str(path))
