"""Settling flanges: where they could not be as they should, they are left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Bools, Ints
from splitplanner.joint.flange.checks import (
    ENOUGH,
    WIDTH_STEP,
    faces_that_show,
    faces_to_support,
    free_widths,
)
from splitplanner.joint.flange.gaps import Spans, beside_faces, beside_places, without
from splitplanner.joint.flange.outlines import length_of
from splitplanner.joint.making import Maker, Rims
from splitplanner.plan import Division, Flange, Joint, Plan, Seam
from splitplanner.plan.joints import Line
from splitplanner.progress import Report, silent
from splitplanner.solid import Solid

_ROUNDS = 4
"""Lines that end earlier make other ends, which are looked at anew so many times at most."""
_LEAST_LEFT = 0.5
"""When less than this share of a flange would be left for want of width or support, it stays as it
is: a joint that has support to be removed is better than none (common practice, no source)."""


def settled(
    flanges: Mapping[str, Flange],
    division: Division,
    plan: Plan,
    seen: Bools,
    maker: Maker,
    report: Report = silent,
) -> dict[str, Flange]:
    """Return flanges without the stretches where they could not be as they should.

    Left out is what shows (`splitplanner.joint.flange.checks.faces_that_show`); and, as long as
    half of a flange is left, what would need support (`faces_to_support`) and what is less than 0.9
    of its width, as beside openings and where walls end. A flange of which nothing is left is left
    out itself.

    Parameters
    ----------
    flanges : mapping of seam name to Flange
    division : Division
    plan : Plan
        Its printer and print directions count, and the flanges of other seams that it has.
    seen : (m,) bool array
        Faces of the part on the good side.
    maker : Maker
        Makes the flanges, and remembers them.
    report : progress callback

    Returns
    -------
    dict of seam name to Flange
    """
    seams = {seam.name: seam for seam in division.seams if seam.name in flanges}
    others = {joint.seam: joint for joint in plan.joints if joint.seam not in flanges}
    left, still = dict(flanges), set(flanges)
    before: dict[str, tuple[Flange, float]] = {}
    for turn in range(_ROUNDS):
        if not still:
            break
        report(turn / _ROUNDS, "looking where flanges cannot be")
        joints = others | {name: Joint(name, flange=flange) for name, flange in left.items()}
        now = plan.with_joints(tuple(joints.values()))
        assembled = maker.assembled(division, now)
        shows = faces_that_show(division.part, assembled, seen)
        look = _Look(division, now, assembled, shows, maker)
        for name in sorted(still):
            faults = look.faults(seams[name], left[name])
            lines = _lines_left(left[name], faults, flanges[name])
            worse = name in before and faults.area >= before[name][1]
            if worse:
                # It only has other ends that are as bad; as it was it was longer.
                left[name] = before[name][0]
            if worse or lines == left[name].lines or turn == _ROUNDS - 1:
                still.discard(name)
            elif not lines:
                del left[name]
                still.discard(name)
            else:
                before[name] = left[name], faults.area
                left[name] = replace(left[name], lines=lines)
    return left


@dataclass(frozen=True)
class _Faults:
    """Where a flange is not as it should be; `area` is of all of that, mm²."""

    shows: Spans
    hangs: Spans
    narrow: Spans
    area: float


def _lines_left(flange: Flange, faults: _Faults, whole: Flange) -> tuple[Line, ...]:
    """Return the lines of a flange without its faults, as far as enough of the whole is left."""
    lines = flange.lines
    for spans, share in (
        (faults.shows, 0.0),
        (faults.shows.and_of(faults.hangs), _LEAST_LEFT),
        (faults.shows.and_of(faults.hangs).and_of(faults.narrow), _LEAST_LEFT),
    ):
        less = without(flange.lines, spans, flange.width)
        if _length(less) >= share * _length(whole.lines):
            lines = less
    return lines


def _length(lines: tuple[Line, ...]) -> float:
    return sum(length_of(np.array(line)) for line in lines)


@dataclass(frozen=True, eq=False)
class _Look:
    """The flanges of a plan as they are now."""

    division: Division
    plan: Plan
    assembled: Solid
    shows: Ints
    maker: Maker

    def faults(self, seam: Seam, flange: Flange) -> _Faults:
        """Return where the flange of a seam is not as it should be."""
        rims = self.maker.rims(flange, seam, self.division, self.plan)
        area = 0.0
        mine = self._near(rims)
        shows = beside_faces(flange.lines, seam, self.assembled, mine)
        area += float(self.assembled.face_areas[mine].sum())
        hangs = Spans()
        for name, body in ((seam.below, rims.below), (seam.above, rims.above)):
            if body is None:
                continue
            piece = self.division.piece(name).solid
            joined = piece.union(body)
            faces = faces_to_support(piece, joined, self.plan.up(name), self.plan.machine)
            hangs = hangs.and_of(beside_faces(flange.lines, seam, joined, faces))
            area += float(joined.face_areas[faces].sum())
        places, widths = free_widths(flange, seam, (rims.below, rims.above))
        few = widths < ENOUGH * flange.width
        narrow = beside_places(flange.lines, places[few], WIDTH_STEP)
        area += WIDTH_STEP * float((flange.width - widths[few]).sum())
        return _Faults(shows, hangs, narrow, area)

    def _near(self, rims: Rims) -> Ints:
        """Return which of the faces that show belong to a flange."""
        at = self.assembled.face_centroids[self.shows]
        mine = np.zeros(len(at), dtype=np.bool_)
        for body in (rims.below, rims.above):
            if body is not None:
                low, high = body.bounds
                mine |= ((at >= low - 1e-3) & (at <= high + 1e-3)).all(axis=1)
        return self.shows[mine]
