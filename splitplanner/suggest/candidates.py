"""Where a cut could go: directions worth trying, and natural places along each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.solid import Plane, Solid, flat_normals, principal_axes

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
        solid.box_axes,
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


def large_face_normals(solid: Solid, share: float = 0.04, most: int = 6) -> Floats:
    """Return the normals of the flats that hold at least `share` of the surface, largest first."""
    return flat_normals(solid.face_normals, solid.face_areas, most, share)


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
