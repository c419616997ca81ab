"""Which models of a folder are planned, and the name of each one's result folder."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from splitplanner.errors import ReadError
from splitplanner.solid import READABLE

TABLES = ("batch.csv", "batch.json")
"""The two files that stand beside the result folders."""
MARKS = ".batch"
"""Folder in which the batch notes what it has done."""


def models_in(folder: Path) -> tuple[Path, ...]:
    """Return the model files that lie in `folder` itself, by name.

    Hidden files and those of other kinds are passed over.

    Raises
    ------
    ReadError
        If there is no such folder, it cannot be read, or no model is in it.
    """
    try:
        entries = list(folder.iterdir())
    except OSError as fault:
        raise ReadError(
            f"The folder {folder} cannot be read ({(fault.strerror or str(fault)).lower()}); give "
            "the folder that holds the models.",
            subject=str(folder),
        ) from fault
    found = [
        entry
        for entry in entries
        if entry.suffix.lower() in READABLE
        and not entry.name.startswith(".")
        and not entry.is_dir()
    ]
    if not found:
        raise ReadError(
            f"There is no model in {folder}; put files of the kinds {', '.join(READABLE)} there.",
            subject=str(folder),
        )
    return tuple(sorted(found, key=lambda path: (_key(path.name), path.name)))


def folder_names(models: Sequence[Path]) -> tuple[str, ...]:
    """Return a name for the result folder of every model; no two are the same on any system.

    It is the model's name without its ending; where that would be the name of several, all of
    them keep their ending (``bracket-stl`` and ``bracket-obj``), and are numbered if need be.
    """
    stems = [_stem(model) for model in models]
    count = Counter(_key(stem) for stem in stems)
    used = {_key(name) for name in (*TABLES, MARKS)}
    names = []
    for model, stem in zip(models, stems, strict=True):
        alone = count[_key(stem)] == 1 and _key(stem) not in used
        wanted = name = stem if alone else f"{stem}-{model.suffix[1:]}"
        number = 1
        # A name that another model has without being numbered is not taken from it.
        while _key(name) in used or (name != stem and _key(name) in count):
            number += 1
            name = f"{wanted}-{number}"
        used.add(_key(name))
        names.append(name)
    return tuple(names)


def shown_name(model: Path) -> str:
    """Return the file's name as text, also where it is none."""
    return model.name.encode("utf-8", "backslashreplace").decode("utf-8")


def _stem(model: Path) -> str:
    # A folder whose name ends in a dot or space cannot be made on every system.
    return model.stem.rstrip(". ") or "model"


def _key(name: str) -> str:
    """Return what is the same for names that some file system takes for one."""
    return unicodedata.normalize("NFC", name).casefold()
