"""What is read from pieces in cells that give way: seams, braces, deflection and stress."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints
from splitplanner.loaded.cells_braces import BraceBeam
from splitplanner.loaded.cells_glue import Glued, glue_share
from splitplanner.loaded.cells_seams import Fixing, SeamSides
from splitplanner.loaded.cells_values import (
    BraceInCells,
    PieceInCells,
    SeamInCells,
    percentiles_of,
)
from splitplanner.strength import LayeredStrength
from splitplanner.strength.cells import CellModel

_REACH = 0.5
_SAME = 1e-6
"""Corners of a divided surface no further apart are one, mm."""


@dataclass(frozen=True, eq=False)
class SeamForces:
    """What the contact and the fasteners of a seam do.

    Attributes
    ----------
    sides : SeamSides
    pressed : (k,) float array, N
        In the contact, below 0 where it presses.
    gaps : (k,) float array, mm
    fixings : tuple of (Fixing, (d,) float array)
        With the forces in them, N.
    glued : Glued or None
        The glue that holds it.
    slid : (2, k) float array, N
        In the glue, along u and v of the seam.
    """

    sides: SeamSides
    pressed: Floats
    gaps: Floats
    fixings: tuple[tuple[Fixing, Floats], ...]
    glued: Glued | None
    slid: Floats


def seam_in_cells(found: SeamForces, factor: float) -> SeamInCells:
    """Return what goes through a seam.

    Parameters
    ----------
    found : SeamForces
    factor : float
        So many times that.
    """
    sides = found.sides
    at, normal = sides.contact.at, np.array(sides.seam.plane.normal)
    centre = sides.seam.section.centroid
    pushes = [np.outer(found.pressed, normal) + found.slid.T @ at.frame[:2]]
    places = [at.points]
    count = dict.fromkeys(("screw", "screw across", "pin"), 0)
    for fixing, _ in found.fixings:
        if fixing.kind in count:
            count[fixing.kind] = max(count[fixing.kind], fixing.number + 1)
    screws, pins = np.zeros(count["screw"]), np.zeros((count["pin"], 3))
    pushed, tape = np.zeros((max(count["screw across"], count["screw"]), 3)), 0.0
    for fixing, forces in found.fixings:
        push = forces @ fixing.directions
        pushes.append(push[None])
        places.append(fixing.at[None])
        if fixing.kind == "screw":
            screws[fixing.number] = -forces[0]
        elif fixing.kind == "screw across":
            pushed[fixing.number] = push
        elif fixing.kind == "pin":
            pins[fixing.number] = push
        elif fixing.kind == "tape":
            tape += float(forces[0])
    total = np.vstack(pushes) * factor
    force = total.sum(axis=0)
    moment = np.cross(np.vstack(places) - centre, total).sum(axis=0)
    along, twist = float(force @ normal), float(moment @ normal)
    opening, glue = max(float(found.gaps.max(initial=0.0)), 0.0), 0.0
    if found.glued is not None:
        opening = 0.0
        glue = glue_share(found.glued, at.areas, found.pressed, found.slid)
    return SeamInCells(
        seam=sides.seam.name,
        force=frozen_floats(force),
        moment=frozen_floats(moment),
        tension=along,
        shear=float(np.linalg.norm(force - along * normal)),
        bending=float(np.linalg.norm(moment - twist * normal)),
        twist=twist,
        opening=opening * factor,
        gaping=float(at.areas[found.pressed == 0.0].sum() / at.areas.sum()),
        screws=frozen_floats(screws * factor + 0.0),
        pushed=frozen_floats(pushed * factor),
        pins=frozen_floats(pins * factor),
        tape=tape * factor,
        glue=glue * factor,
    )


def brace_in_cells(beam: BraceBeam, moved: Floats, proof: float) -> BraceInCells:
    """Return what a brace takes.

    Parameters
    ----------
    beam : BraceBeam
    moved : (b, 3) float array
        How the bosses of its bolts move, in its own axes, mm.
    proof : float
        What its sheet stands, MPa.
    """
    ends = beam.ends(moved)
    pulls, bent = ends[..., 0].ravel(), ends[..., 5].ravel()
    bolts = (beam.felt @ moved.ravel()).reshape(-1, 3)
    return BraceInCells(
        brace=beam.name,
        pull=float(pulls[np.abs(pulls).argmax()]),
        bending=float(np.abs(bent).max()),
        stress=float(beam.stress(ends).max()),
        proof=proof,
        # What the brace feels it does to the pieces the other way round.
        bolts=frozen_floats(-bolts @ beam.axes),
    )


def piece_in_cells(
    name: str, model: CellModel, moved: Floats, strength: LayeredStrength, up: ArrayLike
) -> PieceInCells:
    """Return what becomes of a piece.

    Parameters
    ----------
    name : str
    model : CellModel
    moved : (f,) float array
        Displacements of its freedoms, mm.
    strength : LayeredStrength
    up : (3,) array
        Its print direction.
    """
    solid, grid = model.solid, model.grid
    # Large faces are looked at in every cell that they go through.
    every = np.arange(len(solid.faces))
    corners, rows, source = grid.surface(solid, every)
    stress = model.stresses(moved, corners.mean(axis=1), rows)
    sides = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = 0.5 * np.linalg.norm(np.cross(*sides), axis=1)
    shares = strength.share(stress, up)
    vertices, faces, share = solid.vertices, solid.faces, np.zeros(len(every))
    normals = solid.face_normals
    if _longest(vertices[faces]) > grid.steps.max():
        vertices, faces, kept = _welded(corners)
        share, normals = shares[kept], normals[source[kept]]
    else:
        np.maximum.at(share, source, shares)
    rows = model.rows_at(vertices, _outward(len(vertices), faces, normals), _REACH)
    return PieceInCells(
        name,
        frozen_floats(vertices),
        frozen_ints(faces),
        model.moves(moved, vertices, rows),
        frozen_floats(share),
        percentiles_of(shares, areas),
    )


def _longest(corners: Floats) -> float:
    """Return the longest side of triangles (m, 3, 3), mm."""
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    return float(sides.max(initial=0.0))


def _welded(corners: Floats) -> tuple[Floats, Ints, Ints]:
    """Return triangles (m, 3, 3) as vertices and faces, less those that come to nothing.

    Returns
    -------
    vertices : (n, 3) float array
    faces : (k, 3) int array
    kept : (k,) int array
        Which triangles these are.
    """
    points = corners.reshape(-1, 3)
    level = np.rint(points / _SAME).astype(np.int64)
    _, first, places = np.unique(level, axis=0, return_index=True, return_inverse=True)
    faces = places.reshape(-1, 3)
    kept = np.flatnonzero((faces != np.roll(faces, 1, axis=1)).all(axis=1))
    return points[first], faces[kept], kept


def _outward(count: int, faces: Ints, normals: Floats) -> Floats:
    """Return a way out of the solid at every vertex: the mean of its faces' normals."""
    found = np.zeros((count, 3))
    for corner in faces.T:
        for axis in range(3):
            found[:, axis] += np.bincount(corner, normals[:, axis], minlength=count)
    return found
