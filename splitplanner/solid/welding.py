"""Joins the corners of a triangle soup and drops faces that are no faces."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.findings import Finding, Severity, counted
from splitplanner.progress import Report, silent
from splitplanner.solid.soup import Soup

NEAR = (1e-6, 1e-5, 1e-4)
"""Welding distances that are tried in turn while the surface is open, as shares of the part's
diagonal. The first is some ten times the rounding of single-precision coordinates (2**-24); the
last is 0.05 mm on a part of 500 mm, finer than a printer can draw (common practice, no source)."""

# Odd 64-bit numbers with well-spread bits, to hash coordinates.
_FACTORS = np.array(
    [0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB, 0xD6E8FEB86659FD93],
    dtype=np.uint64,
)


def weld_equal(soup: Soup) -> tuple[Soup, int]:
    """Join the vertices of one body that have equal coordinates.

    Returns
    -------
    soup : Soup
        With only the vertices in use, in the order of their first use.
    joined : int
        Number of vertices that went.
    """
    used = _in_use(len(soup.vertices), soup.faces.ravel())
    points, bodies = soup.vertices[used] + 0.0, soup.bodies[used]
    first, inverse = _equal_rows(points, bodies)
    renumber = np.zeros(len(soup.vertices), dtype=np.int64)
    renumber[used] = inverse
    welded = Soup(points[first], renumber[soup.faces], bodies[first])
    return welded, len(used) - len(first)


def _in_use(count: int, *indices: Ints) -> Ints:
    """Return the sorted distinct values of `indices`, all below `count`."""
    mark = np.zeros(count, dtype=bool)
    for some in indices:
        mark[some] = True
    result: Ints = np.flatnonzero(mark)
    return result


def _equal_rows(points: Floats, bodies: Ints) -> tuple[Ints, Ints]:
    """Return the first index of each distinct row, and the number of each row's class."""
    bits = points.view(np.uint64).reshape(-1, 3)
    with np.errstate(over="ignore"):
        mixed: NDArray[np.uint64] = bodies.astype(np.uint64) * _FACTORS[0]
        for column, factor in enumerate(_FACTORS[1:]):
            mixed = (mixed ^ (mixed >> np.uint64(29))) * _FACTORS[0]
            mixed = mixed + (bits[:, column] ^ (bits[:, column] >> np.uint64(31))) * factor
    _, first, inverse = np.unique(mixed, return_index=True, return_inverse=True)
    if (points[first][inverse] != points).any() or (bodies[first][inverse] != bodies).any():
        # Two different rows met in one hash: sort the rows themselves, slower but exact.
        rows = np.column_stack([points, bodies])
        _, first, inverse = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    by_use = np.argsort(first, kind="stable")
    rank = np.empty_like(by_use)
    rank[by_use] = np.arange(len(by_use))
    return first[by_use].astype(np.int64), rank[inverse].astype(np.int64)


def weld_near(soup: Soup, distance: float, keep_edges: bool) -> tuple[Soup, Floats, Floats]:
    """Join vertices on open edges that lie within `distance` (mm) of each other.

    Parameters
    ----------
    keep_edges : bool
        True leaves a cluster alone if joining it would make an edge vanish.

    Returns
    -------
    soup : Soup
    places : (k, 3) float array, mm
        Where each of the vertices that moved went.
    moved : (k,) float array, mm
        How far each moved.
    """
    table = soup.edges
    odd = table.odd
    loose = _in_use(len(soup.vertices), table.starts[odd], table.ends[odd])
    apart = soup.bodies[loose] * (4.0 * soup.size + 1.0)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import cKDTree

    tree = cKDTree(np.column_stack([soup.vertices[loose], apart]))
    pairs = tree.query_pairs(distance, output_type="ndarray")
    if not len(pairs):
        return soup, np.empty((0, 3)), np.empty(0)
    cluster = np.arange(len(soup.vertices))
    cluster[loose] = loose[_smallest_linked(len(loose), pairs)]
    if keep_edges:
        vanish = (cluster[table.starts] == cluster[table.ends]) & (table.starts != table.ends)
        refused = np.isin(cluster, cluster[table.starts[vanish]])
        cluster[refused] = np.flatnonzero(refused)
    moved_to = np.array(soup.vertices)
    members = np.bincount(cluster, minlength=len(cluster))
    shared = members > 1
    for axis in range(3):
        sums = np.bincount(cluster, soup.vertices[:, axis], minlength=len(cluster))
        moved_to[shared, axis] = sums[shared] / members[shared]
    joining = members[cluster] > 1
    places: Floats = moved_to[cluster[joining]]
    moved: Floats = np.linalg.norm(places - soup.vertices[joining], axis=1)
    return Soup(moved_to, cluster[soup.faces], soup.bodies), places, moved


def _smallest_linked(count: int, pairs: Ints) -> Ints:
    """Return for each of `count` nodes the smallest node linked to it by `pairs` (k, 2)."""
    ones = np.ones(len(pairs), dtype=np.int8)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((ones, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    result: Ints = first[label].astype(np.int64)
    return result


def weld(soup: Soup, report: Report = silent) -> tuple[Soup, list[Finding]]:
    """Join equal vertices, then near ones as far as needed to close the surface."""
    corners = 3 * len(soup.faces)
    soup, equal = weld_equal(soup)
    report(0.4, "joining corners")
    # In a file that repeats every corner, as STL does, joining them is no repair.
    shared_before = equal + len(soup.vertices) < corners
    soup, gone = _without_collapsed(soup)
    collapsed, spots = [gone], [np.empty((0, 3))]
    soup = _one_body_where_open(soup)
    farthest = 0.0
    for step, share in enumerate(NEAR):
        if soup.edges.open_count == 0:
            break
        report(0.5 + 0.1 * step, "joining near corners")
        tried, places, moved = weld_near(soup, share * soup.size, keep_edges=step > 0)
        tried, gone = _without_collapsed(tried)
        if tried.edges.open_count < soup.edges.open_count:
            soup, farthest = tried, max(farthest, float(moved.max(initial=0.0)))
            spots.append(places)
            collapsed.append(gone)
    joined = np.concatenate(spots)
    findings = _weld_findings(joined, farthest, soup.size, equal if shared_before else 0)
    lost = np.concatenate(collapsed)
    if len(lost):
        findings.append(
            Finding(
                "healing.degenerate",
                Severity.NOTE,
                f"Dropped {counted(len(lost), 'triangle')} with two corners in one place.",
                where=lost,
                measured=float(len(lost)),
                unit="1",
            )
        )
    return soup, findings


def _weld_findings(joined: Floats, farthest: float, size: float, equal: int) -> list[Finding]:
    if len(joined):
        return [
            Finding(
                "healing.weld",
                Severity.NOTE,
                f"Joined {counted(len(joined), 'corner')} that lay close by each other; "
                f"none moved more than {farthest:.3g} mm.",
                where=joined,
                measured=farthest,
                allowed=NEAR[-1] * size,
                unit="mm",
            )
        ]
    if not equal:
        return []
    return [
        Finding(
            "healing.weld",
            Severity.NOTE,
            f"Joined {counted(equal, 'corner')} to others in the same place.",
            measured=float(equal),
            unit="1",
        )
    ]


def _one_body_where_open(soup: Soup) -> Soup:
    """Let bodies that are open by themselves be welded to each other.

    Some files hold one object for each colour or face of a single solid.
    """
    odd = soup.edges.odd
    if not odd.any():
        return soup
    opened = np.unique(soup.bodies[soup.edges.starts[odd]])
    if len(opened) < 2:
        return soup
    bodies = np.where(np.isin(soup.bodies, opened), opened[0], soup.bodies)
    return weld_equal(Soup(soup.vertices, soup.faces, bodies))[0]


def _without_collapsed(soup: Soup) -> tuple[Soup, Floats]:
    """Return the soup without faces that name a vertex twice, and the places of those."""
    a, b, c = soup.faces.T
    whole = (a != b) & (b != c) & (c != a)
    places: Floats = soup.vertices[soup.faces[~whole]].mean(axis=1)
    return (soup.with_faces(soup.faces[whole]) if len(places) else soup), places


def drop_duplicates(soup: Soup) -> tuple[Soup, list[Finding]]:
    """Drop faces that have the same three corners as another.

    An odd number of copies leaves one. An even number leaves one where the surface beside them
    is open without it (a face written twice), and none where it is closed without it (two
    bodies that touch in whole faces, or a partition without thickness).
    """
    key = np.sort(soup.faces, axis=1)
    order = np.lexsort(key.T[::-1])
    ranked = key[order]
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    first = np.flatnonzero(fresh)
    copies = np.diff(np.append(first, len(order)))
    if not (copies > 1).any():
        return soup, []
    heads = np.minimum.reduceat(order, first)
    kept = np.zeros(len(order), dtype=bool)
    kept[heads] = True
    even = heads[copies % 2 == 0]
    single = soup.with_faces(soup.faces[kept])
    doubled = np.zeros(len(order), dtype=bool)
    doubled[even] = True
    removable = even[
        _closed_without(single, doubled[kept], np.searchsorted(np.flatnonzero(kept), even))
    ]
    kept[removable] = False
    findings = _duplicate_findings(soup, kept, removable, int((copies - 1).sum()))
    return soup.with_faces(soup.faces[kept]), findings


def _duplicate_findings(soup: Soup, kept: Bools, removed: Ints, extra: int) -> list[Finding]:
    spots = soup.vertices[soup.faces[~kept]].mean(axis=1)
    findings = [
        Finding(
            "healing.duplicate",
            Severity.NOTE,
            f"Dropped {counted(extra, 'triangle')} that lay exactly on others.",
            where=spots,
            measured=float(extra),
            unit="1",
        )
    ]
    if len(removed):
        findings.append(
            Finding(
                "healing.partition",
                Severity.NOTE,
                f"Dropped {counted(len(removed), 'pair')} of triangles that formed a partition "
                "without thickness inside or between bodies.",
                where=soup.vertices[soup.faces[removed]].mean(axis=1),
                measured=float(len(removed)),
                unit="1",
            )
        )
    return findings


def _closed_without(soup: Soup, doubled: Bools, asked: Ints) -> Bools:
    """Return for each of the faces `asked` whether the surface beside its patch needs it not.

    A patch is a set of `doubled` faces joined by edges; the edges of its border vote.
    """
    table = soup.edges
    face_of = table.order // 3
    edge_of = np.repeat(np.arange(len(table.count)), table.count)
    mine = doubled[face_of]
    inside = np.bincount(edge_of, mine, minlength=len(table.count)).astype(np.int64)
    others = table.count - inside
    # Link the doubled faces of an edge to the first of them.
    faces, edges = face_of[mine], edge_of[mine]
    head = np.unique(edges, return_index=True)[1]
    lead = np.repeat(faces[head], np.diff(np.append(head, len(edges))))
    patch = _smallest_linked(len(soup.faces), np.column_stack([lead, faces]))
    vote = np.where(others[edges] == 0, 0, np.where(others[edges] % 2 == 0, 1, -1))
    border = np.bincount(patch[faces], vote, minlength=len(soup.faces))
    result: Bools = border[patch[asked]] > 0
    return result


def drop_flat(soup: Soup) -> tuple[Soup, list[Finding]]:
    """Drop faces without area that stand loose on the surface.

    Those that the surface needs to be closed (slivers across a row of corners) stay.
    """
    height = _heights(soup)
    flat = height <= NEAR[0] * soup.size
    gone = np.zeros(len(soup.faces), dtype=bool)
    for _ in range(8):
        rest = soup.with_faces(soup.faces[~gone])
        loose = rest.edges.odd.reshape(-1, 3).sum(axis=1) >= 2
        drop = np.flatnonzero(~gone)[loose & flat[~gone]]
        if not len(drop):
            break
        gone[drop] = True
    # Dropping must not open what was closed.
    rest = soup.with_faces(soup.faces[~gone])
    if not gone.any() or rest.edges.open_count > soup.edges.open_count:
        return soup, []
    count = int(gone.sum())
    finding = Finding(
        "healing.degenerate",
        Severity.NOTE,
        f"Dropped {counted(count, 'triangle')} without area that stood loose on the surface.",
        where=soup.vertices[soup.faces[gone]].mean(axis=1),
        measured=float(count),
        unit="1",
    )
    return rest, [finding]


def _heights(soup: Soup) -> Floats:
    """Return the least height of each face, mm."""
    corners = soup.vertices[soup.faces]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    double = 2.0 * np.linalg.norm(soup.area_vectors, axis=1)
    result: Floats = np.divide(double, longest, out=np.zeros_like(double), where=longest > 0)
    return result
