"""Reads 3MF packages (3MF Core Specification 1.4.0), every object in its place."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from xml.parsers import expat

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid.raw_mesh import RawMesh
from splitplanner.solid.three_mf_model import Key, Model, ModelObject, parse_model
from splitplanner.solid.units import MM_PER

_START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_DEEPEST = 64
"""Components nested deeper than this are taken for a ring."""


def read_three_mf(path: Path, report: Report = silent) -> RawMesh:
    """Return the objects on the build of a 3MF file, moved to their places, in the file's unit.

    Only objects of type ``model`` are read; support, surface and other objects are passed over
    with a finding. A file without build items is read whole, with a warning.

    Raises
    ------
    ReadError
        If the package or its model part is damaged or not of this format.
    """
    try:
        with zipfile.ZipFile(path) as package:
            reader = _Package(package, report)
            return reader.read(path.name)
    except ReadError as fault:
        # Model parts know only their own names.
        message = str(fault)
        named = message if path.name in message else f"{path.name}: {message}"
        raise ReadError(named, subject=path.name) from fault
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as fault:
        raise ReadError(
            f"{path.name} is no whole 3MF file ({fault}); write it anew.", subject=path.name
        ) from fault


class _Package:
    def __init__(self, package: zipfile.ZipFile, report: Report) -> None:
        self._package = package
        self._report = report
        # Part names are compared without regard to case (Open Packaging Conventions, 9.1.1).
        self._names = {name.lstrip("/").lower(): name for name in package.namelist()}
        self._models: dict[str, Model] = {}
        self._root = self._start_part()
        self._skipped: dict[str, int] = {}

    def read(self, name: str) -> RawMesh:
        root = self._model(self._root)
        items, findings = root.items, []
        if not items:
            items = self._loose_objects(root)
            findings.append(
                Finding(
                    "reading.no_build",
                    Severity.WARNING,
                    f"{name} puts no object on the build; read all it holds, "
                    f"{counted(len(items), 'object')}.",
                    subject=name,
                    measured=float(len(items)),
                    unit="1",
                )
            )
        objects = [mesh for key, matrix in items for mesh in self._placed(key, matrix, root.unit)]
        for kind, count in sorted(self._skipped.items()):
            findings.append(
                Finding(
                    "reading.skipped",
                    Severity.WARNING,
                    f"Passed over {counted(count, 'object')} of type {kind} in {name}, which is "
                    "no part of the model.",
                    subject=name,
                    measured=float(count),
                    unit="1",
                )
            )
        return RawMesh.of_objects(objects, root.unit, findings)

    def _start_part(self) -> str:
        """Return the name of the model part that the package's relationships point to."""
        name = self._names.get("_rels/.rels")
        if name is None:
            raise ReadError("the package has no relationships, so it is no 3MF file.")
        for target, kind in _relationships(self._package.read(name)):
            if kind == _START_PART:
                return str(PurePosixPath(target.lstrip("/")))
        raise ReadError("the package names no model part, so it is no 3MF file.")

    def _model(self, part: str) -> Model:
        key = part.lower()
        if key not in self._models:
            name = self._names.get(key)
            if name is None:
                raise ReadError(f"the package lacks the model part {part} that it names.")
            size = self._package.getinfo(name).file_size
            with self._package.open(name) as stream:
                self._models[key] = parse_model(stream, part, size, part_of(self._report, 0.0, 0.9))
        return self._models[key]

    def _object(self, key: Key) -> ModelObject:
        part, identity = key
        try:
            return self._model(part).objects[identity]
        except KeyError:
            raise ReadError(f"{part} has no object {identity}, which it uses.") from None

    def _loose_objects(self, root: Model) -> list[tuple[Key, Floats]]:
        """Return the objects that are no component of another."""
        used = {key for thing in root.objects.values() for key, _ in thing.components}
        keys = [(self._root, identity) for identity in root.objects]
        return [(key, np.eye(3, 4)) for key in keys if key not in used]

    def _placed(
        self, key: Key, matrix: Floats, unit: str, depth: int = 0
    ) -> Iterator[tuple[Floats, Ints]]:
        """Yield the meshes of an object and of its components, moved by `matrix`, in `unit`."""
        if depth > _DEEPEST:
            raise ReadError(f"object {key[1]} of {key[0]} is made of itself.")
        thing = self._object(key)
        if thing.kind != "model":
            self._skipped[thing.kind] = self._skipped.get(thing.kind, 0) + 1
            return
        own = self._model(key[0]).unit
        scaled = np.array(matrix)
        scaled[:, :3] *= MM_PER[own] / MM_PER[unit]
        if thing.triangles:
            vertices, faces = thing.mesh()
            mirrored = float(np.linalg.det(matrix[:, :3])) < 0
            yield vertices @ scaled[:, :3].T + scaled[:, 3], faces[:, ::-1] if mirrored else faces
        for inner, inner_matrix in thing.components:
            placed = scaled @ np.vstack([inner_matrix, [0.0, 0.0, 0.0, 1.0]])
            yield from self._placed(inner, placed, own, depth + 1)


def _relationships(text: bytes) -> list[tuple[str, str]]:
    """Return target and type of every relationship."""
    found: list[tuple[str, str]] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        if tag.endswith("Relationship"):
            found.append((attributes.get("Target", ""), attributes.get("Type", "")))

    def refuse(*_: object) -> None:
        raise ReadError("its relationships have a document type declaration, which 3MF forbids.")

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    parser.StartDoctypeDeclHandler = refuse
    try:
        parser.Parse(text, True)
    except expat.ExpatError as fault:
        raise ReadError(f"its relationships are damaged in line {fault.lineno}.") from fault
    return found
