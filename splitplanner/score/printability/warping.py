"""Where a piece may come off the bed: corners that curl up, and contact that holds badly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from splitplanner.arrays import Bools, Floats, frozen_floats, to_vector, unit_vector
from splitplanner.solid import Plane, Solid, to_polygons
from splitplanner.workshop import Material

FAR = 70.0
"""A sharp corner of the contact curls up from this distance from its middle on, mm: that of a plate
100 mm long and wide (common practice, no source). Of a material with the usual shrink."""
USUAL_SHRINK = 0.4
"""Percent; prints shrink by some 0.2 to 0.8 (from memory), of which this is the geometric mean."""
_SHRINKS = (0.1, 2.0)
"""Percent; a shrink beyond these counts as the nearer of them: less is no more than what cannot be
measured on a print, and of more nothing is known."""
LONG = 100.0
"""Contact is long from here on, mm (common practice, no source)."""
THIN = 8.0
"""And thin where it is so many lines wide on average, or less (common practice, no source)."""
_LARGE = 20.0
"""Contact pulls at its corners where it is this wide somewhere, mm."""
_ROUNDED = 0.5
"""Outlines are simplified by this, mm: corners rounded by less than some 4 mm are sharp then."""
_TURN = 60.0
"""Degrees by which an outline turns in a sharp corner, at least."""


@dataclass(frozen=True, eq=False)
class Warping:
    """What speaks for a piece coming off the bed.

    Attributes
    ----------
    corners : (n, 3) float array, mm
        Sharp corners of large contact that lie far out.
    reach : float
        Distance of the furthest of them from the middle of the contact, mm; 0 without.
    length : float
        Of the contact, that of the smallest rectangle round it, mm.
    width : float
        Of it on average: twice its area over the length of its outlines, mm.
    is_thin : bool
        Whether it is long and thin.
    ends : (k, 3) float array, mm
        The places furthest out, if so.
    """

    corners: Floats
    reach: float
    length: float
    width: float
    is_thin: bool
    ends: Floats


def shrink_in_plan(material: Material | None) -> float | None:
    """Return by how many percent prints of a material shrink along the bed, the worse way.

    None where the user has not measured it: no shrink of any kind of material is known besides,
    and 0 stands for what was not measured. One that grows is no reason for a corner to curl, but
    comes from something else, such as lines pressed wide, and says nothing of that either.
    """
    shrink = 0.0 if material is None else max(material.shrink[:2], default=0.0)
    return shrink if shrink > 0.0 else None


def far_for(material: Material | None) -> float:
    """Return from which distance from the middle of the contact on sharp corners curl up, mm.

    Layers above draw a corner inward by shrink x distance. It is told of from where that is as much
    as at `FAR` with `USUAL_SHRINK`: far = FAR x USUAL_SHRINK / shrink. Where the user has not
    measured the shrink of the material, it is the usual one.

    The temperatures of a material do not come into it. From that at which it softens down to that
    of the bed there is no difference to speak of, since beds are set near it for that reason; what
    draws at corners are layers further up, which cool down to the air around, and how warm that is
    is not known. Nor does annealing, for which a print is off the bed.
    """
    shrink = shrink_in_plan(material) or USUAL_SHRINK
    return FAR * USUAL_SHRINK / float(np.clip(shrink, *_SHRINKS))


def warping(
    solid: Solid, up: ArrayLike, contact: Bools, line_width: float, far: float = FAR
) -> Warping | None:
    """Look for what makes a piece come off the bed; None where it does not lie on it flat.

    Plastic shrinks as it cools and bends the piece upward at the ends of what lies on the bed: the
    more the longer that is, and most at corners, where little holds it down. Narrow contact holds
    little all along. Common practice, no source.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    contact : (m,) bool array
        Faces that rest on the bed: `Overhang.contact`.
    line_width : float
        mm.
    far : float, optional
        From how far out on corners count, mm; see `far_for`.
    """
    direction = unit_vector(up)
    bed = Plane(to_vector(direction), float((solid.vertices @ direction).min()))
    # Seen from below, so that the outlines of faces that look down have their material inside.
    below = bed.flipped()
    shapes = to_polygons(shapely.union_all(solid.polygons_of(contact, below)))
    if not shapes:
        return None
    whole = shapely.MultiPolygon(shapes)
    middle = np.array(whole.centroid.coords[0])
    corners = _sharp_corners(shapes)
    away = np.linalg.norm(corners - middle, axis=1)
    are_far = away >= far
    sides = shapely.get_coordinates(shapely.minimum_rotated_rectangle(whole))
    length = float(np.linalg.norm(np.diff(sides, axis=0), axis=1).max(initial=0.0))
    width = 2.0 * float(whole.area) / float(whole.length)
    is_thin = length >= LONG and width <= THIN * line_width
    outline = shapely.get_coordinates(whole)
    order = np.argsort(-np.linalg.norm(outline - middle, axis=1), kind="stable")
    return Warping(
        frozen_floats(below.to_space(corners[are_far])),
        float(away[are_far].max(initial=0.0)),
        length,
        width,
        is_thin,
        frozen_floats(below.to_space(outline[order[:2]]) if is_thin else np.empty((0, 3))),
    )


def _sharp_corners(shapes: tuple[Polygon, ...]) -> Floats:
    """Return the sharp outer corners (n, 2) mm of polygons that are wide somewhere."""
    found: list[Floats] = [np.empty((0, 2))]
    for shape in shapes:
        if shape.buffer(-_LARGE / 2.0).is_empty:
            continue
        ring = shapely.simplify(shape.exterior, _ROUNDED).normalize()
        if not ring.is_ccw:
            ring = ring.reverse()
        points = np.asarray(ring.coords)[:-1]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        turn = np.degrees(np.arctan2(cross, np.einsum("ij,ij->i", before, after)))
        found.append(points[turn >= _TURN])
    return np.concatenate(found)
