"""The outlines of a seam, and which stretches of them are hidden."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.plan import Seam
from splitplanner.score.seam import rim_of
from splitplanner.solid import Solid

SPECK = 2.0
"""A seen stretch of no more than this between hidden ones is no good side, mm: the good side is
told face by face, and single faces may look out through an opening."""
SAME = 1e-6
"""Places this close are the same, mm."""


@dataclass(frozen=True, eq=False)
class Bit:
    """A part of an outline: its corners (n, 2), and the turn round the material at both ends, °."""

    points: Floats
    before: float = 0.0
    after: float = 0.0
    is_closed: bool = False


def oriented(seam: Seam) -> tuple[Polygon, ...]:
    """Return the polygons of a seam with the material on the left of all outlines."""
    return tuple(shapely.geometry.polygon.orient(polygon) for polygon in seam.section.polygons)


def rings_of(seam: Seam, part: Solid, seen: Bools) -> Iterator[tuple[Floats, Floats, Bools]]:
    """Return starts and ends (n, 2) of each ring's stretches, in order, and which are hidden."""
    rim = rim_of(seam, part)
    on_part, on_seen = np.zeros((2, len(rim.starts)), dtype=np.bool_)
    on_part[rim.places] = True
    on_seen[rim.places[seen[rim.faces]]] = True
    lengths = np.linalg.norm(rim.ends - rim.starts, axis=1)
    first = 0
    for last in range(len(rim.starts)):
        if np.linalg.norm(rim.ends[last] - rim.starts[first]) > SAME:
            continue
        ring = slice(first, last + 1)
        specks = _short_runs(on_seen[ring], lengths[ring])
        yield (rim.starts[ring], rim.ends[ring], on_part[ring] & (~on_seen[ring] | specks))
        first = last + 1


def _short_runs(chosen: Bools, lengths: Floats) -> Bools:
    """Mark the runs of `chosen` stretches of a ring that are no longer than `SPECK` in all."""
    short = np.zeros_like(chosen)
    for run in _runs(chosen):
        if lengths[run].sum() <= SPECK:
            short[run] = True
    return short


def _runs(chosen: Bools) -> list[Ints]:
    """Return the indices of each run of `chosen` places on a ring, in order; none if all are."""
    if chosen.all() or not chosen.any():
        return []
    turned = (np.flatnonzero(~chosen)[0] + np.arange(len(chosen))) % len(chosen)
    edges = np.flatnonzero(np.diff(chosen[turned].astype(np.int64), append=0))
    # The first of the turned places is not chosen, so runs begin and end in turns.
    return [turned[a + 1 : b + 1] for a, b in zip(edges[::2], edges[1::2], strict=True)]


def hidden_bits(starts: Floats, ends: Floats, hidden: Bools) -> list[Bit]:
    """Return the lines that the hidden stretches of a ring make."""
    if hidden.all():
        at = int(np.argmax(np.linalg.norm(ends - starts, axis=1)))
        middle = 0.5 * (starts[at] + ends[at])
        # Begun in the middle of the longest stretch, which is on no rib if that can be.
        around = np.vstack([middle, np.roll(ends, -at, axis=0)[: len(ends)], middle])
        return [Bit(around, is_closed=True)]
    bits = []
    for run in _runs(hidden):
        points = np.vstack([starts[run[:1]], ends[run]])
        beyond = _ahead(ends, run[-1], 1) - points[-1]
        behind = points[0] - _ahead(starts, run[0], -1)
        before, after = (_ahead_in(line) for line in (points, points[::-1]))
        bits.append(
            Bit(points, _turn(behind, before - points[0]), _turn(points[-1] - after, beyond))
        )
    return bits


def _ahead(points: Floats, at: int, step: int) -> Floats:
    """Return the place 2 mm on along a ring from one of its points, which may be a corner early."""
    here, passed, index = points[at], 0.0, int(at)
    for _ in range(len(points)):
        index = (index + step) % len(points)
        gone = float(np.linalg.norm(points[index] - here))
        if gone > SAME and passed + gone >= SPECK:
            break
        here, passed = points[index], passed + gone
    result: Floats = here + (points[index] - here) * min((SPECK - passed) / max(gone, SAME), 1.0)
    return result


def _ahead_in(points: Floats) -> Floats:
    """Return the place 2 mm on from the first of the corners (n, 2) of a line."""
    along = LineString(points).interpolate(SPECK)
    return np.array([along.x, along.y])


def _turn(before: Floats, after: Floats) -> float:
    """Return by how much one way is turned to the left of another, degrees."""
    cross = before[0] * after[1] - before[1] * after[0]
    return float(np.degrees(np.arctan2(cross, before @ after)))


def area_of(points: Floats) -> float:
    """Return the area in a ring of corners (n, 2), mm²; negative when it runs clockwise."""
    u, v = points.T
    return 0.5 * float(np.sum(u * np.roll(v, -1) - v * np.roll(u, -1)))


def length_of(points: Floats) -> float:
    """Return the length of a line of corners (n, 2), mm."""
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def sides_of(points: Floats) -> tuple[Floats, Floats, Floats]:
    """Return middles (n, 2), normals to the free side (n, 2) and lengths (n,) of a line's sides."""
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    ways = steps / lengths[:, None]
    middles: Floats = 0.5 * (points[1:] + points[:-1])
    return middles, np.column_stack([ways[:, 1], -ways[:, 0]]), lengths


def line_between(points: Floats, low: float, high: float) -> Floats:
    """Return the part of a line (n, 2) from one length along it to another, mm."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    inside = (along > low + SAME) & (along < high - SAME)
    ends = [[np.interp(at, along, points[:, k]) for k in (0, 1)] for at in (low, high)]
    return np.vstack([ends[0], points[inside], ends[1]])
