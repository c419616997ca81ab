"""Tables of hardware: CSV files with one row for each thing, built in and of the user's own.

One reader for all kinds. The columns of a table are the fields of the dataclass that its rows
become: text as it stands, numbers, ``yes`` or ``no``, and several numbers separated by spaces.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any, Protocol, TypeVar, get_type_hints

from splitplanner.errors import WorkshopError


class Row(Protocol):
    """A dataclass whose fields are the columns of a table."""

    @property
    def source(self) -> str:
        """Where the values are from, and whether from memory."""


AnyRow = TypeVar("AnyRow", bound=Row)


def built_in_rows(kind: type[AnyRow], file: str) -> tuple[AnyRow, ...]:
    """Return the rows of a built-in table, in their order.

    Parameters
    ----------
    kind : type
        The dataclass that each row becomes.
    file : str
        Name of the table, such as ``threads.csv``.
    """
    text = _built_in_text(file)
    return _rows(kind, text, file, _header(text))


def own_rows(kind: type[AnyRow], file: str, path: Path) -> tuple[AnyRow, ...]:
    """Return the rows of a table of the user's own, with the columns of the built-in one.

    Parameters
    ----------
    kind : type
        The dataclass that each row becomes.
    file : str
        Name of the built-in table.
    path : Path
        The user's CSV file, UTF-8. The order of its columns is free; a row that says nothing of its
        source gets file and line for it.

    Raises
    ------
    WorkshopError
        If the file cannot be read or a row is wrong; names file and line.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise WorkshopError(
            f"The hardware file {path} cannot be read: {error.strerror}.", subject=str(path)
        ) from error
    except UnicodeDecodeError as error:
        raise WorkshopError(
            f"The hardware file {path} is not text in UTF-8; save it as CSV in UTF-8.",
            subject=str(path),
        ) from error
    return _rows(kind, text, str(path), _header(_built_in_text(file)))


def _built_in_text(file: str) -> str:
    return (resources.files("splitplanner.workshop") / "data" / file).read_text(encoding="utf-8")


def _header(text: str) -> list[str]:
    return text.split("\n", 1)[0].strip().split(",")


def _rows(kind: type[AnyRow], text: str, name: str, columns: list[str]) -> tuple[AnyRow, ...]:
    hints = get_type_hints(kind)
    reader = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True, strict=True)
    try:
        header = [column.strip() for column in reader.fieldnames or ()]
        missing = [column for column in columns if column not in header]
        if missing:
            raise WorkshopError(
                f"{name}, line 1: column {missing[0]} is missing; the columns, separated by "
                f"commas, are {', '.join(columns)}.",
                subject=name,
            )
        reader.fieldnames = header
        return tuple(
            _row(kind, {column: hints[column] for column in columns}, row, name, reader.line_num)
            for row in reader
        )
    except csv.Error as error:
        # The outer reader counts a line only when it is read to its end.
        raise WorkshopError(
            f"{name}, line {reader.reader.line_num}: not a CSV row ({error}).", subject=name
        ) from error


def _row(
    kind: type[AnyRow],
    types: dict[str, Any],
    row: dict[str, str | None],
    name: str,
    line: int,
) -> AnyRow:
    if None in row or None in row.values():
        count = len([column for column in row if column is not None])
        raise WorkshopError(
            f"{name}, line {line}: give {count} values, one for each column.", subject=name
        )
    cells = {column: (row[column] or "").strip() for column in types}
    cells["source"] = cells["source"] or f"{name}, line {line}"
    try:
        return kind(
            **{column: _READ[each](cells[column], column) for column, each in types.items()}
        )
    except WorkshopError as error:
        raise WorkshopError(f"{name}, line {line}: {error}", subject=name) from error


def _text(cell: str, column: str) -> str:
    return cell


def _number(cell: str, column: str) -> float:
    try:
        return float(cell)
    except ValueError as error:
        raise WorkshopError(f"“{cell}” in column {column} is not a number.") from error


def _numbers(cell: str, column: str) -> tuple[float, ...]:
    return tuple(_number(each, column) for each in cell.split())


def _yes(cell: str, column: str) -> bool:
    answer = {"yes": True, "no": False}.get(cell.casefold())
    if answer is None:
        raise WorkshopError(f"“{cell}” in column {column} is neither yes nor no.")
    return answer


_READ: dict[Any, Callable[[str, str], Any]] = {
    str: _text,
    float: _number,
    tuple[float, ...]: _numbers,
    bool: _yes,
}
