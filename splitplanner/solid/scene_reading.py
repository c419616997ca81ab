"""Reads glTF files, and STEP files by way of them."""

from __future__ import annotations

import importlib
import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.progress import Report, silent
from splitplanner.solid.raw_mesh import RawMesh
from splitplanner.solid.units import MM_PER

_CHORD = 0.02
"""How far the triangles of a STEP model are asked to lie from its true surface, mm. The reader
measures it inside the triangles; along their edges on large balls it is twice as much (measured),
which is still less than a quarter of a layer's height (common practice, no source)."""
_TURN = 0.2
"""Largest angle between neighbouring triangles on a curved STEP face, radians."""

_HANDLES = (1, 2)
"""Of the standard output and the error output of a process."""

_UPRIGHT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


def read_gltf(path: Path, report: Report = silent) -> RawMesh:
    """Return the meshes of a glTF file (.glb, .gltf) in their places, z upwards.

    Lengths are metres and y points up by the format (Khronos, glTF 2.0, section 3.4); the part is
    turned so that z points up.

    Raises
    ------
    ReadError
        If the file is damaged.
    """
    report(0.1, "reading meshes")
    objects, findings = _objects(path, _kind(path), path.name)
    turned = [(vertices @ _UPRIGHT.T, faces) for vertices, faces in objects]
    if objects:
        findings.append(
            Finding(
                "reading.axes",
                Severity.NOTE,
                f"{path.name} is of a format in which y points up; it was turned so that z does.",
                subject=path.name,
            )
        )
    return RawMesh.of_objects(turned, "m", findings)


def read_step(path: Path, report: Report = silent) -> RawMesh:
    """Return a STEP file (ISO 10303-21) in mm as triangles, within 0.05 mm of its true surface.

    Raises
    ------
    ReadError
        If the optional reader is not installed or refuses the file.
    """
    try:
        reader = importlib.import_module("cascadio")
    except ImportError as fault:
        raise ReadError(
            f"{path.name} is a STEP file; install splitplanner[step] to read it, or write the "
            "part as 3MF.",
            subject=path.name,
        ) from fault
    data = path.read_bytes()
    if b"ISO-10303-21" not in data[:4096]:
        raise ReadError(f"{path.name} is no STEP file; write it anew.", subject=path.name)
    report(0.1, "reading surfaces")
    try:
        with _unheard():
            meshed = reader.load(data, file_type="step", tol_linear=_CHORD, tol_angular=_TURN)
    except Exception as fault:
        raise _damaged(path.name, fault) from fault
    if not meshed:
        raise ReadError(
            f"{path.name} is damaged or holds no solid; write it anew from the CAD program.",
            subject=path.name,
        )
    report(0.8, "reading meshes")
    objects, findings = _objects(io.BytesIO(meshed), "glb", path.name)
    # The reader has turned whatever unit the file states into the metres of glTF.
    in_mm = [(vertices * MM_PER["m"], faces) for vertices, faces in objects]
    return RawMesh.of_objects(in_mm, "mm", findings)


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep what the reader of STEP files prints by itself off the outputs of the process.

    It writes past Python, and what is printed there may be one JSON document for a script.
    """
    heard = [os.dup(handle) for handle in _HANDLES]
    silence = os.open(os.devnull, os.O_WRONLY)
    try:
        for handle in _HANDLES:
            os.dup2(silence, handle)
        yield
    finally:
        for handle, before in zip(_HANDLES, heard, strict=True):
            os.dup2(before, handle)
            os.close(before)
        os.close(silence)


def _kind(path: Path) -> str:
    return path.suffix.lower().lstrip(".")


def _damaged(name: str, fault: Exception) -> ReadError:
    what = " ".join(str(fault).split())[:120] or type(fault).__name__
    return ReadError(f"{name} is damaged or not what its ending says ({what}).", subject=name)


def _objects(source: Any, kind: str, name: str) -> tuple[list[tuple[Floats, Ints]], list[Finding]]:
    """Return every placed mesh of a scene, in its places, and what was passed over."""
    # Loading it takes a third of a second, and only these formats need it.
    import trimesh

    try:
        # A .gltf file names others beside it, which only its path can lead to.
        scene: Any = trimesh.load_scene(source, file_type=kind, process=False)
        placed = [scene.graph[node] for node in sorted(scene.graph.nodes_geometry)]
        shapes = [
            (scene.geometry[geometry], np.asarray(matrix, float)) for matrix, geometry in placed
        ]
        meshes = [(shape, matrix) for shape, matrix in shapes if hasattr(shape, "faces")]
        objects = [_placed(shape.vertices, shape.faces, matrix) for shape, matrix in meshes]
    except Exception as fault:
        raise _damaged(name, fault) from fault
    others = len(shapes) - len(meshes)
    if not others:
        return objects, []
    skipped = Finding(
        "reading.skipped",
        Severity.NOTE,
        f"Passed over {counted(others, 'object')} of {name} made of points or lines.",
        subject=name,
        measured=float(others),
        unit="1",
    )
    return objects, [skipped]


def _placed(vertices: Any, faces: Any, matrix: Floats) -> tuple[Floats, Ints]:
    points = np.asarray(vertices, dtype=np.float64)
    corners = np.asarray(faces, dtype=np.int64)
    moved: Floats = points @ matrix[:3, :3].T + matrix[:3, 3]
    # A mirrored object keeps its inside inside.
    mirrored = float(np.linalg.det(matrix[:3, :3])) < 0
    return moved, corners[:, ::-1] if mirrored else corners
