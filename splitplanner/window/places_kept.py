"""Where the window keeps what is the user's: settings, his workshop, autosaved plans."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from splitplanner.window import autosave, settings
from splitplanner.workshop import own


@dataclass(frozen=True)
class PlacesKept:
    """Files and folders of the user.

    Attributes
    ----------
    settings : Path
        A file.
    workshop : Path
        Folder of his own printers, materials and hardware.
    autosave : Path
        Folder of plans that are saved by themselves.
    """

    settings: Path
    workshop: Path
    autosave: Path

    @staticmethod
    def usual() -> PlacesKept:
        """Return where they are for the user who runs the program."""
        return PlacesKept(settings.usual_file(), own.usual_folder(), autosave.usual_folder())

    @staticmethod
    def inside(folder: Path) -> PlacesKept:
        """Return places inside one folder."""
        return PlacesKept(folder / "window.ini", folder, folder / "autosave")
