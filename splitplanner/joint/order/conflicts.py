"""Which seams keep pieces from going together, and what would let them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.joint.order.seams import Closing, Parting, Seams
from splitplanner.plan import Vector

MOST_TURNED = 60.0
"""Holes lean no farther than this from the seam's normal, degrees: beyond, the pins are near the
seam over most of their length and break out (own choice)."""
_MOST_LOOSE = 3


@dataclass(frozen=True, eq=False)
class Conflict:
    """Seams that cannot all close.

    Attributes
    ----------
    seams : tuple of str
        None can be left out: were any one of them glued, the rest would not be in conflict. All
        round the pieces where they are in conflict even glued.
    angle : float
        Largest angle between two of their axes, degrees.
    loose : tuple of str
        The fewest seams to be given loose dowels so that there is an order; empty if that of a
        few does not help.
    turned : tuple of str
        The seams whose holes are turned to `common`.
    common : (x, y, z) or None
        A direction in which one of the pieces can be put in when their holes are turned to it.
    resolved : Seams or None
        The seams as they close when a proposal is followed, the first if there are two.
    """

    seams: tuple[str, ...]
    angle: float
    loose: tuple[str, ...]
    turned: tuple[str, ...]
    common: Vector | None
    resolved: Seams | None


def conflict_of(seams: Seams, group: int) -> Conflict | None:
    """Return what keeps a group from going together; None if nothing does.

    Only the directions in which seams close are looked at.
    """
    stuck = _stuck(seams, group)
    if not stuck:
        return None
    held = [c for c in seams.within(stuck) if c.axes]
    binding = list(held)
    # Large seams stay in conflict rather than small ones, which are easier to change.
    for closing in sorted(held, key=lambda c: (c.area, c.seam)):
        fewer = [c for c in binding if c is not closing]
        if not _can_part(_with_free(seams, [c for c in held if c not in fewer]), stuck):
            binding = fewer
    if not binding:
        # Glued all round: nothing that holds it can be changed.
        within = seams.within(stuck)
        normals = [c.normal for c in within]
        return Conflict(tuple(c.seam for c in within), _widest(normals), (), (), None, None)
    loose = _fewest_loose(seams, group, binding)
    turned = _turned(seams, group, stuck, binding)
    resolved = None
    if loose:
        resolved = _with_free(seams, loose)
    elif turned is not None:
        resolved = turned[2]
    return Conflict(
        tuple(c.seam for c in binding),
        _widest([axis for c in binding for axis in c.axes]),
        tuple(c.seam for c in loose),
        () if turned is None else turned[0],
        None if turned is None else turned[1],
        resolved,
    )


def _stuck(seams: Seams, group: int) -> int:
    """Return a group within `group` that cannot be taken apart; 0 if all can."""
    if not group & (group - 1):
        return 0
    parting = next(seams.partings(group), None)
    if parting is None:
        return group
    return _stuck(seams, parting.stays) or _stuck(seams, parting.leaves)


def _can_part(seams: Seams, group: int) -> bool:
    return next(seams.partings(group), None) is not None


def _with_free(seams: Seams, freed: Iterable[Closing]) -> Seams:
    names = {c.seam for c in freed}
    return Seams([c.freed if c.seam in names else c for c in seams.closings], seams.count)


def _fewest_loose(seams: Seams, group: int, binding: list[Closing]) -> tuple[Closing, ...]:
    """Return the fewest seams, small ones rather than large, that are to be freed."""
    # All that is held, since another conflict may lie behind the first.
    others = [c for c in seams.within(group) if c.axes and c not in binding]
    order = sorted(binding, key=lambda c: (c.area, c.seam))
    order += sorted(others, key=lambda c: (c.area, c.seam))
    for count in range(1, _MOST_LOOSE + 1):
        for chosen in combinations(order, count):
            if not _stuck(_with_free(seams, chosen), group):
                return chosen
    return ()


def _turned(
    seams: Seams, group: int, stuck: int, binding: list[Closing]
) -> tuple[tuple[str, ...], Vector, Seams] | None:
    """Return which seams are turned to which common direction, and how all close then.

    The direction that is nearest to square on the seams is taken.
    """
    found = []
    for parting in _partings_when_free(seams, stuck, binding):
        names = {c.seam for c in parting.closings} & {c.seam for c in binding}
        leans = [_angle(c.normal, to_vector(parting.way)) for c in parting.closings]
        lean = max((min(a, 180.0 - a) for a in leans), default=0.0)
        if names and lean <= MOST_TURNED + 1e-6:
            found.append((round(lean, 6), len(names), sorted(names), parting.way))
    for _, _, chosen, way in sorted(found, key=lambda item: item[:3]):
        axis = to_vector(way + 0.0)
        changed = [c.turned(axis) if c.seam in chosen else c for c in seams.closings]
        result = Seams(changed, seams.count)
        if not _stuck(result, group):
            return tuple(c.seam for c in binding if c.seam in chosen), axis, result
    return None


def _partings_when_free(seams: Seams, stuck: int, binding: list[Closing]) -> Iterator[Parting]:
    free = _with_free(seams, binding)
    by_name = {c.seam: c for c in seams.closings}
    for parting in free.partings(stuck):
        kept = tuple(by_name[c.seam] for c in parting.closings)
        yield Parting(parting.stays, parting.leaves, parting.way, kept)


def _widest(axes: Iterable[Vector]) -> float:
    angles = [_angle(one, other) for one, other in combinations(axes, 2)]
    return max((min(angle, 180.0 - angle) for angle in angles), default=0.0)


def _angle(one: Vector, other: Vector) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(one, other), -1.0, 1.0))))
