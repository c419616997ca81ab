"""A light stand-in for the part, on which plans are looked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes, good_side
from splitplanner.solid import Solid

TRIANGLES = 9_000
"""Parts with more triangles than this are searched on a stand-in."""
TOLERANCES = (0.05, 0.1, 0.2, 0.4)
"""How far (mm) a stand-in's surface may lie from the part's, the first that makes it light enough;
the finalists are cut exactly."""
_FACING = 1 / 30
"""Between nearest faces, looking the other way counts as much as so many sizes of the part."""


@dataclass(frozen=True, eq=False)
class Standing:
    """The solid that plans are looked for on, and the good side.

    Attributes
    ----------
    solid : Solid
        The part itself or a stand-in.
    seen : (m,) bool array
        Its faces on the good side.
    part_seen : (n,) bool array
        The part's faces on the good side.
    tolerance : float
        How far its surface may lie from the part's, mm.
    """

    solid: Solid
    seen: Bools
    part_seen: Bools
    tolerance: float


def stand_in_for(part: Solid, wishes: Wishes | None = None, report: Report = silent) -> Standing:
    """Return the part, or a solid with fewer triangles that is much the same.

    The good side is found on the part, so that a stand-in shows no seam where the part hides it.
    """
    seen = good_side(part, wishes or Wishes(), part_of(report, 0.0, 0.5))
    light, tolerance = lightened(part, part_of(report, 0.5, 0.9))
    report(0.9, "making a light stand-in")
    return standing_with(part, seen, light, tolerance)


def lightened(part: Solid, report: Report = silent) -> tuple[Solid, float]:
    """Return a solid with few triangles, and how far its surface may lie from the part's, mm.

    That is the part itself and 0 if it is light enough.
    """
    # The same mesh gives the same stand-in in whatever process it is made.
    solid, before = part.anew(), 0.0
    for tolerance in TOLERANCES:
        if len(solid.faces) > TRIANGLES:
            report(before / TOLERANCES[-1], "making a light stand-in")
            # Made from the one before, which is far lighter than the part.
            solid = solid.simplified(tolerance - before)
            before = tolerance
    return (solid, before) if before else (part, 0.0)


def standing_with(part: Solid, seen: Bools, light: Solid, tolerance: float) -> Standing:
    """Return what stands for a part of which the faces `seen` (n,) are on the good side."""
    if light is part:
        return Standing(part, seen, seen, 0.0)
    return Standing(light, carried_over(seen, part, light), seen, tolerance)


def carried_over(seen: Bools, part: Solid, stand_in: Solid) -> Bools:
    """Return for each face of a stand-in whether the nearest of the part that faces alike is seen.

    What counts is the most of the surface near a face: four of its points are asked, by area.
    """
    weight = _FACING * part.size
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import cKDTree

    tree = cKDTree(np.hstack([part.face_centroids, weight * part.face_normals]))
    corners = stand_in.vertices[stand_in.faces]
    middle = stand_in.face_centroids
    places = np.concatenate([middle, *(0.5 * (middle + corners[:, k]) for k in range(3))])
    facing = weight * np.tile(stand_in.face_normals, (4, 1))
    nearest = tree.query(np.hstack([places, facing]))[1]
    votes = seen[nearest].reshape(4, -1).sum(axis=0)
    carried = votes >= 2
    carried.setflags(write=False)
    return np.asarray(carried)
