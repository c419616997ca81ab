"""The user's own printers, materials and hardware, in a folder of his own.

::

    DIR/printers/my-printer.toml     the fields of `Printer`, as `read_printer` takes them
    DIR/materials/my-petg.toml       the fields of `Material`
    DIR/materials/shelf.csv          the same as columns, one material a row
    DIR/hardware/screws.csv          rows for the hardware tables, as `hardware_shelf` takes them

The files may be written by hand. Whatever stands in one that is wrong is told, and the others are
read all the same.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any, Generic, TypeVar

import platformdirs
import tomli_w

from splitplanner.atomic import export_error, write_file
from splitplanner.errors import WorkshopError
from splitplanner.toml_files import TomlFile
from splitplanner.workshop.material import Material
from splitplanner.workshop.material_table import read_materials
from splitplanner.workshop.printer import Bed, Printer, read_printer
from splitplanner.workshop.shelf import Shelf, shelf_and_faults

Thing = TypeVar("Thing", Printer, Material)

_BEDS = ("180x180x180", "220x220x250", "250x210x210", "300x300x300", "400x400x450", "round 200x300")
"""Sizes in common use, of no maker's in particular."""


def usual_folder() -> Path:
    """Return the folder of the user's own printers, materials and hardware."""
    return platformdirs.user_config_path("splitplanner")


def generic_printers() -> tuple[Printer, ...]:
    """Return printers of common bed sizes with the default figures; each is named by its bed."""
    return tuple(
        Printer(name=str(bed).replace("x", " × ") + " mm", bed=bed)
        for bed in (Bed.parse(text) for text in _BEDS)
    )


@dataclass(frozen=True)
class Kept(Generic[Thing]):
    """What was found in a folder.

    Attributes
    ----------
    things : tuple of Printer or Material
        By name.
    faults : tuple of str
        One sentence for each file that could not be read.
    """

    things: tuple[Thing, ...]
    faults: tuple[str, ...] = ()


def own_printers(folder: Path) -> Kept[Printer]:
    """Return the printers kept in `folder`; see `usual_folder`."""
    return _kept(folder / "printers", _printer)


def own_materials(folder: Path) -> Kept[Material]:
    """Return the materials kept in `folder`; see `usual_folder`.

    Those of tables come after those with a file of their own, which stand for rows of their name:
    so a row that is changed in the program is kept as a file.
    """
    kept = _kept(folder / "materials", read_material)
    own = {material.name for material in kept.things}
    things = {material.name: material for material in kept.things}
    faults = list(kept.faults)
    for path in _tables(folder / "materials"):
        try:
            rows = [each for each in read_materials(path) if each.name not in own]
        except WorkshopError as fault:
            faults.append(str(fault))
            continue
        twice = [each.name for each in rows if each.name in things]
        faults += [f"{path}: there is another one called “{name}” already." for name in twice]
        things |= {each.name: each for each in rows if each.name not in twice}
    return Kept(tuple(things[name] for name in sorted(things, key=_folded)), tuple(faults))


@dataclass(frozen=True)
class KeptShelf:
    """The hardware shelf with what was found in a folder.

    Attributes
    ----------
    shelf : Shelf
        The user's own rows first, without those of files that could not be read.
    faults : tuple of str
        One sentence for each of those files.
    """

    shelf: Shelf
    faults: tuple[str, ...] = ()


def own_shelf(folder: Path) -> KeptShelf:
    """Return the hardware shelf with the tables kept in `folder`; see `usual_folder`."""
    shelf, faults = shelf_and_faults(folder / "hardware")
    return KeptShelf(shelf, tuple(str(fault) for fault in faults))


def keep_printer(folder: Path, printer: Printer, before: str = "") -> Path:
    """Keep a printer of the user's own; return its file.

    Parameters
    ----------
    folder : Path
        See `usual_folder`; made if it is missing.
    printer : Printer
        One of the same name is replaced.
    before : str, optional
        The name it had before; what is kept by that name is replaced too.

    Raises
    ------
    WorkshopError
        If it has no name.
    ExportError
        If the file cannot be written; what was kept before is whole.
    """
    if not printer.name.strip():
        raise WorkshopError("A printer needs a name.")
    return _keep(folder / "printers", printer, before)


def keep_material(folder: Path, material: Material, before: str = "") -> Path:
    """Keep a material of the user's own, as `keep_printer` does a printer.

    Raises
    ------
    ExportError
        If the file cannot be written; what was kept before is whole.
    """
    return _keep(folder / "materials", material, before)


def drop_printer(folder: Path, name: str) -> None:
    """Remove the user's own printer of this name; nothing happens if there is none.

    Raises
    ------
    ExportError
        If its file cannot be removed.
    """
    _drop(folder / "printers", name)


def drop_material(folder: Path, name: str) -> None:
    """Remove the user's own material of this name; nothing happens if there is none.

    Raises
    ------
    ExportError
        If its file cannot be removed.
    WorkshopError
        If it is a row of a table. Where a file stands for the row, the row is left.
    """
    if name in _files(folder / "materials"):
        _drop(folder / "materials", name)
        return
    for path in _tables(folder / "materials"):
        try:
            names = [each.name for each in read_materials(path)]
        except WorkshopError:
            continue
        if name in names:
            raise WorkshopError(f"“{name}” is a row of {path}; remove it there.")


def read_material(path: Path) -> Material:
    """Read a material from a TOML file with the fields of `Material`; by default named as its file.

    Raises
    ------
    WorkshopError
        If the file is missing, not TOML, or a field is missing, unknown or out of range.
    """
    file = TomlFile("The material file", str(path), WorkshopError)
    return file.value(Material, {"name": path.stem, **file.entries(file.text())})


def _printer(path: Path) -> Printer:
    printer = read_printer(path)
    is_named = "name" in tomllib.loads(path.read_text(encoding="utf-8-sig"))
    return printer if is_named else replace(printer, name=path.stem)


def _kept(folder: Path, read: Any) -> Kept[Any]:
    things: dict[str, Any] = {}
    faults = []
    for path in _toml_files(folder):
        try:
            thing = read(path)
            if thing.name in things:
                raise WorkshopError(
                    f"{path}: there is another one called “{thing.name}” already; give it another "
                    "name."
                )
            things[thing.name] = thing
        except WorkshopError as fault:
            faults.append(str(fault))
    return Kept(tuple(things[name] for name in sorted(things, key=_folded)), tuple(faults))


def _keep(folder: Path, thing: Printer | Material, before: str) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise export_error(folder, fault) from fault
    there = _files(folder)
    path = there.get(thing.name) or there.get(before) or _free(folder, thing.name)
    write_file(path, tomli_w.dumps(_record(thing)).encode("utf-8"))
    # Where it took the place of one and the name of another.
    if before in there and there[before] != path:
        _drop(folder, before)
    return path


def _drop(folder: Path, name: str) -> None:
    path = _files(folder).get(name)
    if path is None:
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as fault:
        raise export_error(path, fault) from fault


def _files(folder: Path) -> dict[str, Path]:
    """Return the files in a folder by the names of what they hold."""
    read = _printer if folder.name == "printers" else read_material
    found: dict[str, Path] = {}
    for path in _toml_files(folder):
        try:
            found.setdefault(read(path).name, path)
        except WorkshopError:
            continue
    return found


def _toml_files(folder: Path) -> list[Path]:
    """Return the files in a folder, ``a`` before ``a-2``."""
    return sorted(folder.glob("*.toml"), key=lambda path: path.stem)


def _tables(folder: Path) -> list[Path]:
    """Return the tables in a folder, by their names."""
    return sorted(folder.glob("*.csv"), key=lambda path: path.stem)


def _free(folder: Path, name: str) -> Path:
    """Return a file that is not there yet, called somewhat like `name` on every system."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40] or "unnamed"
    path, number = folder / f"{stem}.toml", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.toml"
    return path


def _record(thing: Printer | Material) -> dict[str, Any]:
    """Return what is written: all fields but the bed's that say nothing."""
    record = {name: value for name, value in asdict(thing).items() if value is not None}
    if isinstance(thing, Printer):
        empty = {field.name for field in fields(Bed) if not getattr(thing.bed, field.name)}
        bed = {name: value for name, value in record.pop("bed").items() if name not in empty}
        # A table comes last in TOML.
        record["bed"] = _listed(bed)
    return record


def _listed(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _listed(each) for name, each in value.items()}
    return [_listed(each) for each in value] if isinstance(value, tuple) else value


def _folded(name: str) -> tuple[str, str]:
    return name.casefold(), name
