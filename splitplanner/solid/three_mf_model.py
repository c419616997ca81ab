"""Parses one model part of a 3MF package (3MF Core Specification 1.4.0, chapters 3 and 4)."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import IO
from xml.parsers import expat

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.progress import Report, silent
from splitplanner.solid.units import unit_called

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
# Extensions that leave the shape of a mesh as it is.
_HARMLESS = (
    CORE,
    PRODUCTION,
    "http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    "http://schemas.microsoft.com/3dmanufacturing/slice/2015/07",
    "http://schemas.3mf.io/3dmanufacturing/triangles/2023/07",
    "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07",
)
_VERTEX = f"{CORE} vertex"
_TRIANGLE = f"{CORE} triangle"
_BLOCK = 1 << 20
_MOST_BYTES = 1 << 32

Key = tuple[str, str]
"""Name of a model part, and id of an object in it."""


@dataclass
class ModelObject:
    """One object of a model part, in the part's own unit.

    Attributes
    ----------
    kind : str
        ``model``, ``support``, ``solidsupport``, ``surface`` or ``other``.
    vertices : flat list of float, x y z in turn
    triangles : flat list of int, three a triangle
    components : list of (Key, (3, 4) matrix)
        Objects it is made of, with their places in it.
    """

    kind: str
    name: str
    vertices: list[float] = field(default_factory=list)
    triangles: list[int] = field(default_factory=list)
    components: list[tuple[Key, Floats]] = field(default_factory=list)

    def mesh(self) -> tuple[Floats, Ints]:
        """Return vertices (n, 3) and faces (m, 3)."""
        points = np.array(self.vertices, dtype=np.float64).reshape(-1, 3)
        return points, np.array(self.triangles, dtype=np.int64).reshape(-1, 3)


@dataclass
class Model:
    """What one model part holds.

    Attributes
    ----------
    unit : str
        Key of `units.MM_PER`.
    objects : dict of id to ModelObject
    items : list of (Key, (3, 4) matrix)
        The build items.
    """

    unit: str = "mm"
    objects: dict[str, ModelObject] = field(default_factory=dict)
    items: list[tuple[Key, Floats]] = field(default_factory=list)


def parse_model(stream: IO[bytes], part: str, size: int, report: Report = silent) -> Model:
    """Return what a model part says.

    Parameters
    ----------
    stream : readable binary file
    part : str
        Name of the model part in the package.
    size : int
        Its length in bytes, for the report.

    Raises
    ------
    ReadError
        If it is damaged, has a document type declaration, or needs an unknown extension.
    """
    if size > _MOST_BYTES:
        raise ReadError(f"{part} is larger than 4 GiB; write the part with fewer triangles.")
    reader = _Reader(part)
    done = 0
    try:
        while block := stream.read(_BLOCK):
            done += len(block)
            report(min(done / max(size, 1), 1.0), "reading triangles")
            reader.feed(block)
        reader.feed(b"", last=True)
    except expat.ExpatError as fault:
        raise ReadError(
            f"{part} is damaged in line {fault.lineno} ({expat.ErrorString(fault.code)})."
        ) from fault
    except KeyError as fault:
        raise ReadError(
            f"{part} is damaged in line {reader.line}: {fault.args[0]} is missing."
        ) from fault
    except ValueError as fault:
        raise ReadError(f"{part} is damaged in line {reader.line}: {fault}.") from fault
    return reader.model


class _Reader:
    """Collects objects and items while the parser goes through the text."""

    def __init__(self, part: str) -> None:
        self.model = Model()
        self._part = part
        self._object = ModelObject("model", "")
        self._spaces: dict[str, str] = {}
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._first
        self._parser.StartNamespaceDeclHandler = self._declare
        # No document type, hence no entities: 3MF forbids it (2.3.2) and it can be abused.
        self._parser.StartDoctypeDeclHandler = self._refuse_doctype

    @property
    def line(self) -> int:
        """The line the parser is in."""
        return self._parser.CurrentLineNumber

    def feed(self, block: bytes, last: bool = False) -> None:
        self._parser.Parse(block, last)

    def _declare(self, prefix: str | None, space: str) -> None:
        self._spaces[prefix or ""] = space

    def _refuse_doctype(self, *_: object) -> None:
        raise ReadError(
            f"{self._part} has a document type declaration, which 3MF forbids; it was not read."
        )

    def _first(self, tag: str, attributes: dict[str, str]) -> None:
        if tag != f"{CORE} model":
            raise ValueError("it does not begin with a model in the 3MF namespace")
        self._parser.StartElementHandler = self._start
        self._model(attributes)

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        # The two frequent elements first: there may be millions.
        if tag == _VERTEX:
            self._object.vertices += (
                float(attributes["x"]),
                float(attributes["y"]),
                float(attributes["z"]),
            )
        elif tag == _TRIANGLE:
            self._object.triangles += (
                int(attributes["v1"]),
                int(attributes["v2"]),
                int(attributes["v3"]),
            )
        elif tag.startswith(f"{CORE} "):
            handler = _HANDLERS.get(tag[len(CORE) + 1 :])
            if handler:
                handler(self, attributes)

    def _model(self, attributes: dict[str, str]) -> None:
        self.model.unit = unit_called(attributes.get("unit", "millimeter"))
        for prefix in attributes.get("requiredextensions", "").split():
            space = self._spaces.get(prefix, prefix)
            if space not in _HARMLESS:
                raise ReadError(
                    f"{self._part} needs the 3MF extension {space}, which is not understood here; "
                    "write the part as plain triangles."
                )

    def _new_object(self, attributes: dict[str, str]) -> None:
        self._object = ModelObject(attributes.get("type", "model"), attributes.get("name", ""))
        self.model.objects[attributes["id"]] = self._object

    def _component(self, attributes: dict[str, str]) -> None:
        self._object.components.append((self._key(attributes), _matrix(attributes)))

    def _item(self, attributes: dict[str, str]) -> None:
        self.model.items.append((self._key(attributes), _matrix(attributes)))

    def _key(self, attributes: dict[str, str]) -> Key:
        # The production extension lets an object stand in another model part of the package.
        part = attributes.get(f"{PRODUCTION} path", self._part)
        return part.lstrip("/"), attributes["objectid"]


_HANDLERS = {
    "object": _Reader._new_object,
    "component": _Reader._component,
    "item": _Reader._item,
}


def _matrix(attributes: dict[str, str]) -> Floats:
    """Return the transform as a (3, 4) matrix on column vectors.

    The file holds it for row vectors: 12 numbers, three to a row, translation last (3.3).
    """
    text = attributes.get("transform")
    if text is None:
        return np.eye(3, 4)
    numbers = re.split(r"[\s,]+", text.strip())
    if len(numbers) != 12:
        raise ValueError(f"a transform has {len(numbers)} numbers instead of 12")
    matrix: Floats = np.array(numbers, dtype=np.float64).reshape(4, 3).T
    if not np.isfinite(matrix).all() or np.linalg.det(matrix[:, :3]) == 0.0:
        raise ValueError("a transform flattens its object")
    return matrix
