"""Seams that are held in their own way, found again after the cuts were changed.

Seams are named by the order of the cuts, so that another cut, or the same ones in another order,
give them other names. Which was which is told by where they lie.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.errors import CutError
from splitplanner.findings import Finding, Severity
from splitplanner.plan.pieces import Cutter, Division, Seam, cut_piece, divide
from splitplanner.plan.plan import Plan
from splitplanner.solid import Plane, to_polygons

_FLAT = 1e-6
"""Normals and offsets of one plane differ by less than this, and this many mm."""
SEAM_GONE = "fastening.seam_gone"
"""Kind of the finding that says which seams are not found again."""
_SAME = 0.5
"""Two seams are the same where they share so much of the smaller one."""


def with_own_followed(
    plan: Plan, division: Division, cutter: Cutter = cut_piece
) -> tuple[Plan, tuple[Finding, ...]]:
    """Return a plan that calls the seams held in their own way as its cuts do now.

    Parts of a seam that was divided are all held as it was, and seams that have become one as the
    largest of them. A seam of a cut that was moved is known by its cut and by what lies opposite.

    Parameters
    ----------
    plan : Plan
    division : Division
        By the cuts of the plan.
    cutter : callable
        As for `splitplanner.plan.divide`, which is done once more with the earlier cuts.

    Returns
    -------
    plan : Plan
    findings : tuple of Finding
        A note if there are seams that are not found again.
    """
    if plan.seams_named_by is None:
        return plan, ()
    own = plan.own_fastenings
    if plan.seams_named_by != plan.cuts:
        try:
            earlier = divide(division.part, plan.seams_named_by, cutter=cutter).seams
        except CutError:
            # Then nobody has seen these seams either.
            earlier = ()
        are_as_many = len(plan.cuts) == len(plan.seams_named_by)
        was = same_seams(earlier, division.seams, may_have_moved=are_as_many)
        own = {now: own[before] for now, before in was.items() if before in own}
        found = _gone([name for name in plan.own_fastenings if name not in was.values()])
    else:
        found = ()
    return replace(plan, own_fastenings=own, seams_named_by=None), found


def same_seams(
    before: Sequence[Seam], after: Sequence[Seam], *, may_have_moved: bool
) -> dict[str, str]:
    """Return what seams were called before, by what they are called after.

    Parameters
    ----------
    before, after : sequence of Seam
        By the cuts before and after a change.
    may_have_moved : bool
        Whether a plane that is new may be that of the cut of the same number before.
    """
    gone = [old for old in before if not any(_is_one(old.plane, new.plane) for new in after)]
    was = {}
    for new in after:
        there = [old for old in before if _is_one(old.plane, new.plane)]
        if not there and may_have_moved:
            there = [old for old in gone if old.cut == new.cut]
        shared = [(_shared(old, new), old) for old in there]
        area, best = max(shared, key=lambda each: each[0], default=(0.0, new))
        if area > 0.0 and area >= _SAME * min(best.section.area, new.section.area):
            was[new.name] = best.name
    return was


def _is_one(one: Plane, other: Plane) -> bool:
    """Whether two planes are one, whichever way they point."""
    turned = 1.0 if np.dot(one.normal, other.normal) > 0 else -1.0
    off = np.abs(np.subtract(one.normal, np.multiply(turned, other.normal)))
    return bool(off.max() <= _FLAT and abs(one.offset - turned * other.offset) <= _FLAT)


def _shared(old: Seam, new: Seam) -> float:
    """Return the area that two seams share as seen along the normal of the older one, mm²."""

    def on_old(points: Floats) -> Floats:
        return old.plane.to_plane(new.plane.to_space(points))

    moved = MultiPolygon(to_polygons(shapely.transform(new.section.shape, on_old)))
    return float(shapely.intersection(old.section.shape, moved).area)


def _gone(names: list[str]) -> tuple[Finding, ...]:
    if not names:
        return ()
    seams, way = (
        (f"seam {names[0]} was", "its own way is")
        if len(names) == 1
        else (f"seams {', '.join(names)} were", "their own ways are")
    )
    message = (
        f"Before the cuts were changed {seams} held otherwise than the rest; there is no such seam "
        f"any more, so {way} forgotten."
    )
    return (Finding(SEAM_GONE, Severity.NOTE, message),)
