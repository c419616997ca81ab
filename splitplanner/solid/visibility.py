"""Which faces a person sees from outside: the good side."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.progress import Report, silent
from splitplanner.solid.sight import Sight
from splitplanner.solid.solid import Solid

DIRECTIONS = 128
"""Viewing directions over the whole sphere; each face looks along half of them."""
SHARE = 0.1
"""A face is seen when at least this share of its cosine-weighted hemisphere is open to the outside
(common practice, no source)."""
DIP = 10.0
"""People look up at a part from no lower than this many degrees below the horizontal."""
_FACES_AT_MOST = 20_000
_POINTS = 4_000
_POINTS_PER_FACE = 16
_TURNS = 4
"""Views are looked along in so many turns; what the first tell needs no more."""
_SURE = 1e-9
_GRAZING = 0.02
_BATCH = 4_096
_LOOKING = "looking at the part from outside"


def fibonacci_sphere(count: int) -> Floats:
    """Return `count` directions spread evenly over the sphere, (count, 3), always the same.

    The golden-angle spiral at equal steps of height: R. Swinbank & R. J. Purser, Q. J. R. Meteorol.
    Soc. 132 (2006) 1769, in the midpoint form.
    """
    step = np.arange(count)
    z = 1.0 - (2.0 * step + 1.0) / count
    turn = step * np.pi * (3.0 - np.sqrt(5.0))
    radius = np.sqrt(1.0 - z * z)
    return frozen_floats(np.column_stack([radius * np.cos(turn), radius * np.sin(turn), z]))


def seen_from_outside(
    solid: Solid,
    *,
    directions: ArrayLike | None = None,
    share: float = SHARE,
    below: bool = False,
    up: ArrayLike = (0.0, 0.0, 1.0),
    only: Bools | None = None,
    counts: Callable[[Floats, Floats], Bools] | None = None,
    report: Report = silent,
) -> Bools:
    """Return which faces a person sees from outside.

    From points just off each face, rays go out along those of the `directions` that the face looks
    at, weighted by the cosine to its normal; the face is seen when the weight of the rays that
    meet nothing is at least `share` of the whole hemisphere's. Rays that go down by more than
    `DIP` degrees are not counted unless `below` is set: nobody looks into a hood from underneath,
    so the inside of an opening below is hidden, and so is a flat bottom.

    A face that is large for the model is looked at from up to 16 points. In a mesh of more than
    20 000 faces, faces that lie close together and look the same way share one answer.

    Parameters
    ----------
    solid : Solid
        In the position of use.
    directions : (d, 3) array of unit vectors, optional
        Towards the viewer; by default `fibonacci_sphere` of `DIRECTIONS`.
    share : float
        0 to 1.
    below : bool
        Whether views from underneath count.
    up : (3,) array
        Which way is up in use.
    only : (m,) bool array, optional
        Faces to look at; the others are not seen.
    counts : callable, optional
        ``counts(points, towards)``: which lines of sight (n,) that meet nothing, from points (n, 3)
        on faces along unit vectors (n, 3), are counted; by default all.
    report : progress callback

    Returns
    -------
    (m,) bool array
    """
    views = fibonacci_sphere(DIRECTIONS) if directions is None else np.asarray(directions, float)
    report(0.0, _LOOKING)
    chosen = np.arange(len(solid.faces)) if only is None else np.flatnonzero(only)
    asked, answer_of = _clusters(solid, chosen)
    owner, points = _viewpoints(solid, asked)
    normals = solid.face_normals[asked[owner]]
    weight = _weights(normals, views, up, below)
    weight /= np.bincount(owner, minlength=len(asked))[owner, None]
    report(0.1, _LOOKING)
    sight = Sight.of(solid)
    left = np.bincount(owner, weights=weight.sum(axis=1), minlength=len(asked))
    is_open = np.zeros(len(asked))
    for turn in range(_TURNS):
        # What is open so far, or could be at best, tells most faces after a few views.
        told = (is_open >= share + _SURE) | (is_open + left < share - _SURE)
        asking = np.flatnonzero(~told[owner])
        for start in range(0, len(asking), _BATCH):
            report(0.2 + 0.8 * (turn + start / len(asking)) / _TURNS, _LOOKING)
            some = asking[start : start + _BATCH]
            at, view = np.nonzero(weight[some, turn::_TURNS])
            at, view = some[at], turn + _TURNS * view
            met = sight.is_open(points[at], normals[at], views[view])
            if counts is not None:
                met[met] = counts(points[at[met]], views[view[met]])
            worth = weight[at, view]
            is_open += np.bincount(owner[at], weights=worth * met, minlength=len(asked))
            left -= np.bincount(owner[at], weights=worth, minlength=len(asked))
    seen = np.zeros(len(solid.faces), dtype=np.bool_)
    seen[chosen] = (is_open >= share)[answer_of]
    seen.setflags(write=False)
    return seen


def _weights(normals: Floats, views: Floats, up: ArrayLike, below: bool) -> Floats:
    """Return the share of each hemisphere that a view stands for, (n, d); 0 if it does not count.

    Parameters
    ----------
    normals : (n, 3) float array
    views : (d, 3) float array
        Towards the viewer.
    up, below
        See `seen_from_outside`.
    """
    cosine = np.maximum(normals @ views.T, 0.0)
    total = np.maximum(cosine.sum(axis=1), 1e-12)
    cosine[cosine <= _GRAZING] = 0.0
    if not below:
        upward = np.asarray(up, float) / np.linalg.norm(up)
        cosine[:, views @ upward < -np.sin(np.radians(DIP))] = 0.0
    result: Floats = cosine / total[:, None]
    return result


def _clusters(solid: Solid, chosen: Ints) -> tuple[Ints, Ints]:
    """Return the faces to look at, and for every chosen face which of them answers for it.

    Faces are put together by a cube of space and the direction they look in (27 bins), so the two
    sides of a thin wall never share an answer; the largest of a cluster speaks for it.
    """
    count = len(chosen)
    if count <= _FACES_AT_MOST:
        return chosen, np.arange(count)
    looks = np.round(solid.face_normals[chosen] * 1.5).astype(np.int64) + 2
    looks = looks @ np.array([25, 5, 1])
    centroids, areas = solid.face_centroids[chosen], solid.face_areas[chosen]
    side = np.sqrt(solid.area / _FACES_AT_MOST)
    while True:
        cube = np.floor((centroids - solid.bounds[0]) / side).astype(np.int64)
        wide = cube.max(axis=0) + 1
        key = ((cube[:, 0] * wide[1] + cube[:, 1]) * wide[2] + cube[:, 2]) * 125 + looks
        # Sorted by key and then by falling area: the first of each key is its largest face.
        order = np.lexsort((-areas, key))
        first = np.flatnonzero(np.diff(key[order], prepend=-1))
        if len(first) <= _FACES_AT_MOST:
            break
        side *= 1.3
    answer_of = np.empty(count, dtype=np.int64)
    answer_of[order] = np.repeat(np.arange(len(first)), np.diff(np.append(first, count)))
    return chosen[order[first]], answer_of


def _viewpoints(solid: Solid, faces: Ints) -> tuple[Ints, Floats]:
    """Return points on `faces`, (n, 3) mm, and the place of each one's face in `faces`.

    A face gets one point for every 1 / `_POINTS` of the solid's area, from 1 to 16: its centroid,
    or the points of the R2 sequence (M. Roberts, 2018: multiples of the inverse powers of the
    plastic number, from memory), folded into the triangle.
    """
    per_face = np.ceil(solid.face_areas[faces] / (solid.area / _POINTS))
    wanted = np.clip(per_face, 1, _POINTS_PER_FACE).astype(np.int64)
    owner = np.repeat(np.arange(len(faces)), wanted)
    index = np.arange(len(owner)) - np.repeat(np.cumsum(wanted) - wanted, wanted)
    plastic = 1.32471795724474602596
    s = (0.5 + (index + 1) / plastic) % 1.0
    t = (0.5 + (index + 1) / plastic**2) % 1.0
    fold = s + t > 1.0
    s, t = np.where(fold, 1.0 - s, s), np.where(fold, 1.0 - t, t)
    single = (wanted == 1)[owner]
    s, t = np.where(single, 1 / 3, s), np.where(single, 1 / 3, t)
    a, b, c = (solid.vertices[solid.faces[faces[owner], k]] for k in range(3))
    points: Floats = a + s[:, None] * (b - a) + t[:, None] * (c - a)
    return owner, points
