"""Meshes with known volumes and known faults, as they come from files."""

from __future__ import annotations

import numpy as np
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
