"""Meshes with known volumes and known faults, as they come from files."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh


def box(size=(10.0, 10.0, 10.0), centre=(0.0, 0.0, 0.0)):
    made = trimesh.creation.box(size)
    return np.array(made.vertices) + np.array(centre), np.array(made.faces)


def sphere(radius=10.0, centre=(0.0, 0.0, 0.0), fineness=4):
    made = trimesh.creation.icosphere(fineness, radius=radius)
    return np.array(made.vertices) + np.array(centre), np.array(made.faces)


def fine_box(parts, size=10.0):
    """A cube whose faces are grids of `parts` x `parts` squares."""
    made = trimesh.creation.box((size, size, size))
    for _ in range(parts):
        made = made.subdivide()
    return np.array(made.vertices), np.array(made.faces)


def inside_out(mesh):
    return mesh[0], mesh[1][:, ::-1]


def apart(mesh):
    """Every triangle with three corners of its own, as in STL."""
    vertices, faces = mesh
    return vertices[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3)


def together(*meshes):
    shifts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return (
        np.vstack([vertices for vertices, _ in meshes]),
        np.vstack([faces + shift for (_, faces), shift in zip(meshes, shifts, strict=False)]),
    )


def without(mesh, chosen):
    """The mesh less the faces whose centroid `chosen` says yes to."""
    vertices, faces = mesh
    return vertices, faces[~chosen(vertices[faces].mean(axis=1))]


_SQUARES = {
    (1, 0, 0): [(1, 0, 0), (1, 1, 0), (1, 1, 1), (1, 0, 1)],
    (-1, 0, 0): [(0, 0, 0), (0, 0, 1), (0, 1, 1), (0, 1, 0)],
    (0, 1, 0): [(0, 1, 0), (0, 1, 1), (1, 1, 1), (1, 1, 0)],
    (0, -1, 0): [(0, 0, 0), (1, 0, 0), (1, 0, 1), (0, 0, 1)],
    (0, 0, 1): [(0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)],
    (0, 0, -1): [(0, 0, 0), (0, 1, 0), (1, 1, 0), (1, 0, 0)],
}


def cells(filled):
    """The outer squares of unit cells, welded: touches itself at edges and corners."""
    solid = {tuple(int(x) for x in cell) for cell in filled}
    corners, faces = {}, []
    for cell in sorted(solid):
        for side, square in _SQUARES.items():
            if tuple(np.add(cell, side)) in solid:
                continue
            a, b, c, d = (
                corners.setdefault(tuple(int(x) for x in np.add(cell, at)), len(corners))
                for at in square
            )
            faces += [(a, b, c), (a, c, d)]
    return np.array(list(corners), dtype=float), np.array(faces)


def kinds(result):
    return {finding.kind for finding in result.findings}


def found(result, kind):
    (finding,) = [finding for finding in result.findings if finding.kind == kind]
    return finding


def assert_closed(solid):
    # An independent judge: trimesh, without merging vertices.
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-9)


def write(folder, name, data):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def stl_bytes(mesh, header=b"made by a test"):
    vertices, faces = mesh
    rows = np.zeros(len(faces), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    rows["v"] = vertices[faces]
    return header.ljust(80, b" ") + np.uint32(len(faces)).tobytes() + rows.tobytes()


def stl_text(mesh, name="part"):
    lines = [f"solid {name}"]
    for triangle in mesh[0][mesh[1]]:
        lines += ["  facet normal 0 0 0", "    outer loop"]
        lines += [f"      vertex {x:.9g} {y:.9g} {z:.9g}" for x, y, z in triangle]
        lines += ["    endloop", "  endfacet"]
    return "\n".join([*lines, f"endsolid {name}", ""])
