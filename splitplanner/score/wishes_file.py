"""Wishes as a readable TOML file.

Every entry may be left out; lengths are in mm, places in the part's frame::

    pieces = 4                      # this many, no more and no fewer
    equal_pieces = true             # of the same volume, to 10 %
    support_free = false            # every piece prints without support
    longest_seam = 600.0            # length of one seam's outlines
    smallest_piece = 40.0           # from a seam to the piece's other end
    part = ""                       # fingerprint of the part, if faces are named

    [[keep_out]]                    # no seam crosses this box,
    kind = "box"
    low = [0.0, 0.0, 10.0]
    high = [40.0, 20.0, 30.0]

    [[keep_out]]                    # nor this ball,
    kind = "sphere"
    centre = [120.0, 60.0, 0.0]
    radius = 15.0

    [[keep_out]]                    # nor runs over these faces
    kind = "faces"
    faces = [12, 13]

    [[must_cut]]                    # no piece reaches across the plane x = 150
    normal = [1.0, 0.0, 0.0]
    offset = 150.0

    [good_side]                     # seen from the front; or faces = [...]
    directions = [[0.0, -1.0, 0.0]]
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from splitplanner.atomic import write_file
from splitplanner.errors import WishesError
from splitplanner.score.wishes import Wishes
from splitplanner.toml_files import TomlFile


def read_wishes(path: Path) -> Wishes:
    """Read wishes from a TOML file.

    Raises
    ------
    WishesError
        If the file is missing, not TOML, or an entry is unknown or out of range.
    """
    return wishes_from_text(_file(str(path)).text(), str(path))


def wishes_from_text(text: str, name: str = "") -> Wishes:
    """Read wishes from the text of a TOML file; `name` is that of the file, for the messages.

    Raises
    ------
    WishesError
        If it is not TOML, or an entry is unknown or out of range.
    """
    file = _file(name)
    return file.value(Wishes, file.entries(text))


def _file(name: str) -> TomlFile:
    return TomlFile("The file of wishes", name, WishesError)


def wishes_to_text(wishes: Wishes) -> str:
    """Return the text of a TOML file of wishes; what is at its default is left out.

    Numbers are written so that they are read back to the bit.
    """
    record, plain = asdict(wishes), asdict(Wishes())
    changed = {key: value for key, value in record.items() if value != plain[key]}
    single = {key: value for key, value in changed.items() if not _is_table(value)}
    lines = list(_entries(single))
    for key, value in changed.items():
        if isinstance(value, Mapping):
            lines += ["", f"[{key}]", *_entries(value)]
        elif _is_table(value):
            for entry in value:
                lines += ["", f"[[{key}]]", *_entries(entry)]
    return "\n".join(lines).lstrip("\n") + "\n"


def write_wishes(wishes: Wishes, path: Path) -> None:
    """Write a TOML file of wishes, whole or not at all.

    Raises
    ------
    ExportError
        If the file cannot be written.
    """
    write_file(path, wishes_to_text(wishes).encode("utf-8"))


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping) or (
        isinstance(value, tuple) and bool(value) and isinstance(value[0], Mapping)
    )


def _entries(record: Mapping[str, Any]) -> Iterator[str]:
    """Yield one line an entry; lists and numbers of JSON are those of TOML, as are its strings."""
    for key, value in record.items():
        if value not in ((), None):
            yield f"{key} = {json.dumps(value, ensure_ascii=False)}"
