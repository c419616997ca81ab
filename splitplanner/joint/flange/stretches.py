"""The straight stretches of a flange's lines, their sections, and the mitres between them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.flange.walls import Back
from splitplanner.plan.joints import Line

_LONGEST = 15.0
"""A stretch is no longer than this, so that each suits the wall where it is, mm."""
_TURNS_BACK = 0.35
"""Corners are mitred as long as 1 and the cosine of the turn make more than this: up to 130°."""
_BEND = 0.3
"""Where the line turns by more than this (sine), the mitre of two walls is found exactly."""
_UNDER = 1.0
"""Stretches go on beyond the seam by this before they are cut at it, mm."""
_LOWEST = 0.25
"""Free edges are no lower than this share of a flange's thickness (common practice, no source)."""
_SLIMMER = (0.0013, 0.0053, 0.0093)
"""Neighbours differ by this, mm, and the slimmer one reaches into the other by"""
_OVERLAP = (0.0, 0.02, 0.03)
"""this, mm: so nowhere do faces of two of them lie in each other but for rounding, of which the
kernel would leave slivers."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A straight piece of a flange's line.

    Attributes
    ----------
    start, end : (2,) float array
        Plane coordinates, mm.
    normal : (2,) float array
        To the free side, a unit vector.
    before, after : int or None
        Which stretches it is mitred with; None at an open end or where the line turns back.
    grade : int
        0, 1 or 2, other than that of its neighbours; see `_SLIMMER`.
    """

    start: Floats
    end: Floats
    normal: Floats
    before: int | None
    after: int | None
    grade: int = 0


def stretches_of(lines: tuple[Line, ...]) -> list[Stretch]:
    """Divide lines into straight stretches, in order."""
    found: list[Stretch] = []
    for line in lines:
        found += _of_line(np.array(line), len(found))
    return found


def _of_line(corners: Floats, first: int) -> list[Stretch]:
    lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    corners = np.vstack([corners[:-1][lengths > 0], corners[-1:]])
    lengths = lengths[lengths > 0]
    is_closed = len(lengths) > 2 and bool((corners[0] == corners[-1]).all())
    result: list[Stretch] = []
    for start, end, length in zip(corners[:-1], corners[1:], lengths, strict=True):
        way = (end - start) / length
        count = max(1, int(np.ceil(length / _LONGEST)))
        stops = [*(start + way * (length * number / count) for number in range(count)), end]
        for number in range(count):
            at, grade = first + len(result), len(result) % 2
            ends = stops[number], stops[number + 1]
            result.append(Stretch(*ends, np.array([way[1], -way[0]]), at - 1, at + 1, grade))
    last = first + len(result) - 1
    if is_closed and len(result) % 2:
        result[-1] = replace(result[-1], grade=2)
    result[0] = replace(result[0], before=last if is_closed else None)
    result[-1] = replace(result[-1], after=first if is_closed else None)
    return [_mitred(stretch, result, first) for stretch in result]


def _mitred(stretch: Stretch, line: list[Stretch], first: int) -> Stretch:
    """Take away the mitres where the line turns back."""
    before, after = (
        None
        if at is None or 1 + float(stretch.normal @ line[at - first].normal) < _TURNS_BACK
        else at
        for at in (stretch.before, stretch.after)
    )
    return replace(stretch, before=before, after=after)


def profile(back: Back, width: float, thickness: float, slope: float) -> Floats:
    """Return the section of a flange as corners (distance from the line, height), (n, 2) mm.

    From the back line in the wall along the seam to `width`, up to `thickness`, and at `slope` (°
    from the normal) to the back line. Where the wall ends before that, the free edge is lower, down
    to a quarter of the thickness, so that it still runs out at its slope; where that is not enough,
    it runs out at more. The last corner is on the back line, as the first is; the first two are at
    the seam.
    """
    foot, lean = back.foot, back.lean
    corners = [(foot, 0.0), (width, 0.0)]
    # Height at which the wall itself has come as far as the rim.
    meets = (width - foot) / lean if lean > 0 else np.inf
    rise = min(thickness, back.reach)
    if meets <= rise:
        return np.array([*corners, (width, meets)])
    top = rise
    if slope < 90.0:
        # The sloping side loses tan(slope) on each mm, and the wall comes towards it by `lean`.
        steep = float(np.tan(np.radians(slope)))
        closing = steep + lean
        top += (width - foot - lean * rise) / closing if closing > 0 else np.inf
        if top > back.reach:
            top = back.reach
            surface = foot + back.root + lean * top
            # The free edge at which the slope comes to the wall's surface just where that ends.
            lower = top - (width - surface) / steep
            if _LOWEST * thickness <= lower < rise:
                corners += [(width, lower), (surface, top)]
                return np.array([*corners, (foot + lean * top, top)])
    return np.array([*corners, (width, rise), (foot + lean * top, top)])


Neighbour = tuple[Back, Floats] | None
"""Back line and normal of the stretch that one is mitred with."""


def corners_of(
    stretch: Stretch, section: Floats, back: Back, before: Neighbour, after: Neighbour
) -> Floats:
    """Return what the solid of a stretch is the hull of: (n, 3), plane coordinates and height, mm.

    Square ends, and mitres where these lie outside of them: on the free side where the wall's
    corner stands out, in the wall where it is an inner one. It goes on beyond the seam's plane, at
    which all stretches are cut together.

    Parameters
    ----------
    stretch : Stretch
    section : (n, 2) float array
        See `profile`.
    back : Back
        Of this section.
    before, after : (Back, (2,) float array) or None
        Back lines and normals of the stretches before and after it; None for no mitre.
    """
    slimmer, overlap = _SLIMMER[stretch.grade], _OVERLAP[stretch.grade]
    under = -_UNDER - slimmer
    corners = section.copy()
    corners[0] = back.foot + back.lean * under, under
    corners[1, 1] = under
    corners[2:, 1] -= slimmer
    corners[:, 0] -= slimmer
    way = np.array([-stretch.normal[1], stretch.normal[0]])
    found = []
    for place, out, neighbour in ((stretch.start, -way, before), (stretch.end, way, after)):
        end = place if neighbour is None else place + overlap * out
        found.append(_placed(end + corners[:, :1] * stretch.normal, corners[:, 1]))
        if neighbour is not None:
            mitre = _mitre(corners, stretch.normal, *neighbour)
            outside = mitre @ out > 0
            found.append(_placed(end + mitre[outside], corners[outside, 1]))
    return np.vstack(found)


def _mitre(corners: Floats, normal: Floats, other: Back, normal_there: Floats) -> Floats:
    """Return where the corners (n, 2) of a section come to lie in a mitre, (n, 2) from its foot."""
    turn = float(normal[0] * normal_there[1] - normal[1] * normal_there[0])
    aside = corners[:, :1]
    if abs(turn) <= _BEND:
        result: Floats = aside * (normal + normal_there) / (1 + normal @ normal_there)
        return result
    beside = aside.copy()
    # The first and the last are on the back line: they go where both of these meet.
    beside[[0, -1], 0] = other.foot + other.lean * corners[[0, -1], 1]
    both = np.array([normal, normal_there])
    solved: Floats = np.linalg.solve(both, np.hstack([aside, beside]).T).T
    return solved


def _placed(flat: Floats, heights: Floats) -> Floats:
    return np.column_stack([flat, heights])
