"""Reads the polygons of OBJ and OFF files."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.progress import Report, silent
from splitplanner.solid.polygon_faces import triangles_of
from splitplanner.solid.raw_mesh import RawMesh

# Texture, colours and normals may stand behind the coordinates; nOFF has other dimensions.
_OFF_KINDS = re.compile(rb"(ST)?C?N?OFF|off")


def read_obj(path: Path, report: Report = silent) -> RawMesh:
    """Return the polygons of a Wavefront OBJ file as triangles; each ``o`` is one body.

    Corners may be counted from the end (negative); textures, normals and materials are ignored.

    Raises
    ------
    ReadError
        If a line cannot be understood.
    """
    points: list[list[float]] = []
    polygons: list[tuple[list[int], list[int]]] = [([], [])]
    lines = path.read_bytes().replace(b"\\\r\n", b" ").replace(b"\\\n", b" ").split(b"\n")
    for number, line in enumerate(lines):
        if number % 100_000 == 0:
            report(number / len(lines), "reading text")
        words = line.split()
        if not words:
            continue
        try:
            if words[0] == b"v":
                points.append([float(word) for word in words[1:4]])
                if len(words) < 4:
                    raise ValueError("a corner needs three coordinates")
            elif words[0] == b"f":
                sizes, corners = polygons[-1]
                sizes.append(len(words) - 1)
                for word in words[1:]:
                    index = int(word.split(b"/", 1)[0])
                    corners.append(index - 1 if index > 0 else len(points) + index)
            elif words[0] == b"o" and polygons[-1][0]:
                polygons.append(([], []))
        except ValueError as fault:
            raise ReadError(
                f"{path.name} is damaged in line {number + 1}: {fault}.", subject=path.name
            ) from fault
    vertices = np.array(points, dtype=np.float64).reshape(-1, 3)
    return RawMesh.of_objects([_object(*some, vertices, path.name) for some in polygons])


def _object(
    sizes: list[int], corners: list[int], vertices: Floats, name: str
) -> tuple[Floats, Ints]:
    count, index = np.array(sizes, dtype=np.int64), np.array(corners, dtype=np.int64)
    if len(index) and (index.min() < 0 or index.max() >= len(vertices)):
        raise ReadError(
            f"{name} is damaged: it has faces with corners that do not exist.", subject=name
        )
    used, local = np.unique(index, return_inverse=True)
    return vertices[used], triangles_of(count, local, vertices[used])


def read_off(path: Path, report: Report = silent) -> RawMesh:
    """Return the polygons of an OFF file (object file format, as text) as triangles.

    Raises
    ------
    ReadError
        If it is a binary or many-dimensional variant, or damaged.
    """
    text = path.read_bytes()
    lines = [row.split(b"#", 1)[0].split() for row in text.split(b"\n")]
    rows = [row for row in lines if row]
    report(0.5, "reading text")
    variant = _OFF_KINDS.fullmatch(rows[0][0]) if rows else None
    if variant is None or b"BINARY" in rows[0]:
        raise ReadError(
            f"{path.name} is no text OFF file; write it in another format.", subject=path.name
        )
    head = rows[0][1:]
    rest = rows[1:]
    try:
        if not head:
            head, rest = rest[0], rest[1:]
        corners, polygons = int(head[0]), int(head[1])
        if len(rest) < corners + polygons:
            raise ValueError(f"{corners + polygons} lines are announced, {len(rest)} follow")
        vertices = np.array([row[:3] for row in rest[:corners]], dtype="S").astype(np.float64)
        sizes = [int(row[0]) for row in rest[corners : corners + polygons]]
        index = [
            int(word)
            for row, size in zip(rest[corners : corners + polygons], sizes, strict=True)
            for word in row[1 : size + 1]
        ]
        if len(index) != sum(sizes):
            raise ValueError("a face has fewer corners than it announces")
    except (ValueError, IndexError) as fault:
        raise ReadError(f"{path.name} is damaged: {fault}.", subject=path.name) from fault
    return RawMesh.of_objects([_object(sizes, index, vertices.reshape(-1, 3), path.name)])
