"""Makes a surface manifold: which faces join at each edge, which way they face, which corners part.

Where four or more faces meet at an edge, each is joined to the neighbour with which it encloses
material, so that bodies which only touch stay apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid.soup import EdgeTable, Soup, next_in_face

_SAME_ANGLE = 1e-6
"""Faces round an edge within this angle (radians) count as lying on each other."""


@dataclass(frozen=True, eq=False)
class Sheets:
    """A soup with its faces turned alike and joined in pairs over their edges.

    Attributes
    ----------
    soup : Soup
        Faces turned so that neighbours agree.
    left, right : (p,) int array
        Half-edges that are joined.
    sheet : (m,) int array
        Number of the connected sheet of each face.
    turned : (m,) bool array
        Faces that were turned over.
    one_sided : (m,) bool array
        Faces of sheets that have only one side, like a Möbius band.
    crowded : int array
        One half-edge of every edge with more than two faces.
    """

    soup: Soup
    left: Ints
    right: Ints
    sheet: Ints
    turned: Bools
    one_sided: Bools
    crowded: Ints

    @property
    def open_half_edges(self) -> Ints:
        """Half-edges that are joined to no other."""
        loose = np.ones(3 * len(self.soup.faces), dtype=bool)
        loose[self.left] = False
        loose[self.right] = False
        result: Ints = np.flatnonzero(loose)
        return result

    def parted(self) -> tuple[Floats, Ints]:
        """Return vertices (n, 3) mm and faces (m, 3) with a vertex of its own for each fan.

        A fan is the faces round a vertex that are joined to each other over edges there.
        """
        starts = self.soup.edges.starts
        here = np.concatenate([self.left, next_in_face(self.left)])
        there = np.concatenate([next_in_face(self.right), self.right])
        fan = _labels(len(starts), here, there)
        _, first, corner = np.unique(fan, return_index=True, return_inverse=True)
        return self.soup.vertices[starts[first]], corner.reshape(-1, 3).astype(np.int64)

    def closed_mesh(self) -> tuple[Floats, Ints, Ints]:
        """Return vertices (n, 3) mm, faces (m, 3) and the sheet of each face, (m,).

        Like `parted`; besides, where two joints of faces still run between the same two vertices
        (a surface that touches itself along part of an edge), all but one get a vertex of their
        own in the middle. Without it the geometry kernel mixes them up and changes the volume.
        """
        vertices, faces = self.parted()
        table = EdgeTable(faces)
        twin = table.faces_at[self.left] > 2
        twin &= ~np.isin(self.left, table.order[table.first])
        twin &= ~np.isin(self.right, table.order[table.first])
        if not twin.any():
            return vertices, faces, self.sheet
        left, right = self.left[twin], self.right[twin]
        middle = np.full(3 * len(faces), -1)
        middle[left] = middle[right] = len(vertices) + np.arange(len(left))
        ends = faces.ravel()
        fresh = (vertices[ends[left]] + vertices[ends[next_in_face(left)]]) / 2
        divided, origin = _divided(faces, middle.reshape(-1, 3))
        return np.concatenate([vertices, fresh]), divided, self.sheet[origin]


def _divided(faces: Ints, middle: Ints) -> tuple[Ints, Ints]:
    """Divide faces at the vertices `middle` (m, 3) of their edges, -1 for none.

    Returns
    -------
    faces : (k, 3) int array
    origin : (k,) int array
        The face each comes from.
    """
    count = (middle >= 0).sum(axis=1)
    index = np.arange(len(faces))
    whole = count == 0
    made, origin = [faces[whole]], [index[whole]]
    for number in (1, 2, 3):
        some = index[count == number]
        # Turn each so that its edges to divide come first.
        has = middle[some] >= 0
        lead = has & (~np.roll(has, 1, axis=1) | (number == 3))
        turn = (lead.argmax(axis=1)[:, None] + np.arange(3)) % 3
        a, b, c = np.take_along_axis(faces[some], turn, axis=1).T
        m, n, o = np.take_along_axis(middle[some], turn, axis=1).T
        patterns = {
            1: [(a, m, c), (m, b, c)],
            2: [(m, b, n), (a, m, n), (a, n, c)],
            3: [(a, m, o), (m, b, n), (n, c, o), (m, n, o)],
        }[number]
        for pattern in patterns:
            made.append(np.column_stack(pattern))
            origin.append(some)
    return np.concatenate(made), np.concatenate(origin)


def make_sheets(soup: Soup) -> Sheets:
    """Join the faces of `soup` over their edges and turn them alike."""
    table = soup.edges
    two = table.first[table.count == 2]
    left, right = table.order[two], table.order[two + 1]
    crowd = np.flatnonzero(table.count > 2)
    if not len(crowd):
        return _oriented(soup, left, right, np.empty(0, dtype=np.int64))
    crowded = table.order[table.first[crowd]]
    patches = _oriented(soup, left, right, crowded)
    sure, doubtful = _match_fans(soup, crowd, patches.turned)
    both = np.concatenate([sure, doubtful])
    joined = _oriented(
        soup,
        np.concatenate([left, both[:, 0]]),
        np.concatenate([right, both[:, 1]]),
        crowded,
    )
    if joined.one_sided.any() and len(doubtful):
        return _oriented(
            soup,
            np.concatenate([left, sure[:, 0]]),
            np.concatenate([right, sure[:, 1]]),
            crowded,
        )
    return joined


def _labels(count: int, here: Ints, there: Ints) -> Ints:
    ones = np.ones(len(here), dtype=np.int8)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((ones, (here, there)), shape=(count, count))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def _oriented(soup: Soup, left: Ints, right: Ints, crowded: Ints) -> Sheets:
    """Turn the fewest faces of each sheet so that neighbours agree.

    Every face is two nodes, as it is and turned over. Joined faces that run opposite ways along
    their edge link like with like; those that run the same way link one with the other turned.
    A sheet whose two sides are linked has only one side.
    """
    table, count = soup.edges, len(soup.faces)
    f, g = left // 3, right // 3
    clash = table.starts[left] == table.starts[right]
    none = np.zeros(count, dtype=bool)
    if not clash.any():
        return Sheets(soup, left, right, _labels(count, f, g), none, none, crowded)
    other = np.where(clash, count, 0)
    label = _labels(
        2 * count, np.concatenate([f, f + count]), np.concatenate([g + other, g + count - other])
    )
    as_is, over = label[:count], label[count:]
    weight = np.bincount(as_is, minlength=int(label.max()) + 1)
    turned: Bools = (weight[over] > weight[as_is]) | (
        (weight[over] == weight[as_is]) & (over < as_is)
    )
    faces = np.where(turned[:, None], soup.faces[:, [0, 2, 1]], soup.faces)
    # Turning (a, b, c) into (a, c, b) makes half-edge k into 2 - k.
    left = np.where(turned[f], 3 * f + 2 - left % 3, left)
    right = np.where(turned[g], 3 * g + 2 - right % 3, right)
    at = crowded // 3
    crowded = np.where(turned[at], 3 * at + 2 - crowded % 3, crowded)
    one_sided: Bools = as_is == over
    return Sheets(
        soup.with_faces(faces), left, right, np.minimum(as_is, over), turned, one_sided, crowded
    )


def _match_fans(soup: Soup, crowd: Ints, turned: Bools) -> tuple[Ints, Ints]:
    """Pair the half-edges of the edges `crowd`; return the sure and the doubtful pairs, (k, 2)."""
    table = soup.edges
    sure: list[tuple[int, int]] = []
    doubtful: list[tuple[int, int]] = []
    for edge in crowd:
        begin = table.first[edge]
        fan = table.order[begin : begin + table.count[edge]]
        low = min(table.starts[fan[0]], table.ends[fan[0]])
        forward = (table.starts[fan] == low) != turned[fan // 3]
        sequence = _round_edge(_angles(soup, fan), forward)
        pairs, rest = _match(fan[sequence].tolist(), forward[sequence].tolist())
        sure.extend(pairs)
        doubtful.extend(zip(rest[0::2], rest[1::2], strict=False))
    return _pairs(sure), _pairs(doubtful)


def _pairs(pairs: list[tuple[int, int]]) -> Ints:
    return np.array(pairs, dtype=np.int64).reshape(-1, 2)


def _angles(soup: Soup, fan: Ints) -> Floats:
    """Return the angle of each face of a `fan` about its edge, radians, from the first face."""
    table = soup.edges
    ends = sorted((int(table.starts[fan[0]]), int(table.ends[fan[0]])))
    origin = soup.vertices[ends[0]]
    along = soup.vertices[ends[1]] - origin
    along = along / max(float(np.linalg.norm(along)), 1e-300)
    tips = soup.vertices[table.ends[next_in_face(fan)]] - origin
    tips = tips - np.outer(tips @ along, along)
    angles: Floats = np.arctan2(tips @ np.cross(along, tips[0]), tips @ tips[0]) % (2 * np.pi)
    angles[angles > 2 * np.pi - _SAME_ANGLE] = 0.0
    return angles


def _round_edge(angles: Floats, forward: Bools) -> Ints:
    """Return the order of the faces round their edge.

    Of faces that lie on each other, those that close material come first, so that each body's
    two faces stand side by side.
    """
    order = np.argsort(angles, kind="stable")
    step = np.cumsum(np.diff(angles[order], prepend=angles[order[0]]) > _SAME_ANGLE)
    return order[np.lexsort((~forward[order], step))]


def _match(fan: list[int], forward: list[bool]) -> tuple[list[tuple[int, int]], list[int]]:
    """Match the faces round an edge like brackets; return pairs and what is left over.

    By the right-hand rule a face that runs forward along the edge has its material on the side
    of smaller angle, so it closes what the last backward face opened.
    """
    depth = np.cumsum([-1 if closes else 1 for closes in forward])
    begin = (int(np.argmin(depth)) + 1) % len(fan)
    pairs: list[tuple[int, int]] = []
    waiting: list[int] = []
    rest: list[int] = []
    for at in [*range(begin, len(fan)), *range(begin)]:
        if not forward[at]:
            waiting.append(fan[at])
        elif waiting:
            pairs.append((waiting.pop(), fan[at]))
        else:
            rest.append(fan[at])
    return pairs, rest + waiting
