"""Closes small holes in a surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from manifold3d import triangulate

from splitplanner.arrays import Floats, Ints
from splitplanner.findings import Finding, Severity, counted
from splitplanner.solid.plane import frame_of
from splitplanner.solid.sheets import Sheets
from splitplanner.solid.soup import next_in_face

_FLAT = 1e-3
"""A hole is flat if its corners lie this near its plane, as a share of its outline's length."""


@dataclass(frozen=True)
class HoleLimits:
    """How large a hole may be and still be closed.

    Attributes
    ----------
    outline : float
        A hole of any shape is closed if its outline is no longer than this share of the part's
        diagonal.
    area : float
        A flat hole of any length is closed too, as a missing flat face. All holes closed in one
        sheet may have at most this share of the sheet's own area; above it the sheet is taken
        for a surface without thickness, or for half a part. (The area is the half of the summed
        cross products of the outline, by Newell's method.)
    """

    outline: float = 0.25
    area: float = 0.25


@dataclass(frozen=True, eq=False)
class Hole:
    """One closed chain of open edges.

    Attributes
    ----------
    loop : (k,) int array
        Vertices, in the direction of the faces beside it.
    points : (k, 3) float array, mm
    sheet : int
        The sheet it is in.
    """

    loop: Ints
    points: Floats
    sheet: int

    @property
    def length(self) -> float:
        """Length of the outline, mm."""
        return float(np.linalg.norm(self.points - np.roll(self.points, 1, axis=0), axis=1).sum())

    @property
    def area_vector(self) -> Floats:
        """Normal times area, (3,) mm², towards the inside of the solid."""
        rel = self.points - self.points[0]
        result: Floats = np.cross(rel, np.roll(rel, -1, axis=0)).sum(axis=0) / 2
        return result

    @property
    def is_flat(self) -> bool:
        """True if the outline lies in a plane."""
        vector = self.area_vector
        area = float(np.linalg.norm(vector))
        if area == 0.0:
            return True
        heights = (self.points - self.points.mean(axis=0)) @ (vector / area)
        return bool(np.abs(heights).max() <= _FLAT * self.length)


def find_holes(sheets: Sheets) -> list[Hole]:
    """Return every closed chain of open edges; chains are parted where they touch themselves."""
    loose = sheets.open_half_edges
    if not len(loose):
        return []
    _, corners = sheets.parted()
    flat = corners.ravel()
    begin, end = flat[loose], flat[next_in_face(loose)]
    by_start = np.argsort(begin, kind="stable")
    follower = by_start[np.searchsorted(begin[by_start], end)]
    seen = np.zeros(len(loose), dtype=bool)
    start_vertex = sheets.soup.edges.starts[loose]
    holes: list[Hole] = []
    for first in range(len(loose)):
        chain: list[int] = []
        at = first
        while not seen[at]:
            seen[at] = True
            chain.append(at)
            at = int(follower[at])
        if chain:
            sheet = int(sheets.sheet[loose[first] // 3])
            for loop in _simple_loops(start_vertex[chain].tolist()):
                ring = np.array(loop, dtype=np.int64)
                holes.append(Hole(ring, sheets.soup.vertices[ring], sheet))
    return holes


def _simple_loops(chain: list[int]) -> list[list[int]]:
    """Part a closed chain of vertices into loops in which no vertex comes twice."""
    loops: list[list[int]] = []
    path: list[int] = []
    place: dict[int, int] = {}
    for vertex in chain:
        if vertex in place:
            cut = place[vertex]
            loops.append(path[cut:])
            for gone in path[cut:]:
                del place[gone]
            del path[cut:]
        place[vertex] = len(path)
        path.append(vertex)
    return [*loops, path]


def fill_holes(sheets: Sheets, limits: HoleLimits) -> tuple[Ints, list[Finding], list[Hole]]:
    """Close the holes within `limits`.

    Returns
    -------
    faces : (k, 3) int array
        The new triangles, turned like the faces beside them.
    findings : list of Finding
        What was closed.
    left_open : list of Hole
        What was not.
    """
    areas = np.linalg.norm(sheets.soup.area_vectors, axis=1)
    sheet_area = np.bincount(sheets.sheet, areas)
    budget = limits.area * sheet_area
    fresh: list[Ints] = [np.empty((0, 3), dtype=np.int64)]
    closed: list[Hole] = []
    left_open: list[Hole] = []
    for hole in sorted(find_holes(sheets), key=lambda hole: hole.length):
        area = float(np.linalg.norm(hole.area_vector))
        small = hole.length <= limits.outline * sheets.soup.size
        if len(hole.loop) > 2 and area <= budget[hole.sheet] and (small or hole.is_flat):
            budget[hole.sheet] -= area
            fresh.append(_triangles(hole))
            closed.append(hole)
        else:
            left_open.append(hole)
    longest = limits.outline * sheets.soup.size
    return np.concatenate(fresh), _hole_findings(closed, longest), left_open


def _triangles(hole: Hole) -> Ints:
    ring = hole.loop[::-1]
    if len(ring) == 3:
        return ring[None, :]
    vector = -hole.area_vector
    if not vector.any():
        middle = np.arange(1, len(ring) - 1)
        return np.column_stack([np.full(len(middle), ring[0]), ring[middle], ring[middle + 1]])
    flat = np.ascontiguousarray((hole.points[::-1] @ frame_of(vector).T)[:, :2])
    picked = np.asarray(triangulate([flat]), dtype=np.int64)
    result: Ints = ring[picked]
    return result


def _hole_findings(closed: list[Hole], longest: float) -> list[Finding]:
    findings = []
    for large in (False, True):
        some = [hole for hole in closed if (hole.length > longest) == large]
        if not some:
            continue
        length = max(hole.length for hole in some)
        what = counted(len(some), "missing flat face" if large else "small hole")
        advice = "; if the part is meant to be open there, give its walls a thickness" * large
        findings.append(
            Finding(
                "healing.hole",
                Severity.WARNING if large else Severity.NOTE,
                f"Closed {what}, the longest with an outline of {length:.3g} mm{advice}.",
                where=np.array([hole.points.mean(axis=0) for hole in some]),
                measured=length,
                allowed=longest,
                unit="mm",
            )
        )
    return findings
