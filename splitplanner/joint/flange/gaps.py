"""Gaps in the lines of a flange: where it cannot be as it should."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Floats, Ints
from splitplanner.joint.flange.lines import SHORTEST, SIMPLER
from splitplanner.joint.flange.outlines import SAME, line_between
from splitplanner.plan import Seam
from splitplanner.plan.joints import Line
from splitplanner.solid import Solid

_AWAY = 1.0
"""A line ends this much before what is wrong, mm; no gap is narrower than four times that: a slit
prints badly (common practice, no source)."""

Span = tuple[float, float]
"""Of a line, from one length along it to another, mm; over its end where the first is more."""


@dataclass(frozen=True)
class Spans:
    """Spans of some lines, by the number of the line."""

    found: tuple[tuple[int, Span], ...] = ()

    def of(self, number: int) -> list[Span]:
        """Return the spans of one line."""
        return [span for line, span in self.found if line == number]

    def and_of(self, other: Spans) -> Spans:
        """Return the spans of both."""
        return Spans((*self.found, *other.found))


def beside_faces(lines: Sequence[Line], seam: Seam, solid: Solid, faces: Ints) -> Spans:
    """Return the spans of lines beside which faces of a solid lie, each at the line nearest to it.

    Parameters
    ----------
    lines : sequence of lines
    seam : Seam
        The lines are in its plane.
    solid : Solid
    faces : (k,) int array
        Indices of its faces.
    """
    found = []
    drawn = [shapely.linestrings(line) for line in lines]
    for face in faces.tolist():
        corners = seam.plane.to_plane(solid.vertices[solid.faces[face]])
        middle = shapely.Point(corners.mean(axis=0))
        number = int(np.argmin([shapely.distance(line, middle) for line in drawn]))
        at = shapely.line_locate_point(drawn[number], shapely.points(corners))
        low, high = float(at.min()), float(at.max())
        length = float(shapely.length(drawn[number]))
        if _is_closed(lines[number]) and high - low > length / 2:
            # It lies across the line's first corner.
            low, high = float(at[at > length / 2].min()), float(at[at <= length / 2].max())
        found.append((number, (low, high)))
    return Spans(tuple(found))


def beside_places(lines: Sequence[Line], places: Floats, step: float) -> Spans:
    """Return the spans of lines within half a step of places (n, 2) on them, mm."""
    found = []
    drawn = [shapely.linestrings(line) for line in lines]
    for place in shapely.points(places):
        number = int(np.argmin([shapely.distance(line, place) for line in drawn]))
        at = float(shapely.line_locate_point(drawn[number], place))
        found.append((number, (at - step / 2, at + step / 2)))
    return Spans(tuple(found))


def without(lines: Sequence[Line], spans: Spans, width: float) -> tuple[Line, ...]:
    """Return what is left of lines.

    A line ends 1 mm before what is left out, and what is left and is shorter than wide, or than 5
    mm, is left out too.

    Parameters
    ----------
    lines : sequence of lines
    spans : Spans
        What to leave out.
    width : float
        Of the flange, mm.
    """
    left: list[Line] = []
    for number, line in enumerate(lines):
        gaps = spans.of(number)
        if not gaps:
            left.append(line)
            continue
        points = np.array(line)
        for low, high in _between(gaps, float(shapely.length(shapely.linestrings(line))), line):
            if high - low >= max(SHORTEST, width):
                part = _part(points, low, high, _is_closed(line))
                left.append(tuple((float(u), float(v)) for u, v in part))
    return tuple(left)


def _between(gaps: list[Span], length: float, line: Line) -> list[Span]:
    """Return what lies between gaps, in order; below 0 where a closed line begins in it."""
    wide = [_widened(gap) if gap[0] <= gap[1] else (gap[0] - _AWAY, gap[1] + _AWAY) for gap in gaps]
    if not _is_closed(line):
        edges = _merged([(max(low, 0.0), min(high, length)) for low, high in wide])
        starts = [0.0, *(high for _, high in edges)]
        ends = [*(low for low, _ in edges), length]
        return [(a, b) for a, b in zip(starts, ends, strict=True) if b - a > SAME]
    around: list[Span] = []
    for low, high in wide:
        low, high = low % length, high % length
        around += [(low, high)] if low <= high else [(low, length), (0.0, high)]
    edges = _merged(around)
    result = []
    for (_, end), (start, _) in zip(edges, [*edges[1:], edges[0]], strict=True):
        begin = end if end <= start + SAME else end - length
        if start - begin > SAME:
            result.append((begin, start))
    return result


def _widened(gap: Span) -> Span:
    middle = (gap[0] + gap[1]) / 2
    half = max((gap[1] - gap[0]) / 2 + _AWAY, 2 * _AWAY)
    return middle - half, middle + half


def _merged(spans: list[Span]) -> list[Span]:
    """Return spans in order, those that touch made one."""
    result: list[Span] = []
    for low, high in sorted(spans):
        if result and low <= result[-1][1] + SAME:
            result[-1] = result[-1][0], max(result[-1][1], high)
        else:
            result.append((low, high))
    return result


def _part(points: Floats, low: float, high: float, is_closed: bool) -> Floats:
    """Return the part of a line (n, 2) between two lengths along it; closed ones go on before 0."""
    if low < 0.0 and is_closed:
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        points, low, high = np.vstack([points[:-1], points]), low + length, high + length
    part = line_between(points, low, high)
    lean: Floats = shapely.get_coordinates(shapely.linestrings(part).simplify(SIMPLER / 10))
    return lean


def _is_closed(line: Line) -> bool:
    return len(line) > 3 and line[0] == line[-1]
