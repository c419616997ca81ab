"""Moving the sides of a solid apart where it touches itself along an edge.

Each such edge is given one new corner in its middle for every wedge of material around it, moved
into that wedge along its bisector. The wedges do not overlap, so neither do the new corners, and
every new edge has two faces. Compare Guéziec, Taubin, Lazarus and Horn, "Cutting and stitching",
IEEE Trans. Vis. Comput. Graph. 7 (2001) 136: the mesh is cut along its singular edges.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid import frame_of

_TIE = 1e-9
"""Faces round an edge that are closer than this (radians) count as being at one angle."""

Around = tuple[float, int, tuple[int, int]]
"""One face at an edge: its angle, +1 if it passes the edge forward else -1, its half-edge."""


def part_touching_edges(
    vertices: Floats, faces: Ints, wrong: Bools, gap: float
) -> tuple[Floats, Ints]:
    """Part the faces that meet in the `wrong` edges.

    Parameters
    ----------
    vertices : (n, 3) array, mm
    faces : (m, 3) array
        Every edge is passed as often forward as backward.
    wrong : (m, 3) mask
        Half-edges that share their edge with more than one other; see
        `splitplanner.output.printable.unmatched_edges`.
    gap : float
        How far each new corner is moved into the material, mm.

    Returns
    -------
    vertices : (n + k, 3) array, mm
    faces : (l, 3) array
    """
    edges: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for face, side in np.argwhere(wrong).tolist():
        start, end = int(faces[face, side]), int(faces[face, (side + 1) % 3])
        edges[min(start, end), max(start, end)].append((face, side))
    added: list[Floats] = []
    middle_of: dict[tuple[int, int], int] = {}
    for (start, end), half_edges in edges.items():
        along = vertices[end] - vertices[start]
        frame = frame_of(along)
        around = [_place(vertices, faces, frame, start, half) for half in half_edges]
        for opening, closing in wedges(around):
            turn = (closing[0] - opening[0]) % (2 * np.pi)
            angle = opening[0] + turn / 2
            inward = np.cos(angle) * frame[0] + np.sin(angle) * frame[1]
            middle_of[opening[2]] = middle_of[closing[2]] = len(vertices) + len(added)
            added.append((vertices[start] + vertices[end]) / 2 + gap * inward)
    if not added:
        return vertices, faces
    return np.vstack([vertices, added]), _with_middles(faces, middle_of)


def wedges(around: list[Around]) -> list[tuple[Around, Around]]:
    """Pair the faces round an edge so that each pair bounds one wedge of material.

    Material is on the side of growing angle of a face that passes the edge backward, and ends at
    one that passes it forward. Faces at one angle are taken so that no wedge lies in another.
    """
    ordered = sorted(around, key=lambda face: (face[0], face[1]))
    for start in range(len(ordered)):
        pairs = _alternating(ordered[start:] + ordered[:start])
        if pairs is not None:
            return pairs
    return _nested(ordered)


def _alternating(ordered: list[Around]) -> list[tuple[Around, Around]] | None:
    """Return pairs that open and close in turn; None if the order does not allow it."""
    rest = list(ordered)
    pairs: list[tuple[Around, Around]] = []
    opening: Around | None = None
    while rest:
        wanted = -1 if opening is None else 1
        angle = rest[0][0]
        index = next(
            (
                i
                for i, face in enumerate(rest)
                if abs(face[0] - angle) <= _TIE and face[1] == wanted
            ),
            None,
        )
        if index is None:
            return None
        face = rest.pop(index)
        if opening is None:
            opening = face
        else:
            pairs.append((opening, face))
            opening = None
    return pairs if opening is None else None


def _nested(ordered: list[Around]) -> list[tuple[Around, Around]]:
    """Pair like brackets, for faces that rounding has pushed through each other."""
    depth = np.cumsum([-face[1] for face in ordered])
    start = (int(np.argmin(depth)) + 1) % len(ordered)
    pairs: list[tuple[Around, Around]] = []
    open_faces: list[Around] = []
    for face in ordered[start:] + ordered[:start]:
        if face[1] < 0:
            open_faces.append(face)
        elif open_faces:
            pairs.append((open_faces.pop(), face))
    return pairs


def _place(
    vertices: Floats, faces: Ints, frame: Floats, start: int, half: tuple[int, int]
) -> Around:
    face, side = half
    tip = vertices[faces[face, (side + 2) % 3]] - vertices[start]
    angle = float(np.arctan2(tip @ frame[1], tip @ frame[0]))
    return angle, 1 if faces[face, side] == start else -1, half


def _with_middles(faces: Ints, middle_of: dict[tuple[int, int], int]) -> Ints:
    """Divide the faces that have a new corner (face, side -> index) on one side or more."""
    divided = sorted({face for face, _ in middle_of})
    whole = np.ones(len(faces), dtype=bool)
    whole[divided] = False
    fans: list[tuple[int, int, int]] = []
    for face in divided:
        ring: list[int] = []
        first = 0
        for side in range(3):
            ring.append(int(faces[face, side]))
            middle = middle_of.get((face, side))
            if middle is not None:
                first = len(ring)
                ring.append(middle)
        # A fan from a new corner has no flat triangle: its two neighbours are on its own side.
        ring = ring[first:] + ring[:first]
        fans.extend((ring[0], ring[k], ring[k + 1]) for k in range(1, len(ring) - 1))
    return np.vstack([faces[whole], np.array(fans, dtype=np.int64)])
