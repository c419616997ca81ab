"""Reads a model file into one closed solid in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from splitplanner.errors import OpenSolidError, ReadError, SolidError
from splitplanner.findings import Finding, Severity
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid.healing import heal
from splitplanner.solid.obj_reading import read_obj, read_off
from splitplanner.solid.ply_reading import read_ply
from splitplanner.solid.raw_mesh import RawMesh
from splitplanner.solid.scene_reading import read_gltf, read_step
from splitplanner.solid.solid import Solid
from splitplanner.solid.stl_reading import read_stl
from splitplanner.solid.three_mf_reading import read_three_mf
from splitplanner.solid.units import MM_PER, doubt_unit, unit_called

_READERS: dict[str, Callable[[Path, Report], RawMesh]] = {
    ".3mf": read_three_mf,
    ".glb": read_gltf,
    ".gltf": read_gltf,
    ".obj": read_obj,
    ".off": read_off,
    ".ply": read_ply,
    ".step": read_step,
    ".stl": read_stl,
    ".stp": read_step,
}

READABLE: tuple[str, ...] = tuple(_READERS)
"""Endings of the files that can be read, lower case, with the dot."""


@dataclass(frozen=True, eq=False)
class ReadPart:
    """A part read from a file.

    Attributes
    ----------
    solid : Solid
        Closed, in mm.
    unit : str
        The unit the file's numbers were taken in: mm, cm, m, inch, foot or micron.
    findings : tuple of Finding
        Assumptions and repairs that were made.
    triangles_read : int
        Triangles in the file, before any repair.
    """

    solid: Solid
    unit: str
    findings: tuple[Finding, ...]
    triangles_read: int


def read_solid(path: Path, unit: str | None = None, report: Report = silent) -> ReadPart:
    """Return the part in a model file, healed and in mm.

    Several objects in one file are read in their places and united. Where the file states no
    unit, mm is taken, with a warning if the size makes another unit likely.

    Parameters
    ----------
    path : Path
        A file with one of the endings in `READABLE`, in upper or lower case.
    unit : str, optional
        The unit to take, whatever the file states: mm, cm, m, inch, foot or micron.

    Raises
    ------
    ReadError
        If the file is missing, empty, of an unknown kind or damaged, or the unit is unknown.
    OpenSolidError
        If the surface cannot be closed.
    """
    path = Path(path)
    wanted = None if unit is None else unit_called(unit)
    reader = _reader_for(path)
    report(0.0, f"reading {path.name}")
    try:
        raw = reader(path, part_of(report, 0.0, 0.4))
    except OSError as fault:
        raise ReadError(
            f"{path.name} could not be read ({fault.strerror or fault}).", subject=path.name
        ) from fault
    raw.check(path.name)
    taken, findings = _unit_of(raw, wanted, path.name)
    try:
        healed = heal(
            raw.vertices * MM_PER[taken], raw.faces, part_of(report, 0.4, 1.0), bodies=raw.bodies
        )
    except OpenSolidError as fault:
        raise OpenSolidError(
            f"{path.name}: {fault}", subject=path.name, findings=fault.findings
        ) from fault
    except SolidError as fault:
        raise ReadError(f"{path.name}: {fault}", subject=path.name) from fault
    found = (*raw.findings, *findings, *healed.findings)
    return ReadPart(healed.solid, taken, found, len(raw.faces))


def _reader_for(path: Path) -> Callable[[Path, Report], RawMesh]:
    if path.is_dir():
        raise ReadError(f"{path.name} is a folder; choose a model file in it.", subject=path.name)
    if not path.exists():
        raise ReadError(f"There is no file {path}; check its name.", subject=path.name)
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        raise ReadError(
            f"{path.name} is of a kind that cannot be read; use one of {', '.join(READABLE)}.",
            subject=path.name,
        )
    if path.stat().st_size == 0:
        raise ReadError(f"{path.name} is empty; write it anew.", subject=path.name)
    return reader


def _unit_of(raw: RawMesh, wanted: str | None, name: str) -> tuple[str, list[Finding]]:
    """Return the unit to take, and what to say about it."""
    if wanted is None and raw.unit is not None:
        return raw.unit, []
    if wanted is None:
        used = raw.vertices[raw.faces.ravel()]
        return "mm", doubt_unit(float(np.ptp(used, axis=0).max()), name)
    if raw.unit is None or raw.unit == wanted:
        return wanted, []
    return wanted, [
        Finding(
            "reading.unit",
            Severity.WARNING,
            f"{name} states {raw.unit} but was read in {wanted}, as asked; the part is "
            f"{MM_PER[wanted] / MM_PER[raw.unit]:.4g} times the size the file states.",
            subject=name,
            measured=MM_PER[wanted],
            allowed=MM_PER[raw.unit],
            unit="mm",
        )
    ]
