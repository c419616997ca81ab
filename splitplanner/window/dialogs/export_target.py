"""What stands in the way of writing into a folder, told before anything is begun."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from splitplanner.errors import ExportError


@dataclass(frozen=True)
class Target:
    """A folder as it is found.

    Attributes
    ----------
    folder : Path
        Absolute.
    existing : Path
        The deepest folder above it, or it, that exists.
    fault : str
        Why nothing can be written there; empty if that can be done.
    is_older_result : bool
        Whether it holds what this program wrote before, and nothing else.
    """

    folder: Path
    existing: Path
    fault: str = ""
    is_older_result: bool = False


def look_at(text: str) -> Target:
    """Look at the folder that a user wrote; ``~`` and paths from his home folder are his own."""
    # Not loaded with the window: it would open a second later.
    from splitplanner.output import refuse_target

    home = Path.home()
    if not text.strip():
        return Target(home, home, "Say where to write: give a folder, or browse for one.")
    try:
        folder = home / Path(text.strip()).expanduser()
        # A null character is only refused here.
        os.path.realpath(folder)
        existing = next(each for each in (folder, *folder.parents) if each.exists())
    except (OSError, ValueError, RuntimeError):
        fault = f"“{text.strip()}” is no folder that could be written; choose another one."
        return Target(home, home, fault)
    try:
        refuse_target(folder, overwrite=True)
    except ExportError as refused:
        return Target(folder, existing, str(refused))
    if not existing.is_dir():
        return Target(folder, home, f"{existing} is a file, not a folder; choose another folder.")
    # A folder is replaced by renaming, so it is its parent that has to take names.
    place = existing if existing != folder else folder.parent
    if not os.access(place, os.W_OK | os.X_OK):
        return Target(folder, existing, f"You may not write into {place}; choose another folder.")
    return Target(folder, existing, is_older_result=_has_something(folder))


def _has_something(folder: Path) -> bool:
    from splitplanner.output import refuse_target

    try:
        refuse_target(folder, overwrite=False)
    except ExportError:
        return True
    return False
