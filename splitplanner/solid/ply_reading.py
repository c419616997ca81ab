"""Reads PLY files, text and binary."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.progress import Report, silent
from splitplanner.solid.polygon_faces import triangles_of
from splitplanner.solid.raw_mesh import RawMesh

# Names of the number types, old and new (PLY polygon file format, Turk 1994; from memory).
_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4",
    "float": "f4", "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2",
    "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}  # fmt: skip
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_INDICES = ("vertex_indices", "vertex_index")


@dataclass(frozen=True)
class _Property:
    name: str
    kind: str
    counter: str = ""
    """Type of the list's length; empty for a single number."""


@dataclass(frozen=True)
class _Element:
    name: str
    count: int
    properties: tuple[_Property, ...]


def read_ply(path: Path, report: Report = silent) -> RawMesh:
    """Return the polygons of a PLY file as triangles.

    Raises
    ------
    ReadError
        If the header cannot be understood or the file is cut short.
    """
    data = path.read_bytes()
    try:
        order, elements, start = _header(data)
        report(0.2, "reading faces")
        if order:
            vertices, sizes, corners = _binary(data, start, order, elements)
        else:
            vertices, sizes, corners = _text(data[start:], elements)
    except (ValueError, IndexError, KeyError) as fault:
        raise ReadError(f"{path.name} is damaged: {fault}.", subject=path.name) from fault
    if len(corners) and (corners.min() < 0 or corners.max() >= len(vertices)):
        raise ReadError(
            f"{path.name} is damaged: it has faces with corners that do not exist.",
            subject=path.name,
        )
    return RawMesh.of_objects([(vertices, triangles_of(sizes, corners, vertices))])


def _header(data: bytes) -> tuple[str, list[_Element], int]:
    """Return the byte order (empty for text), the elements, and where the numbers begin."""
    mark = data.find(b"end_header")
    if not data.startswith(b"ply") or mark < 0:
        raise ValueError("it does not begin with the header of a PLY file")
    order = None
    elements: list[_Element] = []
    for line in data[:mark].decode("ascii", "replace").splitlines():
        words = line.split()
        if not words or words[0] in ("ply", "comment", "obj_info"):
            continue
        if words[0] == "format":
            order = _ORDERS[words[1]]
        elif words[0] == "element":
            elements.append(_Element(words[1], int(words[2]), ()))
        elif words[0] == "property":
            last = elements[-1]
            elements[-1] = _Element(last.name, last.count, (*last.properties, _property(words)))
    if order is None:
        raise ValueError("its header does not state a format")
    return order, elements, data.index(b"\n", mark) + 1


def _property(words: list[str]) -> _Property:
    if words[1] == "list":
        return _Property(words[4], _TYPES[words[3]], _TYPES[words[2]])
    return _Property(words[2], _TYPES[words[1]])


def _text(data: bytes, elements: list[_Element]) -> tuple[Floats, Ints, Ints]:
    rows = [words for words in (line.split() for line in data.split(b"\n")) if words]
    vertices, sizes, corners = _nothing()
    at = 0
    for element in elements:
        mine = rows[at : at + element.count]
        at += element.count
        if len(mine) < element.count:
            raise ValueError(f"it announces {element.count} of {element.name}, {len(mine)} follow")
        if element.name == "vertex" and mine:
            places = [_column(element, axis) for axis in "xyz"]
            picked = [[row[place] for place in places] for row in mine]
            vertices = np.array(picked, dtype="S").astype(np.float64)
        elif element.name == "face":
            lists = [_text_list(row, element) for row in mine]
            sizes = np.array([len(some) for some in lists], dtype=np.int64)
            corners = np.array([index for some in lists for index in some], dtype=np.int64)
    return vertices, sizes, corners


def _column(element: _Element, name: str) -> int:
    names = [item.name for item in element.properties]
    if name not in names or any(item.counter for item in element.properties):
        raise ValueError(f"its corners have no plain coordinate {name}")
    return names.index(name)


def _text_list(row: list[bytes], element: _Element) -> list[int]:
    at = 0
    for item in element.properties:
        if not item.counter:
            at += 1
            continue
        length = int(row[at])
        if item.name in _INDICES:
            found = [int(word) for word in row[at + 1 : at + 1 + length]]
            if len(found) < length:
                raise ValueError("a face has fewer corners than it announces")
            return found
        at += 1 + length
    raise ValueError("its faces have no corners")


def _nothing() -> tuple[Floats, Ints, Ints]:
    none = np.empty(0, dtype=np.int64)
    return np.empty((0, 3)), none, none


def _binary(
    data: bytes, start: int, order: str, elements: list[_Element]
) -> tuple[Floats, Ints, Ints]:
    vertices, sizes, corners = _nothing()
    for element in elements:
        if not any(item.counter for item in element.properties):
            fields = [(item.name, order + item.kind) for item in element.properties]
            table = _rows(data, start, fields, element)
            start += table.nbytes
            if element.name == "vertex":
                for axis in "xyz":
                    _column(element, axis)
                vertices = np.column_stack([table[axis] for axis in "xyz"]).astype(np.float64)
        else:
            found, start = _lists(data, start, order, element)
            if element.name == "face":
                sizes, corners = found
    return vertices, sizes, corners


def _rows(data: bytes, start: int, fields: list[Any], element: _Element) -> Any:
    kind = np.dtype(fields)
    if start + kind.itemsize * element.count > len(data):
        raise ValueError(f"it is cut short within its {element.count} of {element.name}")
    return np.frombuffer(data, kind, element.count, start)


def _lists(data: bytes, start: int, order: str, element: _Element) -> tuple[tuple[Ints, Ints], int]:
    """Return sizes and corners of an element with lists, and where the next one begins."""
    even = _even_lists(data, start, order, element)
    if even is not None:
        return even
    sizes: list[int] = []
    corners: list[Any] = [np.empty(0, dtype=np.int64)]
    types = [
        (p, np.dtype(order + p.kind), np.dtype(order + (p.counter or "u1")))
        for p in element.properties
    ]
    for _ in range(element.count):
        for item, kind, counter in types:
            length = 1
            if item.counter:
                length = int(_take(data, counter, 1, start)[0])
                start += counter.itemsize
            values = _take(data, kind, length, start)
            start += kind.itemsize * length
            if item.counter and item.name in _INDICES:
                sizes.append(length)
                corners.append(values.astype(np.int64))
    return (np.array(sizes, dtype=np.int64), np.concatenate(corners)), start


def _take(data: bytes, kind: Any, count: int, start: int) -> Any:
    if count < 0 or start + kind.itemsize * count > len(data):
        raise ValueError("it is cut short within its faces")
    return np.frombuffer(data, kind, count, start)


def _even_lists(
    data: bytes, start: int, order: str, element: _Element
) -> tuple[tuple[Ints, Ints], int] | None:
    """Read lists that all have the length of the first at once; None if they do not."""
    if not element.count:
        none = np.empty(0, dtype=np.int64)
        return (none, none), start
    fields: list[Any] = []
    at = start
    for number, item in enumerate(element.properties):
        length = 1
        if item.counter:
            counter = np.dtype(order + item.counter)
            length = int(_take(data, counter, 1, at)[0])
            fields.append((f"n{number}", counter))
            at += counter.itemsize
        kind = np.dtype(order + item.kind)
        fields.append((f"v{number}", kind, (length,)))
        at += kind.itemsize * length
    if start + np.dtype(fields).itemsize * element.count > len(data):
        return None
    table = np.frombuffer(data, np.dtype(fields), element.count, start)
    result = (np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64))
    for number, item in enumerate(element.properties):
        if not item.counter:
            continue
        lengths = table[f"n{number}"].astype(np.int64)
        if (lengths != lengths[0]).any():
            return None
        if item.name in _INDICES:
            result = lengths, table[f"v{number}"].astype(np.int64).ravel()
    return result, start + table.nbytes
