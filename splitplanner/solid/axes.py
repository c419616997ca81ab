"""Axes that a solid has of its own: those of its tightest box, its principal axes, its flats."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Floats, frozen_floats
from splitplanner.solid.plane import frame_of
from splitplanner.solid.solid import Solid

_BETTER = 1e-3
"""A box must be smaller than that along the part's own frame by this share to be preferred."""
_FLATS = 60
"""How many directions of hull flats are tried as a side of the tightest box."""
_EDGE_ON = 1e-6
"""A face whose normal has no larger cosine to the line of sight is seen edge-on."""
_TIED = 1e-3
"""Moments closer than this share of the greatest count as equal."""
_FRAMED = 12
"""How many directions of flats are tried as an axis of a frame along most of a surface."""
_MOST = 0.6
"""So much of the surface that does not lie along the part's own frame must lie along another one
for that to be preferred. Two slopes that mirror each other have half of it each."""
_SEEN = 0.01
"""And so much of all of the surface; smaller flats are not tried."""
_ALONG = 1e-3
"""Sine of the largest angle between a flat and a side that it lies along: 0.06°."""


def tightest_box_axes(solid: Solid) -> Floats:
    """Return the axes of a smallest-volume box found round the solid.

    The own axes of the part and each flat of its hull (of more than 60 flats, the largest) are
    tried as one side of the box, with the smallest rectangle round the hull's outline for the
    other two (Freeman & Shapira, CACM 18 (1975) 409: a side of the smallest rectangle lies on a
    side of the hull). The smallest box of all need only touch edges (O'Rourke, Int. J. Comput.
    Inf. Sci. 14 (1985) 183), so that one may be smaller.

    No box stands on a flat with less than height times outline area, which is known without
    laying a rectangle; flats that cannot win by it are passed over.

    Parameters
    ----------
    solid : Solid

    Returns
    -------
    (3, 3) float array
        Unit vectors in rows, the longest side of the box first. The axes of the part's own frame
        when no box is more than 0.1 % smaller.
    """
    hull = solid.hull
    points = hull.vertices
    axes: Floats = np.eye(3)
    best = float(np.prod(np.ptp(points, axis=0))) * (1.0 - _BETTER)
    normals = np.vstack([np.eye(3), _hull_normals(hull)])
    facing = normals @ hull.face_normals.T
    outline_areas = 0.5 * np.abs(facing) @ hull.face_areas
    heights = np.ptp(normals @ points.T, axis=1)
    least = heights * outline_areas
    for index in np.argsort(np.round(least, 6), kind="stable"):
        if least[index] >= best:
            break
        rim = _rim(hull, facing[index])
        frame, area = _tightest_rectangle(points[rim], normals[index])
        volume = float(heights[index]) * area
        if volume < best * (1.0 - 1e-9):
            best, axes = volume, frame
    spans = np.ptp(axes @ points.T, axis=1)
    return axes[np.argsort(-np.round(spans, 6), kind="stable")]


def _rim(hull: Solid, facing: Floats) -> Bools:
    """Return which corners (n,) are seen on the outline, given each face's cosine to the view.

    Those of faces towards and of faces away from the eye both; of the many corners of a round
    hull, few.
    """
    towards, away = (np.zeros(len(hull.vertices), dtype=bool) for _ in range(2))
    towards[hull.faces[facing >= -_EDGE_ON]] = True
    away[hull.faces[facing <= _EDGE_ON]] = True
    return towards & away


def _hull_normals(hull: Solid) -> Floats:
    """Return the directions of the hull's flats, one of each opposite pair, largest first.

    Of a hull with more than 60 of them, flats that face nearly alike count as one.
    """
    flats = flat_normals(hull.face_normals, hull.face_areas, _FLATS + 1, grid=1e5)
    if len(flats) <= _FLATS:
        return flats
    return flat_normals(hull.face_normals, hull.face_areas, _FLATS)


def flat_normals(
    normals: Floats, areas: Floats, most: int, share: float = 0.0, grid: float = 30.0
) -> Floats:
    """Return the directions in which most of a surface faces, opposite ones together.

    Parameters
    ----------
    normals : (m, 3) float array
        Unit normal of each face.
    areas : (m,) float array, mm²
    most : int
        No more than this many.
    share : float
        Least share of all area.
    grid : float
        Normals count as one when they round to the same on a grid of 1 / `grid`; 30 is about 2°.

    Returns
    -------
    (k, 3) float array
        Unit vectors, the largest area first.
    """
    rounded = np.round(normals * grid).astype(np.int64)
    lead = np.take_along_axis(rounded, np.abs(rounded).argmax(axis=1)[:, None], axis=1)
    flip = np.where(lead < 0, -1, 1)
    # One whole number a grid place: far faster to sort than rows of three.
    places = rounded * flip + int(grid)
    span = 2 * int(grid) + 1
    _, inverse = np.unique(
        (places[:, 0] * span + places[:, 1]) * span + places[:, 2], return_inverse=True
    )
    total = np.bincount(inverse, weights=areas)
    weighted = normals * flip * areas[:, None]
    sums = np.stack([np.bincount(inverse, weights=column) for column in weighted.T], axis=1)
    order = np.argsort(-np.round(total, 6), kind="stable")[:most]
    order = order[total[order] >= share * areas.sum()]
    lengths = np.linalg.norm(sums[order], axis=1)
    keep = lengths > 0
    result: Floats = sums[order][keep] / lengths[keep, None]
    return result


def axes_of_flats(solid: Solid) -> Floats:
    """Return the frame along which most of a solid's surface lies.

    The largest flats, and the largest of those square to each, are tried as its axes. They are put
    in the order and sense that is nearest to the part's own frame.

    Returns
    -------
    (3, 3) float array
        Unit vectors in rows, right-handed. The axes of the part's own frame unless another one has
        most of the surface along it that does not lie along those, 60 % of it and 1 % of all: round
        parts have no such frame, and parts with slopes left and right have none along one of these.
    """
    normals, areas = solid.face_normals, solid.face_areas

    def lying(axes: Floats) -> Floats:
        """How much area faces along each axis, mm²."""
        found: Floats = areas @ (np.abs(normals @ axes.T) > 1.0 - _ALONG**2 / 2.0)
        return found

    flats = flat_normals(normals, areas, _FRAMED, share=_SEEN, grid=1.0 / _ALONG)
    sizes, total = lying(flats), float(areas.sum())
    axes: Floats = np.eye(3)
    own = float(lying(axes).sum())
    most = own + max(_MOST * (total - own), _SEEN * total)
    for first in flats:
        square = np.abs(flats @ first) < _ALONG
        frame = frame_of(first)
        if square.any():
            other = flats[int(np.argmax(np.where(square, sizes, 0.0)))]
            across = np.cross(first, other)
            across /= np.linalg.norm(across)
            frame = np.array([np.cross(across, first), across, first])
        area = float(lying(frame).sum())
        if area > most * (1.0 + 1e-9):
            most, axes = area, frame
    return frozen_floats(nearest_turn(axes))


def nearest_turn(axes: Floats) -> Floats:
    """Return axes (rows), right-handed, in the order and sense that is nearest to the frame's."""
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial.transform import Rotation

    right = axes * np.sign(np.linalg.det(axes))
    turns = Rotation.create_group("O").as_matrix().round() @ right
    near: Floats = turns[int(np.argmax(np.round(np.trace(turns, axis1=1, axis2=2), 9)))]
    return near


def _tightest_rectangle(points: Floats, normal: Floats) -> tuple[Floats, float]:
    """Return the frame (rows) whose last axis is `normal` and whose rectangle is smallest, mm²."""
    frame = frame_of(normal)
    flat = points @ frame[:2].T
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import ConvexHull

    outline = flat[ConvexHull(flat).vertices]
    edges = np.roll(outline, -1, axis=0) - outline
    # Edge directions rise once round a convex outline; rounding may let a tiny edge fall back.
    rising = np.unwrap(np.arctan2(edges[:, 1], edges[:, 0]))
    first = int(np.argmin(rising % (2.0 * np.pi)))
    rising = np.roll(rising, -first) % (2.0 * np.pi)
    rising = np.maximum.accumulate(rising)
    outline = np.roll(outline, -first, axis=0)
    angles = np.unique(np.round(rising % (np.pi / 2), 12))
    u = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    v = np.stack([-u[:, 1], u[:, 0]], axis=1)
    sides = []
    for turn, along in ((0.0, u), (np.pi / 2, v)):
        # A corner is outermost towards all directions between the normals of its two edges.
        far, near = (
            outline[
                np.searchsorted(rising, (angles + turn + quarter) % (2.0 * np.pi)) % len(rising)
            ]
            for quarter in (np.pi / 2, 3.0 * np.pi / 2)
        )
        sides.append(np.einsum("ij,ij->i", far - near, along))
    areas = sides[0] * sides[1]
    best = int(np.argmin(np.round(areas, 9)))
    axes: Floats = np.array([u[best] @ frame[:2], v[best] @ frame[:2], frame[2]])
    return axes, float(areas[best])


def principal_axes(solid: Solid) -> Floats:
    """Return the principal axes of the volume, the most spread-out first.

    Second moments by signed tetrahedra: for corners 0, a, b, c of volume V the integral of x xᵀ is
    V/20 (a aᵀ + b bᵀ + c cᵀ + s sᵀ) with s = a + b + c (Blow & Binstock, "How to find the
    inertia tensor of a 3D solid body", 2004; from memory).

    Returns
    -------
    (3, 3) float array
        Unit vectors in rows. Where two or three are not unique (across a square or round bar),
        those nearest to the axes of the part's own frame.
    """
    corners = solid.vertices[solid.faces] - solid.centroid
    six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    sums = corners.sum(axis=1)
    spread = np.einsum("i,ikx,iky->xy", six, corners, corners)
    spread = (spread + np.einsum("i,ix,iy->xy", six, sums, sums)) / 120.0
    values, vectors = np.linalg.eigh(spread)
    values, axes = values[::-1], vectors.T[::-1]
    tied = np.split(np.arange(3), np.flatnonzero(-np.diff(values) > _TIED * values[0]) + 1)
    return np.vstack(
        [_nearest_to_frame(axes[group]) if len(group) > 1 else axes[group] for group in tied]
    )


def _nearest_to_frame(axes: Floats) -> Floats:
    """Return as many axes (k, 3) that span the same as `axes`, near to the frame's own."""
    shadows = axes.T @ axes
    chosen: list[Floats] = []
    while len(chosen) < len(axes):
        lengths = np.round(np.linalg.norm(shadows, axis=1), 9)
        axis = shadows[int(np.argmax(lengths))]
        chosen.append(axis / np.linalg.norm(axis))
        shadows = shadows - np.outer(shadows @ chosen[-1], chosen[-1])
    return np.array(chosen)
