"""Entries of a printer's file that are set by the program, the rest of the file left as it is."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from splitplanner.atomic import write_file
from splitplanner.errors import WorkshopError
from splitplanner.toml_files import TomlFile


def set_entries(path: Path, entries: Mapping[str, float]) -> None:
    """Set numbers in a printer's file; comments and all other entries stay as they are.

    Parameters
    ----------
    path : Path
        Read before by `read_printer`.
    entries : mapping of field of `Printer` to number

    Raises
    ------
    WorkshopError
        If the file cannot be read, or an entry stands in it in a way that cannot be set alone.
    ExportError
        If it cannot be written; it is as it was then.
    """
    file = TomlFile("The printer file", str(path), WorkshopError)
    text = file.text()
    wanted = {**file.entries(text), **entries}
    for name, value in entries.items():
        text = _with_entry(text, name, value)
    if _parsed(text) != wanted:
        names = " and ".join(f"{name} = {value!r}" for name, value in entries.items())
        raise file.fault(f"has entries that cannot be set by themselves; write {names} into it.")
    write_file(path, text.encode("utf-8"))


def _with_entry(text: str, name: str, value: float) -> str:
    """Return a TOML text with an entry of its topmost table set to a number."""
    lines = text.splitlines(keepends=True)
    tables = [at for at, line in enumerate(lines) if line.lstrip().startswith("[")]
    end = tables[0] if tables else len(lines)
    pattern = re.compile(rf"""(\s*["']?{name}["']?\s*=\s*)[^\s#]+(.*)""", re.DOTALL)
    for at, line in enumerate(lines[:end]):
        if found := pattern.fullmatch(line):
            lines[at] = f"{found[1]}{value!r}{found[2]}"
            return "".join(lines)
    while end and not lines[end - 1].strip():
        end -= 1
    if end and not lines[end - 1].endswith("\n"):
        lines[end - 1] += "\n"
    lines.insert(end, f"{name} = {value!r}\n")
    return "".join(lines)


def _parsed(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None
