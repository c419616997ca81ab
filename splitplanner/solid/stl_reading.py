"""Reads STL files, binary and text."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import ReadError
from splitplanner.findings import Finding, Severity
from splitplanner.progress import Report, silent
from splitplanner.solid.raw_mesh import RawMesh

# Header of 80 bytes, count, then 50 bytes a triangle: normal, three corners, attribute
# (3D Systems, StereoLithography Interface Specification, 1988; layout from memory).
_HEADER = 84
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_VERTEX = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)
_FACET = re.compile(rb"\bfacet\s+normal\b", re.IGNORECASE)
_END = re.compile(rb"\bendfacet\b", re.IGNORECASE)
_BLOCK = 1 << 24


def read_stl(path: Path, report: Report = silent) -> RawMesh:
    """Return the triangles of an STL file; each has three corners of its own.

    A file whose size is that of a binary file with the count it states is binary, whatever its
    header says.

    Raises
    ------
    ReadError
        If the file is cut short or holds something else.
    """
    data = path.read_bytes()
    count = int.from_bytes(data[80:84], "little") if len(data) >= _HEADER else 0
    size = _HEADER + _RECORD.itemsize * count
    textual = data[:512].lstrip().lower().startswith(b"solid")
    if len(data) >= _HEADER and len(data) == size:
        return _binary(data, count, [])
    if textual and (_FACET.search(data[:_BLOCK]) or b"endsolid" in data[-512:].lower()):
        return _text(data, path.name, report)
    if len(data) > size > _HEADER and not textual:
        extra = Finding(
            "reading.trailing",
            Severity.NOTE,
            f"{path.name} has {len(data) - size} bytes after its last triangle; they were ignored.",
            subject=path.name,
            measured=float(len(data) - size),
            unit="1",
        )
        return _binary(data, count, [extra])
    if _HEADER <= len(data) < size:
        held = (len(data) - _HEADER) // _RECORD.itemsize
        raise ReadError(
            f"{path.name} is cut short: it states {count} triangles and holds {held}; copy or "
            "write the file anew.",
            subject=path.name,
        )
    if len(data) == size or (len(data) >= _HEADER and count == 0):
        return RawMesh.of_objects([])
    raise ReadError(f"{path.name} is no STL file; write it anew.", subject=path.name)


def _binary(data: bytes, count: int, findings: list[Finding]) -> RawMesh:
    records = np.frombuffer(data, dtype=_RECORD, count=count, offset=_HEADER)
    return _soup(records["corners"].reshape(-1, 3).astype(np.float64), findings)


def _text(data: bytes, name: str, report: Report) -> RawMesh:
    blocks: list[Floats] = [np.empty((0, 3))]
    facets, start = 0, 0
    while start < len(data):
        report(start / len(data), "reading text")
        # A block ends with a triangle, so that no keyword is parted from its numbers.
        end = _END.search(data, start + _BLOCK) if start + _BLOCK < len(data) else None
        stop = end.end() if end else len(data)
        block = data[start:stop]
        facets += len(_FACET.findall(block))
        rows = _VERTEX.findall(block)
        try:
            blocks.append(np.array(rows, dtype="S").astype(np.float64).reshape(-1, 3))
        except ValueError as fault:
            raise ReadError(
                f"{name} is damaged: near triangle {facets} a coordinate is no number ({fault}).",
                subject=name,
            ) from fault
        start = stop
    corners = np.concatenate(blocks)
    if len(corners) != 3 * facets:
        raise ReadError(
            f"{name} is damaged or cut short: it begins {facets} triangles and has {len(corners)} "
            "corners; write the file anew.",
            subject=name,
        )
    if b"endsolid" in data[-4096:].lower():
        return _soup(corners, [])
    unfinished = Finding(
        "reading.unfinished",
        Severity.WARNING,
        f"{name} ends without the closing line of a text STL file; triangles may be missing.",
        subject=name,
    )
    return _soup(corners, [unfinished])


def _soup(corners: Floats, findings: list[Finding]) -> RawMesh:
    faces = np.arange(len(corners)).reshape(-1, 3)
    return RawMesh.of_objects([(corners, faces)], findings=findings)
