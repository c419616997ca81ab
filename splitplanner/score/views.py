"""From where a seam is seen: how much of it shows to an eye at a given place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats, unit_vector
from splitplanner.plan import Seam, Vector
from splitplanner.score.seam import rim_of
from splitplanner.solid import Sight, Solid

SPACING = 1.0
"""Outlines are looked at in steps of at most this, mm."""
_GRAZING = 1e-6
"""A face seen under a smaller cosine than this is seen edge-on."""


@dataclass(frozen=True)
class Views:
    """From where people look at a part.

    Attributes
    ----------
    points : tuple of (x, y, z)
        Where eyes are, mm in the part's frame.
    directions : tuple of (x, y, z)
        Towards eyes that are far away; any length but zero.

    Raises
    ------
    ValueError
        If a point is not finite or a direction has no length.
    """

    points: tuple[Vector, ...] = ()
    directions: tuple[Vector, ...] = ()

    def __post_init__(self) -> None:
        if not np.isfinite(np.reshape(self.points, (-1, 3))).all():
            raise ValueError("an eye needs a place of three finite numbers, mm")
        for direction in self.directions:
            unit_vector(direction)

    def towards(self, places: Floats) -> Iterable[tuple[Floats, Floats | None]]:
        """Yield for each eye the unit vectors (n, 3) to it from `places` and its distances, mm.

        The distances are None for an eye that is far away.
        """
        for point in self.points:
            away = np.asarray(point, float) - places
            distances = np.linalg.norm(away, axis=1)
            yield away / np.maximum(distances, 1e-12)[:, None], distances
        for direction in self.directions:
            yield np.tile(unit_vector(direction), (len(places), 1)), None


def seen_length(seam: Seam, part: Solid, views: Views) -> float:
    """Return the length of a seam's outlines that at least one eye sees, mm.

    The outlines are looked at in steps of at most 1 mm, each on one face: a step is seen when that
    face looks at the eye and no part of the assembled part is between the eye and the step's
    middle. Outlines inside the material are never seen.

    Parameters
    ----------
    seam : Seam
    part : Solid
        The uncut part.
    views : Views
    """
    rim = rim_of(seam, part, SPACING)
    middles = seam.plane.to_space(0.5 * (rim.starts + rim.ends))
    points, normals = middles[rim.places], part.face_normals[rim.faces]
    seen: Bools = np.zeros(len(middles), dtype=np.bool_)
    sight = Sight.of(part)
    for towards, distances in views.towards(points):
        facing = np.einsum("ij,ij->i", normals, towards) > _GRAZING
        reach = None if distances is None else distances[facing]
        is_open = sight.is_open(points[facing], normals[facing], towards[facing], reach)
        seen[rim.places[facing][is_open]] = True
    return float(np.linalg.norm(rim.ends - rim.starts, axis=1)[seen].sum())
