"""Braces as they are wanted, as a readable TOML file.

One table a brace; offset, low and high are in the part's own frame, mm::

    [braces.left]
    along = [1, 0, 0]               # way of the brace
    towards = [0, 0, -1]            # from the part to the brace, square to it
    offset = 60.0                   # of the middle of the sheet, along the cross product of both
    low = -163.0                    # from here ...
    high = 199.0                    # ... to here, along its way
    depth = 20.0                    # of the strip
    stock = 4.0                     # thickness of the sheet

What else there is may be left out; then it is as here::

    clearance = 0.2                 # between the brace and what it seats on
    bridged = 30.0                  # hollows narrower than twice this are passed over
    land_margin = 1.0               # lands are so much wider than the sheet, on each side
    deepest = 15.0                  # greatest height of lands
    root = 0.5                      # so far lands and bosses are sunk into the wall
    cutter = 6.0                    # diameter of the tool that cuts the outline
    spacing = 80.0                  # greatest distance between bolts of a piece
    is_printed = false              # printed flat instead of cut from sheet metal
    metal = "aluminium"             # by its name on the shelf
    hold = "nut"                    # or "insert", "plastic": what the threads of its bolts go into
    screw_standard = "ISO 4762"     # which gives the form of the head
    screw_size = "M4"
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import tomli_w

from splitplanner.atomic import write_file
from splitplanner.errors import PlanFileError
from splitplanner.plan.brace import BraceWish
from splitplanner.toml_files import TomlFile

BRACES = "braces"
"""The table of the tables of braces."""
_REMARKS = {
    "along": "way of the brace",
    "towards": "from the part to the brace, square to its way",
    "offset": "mm, of the middle of the sheet along the cross product of both",
    "low": "mm along its way, where it begins",
    "high": "mm along its way, where it ends",
    "depth": "mm, of the strip",
    "stock": "mm, thickness of the sheet",
    "clearance": "mm, between the brace and what it seats on",
    "bridged": "mm; hollows narrower than twice this are passed over",
    "land_margin": "mm; lands are so much wider than the sheet, on each side",
    "deepest": "mm, greatest height of lands",
    "root": "mm; so far lands and bosses are sunk into the wall",
    "cutter": "mm, diameter of the tool that cuts the outline",
    "spacing": "mm, greatest distance between bolts of a piece",
    "is_printed": "printed flat instead of cut from sheet metal",
    "metal": "by its name on the shelf",
    "hold": "nut, insert or plastic: what the threads of its bolts go into",
    "screw_standard": "which gives the form of the head",
    "screw_size": "such as M4",
}
"""What is written beside each entry."""


def read_braces(path: Path) -> tuple[BraceWish, ...]:
    """Read braces from a TOML file, in its order.

    Raises
    ------
    PlanFileError
        If the file is missing, not TOML, holds no brace, or an entry is missing, unknown or out of
        range.
    """
    file = _file(str(path))
    return _braces(file, file.text())


def braces_from_text(text: str, name: str = "") -> tuple[BraceWish, ...]:
    """Read the text of a TOML file; `name` is that of the file, for the messages.

    Raises
    ------
    PlanFileError
        As `read_braces`.
    """
    return _braces(_file(name), text)


def braces_to_text(braces: Sequence[BraceWish]) -> str:
    """Return the text of a TOML file with every entry, and beside it what it may be.

    Numbers are written so that they are read back to the bit.
    """
    lines: list[str] = []
    for brace in braces:
        heading = tomli_w.dumps({BRACES: {brace.name: {}}}).strip()
        lines += [*([""] if lines else []), heading, *_lines(brace)]
    return "".join(f"{line}\n" for line in lines)


def write_braces(braces: Sequence[BraceWish], path: Path) -> None:
    """Write braces to a TOML file, whole or not at all.

    Raises
    ------
    ExportError
        If the file cannot be written.
    """
    write_file(path, braces_to_text(braces).encode("utf-8"))


def _file(name: str) -> TomlFile:
    return TomlFile("The brace file", name, PlanFileError)


def _braces(file: TomlFile, text: str) -> tuple[BraceWish, ...]:
    entries = file.entries(text)
    tables = entries.pop(BRACES, {})
    if entries:
        first = next(iter(entries))
        raise file.fault(
            f"has a wrong entry “{first}”: each brace is a table of its own, such as "
            f"[{BRACES}.left]."
        )
    if not isinstance(tables, Mapping) or not tables:
        raise file.fault(f"holds no brace: each is a table of its own, such as [{BRACES}.left].")
    return tuple(_brace(file, name, table) for name, table in tables.items())


def _brace(file: TomlFile, name: str, table: Any) -> BraceWish:
    place = f"{BRACES}.{name}"
    if not name.strip():
        raise file.fault(f"has a wrong entry “{BRACES}”: there is a brace without a name.")
    if not isinstance(table, Mapping):
        raise file.fault(
            f"has a wrong entry “{place}”: a brace is a table of its own, such as [{BRACES}.left]."
        )
    if "name" in table:
        raise file.fault(f"has a wrong entry “{place}.name”: a brace is called as its table.")
    return file.value(BraceWish, {**table, "name": name}, place)


def _lines(brace: BraceWish) -> Iterator[str]:
    """Yield one line an entry."""
    for name, value in asdict(brace).items():
        if name == "name":
            continue
        plain = list(value) if isinstance(value, tuple) else value
        # A list of numbers goes on one line.
        written = (
            f"{name} = [{', '.join(repr(float(each) + 0.0) for each in plain)}]"
            if isinstance(plain, list)
            else tomli_w.dumps({name: plain}).strip()
        )
        yield f"{written:32}  # {_REMARKS[name]}"
