"""Where a cut could go: directions worth trying, and natural places along each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from splitplanner.arrays import Floats
from splitplanner.solid import Plane, Solid

_SAME_DIRECTION = float(np.cos(np.radians(3.0)))


def cut_directions(solid: Solid, most: int = 9) -> Floats:
    """Return directions for cut planes, best first.

    The axes of the tightest box round the part come first, then the axes of the part's own
    frame, its principal axes, and the normals of its large flat faces.

    Parameters
    ----------
    solid : Solid
    most : int
        No more than this many.

    Returns
    -------
    (k, 3) float array
        Unit vectors, no two within 3° of each other or of each other's opposite.
    """
    chosen: list[Floats] = []
    sources = (
        tightest_box_axes(solid),
        np.eye(3),
        principal_axes(solid),
        large_face_normals(solid),
    )
    for vector in np.vstack(sources):
        if all(abs(float(vector @ other)) < _SAME_DIRECTION for other in chosen):
            chosen.append(_canonical(vector))
        if len(chosen) == most:
            break
    return np.array(chosen)


def _canonical(vector: Floats) -> Floats:
    """Return the vector or its opposite, so that its largest component is positive."""
    rounded = np.where(np.abs(vector) < 1e-12, 0.0, vector)
    largest = int(np.argmax(np.round(np.abs(rounded), 9)))
    result: Floats = rounded * np.sign(rounded[largest])
    return result / np.linalg.norm(result)


def tightest_box_axes(solid: Solid) -> Floats:
    """Return the axes (3, 3) of a smallest-volume box found round the solid, longest side first.

    Every hull face is tried as one side of the box, with the smallest rectangle round the hull's
    outline for the other two (Freeman & Shapira, CACM 18 (1975) 409: a side of the smallest
    rectangle lies on a side of the hull). The axes of the part's own frame win when no box is
    more than 0.1 % smaller.
    """
    points = solid.hull.vertices
    best = _box_volume(points, np.eye(3)) * 0.999
    axes: Floats = np.eye(3)
    for normal in _hull_normals(solid, most=60):
        frame = _tightest_rectangle(points, normal)
        volume = _box_volume(points, frame)
        if volume < best * (1 - 1e-9):
            best, axes = volume, frame
    spans = np.ptp(points @ axes.T, axis=0)
    return axes[np.argsort(-spans, kind="stable")]


def _box_volume(points: Floats, axes: Floats) -> float:
    return float(np.prod(np.ptp(points @ axes.T, axis=0)))


def _hull_normals(solid: Solid, most: int) -> Floats:
    """Return the directions of the hull's flats, one of each opposite pair, largest first.

    Of a hull with more of them than `most`, flats that face nearly alike count as one.
    """
    hull = solid.hull
    flats = _clustered(hull.face_normals, hull.face_areas, most + 1, grid=1e5)
    if len(flats) <= most:
        return flats
    return _clustered(hull.face_normals, hull.face_areas, most)


def large_face_normals(solid: Solid, share: float = 0.04, most: int = 6) -> Floats:
    """Return the normals of the flats that hold at least `share` of the surface, largest first."""
    return _clustered(solid.face_normals, solid.face_areas, most, share)


def _clustered(
    normals: Floats, areas: Floats, most: int, share: float = 0.0, grid: float = 30.0
) -> Floats:
    """Add up area by normal, on a grid of 1 / `grid` (about 2°), opposite normals together."""
    rounded = np.round(normals * grid).astype(np.int64)
    lead = np.take_along_axis(rounded, np.abs(rounded).argmax(axis=1)[:, None], axis=1)
    flip = np.where(lead < 0, -1, 1)
    keys, inverse = np.unique(rounded * flip, axis=0, return_inverse=True)
    inverse = inverse.reshape(-1)
    total = np.bincount(inverse, weights=areas)
    sums = np.zeros((len(keys), 3))
    np.add.at(sums, inverse, normals * flip * areas[:, None])
    order = np.argsort(-np.round(total, 6), kind="stable")[:most]
    order = order[total[order] >= share * areas.sum()]
    lengths = np.linalg.norm(sums[order], axis=1)
    keep = lengths > 0
    result: Floats = sums[order][keep] / lengths[keep, None]
    return result


def _tightest_rectangle(points: Floats, normal: Floats) -> Floats:
    """Return the frame (rows) whose last axis is `normal` and whose rectangle is smallest."""
    plane = Plane.through((0, 0, 0), normal)
    flat = plane.to_plane(points)
    outline = flat[ConvexHull(flat).vertices]
    edges = np.roll(outline, -1, axis=0) - outline
    angles = np.unique(np.round(np.arctan2(edges[:, 1], edges[:, 0]) % (np.pi / 2), 12))
    u = np.stack([np.cos(angles), np.sin(angles)])
    v = np.stack([-np.sin(angles), np.cos(angles)])
    spans = np.ptp(outline @ u, axis=0) * np.ptp(outline @ v, axis=0)
    best = int(np.argmin(np.round(spans, 9)))
    frame = plane.frame
    result: Floats = np.array([u[:, best] @ frame[:2], v[:, best] @ frame[:2], frame[2]])
    return result


def principal_axes(solid: Solid) -> Floats:
    """Return the principal axes (3, 3) of the surface, the most spread-out first.

    Exact, however flats are divided into triangles: a triangle has the second moments of a third
    of its area at the middle of each side (textbook mechanics). Where two or three axes are not
    unique (across a square bar) those nearest to the axes of the part's own frame are taken.
    """
    middle = solid.face_areas @ solid.face_centroids / solid.face_areas.sum()
    corners = solid.vertices[solid.faces] - middle
    middles = 0.5 * (corners + np.roll(corners, 1, axis=1))
    spread = np.einsum("i,ikx,iky->xy", solid.face_areas / 3.0, middles, middles)
    values, vectors = np.linalg.eigh(spread)
    values, axes = values[::-1], vectors.T[::-1]
    tied = np.split(np.arange(3), np.flatnonzero(-np.diff(values) > 1e-4 * values[0]) + 1)
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


@dataclass(frozen=True, eq=False)
class Profile:
    """What a cut would meet at stations along one direction.

    Attributes
    ----------
    direction : (3,) float array
    stations : (k,) float array, mm
        Plane offsets.
    area : (k,) float array, mm²
        Section area.
    length : (k,) float array, mm
        Length of the section's outlines.
    """

    direction: Floats
    stations: Floats
    area: Floats
    length: Floats

    def natural_places(self, low: float, high: float, most: int) -> list[float]:
        """Return up to `most` stations in [low, high] where a maker would cut.

        These are stations where the section is short, best first, and no two closer than a tenth
        of the range.
        """
        inside = (self.stations >= low) & (self.stations <= high) & (self.area > 0)
        stations, length = self.stations[inside], self.length[inside]
        gap = max((high - low) / 10, 1e-9)
        places: list[float] = []
        for index in np.argsort(np.round(length, 3), kind="stable"):
            if len(places) >= most:
                break
            station = float(stations[index])
            if all(abs(station - other) >= gap for other in places):
                places.append(station)
        return places


def profile_along(solid: Solid, direction: Floats, count: int = 60) -> Profile:
    """Return the section profile of `solid` at `count` stations evenly inside its extent.

    Parameters
    ----------
    solid : Solid
    direction : (3,) array
        Any length but zero.
    count : int
    """
    base = Plane.through((0, 0, 0), direction)
    heights = base.height(solid.vertices)
    low, high = float(heights.min()), float(heights.max())
    stations = low + (high - low) * (np.arange(count) + 0.5) / count
    sections = solid.sections(base, stations)
    return Profile(
        np.array(base.normal),
        stations,
        np.array([section.area for section in sections]),
        np.array([section.length for section in sections]),
    )
