"""The whole hardware shelf: built-in tables, the user's own rows before them, and look-ups.

Look-ups take the first entry that fits, so that what the user has himself is chosen first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from splitplanner.errors import WorkshopError
from splitplanner.workshop.entries import nominal_diameter
from splitplanner.workshop.hardware import DowelPin
from splitplanner.workshop.screws import FormingScrew, HexDriver, HexKey, ScrewType
from splitplanner.workshop.sheet_metals import SheetMetal
from splitplanner.workshop.tables import built_in_rows, own_rows
from splitplanner.workshop.threads import Insert, Nut, Thread, Washer

HexTool = TypeVar("HexTool", HexKey, HexDriver)


@dataclass(frozen=True)
class Shelf:
    """All hardware that joints are made of.

    Attributes
    ----------
    dowel_pins : tuple of DowelPin
    threads : tuple of Thread
    screws : tuple of ScrewType
    nuts : tuple of Nut
    washers : tuple of Washer
    inserts : tuple of Insert
    forming_screws : tuple of FormingScrew
    keys : tuple of HexKey
    drivers : tuple of HexDriver
    sheet_metals : tuple of SheetMetal
    """

    dowel_pins: tuple[DowelPin, ...]
    threads: tuple[Thread, ...]
    screws: tuple[ScrewType, ...]
    nuts: tuple[Nut, ...]
    washers: tuple[Washer, ...]
    inserts: tuple[Insert, ...]
    forming_screws: tuple[FormingScrew, ...]
    keys: tuple[HexKey, ...]
    drivers: tuple[HexDriver, ...] = ()
    sheet_metals: tuple[SheetMetal, ...] = ()

    @property
    def sizes(self) -> tuple[str, ...]:
        """Sizes of the threads, the smallest first, such as ``M3``."""
        return _rising(thread.size for thread in self.threads)

    @property
    def screw_standards(self) -> tuple[str, ...]:
        """Standards of the screws, in the order of the tables."""
        return tuple(dict.fromkeys(screw.standard for screw in self.screws))

    def screw_sizes(self, standard: str) -> tuple[str, ...]:
        """Return the sizes in which there are screws of a standard, the smallest first."""
        return _rising(screw.size for screw in self.screws if screw.standard == standard)

    def thread(self, size: str) -> Thread:
        """Return the thread of a size.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        for thread in self.threads:
            if thread.size == size:
                return thread
        raise _not_there(f"thread {size}", self.sizes)

    def screw(self, standard: str, size: str) -> ScrewType:
        """Return the screws of a standard and a size.

        Raises
        ------
        WorkshopError
            If there are none on the shelf; says what is.
        """
        for screw in self.screws:
            if (screw.standard, screw.size) == (standard, size):
                return screw
        if standard not in self.screw_standards:
            raise _not_there(f"screw of {standard}", self.screw_standards)
        raise _not_there(f"{standard} screw of size {size}", self.screw_sizes(standard))

    def nut(self, size: str) -> Nut:
        """Return the nut of a size.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        for nut in self.nuts:
            if nut.size == size:
                return nut
        raise _not_there(f"nut of size {size}", _rising(nut.size for nut in self.nuts))

    def washer(self, size: str, large: bool = False) -> Washer:
        """Return the washer of a size.

        Parameters
        ----------
        size : str
            Of the thread, such as ``M4``.
        large : bool, optional
            Whether it is to be of a series with a large outer diameter.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        series = [washer for washer in self.washers if washer.is_large == large]
        for washer in series:
            if washer.size == size:
                return washer
        raise _not_there(
            f"{'large ' if large else ''}washer of size {size}",
            _rising(washer.size for washer in series),
        )

    def insert(self, size: str) -> Insert:
        """Return the heat-set insert of a size; it may be the built-in example (`is_example`).

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        for insert in self.inserts:
            if insert.size == size:
                return insert
        raise _not_there(
            f"heat-set insert of size {size}", _rising(insert.size for insert in self.inserts)
        )

    def forming_screw(self, which: str | float) -> FormingScrew:
        """Return a thread-forming screw; it may be the built-in example (`is_example`).

        Parameters
        ----------
        which : str or float
            Its name, or its diameter, mm.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        for screw in self.forming_screws:
            if which in (screw.name, screw.diameter):
                return screw
        wanted = f"“{which}”" if isinstance(which, str) else f"of {which:g} mm"
        raise _not_there(
            f"thread-forming screw {wanted}",
            [f"“{screw.name}” of {screw.diameter:g} mm" for screw in self.forming_screws],
        )

    def key(self, across_flats: float) -> HexKey:
        """Return the hexagon key of a width across flats, mm.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        return _across(self.keys, across_flats, "hexagon key")

    def driver(self, across_flats: float) -> HexDriver:
        """Return the straight driver for hexagon sockets of a width across flats, mm.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        return _across(self.drivers, across_flats, "straight driver")

    def sheet_metal(self, name: str) -> SheetMetal:
        """Return the sheet metal of a name.

        Raises
        ------
        WorkshopError
            If it is not on the shelf; says what is.
        """
        for metal in self.sheet_metals:
            if metal.name == name:
                return metal
        raise _not_there(
            f"sheet metal “{name}”", dict.fromkeys(f"“{metal.name}”" for metal in self.sheet_metals)
        )


_KINDS: dict[str, Any] = {
    "dowel_pins": DowelPin,
    "threads": Thread,
    "screws": ScrewType,
    "nuts": Nut,
    "washers": Washer,
    "inserts": Insert,
    "forming_screws": FormingScrew,
    "keys": HexKey,
    "drivers": HexDriver,
    "sheet_metals": SheetMetal,
}
"""The tables by the fields of `Shelf`; the file of each is called as the field."""


def hardware_shelf(folder: Path | None = None) -> Shelf:
    """Return the built-in tables, and before their rows the user's own.

    Parameters
    ----------
    folder : Path, optional
        Holds CSV files with the names and columns of the built-in tables (``threads.csv``,
        ``screws.csv``, ...), as many of them as the user has something of.

    Raises
    ------
    WorkshopError
        If the folder is missing, a file in it cannot be read, is none of the tables or has a wrong
        row; names file and line.
    """
    if folder is None:
        return _built_in()
    if not folder.is_dir():
        raise WorkshopError(f"There is no hardware folder {folder}.", subject=str(folder))
    shelf, faults = shelf_and_faults(folder)
    if faults:
        raise faults[0]
    return shelf


def shelf_and_faults(folder: Path) -> tuple[Shelf, tuple[WorkshopError, ...]]:
    """Return the shelf with all files of the user's own that can be read, and what is wrong.

    Parameters
    ----------
    folder : Path
        As in `hardware_shelf`; it may be missing.

    Returns
    -------
    shelf : Shelf
        Without the rows of files in which something is wrong.
    faults : tuple of WorkshopError
        One for each such file, in the order of their names.
    """
    own: dict[str, tuple[Any, ...]] = {}
    faults = []
    for path in sorted(folder.glob("*.csv")):
        try:
            if path.stem not in _KINDS:
                raise WorkshopError(
                    f"{path} is none of the tables of hardware, which are called "
                    f"{_listed(f'{stem}.csv' for stem in _KINDS)}.",
                    subject=str(path),
                )
            own[path.stem] = own_rows(_KINDS[path.stem], path.name, path)
        except WorkshopError as fault:
            faults.append(fault)
    built_in = _built_in()
    return (
        Shelf(**{field: own.get(field, ()) + getattr(built_in, field) for field in _KINDS}),
        tuple(faults),
    )


@cache
def _built_in() -> Shelf:
    return Shelf(**{field: built_in_rows(kind, f"{field}.csv") for field, kind in _KINDS.items()})


def _rising(sizes: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted({*sizes}, key=lambda size: (nominal_diameter("Thread", size), size)))


def _across(tools: tuple[HexTool, ...], across_flats: float, what: str) -> HexTool:
    """Return the first tool of a width across flats, mm."""
    for tool in tools:
        if math.isclose(tool.across_flats, across_flats, abs_tol=1e-9):
            return tool
    sizes = sorted({tool.across_flats for tool in tools})
    raise _not_there(f"{what} of {across_flats:g} mm", [f"{size:g} mm" for size in sizes])


def _not_there(what: str, instead: Iterable[str]) -> WorkshopError:
    return WorkshopError(
        f"There is no {what} on the hardware shelf, which has {_listed(instead) or 'none at all'}."
    )


def _listed(names: Iterable[str]) -> str:
    *others, last = [*names] or [""]
    return f"{', '.join(others)} and {last}" if others else last
