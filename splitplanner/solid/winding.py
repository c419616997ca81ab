"""How often a surface wraps round a place: 1 inside a sound solid, 0 outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.findings import Finding, Severity

_LINES = 24
"""Crossings are looked for in this many sections along z, and along as many lines in each."""


@dataclass(frozen=True, eq=False)
class WrongStretches:
    """Stretches of sample lines parallel to x that a surface wraps other than 0 or 1 times.

    Attributes
    ----------
    starts, ends : (k, 3) float array, mm
    wraps : (k,) int array
        How often the surface wraps each.
    cell : float
        Area that a line stands for, mm².
    steps : (3,) float array, mm
        How far the surface may cross itself beyond what is found, along x, y and z.
    """

    starts: Floats
    ends: Floats
    wraps: Ints
    cell: float
    steps: Floats

    @property
    def lengths(self) -> Floats:
        """Length of each, (k,) mm."""
        result: Floats = self.ends[:, 0] - self.starts[:, 0]
        return result


def winding_numbers(points: Floats, vertices: Floats, faces: Ints) -> Floats:
    """Return the winding number of a closed surface about each of `points` (n, 3) mm, (n,).

    Van Oosterom & Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125: solid angle of a triangle.
    """
    result = np.empty(len(points))
    for index, point in enumerate(points):
        a, b, c = (vertices[faces[:, k]] - point for k in range(3))
        la, lb, lc = (np.linalg.norm(x, axis=1) for x in (a, b, c))
        top = np.einsum("ij,ij->i", a, np.cross(b, c))
        bottom = (
            la * lb * lc
            + np.einsum("ij,ij->i", a, b) * lc
            + np.einsum("ij,ij->i", b, c) * la
            + np.einsum("ij,ij->i", c, a) * lb
        )
        result[index] = np.arctan2(top, bottom).sum() / (2 * np.pi)
    return result


def crossing_findings(vertices: Floats, faces: Ints) -> list[Finding]:
    """Look along 576 lines parallel to x for places the surface wraps other than 0 or 1 times.

    A surface that crosses itself wraps some places twice or backwards. The lines are spread
    evenly over the part, so an overlap smaller than their spacing is missed.
    """
    wrong = wrong_stretches(vertices, faces)
    excess = float(wrong.lengths.sum()) * wrong.cell
    if excess <= 1e-9 * float(np.prod(np.ptp(vertices, axis=0))):
        return []
    return [
        Finding(
            "healing.crossing",
            Severity.WARNING,
            f"The surface crosses itself near {len(wrong.starts)} sampled places, about "
            f"{excess:.3g} mm³ in all; volumes are not reliable there, so repair it in the "
            "program that made it.",
            where=(wrong.starts + wrong.ends) / 2,
            measured=excess,
            allowed=0.0,
            unit="mm3",
        )
    ]


def wrong_stretches(vertices: Floats, faces: Ints, lines: int = _LINES) -> WrongStretches:
    """Return where a closed surface wraps places other than 0 or 1 times, by sampling.

    Parameters
    ----------
    vertices : (n, 3) array, mm
    faces : (m, 3) array
    lines : int
        Sections along z, and lines parallel to x in each, spread evenly over the surface.
    """
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    # Odd offsets keep the lines off round coordinates and off the diagonals of drawn parts.
    up = (np.arange(lines) + 0.618034) / (lines + 0.236068)
    across = (np.arange(lines) + 0.414214) / (lines + 0.027183)
    corners = vertices[faces]
    floor, roof = corners[:, :, 2].min(axis=1), corners[:, :, 2].max(axis=1)
    found = [np.empty((0, 5))]
    for z in low[2] + up * (high[2] - low[2]):
        starts, ends = _segments(corners[(floor < z) & (roof >= z)], z)
        for y in low[1] + across * (high[1] - low[1]):
            begin, end, wraps = _wrong_on_line(starts, ends, y)
            if len(begin):
                at = np.broadcast_to([y, z], (len(begin), 2))
                found.append(np.column_stack([begin, end, wraps, at]))
    rows = np.concatenate(found)
    return WrongStretches(
        rows[:, [0, 3, 4]],
        rows[:, [1, 3, 4]],
        rows[:, 2].astype(np.int64),
        float(np.prod((high - low)[1:])) / lines**2,
        (high - low) / lines,
    )


def _segments(corners: Floats, z: float) -> tuple[Floats, Floats]:
    """Return directed segments (k, 2) each, the solid to their left, where faces cross height z."""
    if not len(corners):
        return np.empty((0, 2)), np.empty((0, 2))
    above = corners[:, :, 2] >= z
    # Turn each triangle so that its lone corner comes first.
    lone_above = above.sum(axis=1) == 1
    lone = np.where(lone_above, above.argmax(axis=1), (~above).argmax(axis=1))
    turn = (lone[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(corners, turn[:, :, None], axis=1), 1, 0)
    up = lone_above[:, None]
    ab = _at_height(np.where(up, b, a), np.where(up, a, b), z)
    ac = _at_height(np.where(up, c, a), np.where(up, a, c), z)
    return np.where(up, ab, ac), np.where(up, ac, ab)


def _at_height(low: Floats, high: Floats, z: float) -> Floats:
    # Always from the low end, so that both faces of an edge get the same point to the bit.
    share = (z - low[:, 2]) / (high[:, 2] - low[:, 2])
    result: Floats = low[:, :2] + (high - low)[:, :2] * share[:, None]
    return result


def _wrong_on_line(starts: Floats, ends: Floats, y: float) -> tuple[Floats, Floats, Ints]:
    """Return begin, end (x) and wraps of the stretches of the line at `y` wrapped wrongly."""
    cross = (starts[:, 1] < y) != (ends[:, 1] < y)
    p, q = starts[cross], ends[cross]
    if not len(p):
        return np.empty(0), np.empty(0), np.empty(0, dtype=np.int64)
    x = p[:, 0] + (q[:, 0] - p[:, 0]) * (y - p[:, 1]) / (q[:, 1] - p[:, 1])
    order = np.argsort(x, kind="stable")
    x = x[order]
    wraps = np.cumsum(np.where(p[order, 1] > q[order, 1], 1, -1))[:-1]
    scale = float(np.abs(x).max(initial=1.0))
    wrong = ((wraps < 0) | (wraps > 1)) & (np.diff(x) > 1e-9 * scale)
    return x[:-1][wrong], x[1:][wrong], wraps[wrong]
