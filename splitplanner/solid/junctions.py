"""Closes cracks where a corner of one face lies in the middle of another face's edge."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.findings import Finding, Severity, counted
from splitplanner.solid.soup import Soup

_MOST = 100_000
"""More open half-edges than this are no cracks but a surface in shreds; it is left alone."""


def close_junctions(soup: Soup, distance: float) -> tuple[Soup, list[Finding]]:
    """Split faces at corners of other open faces that lie on their open edges.

    Parameters
    ----------
    distance : float
        How far from the edge such a corner may lie, mm.
    """
    places: list[Floats] = []
    for _ in range(6):
        odd = np.flatnonzero(soup.edges.odd)
        if not 0 < len(odd) <= _MOST:
            break
        edges, points = _corners_on_edges(soup, odd, distance)
        if not len(edges):
            break
        split = soup.with_faces(_split_faces(soup.faces, edges, points))
        if split.edges.open_count >= soup.edges.open_count + len(points):
            break
        places.append(soup.vertices[points])
        soup = split
    if not places:
        return soup, []
    where = np.concatenate(places)
    finding = Finding(
        "healing.junction",
        Severity.NOTE,
        f"Split triangles at {counted(len(where), 'corner')} of others that lay on their edges "
        "without being joined to them.",
        where=where,
        measured=float(len(where)),
        unit="1",
    )
    return soup, [finding]


def _corners_on_edges(soup: Soup, odd: Ints, distance: float) -> tuple[Ints, Ints]:
    """Return half-edges and the vertices that lie on them, in order along each.

    At most one half-edge of a face is returned; the others get their turn later.
    """
    table = soup.edges
    corners = np.unique(np.concatenate([table.starts[odd], table.ends[odd]]))
    start, end = soup.vertices[table.starts[odd]], soup.vertices[table.ends[odd]]
    length = np.linalg.norm(end - start, axis=1)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import cKDTree

    tree = cKDTree(soup.vertices[corners])
    near = tree.query_ball_point((start + end) / 2, length / 2, return_sorted=True)
    count = np.array([len(found) for found in near])
    if not count.any():
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    at = np.repeat(np.arange(len(odd)), count)
    point = corners[np.concatenate([found for found in near if found]).astype(np.int64)]
    along = (end - start)[at] / np.maximum(length[at], 1e-300)[:, None]
    offset = soup.vertices[point] - start[at]
    station = np.einsum("ij,ij->i", offset, along)
    aside = np.linalg.norm(offset - station[:, None] * along, axis=1)
    face = odd[at] // 3
    on = (aside <= distance) & (station > distance) & (station < length[at] - distance)
    on &= (soup.faces[face] != point[:, None]).all(axis=1)
    on &= soup.bodies[point] == soup.bodies[table.starts[odd[at]]]
    at, point, station, face = at[on], point[on], station[on], face[on]
    order = np.lexsort((station, at))
    at, point, face = at[order], point[order], face[order]
    _, first = np.unique(face, return_index=True)
    chosen = np.isin(at, at[first])
    return odd[at[chosen]], point[chosen]


def _split_faces(faces: Ints, edges: Ints, points: Ints) -> Ints:
    """Return `faces` with the `points` put into their half-edges `edges`, as fans of triangles."""
    fresh: list[tuple[int, int, int]] = []
    heads, first = np.unique(edges, return_index=True)
    for edge, group in zip(heads, np.split(points, first[1:]), strict=True):
        face, corner = divmod(int(edge), 3)
        a, b, c = np.roll(faces[face], -corner).tolist()
        row = [a, *group.tolist(), b]
        fresh.extend((here, there, c) for here, there in pairwise(row))
    kept = np.ones(len(faces), dtype=bool)
    kept[heads // 3] = False
    return np.concatenate([faces[kept], np.array(fresh, dtype=np.int64)])
