"""How often a surface wraps round a place: 1 inside a sound solid, 0 outside."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, Ints
from splitplanner.findings import Finding, Severity

_LINES = 24
"""Sections along z, and sample lines in each."""


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
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    # Odd offsets keep the lines off round coordinates and off the diagonals of drawn parts.
    up = (np.arange(_LINES) + 0.618034) / (_LINES + 0.236068)
    across = (np.arange(_LINES) + 0.414214) / (_LINES + 0.027183)
    corners = vertices[faces]
    floor, roof = corners[:, :, 2].min(axis=1), corners[:, :, 2].max(axis=1)
    cell = float(np.prod((high - low)[1:])) / _LINES**2
    excess = 0.0
    places: list[tuple[float, float, float]] = []
    for z in low[2] + up * (high[2] - low[2]):
        starts, ends = _segments(corners[(floor < z) & (roof >= z)], z)
        for y in low[1] + across * (high[1] - low[1]):
            lengths, middles = _wrong_stretches(starts, ends, y)
            excess += float(lengths.sum()) * cell
            places.extend((x, y, z) for x in middles)
    volume = float(np.prod(high - low))
    if excess <= 1e-9 * volume:
        return []
    return [
        Finding(
            "healing.crossing",
            Severity.WARNING,
            f"The surface crosses itself near {len(places)} sampled places, about "
            f"{excess:.3g} mm³ in all; volumes are not reliable there, so repair it in the "
            "program that made it.",
            where=np.array(places),
            measured=excess,
            allowed=0.0,
            unit="mm3",
        )
    ]


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


def _wrong_stretches(starts: Floats, ends: Floats, y: float) -> tuple[Floats, Floats]:
    """Return length and middle x of the stretches of the line at `y` that are wrapped wrongly."""
    cross = (starts[:, 1] < y) != (ends[:, 1] < y)
    p, q = starts[cross], ends[cross]
    if not len(p):
        return np.empty(0), np.empty(0)
    x = p[:, 0] + (q[:, 0] - p[:, 0]) * (y - p[:, 1]) / (q[:, 1] - p[:, 1])
    order = np.argsort(x, kind="stable")
    x = x[order]
    wraps = np.cumsum(np.where(p[order, 1] > q[order, 1], 1, -1))[:-1]
    lengths = np.diff(x)
    scale = float(np.abs(x).max(initial=1.0))
    wrong = ((wraps < 0) | (wraps > 1)) & (lengths > 1e-9 * scale)
    return lengths[wrong], (x[:-1] + lengths / 2)[wrong]
