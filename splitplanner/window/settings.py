"""What the window remembers from one start to the next."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Literal, get_args

import platformdirs
from PySide6.QtCore import QByteArray, QSettings

from splitplanner.window.quantities import LengthUnit

LookChoice = Literal["system", "light", "dark"]
MOST_RECENT = 10
"""So many files are remembered."""


def usual_file() -> Path:
    """Return the user's own file of settings."""
    return platformdirs.user_config_path("splitplanner") / "window.ini"


class Settings:
    """The settings in one file; what is damaged or missing in it is as at the first start.

    Attributes
    ----------
    file : Path
    """

    def __init__(self, file: Path) -> None:
        self.file = file
        self._store = QSettings(str(file), QSettings.Format.IniFormat)
        # Two programs that run at once each keep what they changed.
        self._store.setAtomicSyncRequired(True)

    def sync(self) -> bool:
        """Write what was changed; False if that cannot be done."""
        self._store.sync()
        return self._store.status() == QSettings.Status.NoError

    # -- files --------------------------------------------------------------------------------
    @property
    def recent_files(self) -> tuple[Path, ...]:
        """Files opened before, the latest first; those that are gone are left out."""
        return tuple(path for path in self._recent() if path.is_file())

    def add_recent(self, file: Path) -> None:
        """Put a file first among the recent ones; its folder is the last one."""
        whole = Path(os.path.abspath(file))
        # What is missing now may be on a disk that is plugged in later, but makes room first.
        others = [path for path in self._recent() if path != whole]
        others.sort(key=lambda path: not path.is_file())
        self._write("files/recent", [str(path) for path in (whole, *others)][:MOST_RECENT])
        self.last_folder = whole.parent

    def forget_recent(self) -> None:
        """Forget all recent files."""
        self._store.remove("files/recent")

    def _recent(self) -> list[Path]:
        found = self._read("files/recent", [])
        if not isinstance(found, list):
            return []
        return [Path(each) for each in found if isinstance(each, str) and each][:MOST_RECENT]

    @property
    def last_folder(self) -> Path:
        """The folder that files were last opened from; the user's home at first."""
        return self._folder("files/last_folder")

    @last_folder.setter
    def last_folder(self, folder: Path) -> None:
        self._write("files/last_folder", str(folder))

    @property
    def export_folder(self) -> Path:
        """The folder in which results were last written; the user's home at first."""
        return self._folder("files/export_folder")

    @export_folder.setter
    def export_folder(self, folder: Path) -> None:
        self._write("files/export_folder", str(folder))

    def _folder(self, name: str) -> Path:
        text = self._read(name, "")
        if isinstance(text, str) and text and Path(text).is_dir():
            return Path(text)
        return Path.home()

    # -- the window ---------------------------------------------------------------------------
    @property
    def geometry(self) -> QByteArray:
        """What `QWidget.restoreGeometry` takes; empty at first."""
        return self._bytes("window/geometry")

    @geometry.setter
    def geometry(self, geometry: QByteArray) -> None:
        self._store.setValue("window/geometry", geometry)

    @property
    def layout(self) -> QByteArray:
        """What `QMainWindow.restoreState` takes; empty at first."""
        return self._bytes("window/layout")

    @layout.setter
    def layout(self, layout: QByteArray) -> None:
        self._store.setValue("window/layout", layout)

    @property
    def unit(self) -> LengthUnit:
        """The unit in which lengths are shown."""
        return "inch" if self._read("window/unit", "mm") == "inch" else "mm"

    @unit.setter
    def unit(self, unit: LengthUnit) -> None:
        self._write("window/unit", unit)

    @property
    def look(self) -> LookChoice:
        """Light, dark, or as the system is."""
        found = self._read("window/look", "system")
        return next((each for each in get_args(LookChoice) if each == found), "system")

    @look.setter
    def look(self, look: LookChoice) -> None:
        self._write("window/look", look)

    # -- the workshop -------------------------------------------------------------------------
    @property
    def printer(self) -> str:
        """Name of the chosen printer; empty at first."""
        return self._name("workshop/printer")

    @printer.setter
    def printer(self, name: str) -> None:
        self._write("workshop/printer", name)

    @property
    def material(self) -> str:
        """Name of the chosen material; empty at first."""
        return self._name("workshop/material")

    @material.setter
    def material(self, name: str) -> None:
        self._write("workshop/material", name)

    def spool_left(self, material: str) -> float | None:
        """Return what is left on the started spool of a material, g; None if it is not known."""
        found = self._spools().get(material)
        if not isinstance(found, int | float) or isinstance(found, bool):
            return None
        return float(found) if math.isfinite(found) and found >= 0 else None

    def set_spool_left(self, material: str, left: float | None) -> None:
        """Keep what is left on the started spool of a material."""
        spools = {name: kept for name, kept in self._spools().items() if name != material}
        self._write("workshop/spools", spools if left is None else {**spools, material: left})

    def _spools(self) -> dict[str, Any]:
        found = self._read("workshop/spools", {})
        return found if isinstance(found, dict) else {}

    def _name(self, key: str) -> str:
        found = self._read(key, "")
        return found if isinstance(found, str) else ""

    # -- the score ----------------------------------------------------------------------------
    def weights(self, known: Iterable[str]) -> dict[str, float]:
        """Return the weights that the user gave to some of the `known` criteria."""
        found = self._read("score/weights", {})
        if not isinstance(found, dict):
            return {}
        return {
            name: float(found[name])
            for name in known
            if isinstance(found.get(name), int | float)
            and not isinstance(found[name], bool)
            and math.isfinite(found[name])
            and found[name] >= 0
        }

    def set_weights(self, weights: Mapping[str, float]) -> None:
        """Keep the weights that the user gave; those of criteria not named are forgotten."""
        self._write("score/weights", dict(weights))

    # -- text in the file ---------------------------------------------------------------------
    def _write(self, key: str, value: Any) -> None:
        # As JSON: an INI file has no lists, and cannot tell "12" from 12.
        self._store.setValue(key, json.dumps(value))

    def _read(self, key: str, default: Any) -> Any:
        text = self._store.value(key)
        if not isinstance(text, str):
            return default
        try:
            return json.loads(text)
        except (ValueError, RecursionError):
            return default

    def _bytes(self, key: str) -> QByteArray:
        found = self._store.value(key)
        return found if isinstance(found, QByteArray) else QByteArray()
